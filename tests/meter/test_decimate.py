"""Fewer points, the same extremes."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from oximetry_workbook.meter.decimate import decimate_min_max

VALUES = arrays(
    np.float64,
    st.integers(1, 300),
    elements=st.one_of(st.floats(-1e9, 1e9), st.just(np.nan)),
)


@given(values=VALUES, points=st.integers(2, 120))
def test_extremes_order_and_number(values, points):
    time_s = np.arange(values.size) * 0.01
    kept_s, kept = decimate_min_max(time_s, values, points)
    assert kept_s.size == kept.size <= points
    assert np.all(np.diff(kept_s) > 0)
    places = np.rint(kept_s / 0.01).astype(int)
    np.testing.assert_array_equal(values[places], kept)
    if np.isfinite(values).any():
        assert np.nanmax(kept) == np.nanmax(values)
        assert np.nanmin(kept) == np.nanmin(values)


@given(values=VALUES, points=st.integers(2, 120))
def test_each_stretch_keeps_its_own_extremes(values, points):
    """Held against numpy, stretch by stretch."""
    time_s = np.arange(values.size, dtype=float)
    kept_s, kept = decimate_min_max(time_s, values, points)
    width = 1 if values.size <= points else -(-values.size // (points // 2))
    for start in range(0, values.size, width):
        stretch = values[start : start + width]
        inside = kept[(kept_s >= start) & (kept_s < start + width)]
        if np.isnan(stretch).all():
            assert np.isnan(inside).all()
            assert inside.size
        else:
            assert np.nanmax(inside) == np.nanmax(stretch)
            assert np.nanmin(inside) == np.nanmin(stretch)


def test_one_sample_of_a_long_recording_is_not_lost():
    values = np.zeros(1_000_000)
    values[654_321] = 1.0
    kept_s, kept = decimate_min_max(np.arange(values.size) / 100, values, 1000)
    assert kept_s[np.argmax(kept)] == 6543.21
    assert kept.size <= 1000


def test_the_rest_behind_whole_stretches_keeps_its_extremes():
    """Eleven samples and four points: a stretch of six, and one of five (worked by hand)."""
    values = np.array([0.0, 2, 0, -1, 0, 0, 0, 5, 0, -3, 0])
    kept_s, kept = decimate_min_max(np.arange(11.0), values, 4)
    assert kept_s.tolist() == [1, 3, 7, 9]
    assert kept.tolist() == [2, -1, 5, -3]


def test_short_data_are_unchanged():
    time_s, values = np.arange(5.0), np.array([3.0, 1.0, 2.0, np.nan, 5.0])
    for got, given_ in zip(decimate_min_max(time_s, values, 5), (time_s, values), strict=True):
        np.testing.assert_array_equal(got, given_)


@pytest.mark.parametrize(
    ("time_s", "values", "points", "says"),
    [
        ([1, 2], [1], 10, "shape"),
        ([[1, 2]], [[1, 2]], 10, "shape"),
        ([1, 2], [1, 2], 1, "points is 1"),
    ],
)
def test_bad_input_is_refused(time_s, values, points, says):
    with pytest.raises(ValueError, match=says):
        decimate_min_max(time_s, values, points)
