"""Fitting the forms a calibration curve may take, by least squares or by Huber's estimate.

A form is N(R)/D(R) with D(0) = 1, described by the degrees of N and D; its coefficients come in
one row, a0, a1, … of N and then b1, b2, … of D.
"""

from __future__ import annotations

import numpy as np

from oximetry_workbook.study.columns import FloatArray, IntArray

Degrees = tuple[int, int]

FORMS: dict[str, Degrees] = {"linear": (1, 0), "quadratic": (2, 0), "rational": (1, 1)}
"""Degrees of numerator and denominator. The rational one is what Beer and Lambert's law gives."""

HUBER_SDS = 1.345
"""Residuals beyond this many standard deviations weigh less; 95 % as efficient as least squares
when errors are normal (0.9500 by integration). The default of statsmodels' HuberT. Source: Huber,
Robust Statistics, 1981 (not opened)."""

MAD_OF_NORMAL = 0.6744897501960817
"""Median absolute deviation of the standard normal distribution, its upper quartile."""

RUN_AWAY = 1e9
"""Coefficients [%, or 1] as large as this have left D(0) = 1 behind; there is no end that way."""

MOST_ROUNDS = 500
ROUNDS_AGREE = 1e-10
"""Huber's rounds end when no point of the curve moves by more than this, in scales."""

MOST_HALVINGS = 30
LOSS_ROUNDS = 1e-12
"""A loss that grows by no more than this share of itself has grown by rounding alone."""


def curve_values(ratio: FloatArray, coefficients: FloatArray, degrees: Degrees) -> FloatArray:
    """Values of the form at R; shape as `ratio`."""
    above, below = split(coefficients, degrees)
    return np.asarray(np.polyval(above[::-1], ratio) / np.polyval(below[::-1], ratio))


def gradient(ratio: FloatArray, coefficients: FloatArray, degrees: Degrees) -> FloatArray:
    """Derivatives of the values at R by each coefficient; shape (n, number of coefficients)."""
    above, below = split(coefficients, degrees)
    denominator = np.polyval(below[::-1], ratio)[:, np.newaxis]
    values = np.polyval(above[::-1], ratio)[:, np.newaxis] / denominator
    by_above = np.vander(ratio, degrees[0] + 1, increasing=True)
    by_below = -values * np.vander(ratio, degrees[1] + 1, increasing=True)[:, 1:]
    return np.asarray(np.hstack([by_above, by_below]) / denominator)


def split(coefficients: FloatArray, degrees: Degrees) -> tuple[FloatArray, FloatArray]:
    """Numerator and denominator, ascending, of a row of coefficients."""
    above = coefficients[: degrees[0] + 1]
    return above, np.concatenate([[1.0], coefficients[degrees[0] + 1 :]])


def least_squares_fit(ratio: FloatArray, percent: FloatArray, degrees: Degrees) -> FloatArray:
    """Coefficients with the smallest sum of squared residuals.

    Polynomials are solved directly. Rational forms start from the linear problem N = y D and
    go on by Levenberg and Marquardt's method (scipy).

    Raises:
        ValueError: There are fewer different R than coefficients, the search does not end or
            runs off, or the fitted denominator vanishes among the R of the data.
    """
    _check_enough(ratio, degrees)
    if degrees[1] == 0:
        return np.asarray(np.polynomial.polynomial.polyfit(ratio, percent, degrees[0]))
    return _rational_fit(ratio, percent, degrees)


def _check_enough(ratio: FloatArray, degrees: Degrees) -> None:
    unique, needed = np.unique(ratio).size, sum(degrees) + 1
    if unique < needed:
        raise ValueError(f"pairs hold {unique} different R; give {needed} or more for this form")


def _rational_fit(ratio: FloatArray, percent: FloatArray, degrees: Degrees) -> FloatArray:
    from scipy.optimize import least_squares  # type: ignore[import-untyped]  # slow to import

    # a few wild pairs can put a pole of the first start among the data, where the search stays
    for start in (_linear_start, _polynomial_start):
        answer = least_squares(
            lambda c: curve_values(ratio, c, degrees) - percent,
            start(ratio, percent, degrees),
            jac=lambda c: gradient(ratio, c, degrees),
            method="lm",
            x_scale="jac",
            xtol=1e-14,
            ftol=1e-14,
            gtol=1e-14,
        )
        usable = answer.success and not _has_pole(answer.x, degrees, ratio)
        if usable and np.max(np.abs(answer.x)) < RUN_AWAY:
            return np.asarray(answer.x)
    raise ValueError(
        "the rational form does not fit these pairs: it grows without bound among their R, "
        "or the search does not end; choose the linear or the quadratic form"
    )


def _has_pole(coefficients: FloatArray, degrees: Degrees, ratio: FloatArray) -> bool:
    """Whether the denominator vanishes between the lowest and the highest R."""
    poles = np.roots(split(coefficients, degrees)[1][::-1])
    real = poles[np.abs(poles.imag) <= 1e-9 * (1.0 + np.abs(poles))].real
    return bool(np.any((real >= ratio.min()) & (real <= ratio.max())))


def _linear_start(ratio: FloatArray, percent: FloatArray, degrees: Degrees) -> FloatArray:
    """Coefficients of N − y (D − 1) = y by linear least squares."""
    by_above = np.vander(ratio, degrees[0] + 1, increasing=True)
    by_below = np.vander(ratio, degrees[1] + 1, increasing=True)[:, 1:]
    return _solved(np.hstack([by_above, -percent[:, np.newaxis] * by_below]), percent)


def _polynomial_start(ratio: FloatArray, percent: FloatArray, degrees: Degrees) -> FloatArray:
    """Coefficients of the fitted N with D = 1."""
    above = np.polynomial.polynomial.polyfit(ratio, percent, degrees[0])
    return np.concatenate([above, np.zeros(degrees[1])])


def _solved(columns: FloatArray, wanted: FloatArray) -> FloatArray:
    """Linear least squares with columns of one length, which loses fewer digits."""
    size = np.linalg.norm(columns, axis=0)
    return np.asarray(np.linalg.lstsq(columns / size, wanted, rcond=None)[0] / size)


def huber_fit(ratio: FloatArray, percent: FloatArray, degrees: Degrees) -> tuple[FloatArray, float]:
    """Coefficients by Huber's estimate, and the scale of the residuals.

    Round by round, a residual within 1.345 scales has weight 1 and one beyond has 1.345 scales
    over the residual; the scale is the median absolute residual over 0.6745. Each round takes one
    step of weighted least squares (Gauss and Newton's, which for a polynomial is the whole way).
    A search to the end in each would be in vain: it finds where a sum of squares is least, to
    half of the digits, and the rounds would not settle below that.
    Single readings far off move the curve little. An R far from all others still moves it.

    Raises:
        ValueError: As in `least_squares_fit`, or the rounds do not end.
    """
    _check_enough(ratio, degrees)
    coefficients = _huber_start(ratio, percent, degrees)
    values = curve_values(ratio, coefficients, degrees)
    for _ in range(MOST_ROUNDS):
        scale = float(np.median(np.abs(percent - values))) / MAD_OF_NORMAL
        if scale <= 1e-12 * float(np.max(np.abs(percent))):
            return coefficients, 0.0  # half of the pairs or more lie on the curve
        coefficients = _huber_step(ratio, percent, degrees, coefficients, HUBER_SDS * scale)
        before, values = values, curve_values(ratio, coefficients, degrees)
        if float(np.max(np.abs(values - before))) <= ROUNDS_AGREE * scale:
            return coefficients, scale
    raise ValueError(
        "the robust fit does not settle on these pairs; choose method 'least squares', or look "
        "for a second crowd of pairs that asks for a curve of its own"
    )


def _huber_start(ratio: FloatArray, percent: FloatArray, degrees: Degrees) -> FloatArray:
    """The least-squares polynomial; for rational forms the robust one, with D = 1."""
    if degrees[1] == 0:
        return least_squares_fit(ratio, percent, degrees)
    # readings far off can lead a rational form astray from which it does not find back
    above, _ = huber_fit(ratio, percent, (degrees[0], 0))
    return np.concatenate([above, np.zeros(degrees[1])])


def _huber_step(
    ratio: FloatArray,
    percent: FloatArray,
    degrees: Degrees,
    coefficients: FloatArray,
    bound: float,
) -> FloatArray:
    """Coefficients after a step that lessens Huber's loss; halved until it does."""
    residuals = percent - curve_values(ratio, coefficients, degrees)
    root = 1.0 / np.sqrt(np.maximum(np.abs(residuals) / bound, 1.0))
    slopes = gradient(ratio, coefficients, degrees)
    step = _solved(root[:, np.newaxis] * slopes, root * residuals)
    most = huber_loss(residuals, bound) * (1.0 + LOSS_ROUNDS)
    for share in 0.5 ** np.arange(MOST_HALVINGS):
        there = coefficients + share * step
        loss = huber_loss(percent - curve_values(ratio, there, degrees), bound)
        if loss <= most and not _has_pole(there, degrees, ratio):
            return np.asarray(there)
    return coefficients


def huber_loss(residuals: FloatArray, bound: float) -> float:
    """Sum of half the squares of residuals within a bound, growing in a line beyond it."""
    size = np.abs(residuals)
    within = np.minimum(size, bound)
    return float(np.sum(within * (size - 0.5 * within)))


def clustered_covariance(
    slopes: FloatArray, residuals: FloatArray, codes: IntArray, bound: float = np.inf
) -> FloatArray:
    """Covariance of fitted coefficients when pairs of one subject resemble each other.

    The sandwich estimate: the scores are summed over each subject before they are squared, and
    the whole is scaled by k/(k − 1) · (n − 1)/(n − c) for k subjects, n pairs, c coefficients.

    Args:
        slopes: Derivatives by the coefficients; shape (n, c).
        residuals: Of the fit; shape (n,).
        codes: Number of each pair's subject, 0 to k − 1; shape (n,).
        bound: Where Huber's residuals stop counting more; infinite for least squares.

    Returns:
        Shape (c, c).

    Source: Liang and Zeger, Biometrika 1986; 73:13; the scale as in Cameron and Miller, Journal
    of Human Resources 2015; 50:317 (both from memory).
    """
    n, c = slopes.shape
    size = np.linalg.norm(slopes, axis=0)  # columns of one length lose fewer digits
    scaled = slopes / size
    inner = scaled[np.abs(residuals) <= bound]
    scores = np.zeros((int(codes.max()) + 1, c))
    np.add.at(scores, codes, scaled * np.clip(residuals, -bound, bound)[:, np.newaxis])
    bread = np.linalg.pinv(inner.T @ inner)
    k = len(scores)
    factor = k / (k - 1) * (n - 1) / (n - c)
    return np.asarray(factor * bread @ scores.T @ scores @ bread / np.outer(size, size))
