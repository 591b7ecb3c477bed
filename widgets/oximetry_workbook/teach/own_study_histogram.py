"""How often each error of a study comes, and how often it would if errors were normal."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from oximetry_workbook.meter.curve import VALIDATED_PERCENT
from oximetry_workbook.teach.own_study import OwnStudy

FloatArray = NDArray[np.float64]

BINS = 32
"""From one end of the axis to the other: half a point each where it reaches 8 points."""


@dataclass(frozen=True, eq=False)
class Histogram:
    """Errors counted in bins of one width.

    Attributes:
        edges: Ends of the bins [points]; shape (BINS + 1,).
        counts: Errors in each bin; shape (BINS,).
        within: Share of all errors within the limits of agreement, 0 to 1.
    """

    edges: FloatArray
    counts: FloatArray
    within: float

    @property
    def width(self) -> float:
        """Of each bin [points]."""
        return float(self.edges[1] - self.edges[0])


def errors_counted(study: OwnStudy) -> FloatArray:
    """Errors with blood from 70 to 100 %, those that bias and SD are of [points]; shape (n,)."""
    blood = study.judged_pairs["sao2_percent"].between(*VALIDATED_PERCENT)
    return study.errors[blood.to_numpy()]


def histogram(study: OwnStudy, reach: float) -> Histogram:
    """Count errors with blood from 70 to 100 %.

    Args:
        study: Whose errors.
        reach: Bins go from minus this to this [points]; no error may lie beyond.
    """
    errors, it = errors_counted(study), study.result.overall
    counts, edges = np.histogram(errors, BINS, (-reach, reach))
    within = (errors >= it.lower_limit) & (errors <= it.upper_limit)
    return Histogram(edges, counts.astype(np.float64), float(np.mean(within)))


def normal_counts(study: OwnStudy, errors: FloatArray, width: float) -> FloatArray:
    """Errors expected in a bin about each place if errors were normal; zero without spread.

    Args:
        study: Gives their number, bias and SD.
        errors: Where [points]; shape (m,).
        width: Of a bin [points].

    Returns:
        Expected counts; shape (m,).
    """
    it = study.result.overall
    if it.sd == 0.0:
        return np.zeros_like(errors)
    z = (errors - it.bias) / it.sd
    return np.asarray(it.n * width * np.exp(-0.5 * z**2) / (it.sd * math.sqrt(2.0 * math.pi)))


def histogram_sentence(study: OwnStudy, counted: Histogram) -> str:
    """Say how many errors lie within the limits of agreement."""
    return (
        f"{100.0 * counted.within:.0f} % of {study.result.overall.n} errors lie within the limits "
        "of agreement. It would be 95 % if errors were normal, as the thin line has them. Bars are "
        f"{counted.width:g} points wide; blood from 70 to 100 %."
    )
