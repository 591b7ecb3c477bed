"""Alarms: sounding, counting and resampling against small cases worked by hand, and hours."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from oximetry_workbook.body.circulation import PLACES
from oximetry_workbook.study.alarms import (
    AVERAGINGS_S,
    HOLDS,
    HOUR_S,
    SETTLING_S,
    START_SATURATION,
    WatchedHour,
    alarm_on,
    below,
    spans,
    trades,
    watched_hour,
)

SECONDS = np.arange(HOUR_S + 1)


def hour(delay_s=10.0, dips=(), lows=()):
    """An hour with true dips to 80 % and lows of the display, as (start, end) in seconds."""
    true, shown = np.full(SECONDS.size, 97.0), np.full(SECONDS.size, 97.0)
    for row, parts in ((true, dips), (shown, lows)):
        for start, end in parts:
            row[start:end] = 80.0
    return WatchedHour(delay_s, true, np.tile(shown, (len(AVERAGINGS_S), 1)))


def only(hours, wait_s=0.0):
    return trades(hours, 90.0, wait_s)[0]


def naive_alarm(shown, threshold, wait):
    run, on = 0, []
    for value in shown:
        run = run + 1 if np.isfinite(value) and np.floor(value + 0.5) < threshold else 0
        on.append(run > wait)
    return on


@given(
    st.lists(st.sampled_from([80.0, 89.4, 89.5, 95.0, np.nan]), min_size=1, max_size=60),
    st.integers(0, 5),
)
def test_an_alarm_is_that_of_a_plain_loop(shown, wait):
    on = alarm_on(np.array(shown), 90.0, float(wait))
    assert on.tolist() == naive_alarm(shown, 90.0, wait)


def test_below_is_what_a_display_in_whole_percent_shows():
    shown = np.array([89.49, 89.5, 90.0, np.nan])
    assert below(shown, 90.0).tolist() == [True, False, False, False]


@given(st.lists(st.booleans(), min_size=1, max_size=50))
def test_spans_cover_just_the_flags(flags):
    covered = np.zeros(len(flags), dtype=bool)
    found = spans(np.array(flags))
    for start, end in found:
        assert end > start
        covered[start:end] = True
    assert covered.tolist() == flags
    assert np.all(found[1:, 0] > found[:-1, 1])


def test_a_dip_that_is_told_is_no_false_alarm():
    told = only([hour(dips=[(1000, 1030)], lows=[(1012, 1045)])])
    assert (told.events, told.missed_percent.value, told.false_per_hour.value) == (1, 0.0, 0.0)
    assert told.late_s.value == 12.0


def test_a_dip_that_is_not_told_is_missed():
    silent = only([hour(dips=[(1000, 1030)])])
    assert silent.missed_percent.value == 100.0
    assert np.isnan(silent.late_s.value)


def test_an_alarm_without_a_dip_is_false_per_hour_without_dips():
    found = only([hour(dips=[(1000, 1030)], lows=[(2000, 2005), (3000, 3001)])])
    # the dip's window: two standard deviations of a fifth of 10 s each way, averaging of 2 s
    window_s = (1030 + 14 + 2) - (1000 + 6) + 1
    clear_h = (HOUR_S + 1 - SETTLING_S - window_s) / HOUR_S
    assert found.false_per_hour.value == pytest.approx(2.0 / clear_h)


def test_an_alarm_before_the_blood_can_arrive_is_false():
    early = only([hour(delay_s=30.0, dips=[(1000, 1030)], lows=[(1003, 1006)])])
    assert early.missed_percent.value == 100.0
    assert early.false_per_hour.value > 0.9


def test_a_dip_too_short_to_count_neither_counts_nor_accuses():
    short = only([hour(dips=[(1000, 1004)], lows=[(1010, 1013)])])
    assert (short.events, short.false_per_hour.value) == (0, 0.0)
    assert np.isnan(short.missed_percent.value)


def test_waiting_silences_short_lows_and_adds_its_time():
    lows = [(1012, 1045), (2000, 2008)]
    waiting = only([hour(dips=[(1000, 1030)], lows=lows)], wait_s=10.0)
    assert waiting.late_s.value == 22.0
    assert waiting.false_per_hour.value == 0.0


def test_what_settles_at_the_start_is_not_judged():
    assert only([hour(lows=[(0, 30)])]).false_per_hour.value == 0.0


def test_intervals_hold_the_value_and_are_those_of_the_bootstrap():
    # Reference: scipy.stats.bootstrap, percentile method, of the mean false alarms of an hour.
    from scipy import stats

    rng = np.random.default_rng(5)
    counts = rng.poisson(4.0, 40)
    hours = [hour(lows=[(100 + 60 * k, 103 + 60 * k) for k in range(n)]) for n in counts]
    found = only(hours).false_per_hour
    clear_h = (HOUR_S + 1 - SETTLING_S) / HOUR_S
    expected = stats.bootstrap(
        (counts / clear_h,), np.mean, method="percentile", rng=rng
    ).confidence_interval
    assert found.value == pytest.approx(counts.mean() / clear_h)
    assert found.low == pytest.approx(expected.low, abs=0.12)
    assert found.high == pytest.approx(expected.high, abs=0.12)


@pytest.fixture(scope="module")
def hours():
    return [watched_hour(PLACES["finger"], seed) for seed in range(6)]


def test_an_hour_is_what_it_says(hours):
    for each in hours:
        dips = spans(each.true_percent < 100.0 * START_SATURATION - 1.0)
        assert len(dips) == HOLDS
        assert each.shown_percent.shape == (len(AVERAGINGS_S), HOUR_S + 1)
        assert np.isfinite(each.shown_percent).mean() > 0.95


def test_longer_averaging_trades_false_alarms_for_missed_dips(hours):
    found = trades(hours, 90.0, 0.0)
    false = [trade.false_per_hour.value for trade in found]
    missed = [trade.missed_percent.value for trade in found]
    late = [trade.late_s.value for trade in found]
    assert false == sorted(false, reverse=True)
    assert false[0] > 2.0 * false[-1]
    assert missed[-1] > missed[0]
    # half the longer window less half the shorter one
    assert late[-1] - late[0] == pytest.approx((16.0 - 2.0) / 2.0, abs=2.0)
    assert late[0] == pytest.approx(PLACES["finger"].delay_s + 1.0, abs=3.0)


def test_without_movement_on_the_display_there_is_nothing_false(hours):
    calm = []
    for each in hours:
        late = np.roll(each.true_percent, round(each.delay_s))
        calm.append(WatchedHour(each.delay_s, each.true_percent, np.tile(late, (4, 1))))
    for trade in trades(calm, 90.0, 0.0):
        assert (trade.false_per_hour.value, trade.missed_percent.value) == (0.0, 0.0)
        assert trade.late_s.value == calm[0].delay_s


def test_the_same_seed_brings_the_same_hour_wherever_the_probe_sits():
    one, same = (watched_hour(PLACES["ear"], 1) for _ in range(2))
    np.testing.assert_array_equal(one.shown_percent, same.shown_percent)
    finger = watched_hour(PLACES["finger"], 1)
    np.testing.assert_array_equal(one.true_percent, finger.true_percent)


@pytest.mark.parametrize(
    ("threshold", "wait", "words"),
    [(60.0, 0.0, "threshold_percent is 60"), (90.0, -1.0, "wait_s is -1")],
)
def test_bad_settings_are_refused(threshold, wait, words):
    with pytest.raises(ValueError, match=words):
        trades([hour()], threshold, wait)


def test_no_hours_are_refused():
    with pytest.raises(ValueError, match="hours is empty"):
        trades([], 90.0, 0.0)
