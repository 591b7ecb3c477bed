"""Numeric fields that know their range, unit and name: written once, used by checks and sliders."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, fields
from numbers import Real
from typing import Any


@dataclass(frozen=True)
class Quantity:
    """Range and words of a numeric field: the one place where its bounds are written.

    Attributes:
        label: Name for people.
        unit: Unit as shown, empty for a plain number.
        low: Least allowed value.
        high: Greatest allowed value.
        step: Step of a slider (decades per step where `logarithmic`).
        logarithmic: Whether a slider should move in equal ratios.
        fraction: Whether this is a share of 1 that people speak of in percent.
        whole: Whether only whole numbers make sense.
        hint: What to do about a value out of range, where that is not plain.
    """

    label: str
    unit: str
    low: float
    high: float
    step: float
    logarithmic: bool = False
    fraction: bool = False
    whole: bool = False
    hint: str = ""

    def checked(self, name: str, value: object) -> float:
        """Return `value` as a float, or raise ValueError naming field, value and range."""
        if isinstance(value, bool) or not isinstance(value, Real):
            raise ValueError(f"{name} is {value!r}; it must be a number{self._allowed()}")
        try:
            number = float(value)
        except OverflowError:  # a whole number beyond any float
            number = math.inf
        if not (math.isfinite(number) and self.low <= number <= self.high):
            hint = self.hint or self._fraction_hint(number)
            raise ValueError(f"{name} is {number:.12g}; allowed is{self._allowed()}{hint}")
        if self.whole and not number.is_integer():
            raise ValueError(
                f"{name} is {number:.12g}; allowed are whole numbers,{self._allowed()}"
            )
        return number

    def _fraction_hint(self, number: float) -> str:
        """Point out a percentage given for a fraction."""
        if self.fraction and 1.0 < number <= 100.0:
            return f"; this is a fraction, so write {number / 100.0:g} for {number:g} %"
        return ""

    def _allowed(self) -> str:
        return f" {self.low:g} to {self.high:g} {self.unit}".rstrip()


@dataclass(frozen=True)
class Choice:
    """Allowed words of a field that is no number."""

    label: str
    options: tuple[str, ...]

    def checked(self, name: str, value: object) -> str:
        """Return `value`, or raise ValueError naming the field and the options."""
        if not isinstance(value, str) or value not in self.options:
            raise ValueError(f"{name} is {value!r}; allowed are {', '.join(self.options)}")
        return str(value)


def quantity(
    default: float,
    low: float,
    high: float,
    unit: str,
    label: str,
    step: float,
    *,
    logarithmic: bool = False,
    fraction: bool = False,
    whole: bool = False,
) -> Any:
    """Declare a numeric field of a dataclass; the arguments are those of `Quantity`."""
    spec = Quantity(label, unit, low, high, step, logarithmic, fraction, whole)
    return field(default=default, metadata={"spec": spec})


def choice(label: str, *options: str) -> Any:
    """Declare a field that holds one of some words; the first is the default."""
    return field(default=options[0], metadata={"spec": Choice(label, options)})


def specs_of(described: Any) -> dict[str, Quantity | Choice]:
    """Return range and words of every field of a dataclass or its instance, by field name."""
    return {f.name: f.metadata["spec"] for f in fields(described)}


def check_fields(instance: Any) -> None:
    """Check and normalise every field of a frozen dataclass instance, from `__post_init__`.

    Raises:
        ValueError: The message names the field, what was given and what is allowed.
    """
    for name, spec in specs_of(instance).items():
        object.__setattr__(instance, name, spec.checked(name, getattr(instance, name)))
