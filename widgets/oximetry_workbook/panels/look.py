"""Colours, fonts, axes and cards that all panels share.

Colours are CSS variables of `static/look.css`, so that light and dark need no word from the
kernel. Red and infrared are told apart by line style and label as well as by colour.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from importlib.resources import files

import bqplot
import ipywidgets as widgets
import numpy as np

from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.prose import html
from oximetry_workbook.panels.still_card import Card, shown

RED = "var(--ow-red)"
INFRARED = "var(--ow-infrared)"
GHOST = "var(--ow-ghost)"
INK = "var(--ow-ink)"
INK_SOFT = "var(--ow-ink-soft)"
ACCENT = "var(--ow-accent)"
WARN = "var(--ow-warn)"
ARTERIAL = "var(--ow-arterial)"
VENOUS = "var(--ow-venous)"
TISSUE = "var(--ow-tissue)"
PIGMENT = "var(--ow-pigment)"
PULSE = "var(--ow-pulse)"

LEAST_LIMIT = 0.01
"""No axis shows less: of light that stands still, the last digits would fill the picture."""

MARGINS = {"top": 14, "bottom": 52, "left": 68, "right": 16}


@cache
def _css(name: str) -> str:
    return (files("oximetry_workbook.panels") / "static" / name).read_text("utf-8")


def style(*more: str) -> widgets.HTML:
    """Make the widget that brings the panels' style sheet along.

    Args:
        more: File names of further style sheets in static/.
    """
    rules = "".join(_css(name) for name in ("look.css", "panels.css", *more))
    sheet = widgets.HTML(f"<style>{rules}</style>")
    sheet.layout.display = "none"
    return sheet


def mark(widget: widgets.DOMWidget, name: str, on: bool) -> None:
    """Give a widget a class of the style sheet, or take it away."""
    (widget.add_class if on else widget.remove_class)(name)


def axis(scale: bqplot.Scale, label: str, *, vertical: bool = False, **more: object) -> bqplot.Axis:
    """Make an axis with this workbook's spacing; `more` are traits of bqplot.Axis."""
    traits: dict[str, object] = {
        "scale": scale,
        "label": label,
        "side": "left" if vertical else "bottom",
        "grid_lines": "solid",
        "label_offset": "46px" if vertical else "36px",
        "tick_format": "~g",
    }
    return bqplot.Axis(**(traits | more))


def figure(
    marks: Sequence[bqplot.Mark],
    axes: Sequence[bqplot.Axis],
    *,
    margin: dict[str, int] | None = None,
) -> bqplot.Figure:
    """Make a figure that fills its card and follows at once."""
    made = bqplot.Figure(
        marks=list(marks),
        axes=list(axes),
        animation_duration=0,
        fig_margin=margin or MARGINS,
        min_aspect_ratio=0.3,
        max_aspect_ratio=20,
        padding_y=0,
        title="",
    )
    # the height is the style sheet's; a figure needs some of its own before that arrives
    made.layout = widgets.Layout(width="auto", height="auto", min_width="0", min_height="0")
    made.add_class("ow-figure")
    return made


def says() -> widgets.HTML:
    """Make the line under a plot that says what it shows now."""
    line = widgets.HTML()
    line.add_class("ow-plot-says")
    return line


def key(entries: Sequence[tuple[str, str, str]]) -> str:
    """Write the key of a plot as HTML.

    Args:
        entries: (colour, kind, words); kind is "line", "dashed", "dotted" or "area".
    """
    parts = [
        f'<span class="ow-key"><i class="ow-key-{kind}" style="--ow-mark:{colour}"></i>'
        f"{html(words)}</span>"
        for colour, kind, words in entries
    ]
    return f'<div class="ow-keys">{"".join(parts)}</div>'


def tint(colour: str) -> str:
    """Return the colour a faintly filled area has in a key, a little stronger than the area."""
    return f"color-mix(in srgb, {colour} 25%, transparent)"


def card(
    title: str, figures: Sequence[bqplot.Figure], body: Sequence[widgets.Widget], notice: Notice
) -> Card:
    """Put a plot, its key and its sentence under a title and buttons that save them.

    Args:
        title: Heading; also the name of the saved picture.
        figures: What the buttons save.
        body: What to show, the figures among it.
        notice: Where to tell of a failure.
    """
    return Card(title, figures, body, notice)


def stills(panel: widgets.Widget) -> list[Card]:
    """Return the cards of a panel; each one's `still()` gives its plot as it is at that moment."""
    return [each for each in shown([panel]) if isinstance(each, Card)]


def nice_limit(value: float, ladder: Sequence[float] = (1.0, 2.0, 3.0, 5.0)) -> float:
    """Return the least rung of a decimal ladder, from `LEAST_LIMIT` up, that is at least `value`.

    Axes that climb a ladder stand still while a slider moves a little, so that the picture
    grows and shrinks before the eyes.
    """
    rung = LEAST_LIMIT
    while True:
        for step in ladder:
            if rung * step >= value:
                return float(f"{rung * step:.6g}")
        rung *= 10.0


def set_range(scale: bqplot.LinearScale, axis_shown: bqplot.Axis, low: float, high: float) -> None:
    """Give a scale its ends and its axis five ticks, the first and last of them at the ends."""
    if (scale.min, scale.max) == (low, high) and axis_shown.tick_values is not None:
        return
    with scale.hold_sync():
        scale.min, scale.max = low, high
    axis_shown.tick_values = np.linspace(low, high, 5)
