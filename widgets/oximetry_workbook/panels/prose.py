"""Text on its way to the page: escaped, and no number parted from its unit at a line's end."""

from __future__ import annotations

import re
from html import escape

NO_BREAK_SPACE = "\N{NO-BREAK SPACE}"

_UNITS = (
    r"%|°C|[µnmc]m|mmHg|k?Pa|hPa|g/L|mg/L|g/dL|mL|/min|1/cm|Hz|bits?|m?s|min|points?|seconds?|"
    r"minutes?|metres?|degrees?|per (?:minute|cent|100)"
)
_BEFORE_UNIT = re.compile(rf"(?<=\d) (?=(?:{_UNITS})(?![\w/]))")
_THOUSANDS = re.compile(r"(?<=\d) (?=\d{3}(?!\d))")
_BEFORE_EQUALS = re.compile(r"(?<=\bR) (?==)")
_AFTER_EQUALS = re.compile(r"(?<==) (?=\d)")


def together(text: str) -> str:
    """Return the text with no-break spaces between numbers and their units, and around "R ="."""
    for pattern in (_BEFORE_UNIT, _THOUSANDS, _BEFORE_EQUALS, _AFTER_EQUALS):
        text = pattern.sub(NO_BREAK_SPACE, text)
    return text


def html(text: str) -> str:
    """Return the text as HTML that keeps numbers with their units."""
    return escape(together(text))
