"""What a meter shows: kept within 0 to 100 %, averaged over time, rounded."""

from __future__ import annotations

import math
from typing import overload

import numpy as np
from numpy.typing import ArrayLike, NDArray

from oximetry_workbook.meter.filters import FloatArray


@overload
def clamped(percent: float) -> float: ...
@overload
def clamped(percent: ArrayLike) -> float | FloatArray: ...
def clamped(percent: ArrayLike) -> float | FloatArray:
    """Saturation [%] kept within 0 and 100; a number for a number; NaN stays NaN."""
    kept = np.clip(np.asarray(percent, dtype=np.float64), 0.0, 100.0)
    return float(kept) if kept.ndim == 0 else kept


def rounded(percent: float) -> int:
    """Whole percent for a display; halves go up, so 96.5 shows 97 and 97.5 shows 98.

    Python's own `round` sends halves to the even neighbour: 96.5 would show 96.

    Raises:
        ValueError: The value is not finite; a withheld value has no figure to show.
    """
    if not math.isfinite(percent):
        raise ValueError(f"percent is {percent}; a withheld value cannot be rounded for a display")
    return math.floor(percent + 0.5)


def in_window(time_s: FloatArray, end_s: float, averaging_s: float | None) -> NDArray[np.bool_]:
    """Which times lie in the last `averaging_s` seconds up to `end_s`; all of them for None."""
    if averaging_s is None:
        return np.ones(time_s.size, dtype=bool)
    return np.asarray((time_s > end_s - averaging_s) & (time_s <= end_s))


def trailing_median(time_s: ArrayLike, values: ArrayLike, averaging_s: float) -> FloatArray:
    """Averaged reading after each beat: median of the beats of the last seconds.

    A median, not a mean, so that one spoilt beat does not move the reading. Like every average
    over the past it lags: after a sudden change it follows about half a window later.

    Args:
        time_s: Times of the beats [s], rising; shape (n,).
        values: Value of each beat; NaN is passed over; shape (n,).
        averaging_s: Length of the window that ends with each beat [s].

    Returns:
        Median over (time − averaging_s, time]; NaN where it holds no value; shape (n,).

    Raises:
        ValueError: The shapes differ, the times fall, or `averaging_s` is not above 0.
    """
    times, numbers = (np.asarray(given, dtype=np.float64) for given in (time_s, values))
    if times.ndim != 1 or times.shape != numbers.shape:
        raise ValueError(
            f"time_s has shape {times.shape} and values {numbers.shape}; both must be rows of "
            "the same length"
        )
    if np.any(np.diff(times) < 0):
        raise ValueError("time_s falls somewhere; sort the beats by time")
    check_averaging(averaging_s)
    last = np.arange(times.size)
    count = last + 1 - np.searchsorted(times, times - averaging_s, side="right")
    answer = np.empty(times.size)
    for size in np.unique(count):  # few sizes, many beats: one median for each size
        ends = last[count == size]
        windows = np.sort(numbers[ends[:, None] + np.arange(1 - size, 1)], axis=1)
        answer[ends] = _sorted_median(windows)
    return answer


def _sorted_median(rows: FloatArray) -> FloatArray:
    """Median along sorted rows whose NaN come last; NaN for a row of NaN."""
    present = np.sum(~np.isnan(rows), axis=1)
    row = np.arange(rows.shape[0])
    low, high = (present - 1) // 2, present // 2  # a row of NaN: its last and its first
    return np.asarray((rows[row, low] + rows[row, high]) / 2)


def check_averaging(averaging_s: float | None) -> None:
    """Refuse a window that is no time at all.

    Raises:
        ValueError: `averaging_s` is neither None nor a finite time above 0.
    """
    if averaging_s is not None and not (math.isfinite(averaging_s) and averaging_s > 0):
        raise ValueError(f"averaging_s is {averaging_s}; it must be a time above 0 s, or None")
