"""Numbers at ticks, written as the page writes them: a part of the format language of d3-format."""

from __future__ import annotations

import math
import re

import numpy as np

_FORMAT = re.compile(r"(?:\.(\d+))?(~?)([fgs%]?)")
_PREFIXES = {-3: "n", -2: "µ", -1: "m", 0: "", 1: "k", 2: "M", 3: "G"}
_DIGITS = 6
"""Digits where a format names none, as d3-format has it."""


def tick_text(value: float, form: str) -> str:
    """Write a number at a tick.

    Args:
        value: The number.
        form: `[.digits][~][type]`, type being f, g, s, % or nothing; `~` drops zeros at the end
            (https://d3js.org/d3-format).

    Raises:
        NotImplementedError: If the format says more than that.
    """
    found = _FORMAT.fullmatch(form)
    if found is None:
        raise NotImplementedError(f"a still cannot write ticks in the format “{form}”")
    digits, drop_zeros, kind = found[1], bool(found[2]), found[3]
    if not kind:  # as d3-format has it: up to twelve digits
        digits, drop_zeros, kind = digits or "12", True, "g"
    text = _WRITERS[kind](abs(value), int(digits or _DIGITS), drop_zeros)
    return f"−{text}" if value < 0.0 and re.search("[1-9]", text) else text


def _places(value: float, digits: int, drop_zeros: bool) -> str:
    text = f"{value:.{digits}f}"
    return text.rstrip("0").rstrip(".") if drop_zeros and digits else text


def _significant(value: float, digits: int, drop_zeros: bool) -> str:
    if value and not 1e-6 <= value < 10.0**digits:
        text = f"{value:.{digits}g}" if drop_zeros else f"{value:#.{digits}g}"
        return re.sub("(e[+-])0", r"\1", text)  # JavaScript's exponents have no zero in front
    before = math.floor(math.log10(value)) if value else 0
    text = np.format_float_positional(
        value, precision=max(0, digits - 1 - before), unique=False, trim="k"
    )
    return text.rstrip("0").rstrip(".") if drop_zeros else text.rstrip(".")


def _prefixed(value: float, digits: int, drop_zeros: bool) -> str:
    thousands = min(max(math.floor(math.log10(value) / 3.0), -3), 3) if value else 0
    return _significant(value / 1000.0**thousands, digits, drop_zeros) + _PREFIXES[thousands]


def _percent(value: float, digits: int, drop_zeros: bool) -> str:
    return _places(100.0 * value, digits, drop_zeros) + "%"


_WRITERS = {"f": _places, "g": _significant, "s": _prefixed, "%": _percent}
