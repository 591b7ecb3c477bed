"""What is written in one cell of a table: a number, a date, nothing, or words."""

from __future__ import annotations

import math
import re

MISSING = ("", "nan", "na", "n/a", "null", "none", "-", "--", "inf", "-inf", "+inf")
"""Cells that stand for no value, in lower case (common practice)."""

DATE_TEXT = r"(?:\d{4}-\d\d?-\d\d?[ T])?\d{1,3}:\d\d(?::\d\d(?:[.,]\d+)?)?(?:Z|[+-]\d\d:?\d\d)?"
_DATE = re.compile(DATE_TEXT)

_NUMBERS = {
    sign: re.compile(
        rf"[+-]?(?:\d+(?:{re.escape(sign)}\d*)?|{re.escape(sign)}\d+)(?:[eE][+-]?\d+)?"
    )
    for sign in ".,"
}

LONGEST = 64
"""A longer cell is words, whatever is in it."""


def kind_of(cell: str, decimal: str) -> str:
    """Return "number", "date", "missing" or "text"."""
    written = cell.strip()
    if len(written) > LONGEST:
        return "text"
    if written.lower() in MISSING:
        return "missing"
    if _NUMBERS[decimal].fullmatch(written):
        fits = math.isfinite(float(written.replace(",", ".")))
        return "number" if fits else "text"  # the reader cannot hold 1e999 either
    return "date" if _DATE.fullmatch(written) else "text"


def short(cell: str) -> str:
    """A cell as shown in a message."""
    return repr(cell if len(cell) <= LONGEST else cell[: LONGEST - 1] + "…")
