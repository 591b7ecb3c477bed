"""The display over time: held to `measure`, to a closed form, and to what it cannot yet know."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from oximetry_workbook.meter.curve import TEXTBOOK
from oximetry_workbook.meter.measure import measure
from oximetry_workbook.meter.quality import LOWEST_QUALITY
from oximetry_workbook.meter.recording import Recording
from oximetry_workbook.meter.trend import _mean_quality, trend


@pytest.fixture(scope="module")
def recorded(synthetic):
    return synthetic(duration_s=120.0, noise=0.0005, seed=3).recording


@pytest.fixture(scope="module")
def measured(recorded):
    return measure(recorded, TEXTBOOK)


def with_beats(measured, **columns):
    """The same measurement with other beats."""
    count = len(next(iter(columns.values())))
    table = {"ratio": np.full(count, 0.6), "quality": np.ones(count)} | columns
    return replace(measured, beats=pd.DataFrame(table))


def stepping(measured, step_s=1.0, at_s=60.0):
    time_s = np.arange(0.0, 120.0, step_s)
    return with_beats(measured, time_s=time_s, ratio=np.where(time_s < at_s, 0.6, 1.0))


@pytest.mark.parametrize("averaging_s", [2.0, 4.0, 8.0, 16.0])
def test_a_step_shows_after_half_the_window(measured, averaging_s):
    # Closed form: with one beat each step_s, known a beat later, more than half the window is new
    # once averaging_s / 2 has passed.
    step_s = 0.5
    shown = trend(stepping(measured, step_s), averaging_s, 0.0, 118.0)
    low, high = TEXTBOOK(1.0), TEXTBOOK(0.6)
    flips_s = shown.time_s[np.argmax(shown.spo2_percent <= (low + high) / 2.0)]
    assert flips_s - 60.0 == pytest.approx(averaging_s / 2.0 + step_s, abs=step_s + 0.51)
    assert set(np.round(shown.spo2_percent[2:], 6)) <= {low, high, (low + high) / 2.0}


def test_it_is_measure_of_the_recording_cut_short(recorded, measured):
    shown = trend(measured, 8.0, 0.0, 119.0)
    for second in (20, 55, 100):
        # a beat later the last one is known: the same beats as of a recording cut there
        cut = recorded.time_s <= second
        short = Recording(recorded.time_s[cut], recorded.red[cut], recorded.infrared[cut])
        expected = measure(short, TEXTBOOK, averaging_s=8.0).spo2_percent
        assert shown.spo2_percent[second] == pytest.approx(expected, abs=0.15)


def test_no_beat_counts_before_it_is_over(measured):
    beats = measured.beats
    for second in (30.0, 61.0, 90.0):
        # everything that is over by then stays; what follows is spoilt
        known = beats["time_s"].shift(-1) <= second
        spoilt = beats.assign(
            ratio=beats["ratio"].where(known, 3.0), quality=beats["quality"].where(known, 0.0)
        )
        one, other = (
            trend(each, 8.0, 0.0, 119.0).spo2_percent[: int(second) + 1]
            for each in (measured, replace(measured, beats=spoilt))
        )
        np.testing.assert_array_equal(one, other)


def test_windows_are_pandas_rolling_medians(measured):
    # Reference: pandas, rolling median over a time window closed on the right.
    beats = measured.beats
    known_s = beats["time_s"].to_numpy()[1:]
    ratio = beats["ratio"].to_numpy()[:-1]
    display = np.arange(0.0, 120.0)
    series = pd.concat(
        [
            pd.Series(ratio, pd.to_timedelta(known_s, unit="s")),
            pd.Series(np.nan, pd.to_timedelta(display, unit="s")),
        ]
    ).sort_index()
    rolling = series.rolling(pd.Timedelta(8, unit="s"), min_periods=1).median()
    expected = TEXTBOOK(rolling[pd.to_timedelta(display, unit="s")].to_numpy())
    np.testing.assert_allclose(trend(measured, 8.0, 0.0, 119.0).spo2_percent, expected, rtol=1e-9)


def test_bad_beats_are_left_out_and_too_many_withhold(measured):
    time_s = np.arange(0.0, 60.0)
    one_bad = with_beats(
        measured,
        time_s=time_s,
        ratio=np.where(time_s == 30.0, 3.0, 0.6),
        quality=np.where(time_s == 30.0, 0.0, 1.0),
    )
    assert trend(one_bad, 4.0, 5.0, 58.0).spo2_percent == pytest.approx(TEXTBOOK(0.6))
    quality = np.where((time_s >= 20.0) & (time_s < 40.0), LOWEST_QUALITY - 0.01, 1.0)
    spoilt = trend(with_beats(measured, time_s=time_s, quality=quality), 4.0, 5.0, 58.0)
    withheld = spoilt.time_s[np.isnan(spoilt.spo2_percent)]
    # a second for the beat to be over, and all four beats of the window below the limit
    np.testing.assert_array_equal(withheld, np.arange(24.0, 41.0))


def test_nothing_is_shown_without_beats(measured):
    silent = replace(measured, beats=measured.beats.iloc[:0])
    assert np.isnan(trend(silent, 8.0, 0.0, 10.0).spo2_percent).all()
    shown = trend(measured, 2.0, -5.0, 10.0)
    assert np.isnan(shown.spo2_percent[:5]).all()
    assert np.isfinite(shown.spo2_percent[-1])


def test_one_moment_is_a_display_too(measured):
    assert trend(measured, 8.0, 50.0, 50.0).time_s.tolist() == [50.0]


def test_mean_quality_is_of_the_beats_in_each_window():
    """Worked by hand: of beats at 1, 2, 3 and 4 s those in (time − 2 s, time]."""
    known_s, quality = np.array([1.0, 2, 3, 4]), np.array([0.2, 0.4, 0.6, 1.0])
    shown_s = np.array([0.5, 1.0, 2.5, 4.0, 9.0])
    found = _mean_quality(known_s, quality, shown_s, 2.0)
    np.testing.assert_allclose(found, [0.0, 0.2, 0.3, 0.8, 0.0], atol=1e-12)


def test_what_is_shown_stays_within_0_and_100(measured):
    absurd = with_beats(measured, time_s=np.arange(30.0), ratio=np.full(30, -4.0))
    assert trend(absurd, 4.0, 5.0, 28.0).spo2_percent.max() == 100.0


@pytest.mark.parametrize(
    ("given", "words"),
    [((0.0, 0.0, 10.0), "averaging_s"), ((8.0, 10.0, 0.0), "must not come first")],
)
def test_bad_arguments_are_refused(measured, given, words):
    with pytest.raises(ValueError, match=words):
        trend(measured, *given)
