"""What is shown, and how it is averaged."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as arrays

from oximetry_workbook.meter import display


def test_clamped_keeps_kind_and_missing_values():
    assert display.clamped(104.2) == 100.0
    assert type(display.clamped(50)) is float
    np.testing.assert_array_equal(display.clamped([-3, 97.5, np.nan]), [0, 97.5, np.nan])


def test_halves_are_rounded_up():
    assert [display.rounded(x) for x in (95.5, 96.5, 97.49, 0.5, 100.0)] == [96, 97, 97, 1, 100]


@given(st.floats(0, 100))
def test_rounding_moves_by_half_a_percent_at_most(percent):
    assert abs(display.rounded(percent) - percent) <= 0.5


def test_a_withheld_value_has_no_figure():
    with pytest.raises(ValueError, match="withheld"):
        display.rounded(np.nan)


@given(
    arrays.arrays(float, 40, elements=st.floats(0.3, 2)),
    arrays.arrays(float, 40, elements=st.one_of(st.floats(0, 100), st.just(np.nan))),
    st.floats(0.5, 20),
)
def test_trailing_median_is_pandas(steps, values, averaging_s):
    # Reference: pandas' rolling median over a time window, closed on the right.
    microseconds = (steps.cumsum() * 1e6).astype(int)
    window = int(averaging_s * 1e6)
    index = pd.to_timedelta(microseconds, unit="us")
    rolling = pd.Series(values, index).rolling(pd.Timedelta(window, unit="us"), min_periods=1)
    ours = display.trailing_median(microseconds.astype(float), values, float(window))
    np.testing.assert_allclose(ours, rolling.median().to_numpy(), rtol=1e-12)


def test_trailing_median_follows_a_step_half_a_window_later():
    time_s = np.arange(60.0)
    shown = display.trailing_median(time_s, np.where(time_s < 30, 98, 88), 10)
    assert time_s[np.argmax(shown < 93)] - 30 == pytest.approx(5, abs=1)


def test_a_beat_counts_until_the_window_has_passed_it():
    """Worked by hand: the window (time − 2 s, time] holds the last two of beats a second apart."""
    shown = display.trailing_median([0, 1, 2, 3], [1, 2, 9, 4], 2)
    np.testing.assert_array_equal(shown, [1, 1.5, 5.5, 6.5])


@pytest.mark.parametrize("averaging_s", [0.01, 0.5, None])
def test_a_window_may_be_short(averaging_s):
    display.check_averaging(averaging_s)


@pytest.mark.parametrize("averaging_s", [0, -1, np.nan, np.inf])
def test_a_window_must_be_a_time(averaging_s):
    with pytest.raises(ValueError, match="averaging_s"):
        display.trailing_median([1, 2], [3, 4], averaging_s)


def test_mismatched_or_falling_times_are_refused():
    with pytest.raises(ValueError, match="same length"):
        display.trailing_median([1, 2], [3], 5)
    with pytest.raises(ValueError, match="time_s falls"):
        display.trailing_median([2, 1, 3], [3, 4, 5], 5)


def test_in_window_is_open_at_its_start():
    assert display.in_window(np.array([1.0, 2, 3]), 3, 2).tolist() == [False, True, True]
    assert display.in_window(np.array([1.0, 2, 3]), 3, None).all()
