"""Agreement of a pulse oximeter with blood samples: bias, precision, A_rms, limits of agreement.

A study draws several samples from each volunteer. Readings of one volunteer resemble each other,
so that a hundred pairs of ten people are worth far fewer than a hundred people: both the limits
of agreement and the confidence intervals have to know who is who.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike

from oximetry_workbook.study.columns import FloatArray, IntArray, finite_vector, subject_codes

LIMIT_SDS = 1.96
"""Standard deviations on either side of the bias that hold 95 % of normal differences."""

LARGEST_PERCENT = {"spo2_percent": 110.0, "sao2_percent": 100.0}
"""A calibration curve may overshoot 100 % before the display clips it; blood does not."""

LEAST_RESAMPLES = 100
DRAWS_AT_ONCE = 2_000_000
"""Bounds the memory of resampling to some tens of megabytes."""

NAMES = ("bias", "sd", "a_rms", "lower_limit", "upper_limit")


@dataclass(frozen=True)
class Agreement:
    """How well two methods agree. All in the unit of the differences, here points of percent.

    Attributes:
        n: Pairs.
        n_subjects: Subjects; as many as pairs when nobody said who is who.
        bias: Mean difference; above zero when the meter reads high.
        sd: Standard deviation of a single difference, called precision: of all pairs without
            subjects, else from the variance between subjects plus that within them.
        a_rms: Accuracy, the root of the mean squared difference over all pairs.
        lower_limit: Lower 95 % limit of agreement, bias − 1.96 sd.
        upper_limit: Upper 95 % limit of agreement, bias + 1.96 sd.
        intervals: Confidence interval (low, high) of each of bias, sd, a_rms, lower_limit and
            upper_limit, by name. Read-only.
        between_sd: Standard deviation between subjects; None without subjects.
        within_sd: Standard deviation within subjects; None without subjects.
    """

    n: int
    n_subjects: int
    bias: float
    sd: float
    a_rms: float
    lower_limit: float
    upper_limit: float
    intervals: Mapping[str, tuple[float, float]]
    between_sd: float | None = None
    within_sd: float | None = None


def agreement(
    spo2_percent: ArrayLike,
    sao2_percent: ArrayLike,
    subject: Iterable[Hashable] | None = None,
    confidence: float = 0.95,
    resamples: int = 2000,
    seed: int = 0,
) -> Agreement:
    """Agreement of readings with the saturation of the blood drawn at the same time.

    Studies of meters call for 10 subjects or more and 200 pairs or more between 70 and 100 %
    (FDA, Pulse Oximeters, guidance of 4 March 2013, docket FDA-2007-D-0205).

    Args:
        spo2_percent: Readings [%], above 1 and up to 110; shape (n,).
        sao2_percent: Arterial saturation of the samples [%], above 1 and up to 100; shape (n,).
        subject: Who each pair came from, any label; n of them. Without it each pair counts as
            a subject of its own, which is right only if it is one.
        confidence: Of the intervals, between 0 and 1. The limits themselves are 95 % limits.
        resamples: How often the subjects are drawn anew; used with `subject` only.
        seed: Makes the resampling repeatable.

    Returns:
        The statistics of SpO2 − SaO2 in points of percent; see `difference_statistics`.

    Raises:
        ValueError: Lengths differ, a value is missing or no percentage, or there are too few
            pairs or subjects; the message says which.
    """
    readings = _percentages("spo2_percent", spo2_percent)
    truth = _percentages("sao2_percent", sao2_percent)
    if readings.size != truth.size:
        raise ValueError(
            f"spo2_percent has {readings.size} values but sao2_percent has {truth.size}; "
            "they must come in pairs"
        )
    return difference_statistics(readings - truth, subject, confidence, resamples, seed)


def difference_statistics(
    differences: ArrayLike,
    subject: Iterable[Hashable] | None = None,
    confidence: float = 0.95,
    resamples: int = 2000,
    seed: int = 0,
) -> Agreement:
    """Bias, precision, A_rms and limits of agreement of paired differences in any unit.

    Without `subject`: mean and standard deviation of all differences, with Student's t for the
    intervals of bias and limits (standard error of a limit √(3/n) sd), chi-squared for that of sd,
    and Patnaik's approximation to the noncentral chi-squared for that of A_rms.

    With `subject`: one-way analysis of variance of the differences, for a true value that varies
    within a subject. The variance of a single difference is MSw + (MSb − MSw)/m0, where
    m0 = (n − Σm²/n)/(k − 1) for k subjects with m pairs each; an estimate below zero between
    subjects counts as zero. The intervals hold the middle of the statistics of resampled
    studies, each of k whole subjects drawn with replacement (percentile bootstrap). They are
    somewhat too narrow when subjects are few, as ten are.

    Args:
        differences: First method minus second; shape (n,), n at least 2.
        subject: Who each difference came from; n labels of at least 2 subjects.
        confidence: Of the intervals, between 0 and 1.
        resamples: Resampled studies, 100 or more.
        seed: Makes the resampling repeatable.

    Returns:
        The statistics, in the unit of the differences.

    Raises:
        ValueError: As in `agreement`, without the check of percentages.

    Source: Bland and Altman, Lancet 1986; i:307-310; Bland and Altman, J Biopharm Stat 2007;
    17:571-582, section 3. A_rms: ISO 80601-2-61 (from memory). Patnaik, Biometrika 1949; 36:202
    (from memory).
    """
    values = finite_vector("differences", differences)
    if values.size < 2:
        raise ValueError(f"there are {values.size} pairs; at least 2 are needed")
    if not 0.0 < confidence < 1.0:
        raise ValueError(f"confidence is {confidence:g}; choose a value between 0 and 1, as 0.95")
    if subject is None:
        return _of_single_pairs(values, confidence)
    _check_resamples(resamples)
    return _of_subjects(values, subject_codes(subject, values.size), confidence, resamples, seed)


def resampled_statistics(
    differences: ArrayLike,
    subject: Iterable[Hashable],
    resamples: int = 2000,
    seed: int = 0,
) -> Mapping[str, FloatArray]:
    """Statistics of resampled studies, each of as many whole subjects drawn with replacement.

    Args:
        differences: As in `difference_statistics`.
        subject: Who each difference came from; n labels of at least 2 subjects.
        resamples: Resampled studies, 100 or more.
        seed: Makes the resampling repeatable; give two groups different ones.

    Returns:
        bias, sd, a_rms, lower_limit and upper_limit, by name; each of shape (resamples,).

    Raises:
        ValueError: As in `difference_statistics`.
    """
    values = finite_vector("differences", differences)
    codes = subject_codes(subject, values.size)
    _check_resamples(resamples)
    centre = float(np.mean(values))
    sums = _subject_sums(values - centre, codes)
    statistics, _, _ = _estimates(_resampled(sums, resamples, seed), len(sums), centre)
    return dict(zip(NAMES, statistics.T, strict=True))


def _check_resamples(resamples: int) -> None:
    if resamples < LEAST_RESAMPLES:
        raise ValueError(f"resamples is {resamples}; choose {LEAST_RESAMPLES} or more")


def _of_single_pairs(values: FloatArray, confidence: float) -> Agreement:
    bias, sd = float(np.mean(values)), float(np.std(values, ddof=1))
    a_rms = float(np.sqrt(np.mean(values**2)))
    return Agreement(
        n=values.size,
        n_subjects=values.size,
        bias=bias,
        sd=sd,
        a_rms=a_rms,
        lower_limit=bias - LIMIT_SDS * sd,
        upper_limit=bias + LIMIT_SDS * sd,
        intervals=MappingProxyType(_classical(values.size, bias, sd, a_rms, confidence)),
    )


def _classical(
    n: int, bias: float, sd: float, a_rms: float, confidence: float
) -> dict[str, tuple[float, float]]:
    from scipy.special import chdtri, stdtrit  # type: ignore[import-untyped]  # slow to import

    tail = (1.0 - confidence) / 2.0
    margin = float(stdtrit(n - 1, 1.0 - tail)) * sd / np.sqrt(n)

    def scaled(estimate: float, freedom: float) -> tuple[float, float]:
        low, high = (np.sqrt(freedom / chdtri(freedom, side)) for side in (tail, 1.0 - tail))
        return float(estimate * low), float(estimate * high)

    def around(centre: float, half: float) -> tuple[float, float]:
        return float(centre - half), float(centre + half)

    # mean squared difference: its mean squared, twice, over its variance
    ratio = 1.0 if sd == 0.0 else (bias / sd) ** 2
    freedom = n * (1.0 + ratio) ** 2 / (1.0 + 2.0 * ratio)
    return {
        "bias": around(bias, margin),
        "sd": scaled(sd, n - 1),
        "a_rms": (a_rms, a_rms) if sd == 0.0 else scaled(a_rms, freedom),
        "lower_limit": around(bias - LIMIT_SDS * sd, np.sqrt(3.0) * margin),
        "upper_limit": around(bias + LIMIT_SDS * sd, np.sqrt(3.0) * margin),
    }


def _of_subjects(
    values: FloatArray, codes: IntArray, confidence: float, resamples: int, seed: int
) -> Agreement:
    centre = float(np.mean(values))  # sums of squares lose digits far from zero
    sums = _subject_sums(values - centre, codes)
    estimates, between, within = _estimates(sums.sum(axis=0), len(sums), centre)
    resampled, _, _ = _estimates(_resampled(sums, resamples, seed), len(sums), centre)
    tail = (1.0 - confidence) / 2.0
    low, high = np.quantile(resampled, [tail, 1.0 - tail], axis=0)
    return Agreement(
        n=values.size,
        n_subjects=len(sums),
        **dict(zip(NAMES, estimates.tolist(), strict=True)),
        intervals=MappingProxyType(
            dict(zip(NAMES, zip(low.tolist(), high.tolist(), strict=True), strict=True))
        ),
        between_sd=float(np.sqrt(between)),
        within_sd=float(np.sqrt(within)),
    )


def _subject_sums(values: FloatArray, codes: IntArray) -> FloatArray:
    """All that the statistics need of a subject: m, Σd, Σd², (Σd)²/m, m²; shape (k, 5)."""
    m = np.bincount(codes).astype(np.float64)
    total = np.bincount(codes, weights=values)
    squares = np.bincount(codes, weights=values**2)
    return np.column_stack([m, total, squares, total**2 / m, m**2])


def _estimates(
    sums: FloatArray, n_subjects: int, centre: float
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Statistics in the order of NAMES, and the variances between and within subjects.

    `sums` holds the five sums over the subjects in its last axis, for one study or for many.
    """
    n, total, squares, of_means, m_squared = np.moveaxis(sums, -1, 0)
    mean = total / n
    # with one pair each there is nothing within, and the sum below is the plain variance
    within = np.maximum(squares - of_means, 0.0) / np.maximum(n - n_subjects, 1.0)
    between_square = np.maximum(of_means - n * mean**2, 0.0) / (n_subjects - 1)
    pairs_each = (n - m_squared / n) / (n_subjects - 1)
    between = np.maximum(between_square - within, 0.0) / pairs_each
    bias, sd = centre + mean, np.sqrt(between + within)
    a_rms = np.sqrt(np.maximum(squares / n - mean**2, 0.0) + bias**2)
    statistics = [bias, sd, a_rms, bias - LIMIT_SDS * sd, bias + LIMIT_SDS * sd]
    return np.stack(statistics, axis=-1), between, within


def _resampled(sums: FloatArray, resamples: int, seed: int) -> FloatArray:
    """The sums over the subjects of resampled studies; shape (resamples, 5)."""
    generator = np.random.default_rng(seed)
    k = len(sums)
    blocks = []
    for start in range(0, resamples, max(DRAWS_AT_ONCE // k, 1)):
        studies = min(max(DRAWS_AT_ONCE // k, 1), resamples - start)
        drawn = generator.integers(k, size=(studies, k)) + k * np.arange(studies)[:, np.newaxis]
        times = np.bincount(drawn.ravel(), minlength=studies * k).reshape(studies, k)
        blocks.append(times @ sums)
    return np.concatenate(blocks)


def _percentages(name: str, values: ArrayLike) -> FloatArray:
    percent = finite_vector(name, values)
    largest = LARGEST_PERCENT[name]
    wrong = (percent <= 1.0) | (percent > largest)
    if np.any(wrong):
        row = int(np.argmax(wrong))
        raise ValueError(
            f"{name} is {percent[row]:g} at row {row}; percentages above 1 and up to "
            f"{largest:g} are allowed: multiply fractions by 100"
        )
    return percent
