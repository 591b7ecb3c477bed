"""Curves of three origins on one plot, and what each of them says at one ratio."""

from __future__ import annotations

import bqplot
import ipywidgets as widgets
import numpy as np

from oximetry_workbook.body.sites import SITES
from oximetry_workbook.meter.curve import Curve, published_curves
from oximetry_workbook.panels import look
from oximetry_workbook.panels.marks import curve_axes, make_line, make_spot, no_volunteers
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.prose import html
from oximetry_workbook.teach.curves_together import (
    STRAIGHT,
    CurvesTogether,
    curves_sentence,
    paths_sentence,
    said,
    site_name,
)
from oximetry_workbook.teach.own_curve import own_name, own_sentence

LARGEST_RATIO = 2.5
LOWEST_PERCENT, HIGHEST_PERCENT = 40.0, 102.0
SHOWN_RATIO = np.linspace(0.2, LARGEST_RATIO, 93)

Look = tuple[str, str, float]

_SITE_LOOKS = (
    (look.ACCENT, "solid", 4.0),
    (look.ACCENT, "dashed", 2.5),
    (look.VENOUS, "solid", 2.5),
    (look.VENOUS, "dashed", 2.5),
)
_PUBLISHED_LOOKS = (
    (look.INK, "solid", 1.5),
    (look.INK, "dashed", 1.5),
    (look.INK, "dotted", 2.0),
    (look.GHOST, "dotted", 2.5),
)
LOOKS = {
    STRAIGHT: (look.TISSUE, "dash_dotted", 3.0),
    **dict(zip((site_name(site) for site in SITES), _SITE_LOOKS, strict=True)),
    **dict(zip(published_curves, _PUBLISHED_LOOKS, strict=True)),
}
"""Colour, line style and width of each curve: one colour for each origin, one style for each."""

OWN_LOOK = (look.PULSE, "solid", 3.0)
"""Of the learner's own curve."""

_KEY_KINDS = {"solid": "line", "dashed": "dashed", "dotted": "dotted", "dash_dotted": "dashed"}


class CurvesPlot:
    """All curves, and a ratio looked up in each."""

    def __init__(self, notice: Notice) -> None:
        self._scales = {
            "x": bqplot.LinearScale(min=0.0, max=LARGEST_RATIO),
            "y": bqplot.LinearScale(min=LOWEST_PERCENT, max=HIGHEST_PERCENT),
        }
        self.lines = {name: self._curve(*drawn) for name, drawn in LOOKS.items()}
        self.own = self._curve(*OWN_LOOK)
        self.own.visible = False
        self.look_up = self._curve(look.ARTERIAL, "solid", 2.0)
        self.points = make_spot(self._scales, look.ARTERIAL, "circle", 70)
        self._drawn = ""
        marks = [
            no_volunteers(self._scales, LARGEST_RATIO),
            *self.lines.values(),
            self.own,
            self.look_up,
            self.points,
        ]
        self.figure = look.figure(marks, curve_axes(self._scales, LARGEST_RATIO, LOWEST_PERCENT))
        self.says = look.says()
        body = [self._key(), self.figure, self.says]
        self.widget = look.card("Nine curves", [self.figure], body, notice)
        self.widget.add_class("ow-tall")

    def show(self, state: CurvesTogether) -> None:
        """Draw the curves and the look-up."""
        if self._drawn != state.extinction_table:
            self._draw_curves(state)
            self._drawn = state.extinction_table
        said_here = np.array(list(state.percents.values()))
        shown = said_here[(said_here >= LOWEST_PERCENT) & (said_here <= HIGHEST_PERCENT)]
        with self.points.hold_sync():
            self.points.visible = shown.size > 0
            if shown.size:
                self.points.x, self.points.y = np.full(shown.size, state.ratio), shown
        with self.look_up.hold_sync():
            self.look_up.x = np.full(2, state.ratio)
            self.look_up.y = np.array([LOWEST_PERCENT, HIGHEST_PERCENT])
        self.says.value = html(curves_sentence(state))

    def show_own(self, curve: Curve | None) -> None:
        """Draw the learner's own curve, or take it away."""
        if curve is None:
            self.own.visible = False
        else:
            self._draw(self.own, curve)

    def _draw_curves(self, state: CurvesTogether) -> None:
        for name, curve in state.curves.items():
            self._draw(self.lines[name], curve)

    @staticmethod
    def _draw(drawn: bqplot.Lines, curve: Curve) -> None:
        percent = np.asarray(curve(SHOWN_RATIO))
        inside = (percent >= LOWEST_PERCENT) & (percent <= 100.0)
        with drawn.hold_sync():
            drawn.visible = bool(inside.any())
            if drawn.visible:
                drawn.x, drawn.y = SHOWN_RATIO[inside], percent[inside]

    def _curve(self, colour: str, style: str, width: float) -> bqplot.Lines:
        return make_line(self._scales, np.array([0.0, LARGEST_RATIO]), colour, style, width)

    @staticmethod
    def _key() -> widgets.HTML:
        return widgets.HTML(
            look.key(
                [
                    (look.TISSUE, "dashed", "calculated: straight path"),
                    (look.ACCENT, "line", "simulated: shone through"),
                    (look.VENOUS, "line", "simulated: reflected"),
                    (look.INK, "line", "published"),
                    (OWN_LOOK[0], "line", "your own"),
                    (look.tint(look.WARN), "area", "no volunteers below 70 %"),
                ]
            )
        )


class CurvesList:
    """What each curve says at the ratio, with its line as a key to the plot."""

    def __init__(self) -> None:
        self._rows, self._own_row = widgets.HTML(), widgets.HTML()
        self._state: CurvesTogether | None = None
        self._own: Curve | None = None
        self.says = look.says()
        heading = widgets.HTML("<h3>The same R, nine answers</h3>")
        self.widget = widgets.VBox([heading, self._rows, self._own_row, self.says])
        self.widget.add_class("ow-card")

    def show(self, state: CurvesTogether) -> None:
        """Write what each curve says."""
        self._state = state
        self._write_own()
        rows = [_row(name, percent, LOOKS[name]) for name, percent in state.percents.items()]
        self._rows.value = f'<div style="padding-bottom:0.6rem">{"".join(rows)}</div>'
        self.says.value = html(paths_sentence(state))

    def show_own(self, curve: Curve | None) -> None:
        """Write what the learner's own curve says, or nothing."""
        self._own = curve
        self._write_own()

    def _write_own(self) -> None:
        curve, state = self._own, self._state
        if curve is None or state is None:
            self._own_row.value = ""
            return
        row = _row(own_name(curve), curve(state.ratio), OWN_LOOK)
        self._own_row.value = f"{row}<p>{html(own_sentence(curve, state.ratio))}</p>"


def _row(name: str, percent: float, drawn: Look) -> str:
    colour, style, _ = drawn
    mark = f'<i class="ow-key-{_KEY_KINDS[style]}" style="--ow-mark:{colour}"></i>'
    return (
        '<div style="display:flex;justify-content:space-between;gap:1rem;padding:0.2rem 0;'
        'border-bottom:1px solid var(--ow-line);font-variant-numeric:tabular-nums">'
        f'<span class="ow-key">{mark}{html(name)}</span>'
        f'<strong style="white-space:nowrap">{said(percent)}</strong></div>'
    )
