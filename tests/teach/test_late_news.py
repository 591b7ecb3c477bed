"""Late news: states, what is read off them, and their sentences."""

import re

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from oximetry_workbook.body.circulation import PLACES
from oximetry_workbook.body.course import simulate_course
from oximetry_workbook.body.quantities import Choice, specs_of
from oximetry_workbook.meter.measure import measure
from oximetry_workbook.meter.recording import Recording
from oximetry_workbook.study.alarms import Estimate, Trade, WatchedHour, trades, watched_hour
from oximetry_workbook.teach import late_news_words as words
from oximetry_workbook.teach.late_news import (
    BEFORE_S,
    END_S,
    FIRST_HOURS,
    TIME_S,
    Dips,
    LateNews,
    dips_below,
    first_hours,
)

FIELDS = specs_of(LateNews)
EVENT = LateNews()


def _values_of(spec):
    if isinstance(spec, Choice):
        return st.sampled_from(spec.options)
    return st.integers(int(spec.low), int(spec.high)).map(float)


@st.composite
def states(draw):
    return LateNews(**{name: draw(_values_of(spec)) for name, spec in FIELDS.items()})


def estimate(value):
    return Estimate(value, 0.8 * value, 1.2 * value)


def trade(averaging_s, false, missed, events=20, hours=10):
    return Trade(averaging_s, estimate(false), estimate(missed), estimate(20.0), events, hours)


def test_the_blood_is_lowest_at_the_first_breath():
    assert EVENT.true_lowest.time_s == EVENT.hold_s
    assert EVENT.true_lowest.percent == pytest.approx(97.0 - EVENT.depth_points)


@pytest.mark.parametrize("place", PLACES)
def test_the_display_is_that_of_a_meter_that_stopped_there(place):
    course = EVENT.breath_hold.course(BEFORE_S, END_S - EVENT.hold_s)
    full = simulate_course(PLACES[place].scenario(), course, PLACES[place].delay_s, seed=1)
    for second in (0.0, 80.0, 110.0):
        cut = full.time_s <= second
        short = Recording(
            full.time_s[cut],
            full.red[cut],
            full.infrared[cut],
            probe_calibration=full.probe_calibration,
        )
        expected = measure(short, averaging_s=EVENT.averaging_s).spo2_percent
        # `measure` takes a beat at its end, the display when the next has peaked: a second later
        shown = [EVENT.shown_at(place, each) for each in (second, second + 1.0)]
        assert min(shown) - 0.3 < expected < max(shown) + 0.3


def test_news_is_later_and_shallower_the_farther_from_the_heart():
    lowest = [EVENT.shown_lowest(place) for place in PLACES]
    assert [low.time_s for low in lowest] == sorted(low.time_s for low in lowest)
    assert [low.percent for low in lowest] == sorted(low.percent for low in lowest)
    delays = [EVENT.alarm_delay_s(place) for place in PLACES]
    for delay, place in zip(delays, PLACES.values(), strict=True):
        assert delay == pytest.approx(place.delay_s + EVENT.averaging_s / 2.0, abs=8.0)


def test_the_wait_adds_its_time_to_the_alarm():
    waiting = LateNews(wait_s=7.0)
    for place in ("ear", "finger"):
        assert waiting.alarm_s(place) - EVENT.alarm_s(place) == 7.0


def test_no_alarm_is_due_when_the_blood_stays_above():
    calm = LateNews(depth_points=5.0, threshold_percent=85.0)
    assert calm.danger_s is None
    assert calm.alarm_s("ear") is None
    assert calm.alarm_delay_s("ear") is None
    assert "no alarm is due" in words.verdict(calm)


def test_a_dip_may_pass_without_an_alarm():
    unheard = LateNews(depth_points=8.0, averaging_s=16.0)
    assert unheard.danger_s is not None
    assert "No alarm sounds anywhere: way and averaging flatten the dip" in words.verdict(unheard)
    assert list(words.numbers(unheard).values())[-3:] == ["none"] * 3


def test_a_place_that_stays_silent_is_named():
    partly = LateNews(hold_s=40.0, depth_points=11.0, averaging_s=4.0)
    assert partly.alarm_delay_s("ear") is not None
    assert partly.alarm_delay_s("cold finger") is None
    lowest = np.floor(np.nanmin(partly.shown_percent["cold finger"]) + 0.5)
    assert lowest >= partly.threshold_percent
    assert "silent at the cold finger: way and averaging flatten the dip" in words.verdict(partly)
    assert f"the lowest number is {lowest:.0f} %" in words.verdict(partly)


def test_a_wait_that_outlasts_the_dip_is_named():
    assert "not low for longer than the alarm waits" in words.verdict(LateNews(wait_s=20.0))


def test_a_very_fast_fall_is_called_fast():
    assert "That is fast" in words.event_sentence(LateNews(hold_s=30.0, depth_points=25.0))
    assert "fast" not in words.event_sentence(EVENT)


def test_shown_at_knows_its_seconds():
    for second in (-20.0, 0.0, 89.0, 230.0):
        expected = EVENT.shown_percent["finger"][np.flatnonzero(second == TIME_S)[0]]
        np.testing.assert_equal(EVENT.shown_at("finger", second), expected)
    with pytest.raises(ValueError, match="time_s is 231"):
        EVENT.shown_at("finger", 231.0)


def test_the_trade_is_told_with_intervals_once_there_are_enough_hours():
    told = words.trade_sentence(EVENT, [trade(2.0, 10.0, 5.0), trade(16.0, 2.0, 25.0)])
    assert "10 (8 to 12) false alarms an hour" in told
    assert "25 (20 to 30) % of the dips missed" in told
    early = words.trade_sentence(EVENT, [trade(2.0, 10.0, 5.0, hours=2)] * 2)
    assert "(" not in early


def test_the_bargain_is_told_only_as_far_as_the_intervals_go():
    sure = words.trade_sentence(EVENT, [trade(2.0, 10.0, 5.0), trade(16.0, 2.0, 25.0)])
    assert "buys fewer false alarms with more missed dips" in sure
    unsure = words.trade_sentence(EVENT, [trade(2.0, 10.0, 20.0), trade(16.0, 2.0, 25.0)])
    assert "for missed dips the intervals meet" in unsure
    neither = words.trade_sentence(EVENT, [trade(2.0, 10.0, 20.0), trade(16.0, 9.0, 25.0)])
    assert neither.endswith("over the hours.")


def test_none_and_all_are_told_without_an_interval():
    told = words.trade_sentence(EVENT, [trade(2.0, 10.0, 0.0), trade(16.0, 0.0, 25.0)])
    assert "an hour, no dip missed" in told
    assert "no false alarm, 25 (20 to 30) %" in told
    assert "an hour, every dip missed" in words.trade_sentence(EVENT, [trade(2.0, 9.0, 100.0)])


DIPS = Dips(below_points=3.0, lasts_s=6.0)


@pytest.mark.parametrize(
    ("state", "short_missed", "why"),
    [
        (LateNews(threshold_percent=85.0), 10.0, "The window of 16 s flattens so slight a dip"),
        (LateNews(place="finger"), 60.0, "The way to the finger flattens so slight a dip"),
        (LateNews(wait_s=20.0), 60.0, "The alarm waits 20 s"),
    ],
)
def test_where_most_are_missed_it_is_said_why(state, short_missed, why):
    found = [trade(2.0, 10.0, short_missed), trade(16.0, 2.0, 80.0)]
    told = words.trade_sentence(state, found, DIPS)
    assert f"at most 3 points below {state.threshold_percent:.0f} %, and half last" in told
    assert why in told
    few = [trade(2.0, 10.0, 10.0), trade(16.0, 2.0, 30.0)]
    assert "Why" not in words.trade_sentence(state, few, DIPS)


def test_dips_are_those_of_the_blood_below_the_limit():
    percent = np.full(3601, 96.0)
    percent[100:110], percent[200:220], percent[300:303] = 83.0, 80.0, 70.0  # the last is too short
    hours = [WatchedHour(30.0, percent, np.empty((4, 3601)))] * 2
    assert dips_below(hours, 85.0) == Dips(below_points=3.5, lasts_s=15.0)
    assert dips_below(hours, 70.0) is None
    assert dips_below((), 85.0) is None


def test_a_limit_of_85_percent_at_the_finger_misses_most_and_says_that_the_way_does_it():
    state = LateNews(place="finger", threshold_percent=85.0)
    hours = [watched_hour(PLACES["finger"], seed) for seed in range(16)]
    told = words.trade_sentence(state, trades(hours, 85.0, 0.0), dips_below(hours, 85.0))
    assert "The way to the finger flattens so slight a dip until no number below 85 %" in told


def test_the_first_hours_show_the_bargain_at_the_place_the_panel_starts_with():
    assert [h.delay_s for h in first_hours()] == [PLACES[EVENT.place].delay_s] * FIRST_HOURS
    short, *_, long = trades(first_hours(), EVENT.threshold_percent, EVENT.wait_s)
    assert long.false_per_hour.high < short.false_per_hour.low
    assert long.missed_percent.low > short.missed_percent.high


def test_the_trade_without_hours_or_dips_is_told():
    assert "Nothing has been watched at the ear" in words.trade_sentence(EVENT, [])
    nan = Estimate(np.nan, np.nan, np.nan)
    none = Trade(2.0, estimate(3.0), nan, nan, 0, 10)
    assert "no dip to miss" in words.trade_sentence(EVENT, [none, none])


@given(states())
@settings(max_examples=60, deadline=None)
def test_sentences_are_whole_in_any_state(state):
    said = [words.verdict(state), words.event_sentence(state), words.trade_sentence(state, ())]
    said += [f"{key} {value}" for key, value in words.numbers(state).items()]
    for text in said:
        assert text.strip()
        assert not re.search(r"\b(nan|None|inf)\b|  ", text), text
    for place in PLACES:
        # noise of a few tenths of a point apart, no display falls below the blood
        assert state.shown_lowest(place).percent > state.true_lowest.percent - 1.5


@pytest.mark.parametrize(
    ("name", "value"), [("hold_s", 10.0), ("averaging_s", 1.0), ("place", "toe"), ("wait_s", 99.0)]
)
def test_bad_fields_are_refused(name, value):
    with pytest.raises(ValueError, match=name):
        LateNews(**{name: value})
