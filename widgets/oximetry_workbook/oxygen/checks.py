"""What the modules of this package check before they reckon."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]

Ranges = Mapping[str, tuple[float, float, str]]
"""Lowest and highest value allowed, and the unit, by the name of a quantity."""


def as_numbers(name: str, values: ArrayLike) -> FloatArray:
    """Return `values` as an array.

    Raises:
        ValueError: No number; the message names the quantity.
    """
    try:
        return np.asarray(values, dtype=np.float64)
    except (TypeError, ValueError):
        raise ValueError(f"{name} is {values!r}; it must be a number or numbers") from None


def within(name: str, values: ArrayLike, ranges: Ranges) -> FloatArray:
    """Return `values` as an array.

    Args:
        name: Name of the quantity, a key of `ranges`.
        values: A number or numbers.
        ranges: What is allowed.

    Raises:
        ValueError: No number, or out of range; the message names quantity, value and range.
    """
    low, high, unit = ranges[name]
    numbers = as_numbers(name, values)
    wrong = ~((numbers >= low) & (numbers <= high))  # catches NaN as well
    if np.any(wrong):
        shown = f"{numbers[wrong].flat[0]:g} {unit}".rstrip()
        allowed = f"{low:g} to {high:g} {unit}".rstrip()
        raise ValueError(f"{name} is {shown}; choose a value from {allowed}")
    return numbers


def plain(values: FloatArray) -> float | FloatArray:
    """Return a float for a single number, and arrays as they are."""
    return values if np.ndim(values) else float(values)
