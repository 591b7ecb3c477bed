"""Calibration of a probe from a volunteer study: a curve, and how far to trust it.

A study takes R from the probe and SaO2 from blood drawn at the same time, several times from each
volunteer. A curve always suits the people it was fitted to; only those left out can tell how it
will do on the next one. For teaching: no substitute for a validation on other volunteers.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike

from oximetry_workbook.meter.curve import Curve
from oximetry_workbook.study.columns import FloatArray, IntArray, finite_vector, subject_codes
from oximetry_workbook.study.curve_forms import (
    FORMS,
    HUBER_SDS,
    clustered_covariance,
    curve_values,
    gradient,
    huber_fit,
    least_squares_fit,
    split,
)
from oximetry_workbook.study.student_t import student_t

METHODS = ("least squares", "huber")

BAND_METHOD = (
    "Delta method with a covariance clustered by subject and Student's t; it holds the mean "
    "curve at each R on its own, not single readings."
)

SUBJECTS_AT_AN_END = 3
"""The validated range ends where so many subjects got to: one alone proves little (our choice)."""

GUIDANCE_SUBJECTS = 10
GUIDANCE_PAIRS = 200
"""Least numbers. Source: FDA, Pulse Oximeters, guidance of 4 March 2013, docket FDA-2007-D-0205."""

Table = pd.DataFrame | Mapping[str, Any]


@dataclass(frozen=True, eq=False)
class Calibration:
    """A fitted calibration curve with its uncertainty.

    Attributes:
        curve: The curve, valid where enough subjects were measured.
        form: linear, quadratic or rational.
        method: least squares or huber.
        coefficients: a0, a1, … of the numerator [%], then b1, … of the denominator.
        covariance: Of the coefficients, clustered by subject; shape (c, c).
        a_rms: Root mean square of the residuals, of people who took part in the fit [points].
        n: Pairs.
        n_subjects: Subjects.
        ratio_range: Lowest and highest R fitted.
        findings: What to know before the curve is used; sentences.
    """

    curve: Curve
    form: str
    method: str
    coefficients: FloatArray
    covariance: FloatArray
    a_rms: float
    n: int
    n_subjects: int
    ratio_range: tuple[float, float]
    findings: tuple[str, ...]

    def band(self, ratio: ArrayLike, confidence: float = 0.95) -> tuple[FloatArray, FloatArray]:
        """Confidence band of the curve, by the delta method; see `BAND_METHOD`.

        Student's t has as many degrees of freedom as there are subjects less one. With few
        subjects, as ten are, the band is still somewhat too narrow.

        Args:
            ratio: R; shape (m,).
            confidence: Between 0 and 1.

        Returns:
            Lower and upper end [%]; shape (m,) each.

        Raises:
            ValueError: R is no row of numbers, or the confidence is out of range.
        """
        t = float(student_t(self.n_subjects - 1, confidence))
        where = finite_vector("ratio", ratio)
        slopes = gradient(where, self.coefficients, FORMS[self.form])
        variance = np.sum((slopes @ self.covariance) * slopes, axis=1)
        half = t * np.sqrt(np.maximum(variance, 0.0))
        middle = curve_values(where, self.coefficients, FORMS[self.form])
        return middle - half, middle + half


@dataclass(frozen=True, eq=False)
class LeftOut:
    """What curves fitted to all others would have read on each subject.

    Attributes:
        pairs: The pairs given, with the reading as spo2_percent; a table for `accuracy`.
        subjects: One row a subject, in order of appearance: subject, n, bias, a_rms [points].
        a_rms: Root mean square over all pairs [points].
    """

    pairs: pd.DataFrame
    subjects: pd.DataFrame
    a_rms: float


def calibrate(pairs: Table, form: str = "linear", method: str = "least squares") -> Calibration:
    """Fit a calibration curve to the pairs of a study.

    Args:
        pairs: Columns subject, ratio and sao2_percent, as a table or as arrays by name.
        form: linear, quadratic or rational, (a0 + a1 R)/(1 + b1 R).
        method: least squares, or huber, in which single readings far off count for less.

    Returns:
        The curve. Its valid range runs from the third lowest of the subjects' lowest SaO2 to the
        third highest of their highest.

    Raises:
        ValueError: A column or value is missing or out of range, or the form cannot be fitted;
            the message says which.
    """
    ratio, sao2, codes = _columns(pairs)
    _check_choice("form", form, tuple(FORMS))
    coefficients, bound = _fitted(ratio, sao2, form, method)
    residuals = sao2 - curve_values(ratio, coefficients, FORMS[form])
    slopes = gradient(ratio, coefficients, FORMS[form])
    n_subjects = int(codes.max()) + 1
    return Calibration(
        curve=_curve(coefficients, form, method, _covered(sao2, codes), (sao2.size, n_subjects)),
        form=form,
        method=method,
        coefficients=coefficients,
        covariance=clustered_covariance(slopes, residuals, codes, bound),
        a_rms=float(np.sqrt(np.mean(residuals**2))),
        n=sao2.size,
        n_subjects=n_subjects,
        ratio_range=(float(ratio.min()), float(ratio.max())),
        findings=_findings(ratio, sao2, n_subjects, coefficients, form),
    )


def leave_one_subject_out(
    pairs: Table, form: str = "linear", method: str = "least squares"
) -> LeftOut:
    """Read each subject's pairs with a curve fitted to all the others.

    Args:
        pairs: As in `calibrate`; a column group is carried over.
        form: As in `calibrate`.
        method: As in `calibrate`.

    Returns:
        Readings and errors; the reading is not clipped at 100 %.

    Raises:
        ValueError: As in `calibrate`, also when the others are too few to fit the form.
    """
    ratio, sao2, codes = _columns(pairs)
    _check_choice("form", form, tuple(FORMS))
    reading = np.empty_like(sao2)
    for code in range(int(codes.max()) + 1):
        out = codes == code
        coefficients, _ = _fitted(ratio[~out], sao2[~out], form, method)
        reading[out] = curve_values(ratio[out], coefficients, FORMS[form])
    table = pd.DataFrame(pairs).reset_index(drop=True).assign(spo2_percent=reading)
    error = pd.DataFrame({"subject": table["subject"], "error": reading - sao2})
    by_subject = error.assign(square=error["error"] ** 2).groupby("subject", sort=False)
    subjects = by_subject.agg(n=("error", "size"), bias=("error", "mean"), a_rms=("square", "mean"))
    subjects["a_rms"] = np.sqrt(subjects["a_rms"])
    return LeftOut(table, subjects.reset_index(), float(np.sqrt(np.mean((reading - sao2) ** 2))))


def _columns(pairs: Table) -> tuple[FloatArray, FloatArray, IntArray]:
    for name in ("subject", "ratio", "sao2_percent"):
        if name not in pairs:
            raise ValueError(
                f"pairs has no column {name}; it needs subject, ratio and sao2_percent"
            )
    ratio = finite_vector("ratio", pairs["ratio"])
    sao2 = finite_vector("sao2_percent", pairs["sao2_percent"])
    if ratio.size != sao2.size:
        raise ValueError(f"ratio has {ratio.size} values but sao2_percent has {sao2.size}")
    _check_each("ratio", ratio, ratio > 0.0, "it must be above zero")
    hint = "it must be a percentage above 1 and up to 100: multiply fractions by 100"
    _check_each("sao2_percent", sao2, (sao2 > 1.0) & (sao2 <= 100.0), hint)
    return ratio, sao2, subject_codes(pairs["subject"], sao2.size)


def _check_each(name: str, values: FloatArray, allowed: Any, hint: str) -> None:
    if not np.all(allowed):
        row = int(np.argmin(allowed))
        raise ValueError(f"{name} is {values[row]:g} at row {row}; {hint}")


def _check_choice(name: str, value: object, choices: tuple[str, ...]) -> None:
    if value not in choices:
        raise ValueError(f"{name} is {value!r}; choose one of {', '.join(choices)}")


def _fitted(
    ratio: FloatArray, sao2: FloatArray, form: str, method: str
) -> tuple[FloatArray, float]:
    """Coefficients, and the residual beyond which Huber's estimate counts no more."""
    _check_choice("method", method, METHODS)
    if ratio.size <= sum(FORMS[form]) + 1:
        raise ValueError(f"{ratio.size} pairs are too few for a {form} curve; take more")
    if method == "least squares":
        return least_squares_fit(ratio, sao2, FORMS[form]), np.inf
    coefficients, scale = huber_fit(ratio, sao2, FORMS[form])
    return coefficients, HUBER_SDS * scale if scale > 0.0 else np.inf


def _covered(sao2: FloatArray, codes: IntArray) -> tuple[float, float]:
    """Lowest and highest saturation [%] that three subjects, or all of fewer, reached."""
    by_subject = pd.Series(sao2).groupby(codes)
    at = min(SUBJECTS_AT_AN_END, by_subject.ngroups) - 1
    low = float(np.sort(by_subject.min())[at])
    high = float(np.sort(by_subject.max())[::-1][at])
    if low >= high:
        raise ValueError(
            f"sao2_percent has no range that {at + 1} subjects cover; lower the saturation of "
            "each subject in steps"
        )
    return low, high


def _curve(
    coefficients: FloatArray,
    form: str,
    method: str,
    valid_percent: tuple[float, float],
    size: tuple[int, int],
) -> Curve:
    above, below = split(coefficients, FORMS[form])
    how = "Least squares" if method == "least squares" else "Huber's robust estimate"
    source = f"{how} through {size[0]} pairs of {size[1]} subjects"
    return Curve.rational(f"{form} curve", above, below, source, valid_percent)


def _findings(
    ratio: FloatArray, sao2: FloatArray, n_subjects: int, coefficients: FloatArray, form: str
) -> tuple[str, ...]:
    found = []
    if n_subjects < GUIDANCE_SUBJECTS:
        found.append(f"Only {n_subjects} subjects; guidance asks for {GUIDANCE_SUBJECTS} or more.")
    if sao2.size < GUIDANCE_PAIRS:
        found.append(f"Only {sao2.size} pairs; guidance asks for {GUIDANCE_PAIRS} or more.")
    grid = np.linspace(ratio.min(), ratio.max(), 400)
    steps = np.diff(curve_values(grid, coefficients, FORMS[form]))
    if np.all(steps > 0.0):
        found.append("The curve rises with R; the two colours may be swapped.")
    elif np.any(steps >= 0.0):
        turn = grid[int(np.argmax(np.diff(np.sign(steps)) != 0)) + 1]
        found.append(f"The curve turns back near R = {turn:.2f}; do not use it on both sides.")
    return tuple(found)
