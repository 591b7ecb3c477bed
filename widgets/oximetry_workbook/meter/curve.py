"""Calibration curves: from the ratio of ratios R to a saturation in percent."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import overload

import numpy as np
from numpy.typing import ArrayLike, NDArray

from oximetry_workbook.meter.curve_json import curve_fields, curve_text
from oximetry_workbook.meter.filters import FloatArray

Function = Callable[[FloatArray], FloatArray]

VALIDATED_PERCENT = (70.0, 100.0)
"""Saturations [%] at which oximeters are held against blood samples. Source: FDA, Pulse Oximeters,
guidance of 4 March 2013, docket FDA-2007-D-0205."""


@dataclass(frozen=True, eq=False)
class Curve:
    """A calibration curve, with where it comes from and where it may be trusted.

    Attributes:
        name: What to call it.
        source: Where it comes from.
        function: R, array, to saturation [%], array of the same shape; unclipped.
        inverse: Saturation [%] to R, arrays; on the branch that falls with rising R; NaN where
            there is none.
        valid_percent: Lowest and highest saturation [%] it was checked at.
        numbers: What it was made from, for `to_json`: numerator and denominator, or the ratio
            and percent of its points. Read-only; empty for bare functions.

    Raises:
        ValueError: `valid_percent` is not two rising percentages.
    """

    name: str
    source: str
    function: Function
    inverse: Function
    valid_percent: tuple[float, float] = VALIDATED_PERCENT
    numbers: Mapping[str, tuple[float, ...]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        low, high = self.valid_percent
        if not 0 <= low < high <= 100:
            raise ValueError(
                f"valid_percent is ({low:g}, {high:g}); it must be two rising values within 0 "
                "and 100"
            )
        object.__setattr__(self, "numbers", MappingProxyType(dict(self.numbers)))

    @overload
    def __call__(self, ratio: float) -> float: ...
    @overload
    def __call__(self, ratio: ArrayLike) -> float | FloatArray: ...
    def __call__(self, ratio: ArrayLike) -> float | FloatArray:
        """Saturation [%] that belongs to R; a number for a number, an array for an array.

        It is not clipped: above 100 % or below 0 % the curve has left its ground, and
        `display.clamped` is what a meter shows. NaN stays NaN.
        """
        return _like(ratio, self.function(_numbers("ratio", ratio)))

    @overload
    def extrapolated(self, ratio: float) -> bool: ...
    @overload
    def extrapolated(self, ratio: ArrayLike) -> bool | NDArray[np.bool_]: ...
    def extrapolated(self, ratio: ArrayLike) -> bool | NDArray[np.bool_]:
        """Whether the answer at R lies outside `valid_percent`, or is no number at all."""
        percent = self.function(_numbers("ratio", ratio))
        low, high = self.valid_percent
        outside = ~((percent >= low) & (percent <= high))
        return bool(outside) if np.ndim(ratio) == 0 else outside

    @overload
    def ratio_at(self, percent: float) -> float: ...
    @overload
    def ratio_at(self, percent: ArrayLike) -> float | FloatArray: ...
    def ratio_at(self, percent: ArrayLike) -> float | FloatArray:
        """R at which the curve, falling as R rises, reaches a saturation [%]; NaN if nowhere.

        Of several such R the smallest that is not negative is meant.
        """
        return _like(percent, self.inverse(_numbers("percent", percent)))

    @classmethod
    def polynomial(
        cls,
        name: str,
        coefficients: ArrayLike,
        source: str,
        valid_percent: tuple[float, float] = VALIDATED_PERCENT,
    ) -> Curve:
        """Curve c0 + c1 R + c2 R² + …, coefficients [%] in ascending order.

        Raises:
            ValueError: The coefficients are not two or more finite numbers.
        """
        return cls.rational(name, coefficients, [1.0], source, valid_percent)

    @classmethod
    def rational(
        cls,
        name: str,
        numerator: ArrayLike,
        denominator: ArrayLike,
        source: str,
        valid_percent: tuple[float, float] = VALIDATED_PERCENT,
    ) -> Curve:
        """Curve (a0 + a1 R + …)/(b0 + b1 R + …), the form Beer and Lambert's law gives.

        Args:
            name: What to call it.
            numerator: Coefficients a [%], ascending.
            denominator: Coefficients b, ascending.
            source: Where it comes from.
            valid_percent: Lowest and highest saturation [%] it was checked at.

        Raises:
            ValueError: Coefficients are missing or not finite, or the curve is a constant.
        """
        above = _coefficients("numerator", numerator)
        below = _coefficients("denominator", denominator)
        if max(above.size, below.size) < 2:
            raise ValueError("the curve is a constant; it needs a coefficient of R as well")

        def function(ratio: FloatArray) -> FloatArray:
            with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
                return np.asarray(np.polyval(above[::-1], ratio) / np.polyval(below[::-1], ratio))

        def inverse(percent: FloatArray) -> FloatArray:
            roots = [_falling_root(above, below, value) for value in percent.ravel()]
            return np.array(roots).reshape(percent.shape)

        numbers = {"numerator": tuple(above.tolist()), "denominator": tuple(below.tolist())}
        return cls(name, source, function, inverse, valid_percent, numbers)

    @classmethod
    def table(
        cls,
        name: str,
        ratio: ArrayLike,
        percent: ArrayLike,
        source: str,
        valid_percent: tuple[float, float] = VALIDATED_PERCENT,
    ) -> Curve:
        """Curve through points, straight between them and straight on beyond both ends.

        Args:
            name: What to call it.
            ratio: R, rising; shape (k,), k at least 2.
            percent: Saturation [%] at each R, falling throughout (or rising throughout, as for a
                probe whose two colours are swapped); shape (k,).
            source: Where it comes from.
            valid_percent: Lowest and highest saturation [%] it was checked at.

        Raises:
            ValueError: The points are too few, not finite, or not in order.
        """
        across, up = _points(ratio, percent)
        order = np.argsort(up)
        return cls(
            name,
            source,
            lambda wanted: _straight(wanted, across, up),
            lambda wanted: _straight(wanted, up[order], across[order]),
            valid_percent,
            {"ratio": tuple(across.tolist()), "percent": tuple(up.tolist())},
        )

    def to_json(self) -> str:
        """Return the curve as JSON text with its schema version.

        Raises:
            ValueError: The curve was made of bare functions, which no text can hold.
        """
        return curve_text(self.name, self.source, self.numbers, self.valid_percent)

    @classmethod
    def from_json(cls, text: str) -> Curve:
        """Read what `to_json` wrote.

        Raises:
            ValueError: The text is no curve, or a field is missing, unknown or out of range; the
                message names it.
        """
        given = curve_fields(text)
        return cls.table(**given) if "percent" in given else cls.rational(**given)


def _like(given: ArrayLike, answer: FloatArray) -> float | FloatArray:
    return float(answer) if np.ndim(given) == 0 else answer


def _numbers(name: str, values: ArrayLike) -> FloatArray:
    try:
        return np.asarray(values, dtype=np.float64)
    except (TypeError, ValueError):
        raise ValueError(f"{name} is {values!r}; it must be a number or numbers") from None


def _coefficients(name: str, values: ArrayLike) -> FloatArray:
    numbers = _numbers(name, values)
    if numbers.ndim != 1 or numbers.size == 0 or not np.all(np.isfinite(numbers)):
        raise ValueError(f"{name} is {values!r}; it must be a row of finite coefficients")
    trimmed = np.trim_zeros(numbers, "b")
    if trimmed.size == 0:
        raise ValueError(f"{name} is zero throughout; at least one coefficient must not be")
    return trimmed


def _points(ratio: ArrayLike, percent: ArrayLike) -> tuple[FloatArray, FloatArray]:
    across, up = _numbers("ratio", ratio), _numbers("percent", percent)
    if across.ndim != 1 or across.shape != up.shape or across.size < 2:
        raise ValueError(
            f"ratio has shape {across.shape} and percent {up.shape}; both must be rows of the "
            "same length, 2 or more"
        )
    if not (np.all(np.isfinite(across)) and np.all(np.isfinite(up))):
        raise ValueError("ratio and percent must be finite; take out points without a value")
    _check_steps("ratio", np.diff(across), "rise")
    steps = np.diff(up)
    _check_steps("percent", steps * np.sign(steps[0]), "go on in one direction")
    return across, up


def _check_steps(name: str, steps: FloatArray, what: str) -> None:
    if np.any(steps <= 0):
        where = int(np.argmax(steps <= 0)) + 1
        raise ValueError(f"{name} does not {what} at point {where}; it must throughout")


def _straight(wanted: FloatArray, x: FloatArray, y: FloatArray) -> FloatArray:
    """Linear interpolation that goes straight on beyond the ends (x rising)."""
    piece = np.clip(np.searchsorted(x, wanted) - 1, 0, x.size - 2)
    slope = (y[piece + 1] - y[piece]) / (x[piece + 1] - x[piece])
    return np.asarray(y[piece] + slope * (wanted - x[piece]))


def _falling_root(above: FloatArray, below: FloatArray, percent: float) -> float:
    """Smallest R ≥ 0 where above/below equals percent and falls; NaN if there is none."""
    if not np.isfinite(percent):
        return np.nan
    polynomial = np.polynomial.Polynomial(above) - percent * np.polynomial.Polynomial(below)
    roots = polynomial.trim().roots()
    real = np.sort(roots[np.abs(roots.imag) <= 1e-9 * (1 + np.abs(roots))].real)
    # where above − percent·below is zero, its slope over `below` is the slope of the curve
    falls = polynomial.deriv()(real) / np.polyval(below[::-1], real) < 0
    usable = real[falls & (real >= 0)]
    return float(usable[0]) if usable.size else np.nan


TEXTBOOK = Curve.polynomial(
    "textbook line 110 − 25 R",
    [110.0, -25.0],
    "Widely taught straight line; origin unknown, often traced to Webster (editor), Design of "
    "Pulse Oximeters, 1997 (origin from memory)",
)

_QUADRATIC = (
    "Quadratic from application notes and sample code for optical sensor parts, as public code "
    "quotes it; volunteers and probe not given"
)

published_curves: Mapping[str, Curve] = MappingProxyType(
    {
        curve.name: curve
        for curve in (
            TEXTBOOK,
            Curve.polynomial(
                "line 114.9 − 33.437 R",
                [114.9, -33.437],
                "Linear form of the curve of Reynolds, de Kock, Tarassenko and Moyle 1991, "
                "British Journal of Anaesthesia 67:638 (coefficients as quoted by others)",
            ),
            Curve.polynomial("112.69 − 34.66 R + 1.596 R²", [112.69, -34.66, 1.596], _QUADRATIC),
            Curve.polynomial("94.845 + 30.354 R − 45.06 R²", [94.845, 30.354, -45.060], _QUADRATIC),
        )
    }
)
"""Curves found in print, by name. Read-only. None belongs to a probe of yours: they disagree by
several points at the same R, which is why a curve is measured for each kind of probe."""
