"""Columns of a study as numbers: values that must all be there, and who each pair came from."""

from __future__ import annotations

from collections.abc import Hashable, Iterable

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]


def subject_codes(subject: Iterable[Hashable], expected: int) -> IntArray:
    """Number the subjects in order of appearance.

    Args:
        subject: Any labels, one for each pair.
        expected: Number of pairs.

    Returns:
        0 to k − 1 for k subjects; shape (expected,).

    Raises:
        ValueError: Labels are missing, or there is a single subject.
    """
    labels = list(subject)
    if len(labels) != expected:
        raise ValueError(f"subject has {len(labels)} labels for {expected} pairs; give one each")
    missing = [row for row, label in enumerate(labels) if label is None or label != label]
    if missing:
        raise ValueError(f"subject has no label at row {missing[0]}; give each pair one")
    numbers = {label: number for number, label in enumerate(dict.fromkeys(labels))}
    if len(numbers) < 2:
        raise ValueError(
            f"subject has only the label {labels[0]!r}; spread between people cannot be told from "
            "one person: give 2 subjects or more, or leave subject out"
        )
    return np.array([numbers[label] for label in labels], dtype=np.int64)


def finite_vector(name: str, values: ArrayLike) -> FloatArray:
    """Values as a row of finite numbers; shape (n,).

    Raises:
        ValueError: Something is no number, or missing; the message calls the values `name`.
    """
    try:
        vector = np.asarray(values, dtype=np.float64)
    except (TypeError, ValueError):
        raise ValueError(f"{name} holds something that is not a number") from None
    if vector.ndim != 1:
        raise ValueError(f"{name} has {vector.ndim} dimensions; it must be a row of numbers")
    if not np.all(np.isfinite(vector)):
        row = int(np.argmin(np.isfinite(vector)))
        raise ValueError(
            f"{name} is {vector[row]} at row {row}; leave out pairs without a value, such as "
            "readings that were withheld"
        )
    return vector
