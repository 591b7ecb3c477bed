"""Reports as one HTML file: the button that makes and offers one, and the pictures in it."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace

import ipywidgets as widgets

from oximetry_workbook.panels import look
from oximetry_workbook.panels.download import MadeFile
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.still import WIDTH
from oximetry_workbook.teach.page import Figure

Progress = Iterator[tuple[float, str | None]]
"""Long work that ends with a report: share done, and the HTML once it is there."""

_NAMED = re.compile(r'(\bid="|href="#|url\(#)')
"""Where an SVG gives a part a name, or calls it by it."""


def report_button(file_name: str, start: Callable[[], Progress], notice: Notice) -> MadeFile:
    """Make the button that makes a report.

    Args:
        file_name: Of the report.
        start: Begins to make it; called at each press.
        notice: Where to tell of a failure.
    """
    return MadeFile("Save report", lambda: file_name, "text/html", start, notice)


def figures_of(
    cards: Iterable[widgets.Widget], prefix: str = "", width: float = WIDTH
) -> Iterator[Figure]:
    """Draw the pictures of cards, one at each step.

    What the page says below and about a picture is not said in it once more.

    Args:
        cards: Cards, or panels with cards in them.
        prefix: Sets the names inside the pictures apart where a card is drawn more than once.
        width: Of each picture [points].
    """
    for card in cards:
        for each in look.stills(card):
            still = each.still()
            bare = replace(still, caption="", source="", caution="", width=width)
            svg = _with_own_names(bare.svg(), f"{prefix}{each.file_stem}")
            caption = " ".join(still.caption.splitlines())
            yield Figure(svg, alt=f"{still.title}. {caption}", caption=caption)


def _with_own_names(svg: str, stem: str) -> str:
    """Set the names inside of a picture apart from those of the others on the page."""
    return _NAMED.sub(rf"\g<0>{stem}-", svg)
