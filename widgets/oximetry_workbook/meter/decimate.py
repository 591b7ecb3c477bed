"""Fewer points for a plot, with every peak and trough of the recording still in it."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]


def decimate_min_max(
    time_s: ArrayLike, values: ArrayLike, points: int
) -> tuple[FloatArray, FloatArray]:
    """Keep the lowest and the highest sample of each of `points` / 2 equal stretches.

    A line through the kept samples covers the same pixels as one through all, where a stretch is
    no wider than a pixel. The effort grows in proportion to the number of samples.

    Args:
        time_s: Sample times [s]; shape (n,).
        values: Samples; NaN where missing; shape (n,).
        points: Number of samples wanted at most, 2 or more.

    Returns:
        Times and values of the kept samples, in their order in time; all of them if there are no
        more than `points`. A stretch without any value gives one NaN, so that a line breaks there.

    Raises:
        ValueError: The shapes differ, or `points` is under 2.
    """
    time_s, values = np.asarray(time_s, np.float64), np.asarray(values, np.float64)
    if time_s.ndim != 1 or time_s.shape != values.shape:
        raise ValueError(
            f"time_s has shape {time_s.shape} and values {values.shape}; both must be (n,)"
        )
    if points < 2:
        raise ValueError(f"points is {points}; at least 2 are needed, the lowest and the highest")
    if values.size <= points:
        return time_s, values
    kept = _extremes(values, -(-values.size // (points // 2)))
    return time_s[kept], values[kept]


def _extremes(values: FloatArray, width: int) -> NDArray[np.int64]:
    """Places of the lowest and highest sample of each stretch of `width`, in order, none twice."""
    whole = values.size - values.size % width
    stretches = values[:whole].reshape(-1, width)
    first = width * np.arange(stretches.shape[0])
    pairs = [first + place for place in _lowest_and_highest(stretches)]
    if whole < values.size:
        rest = _lowest_and_highest(values[None, whole:])
        pairs = [np.append(place, whole + end) for place, end in zip(pairs, rest, strict=True)]
    return np.unique(np.concatenate(pairs))


def _lowest_and_highest(stretches: FloatArray) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    missing = np.isnan(stretches)
    return (
        np.where(missing, np.inf, stretches).argmin(axis=1),
        np.where(missing, -np.inf, stretches).argmax(axis=1),
    )
