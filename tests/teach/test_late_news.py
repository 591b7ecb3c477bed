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
from oximetry_workbook.study.alarms import Estimate, Trade
from oximetry_workbook.teach import late_news_words as words
from oximetry_workbook.teach.late_news import BEFORE_S, END_S, TIME_S, LateNews

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
    assert "No alarm sounds anywhere" in words.verdict(unheard)
    assert list(words.numbers(unheard).values())[-3:] == ["none"] * 3


def test_a_place_that_stays_silent_is_named():
    partly = LateNews(hold_s=40.0, depth_points=11.0, averaging_s=4.0)
    assert partly.alarm_delay_s("ear") is not None
    assert partly.alarm_delay_s("cold finger") is None
    assert "silent at the cold finger" in words.verdict(partly)


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


def test_the_trade_without_hours_or_dips_is_told():
    assert "Nothing has been watched at the finger" in words.trade_sentence(EVENT, [])
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
