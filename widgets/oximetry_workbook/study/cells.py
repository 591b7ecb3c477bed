"""True saturation counted in narrow cells, and the chance that a display shows a number.

Normal tails are reckoned in logarithms: the chance of many readings together may be smaller than
any number there is.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

STEP_POINTS = 0.05
LOWEST_PERCENT, HIGHEST_PERCENT = 50.0, 100.0
SATURATION_PERCENT = np.arange(LOWEST_PERCENT + STEP_POINTS / 2.0, HIGHEST_PERCENT, STEP_POINTS)
"""Middles of the cells in which true saturation is counted [%]."""

FULL_SHOWN = 100
"""Largest number on a display: whatever comes out higher is shown as this."""

HALF_SHOWN = 0.5
"""Half a step of a display in whole percent: 92 is shown from 91.5 up to 92.5."""

KERNEL_SDS = 8.0
LARGEST_EXACT_SDS = 30.0
"""Further out than this erfc comes near the least number there is; its series takes over."""

_erfc = np.frompyfunc(math.erfc, 1, 1)


def normal_shares(mean: float, sd: float) -> FloatArray:
    """Normal shares of the cells of `SATURATION_PERCENT`, what lies beyond 100 % left out."""
    height = np.exp(-0.5 * ((SATURATION_PERCENT - mean) / sd) ** 2)
    return np.asarray(height / height.sum())


def error_kernel(sd: float) -> FloatArray:
    """Normal shares at whole steps about 0, odd in number; all of it at 0 for no spread."""
    reach = math.ceil(KERNEL_SDS * sd / STEP_POINTS)
    if sd < STEP_POINTS / KERNEL_SDS:
        return np.ones(1)
    height = np.exp(-0.5 * (np.arange(-reach, reach + 1) * STEP_POINTS / sd) ** 2)
    return np.asarray(height / height.sum())


def around(reach: int) -> FloatArray:
    """Middles of the cells of `SATURATION_PERCENT`, with some more at either end [%]."""
    steps = np.arange(-reach, SATURATION_PERCENT.size + reach)
    return np.asarray(SATURATION_PERCENT[0] + STEP_POINTS * steps)


def spread_out(shares: FloatArray, sd: float) -> tuple[FloatArray, FloatArray]:
    """Middles of cells [%] and shares in them, once a normal error is added to each person's."""
    kernel = error_kernel(sd)
    return around(kernel.size // 2), np.convolve(shares, kernel)


def log_shown(reading: float, middles: FloatArray, sd: float) -> FloatArray:
    """Logarithm of the chance that a display shows a number; shape (n,)."""
    low = (reading - HALF_SHOWN - middles) / sd
    if reading >= FULL_SHOWN:
        return log_below(-low)
    high = low + 2.0 * HALF_SHOWN / sd
    # both ends on the lower tail, where no digits are lost
    flip = low + high > 0.0
    near, far = np.where(flip, -low, high), np.where(flip, -high, low)
    upper, lower = log_below(near), log_below(far)
    return np.asarray(upper + np.log1p(-np.exp(lower - upper)))


def log_below(sds: FloatArray) -> FloatArray:
    """Natural logarithm of the normal distribution function; same shape."""
    inside = np.maximum(sds, -LARGEST_EXACT_SDS)
    exact = np.log(0.5 * np.asarray(_erfc(-inside / math.sqrt(2.0)), dtype=np.float64))
    far = np.maximum(-sds, LARGEST_EXACT_SDS)
    series = -0.5 * far**2 - np.log(far * math.sqrt(2.0 * math.pi)) + np.log1p(-(far**-2.0))
    return np.asarray(np.where(sds < -LARGEST_EXACT_SDS, series, exact))
