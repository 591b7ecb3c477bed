"""The list of chapters on the start page."""

from __future__ import annotations

from dataclasses import dataclass
from html import escape

import ipywidgets as widgets

from oximetry_workbook.panels import look


@dataclass(frozen=True)
class Chapter:
    """One notebook and what it is good for."""

    notebook: str
    title: str
    explains: str
    minutes: int


CHAPTERS = (
    Chapter(
        "02_colour_of_blood.ipynb",
        "The colour of blood",
        "Why arterial blood is brighter than venous blood, and why a meter uses one red and one "
        "infrared light.",
        10,
    ),
    Chapter(
        "06_bench.ipynb",
        "The bench",
        "The whole chain at once: from light through a finger over the pulse and the ratio R to "
        "the number shown, with sliders for saturation, perfusion, heart rate and noise.",
        20,
    ),
)
"""Chapters in the order of reading."""


def chapters() -> widgets.VBox:
    """Show the chapters as cards that lead to their notebooks."""
    cards = "".join(_card(chapter) for chapter in CHAPTERS)
    shown = widgets.VBox(
        [look.style(), widgets.HTML(f'<div class="ow-chapter-cards">{cards}</div>')]
    )
    shown.add_class("ow-panel")
    return shown


def _card(chapter: Chapter) -> str:
    number = chapter.notebook.split("_", 1)[0]
    return (
        f'<a class="ow-chapter-card" href="{chapter.notebook}">'
        f'<span class="ow-chapter-number">{number}</span>'
        f"<strong>{escape(chapter.title)}</strong>"
        f"<span>{escape(chapter.explains)}</span>"
        f"<em>about {chapter.minutes} minutes</em></a>"
    )
