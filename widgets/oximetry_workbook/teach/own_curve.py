"""A calibration curve of the learner's own: read with care, and what is said of it."""

from __future__ import annotations

from oximetry_workbook.meter.curve import Curve
from oximetry_workbook.meter.files.source import short_label
from oximetry_workbook.teach.small_files import text_of

LONGEST_CURVE = 200_000
"""Most characters of a curve's JSON text: a table of some thousand points fits into this."""

NOT_SHARED = (
    "Your own curve is not in the link, the line or the file. Whoever opens them reads with the "
    "probe’s own."
)


def read_own_curve(content: bytes | str) -> Curve:
    """Read a curve from what a file or the browser holds.

    Args:
        content: JSON text as `Curve.to_json` writes it; bytes are taken as UTF-8.

    Raises:
        ValueError: It is too long, no text, or no curve; the message says which.
    """
    text = text_of(content, "the curve’s file") if isinstance(content, bytes) else content
    if len(text) > LONGEST_CURVE:
        raise ValueError(f"the curve has {len(text)} characters; at most {LONGEST_CURVE} are read")
    return Curve.from_json(text)


def own_name(curve: Curve) -> str:
    """Name of a curve among the others, short enough for a list."""
    return f"your own: {short_label(curve.name)}"


def kept_sentence(curve: Curve | None, lasting: bool) -> str:
    """Say which curve there is, whether the browser keeps it, and how far it was checked."""
    if curve is None:
        return "No curve of your own is kept. Chapter 15 fits one, and keeps it for all chapters."
    low, high = curve.valid_percent
    where = "Kept in this browser for all chapters" if lasting else "On this page only"
    return (
        f"{where}, {own_name(curve)}. {short_label(curve.source)}; "
        f"checked from {low:.0f} to {high:.0f} %, beyond that a guess. For teaching only."
    )


def own_sentence(curve: Curve, ratio: float) -> str:
    """Say what a curve makes of a ratio R, and whether that is a guess."""
    low, high = curve.valid_percent
    percent = curve(ratio)
    where = (
        f"a guess: it was checked from {low:.0f} to {high:.0f} %"
        if curve.extrapolated(ratio)
        else "in its checked range"
    )
    name = own_name(curve)
    return f"{name[0].upper()}{name[1:]} says {percent:.0f} %, {where}."
