"""How far a mean of few may be off: Student's t, by numpy alone.

scipy has it too, but takes 11 MB of a learner's kernel and a quarter of a second to load: too much
for pages that show an interval as they open.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]

HALVINGS = 64
"""More than a double has digits."""


def student_t(freedom: ArrayLike, confidence: float) -> FloatArray:
    """Return the t between whose negative and itself a share of Student's distribution lies.

    Args:
        freedom: Degrees of freedom, whole and at least 1; any shape.
        confidence: That share, above 0 and below 1.

    Returns:
        t, of the shape of `freedom`.

    Raises:
        ValueError: A number of degrees of freedom or the share is out of range.
    """
    degrees = np.asarray(freedom, dtype=np.float64)
    wrong = ~(np.isfinite(degrees) & (degrees >= 1.0) & (degrees == np.floor(degrees)))
    if np.any(wrong):
        raise ValueError(f"freedom is {degrees[wrong][0]:g}; give whole numbers of at least 1")
    if not 0.0 < confidence < 1.0:
        raise ValueError(f"confidence is {confidence:g}; choose a value between 0 and 1")
    found = [_one_t(int(each), confidence) for each in degrees.ravel()]
    return np.array(found, dtype=np.float64).reshape(degrees.shape)


@lru_cache(maxsize=256)
def _one_t(freedom: int, confidence: float) -> float:
    """Halve the range of the angle whose tangent is t over the root of the freedom."""
    low, high = 0.0, math.pi / 2.0
    powers = np.arange(freedom % 2, freedom - 1, 2)
    steps = np.where(powers > 1, (powers - 1) / np.maximum(powers, 1), 1.0)
    weights = np.cumprod(steps, dtype=np.float64)
    for _ in range(HALVINGS):
        angle = (low + high) / 2.0
        if _share_within(angle, freedom, powers, weights) < confidence:
            low = angle
        else:
            high = angle
    return math.sqrt(freedom) * math.tan((low + high) / 2.0)


def _share_within(
    angle: float, freedom: int, powers: NDArray[np.int_], weights: FloatArray
) -> float:
    """Share between minus t and t (Abramowitz and Stegun 1964, 26.7.3 and 26.7.4)."""
    series = math.sin(angle) * float(weights @ math.cos(angle) ** powers)
    return 2.0 / math.pi * (angle + series) if freedom % 2 else series
