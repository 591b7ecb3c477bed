"""With what, and when, a page was made."""

from __future__ import annotations

from datetime import date
from importlib.metadata import version

import oximetry_workbook

LIBRARIES = ("numpy", "scipy", "pandas")


def made_with(today: date | None = None) -> str:
    """Name the workbook's version, those of the libraries that reckon, and the day.

    Args:
        today: The day; this one if None.
    """
    libraries = ", ".join(f"{name} {version(name)}" for name in LIBRARIES)
    day = (today or date.today()).isoformat()
    return f"Made on {day} with Oximetry Workbook {oximetry_workbook.__version__} ({libraries})."
