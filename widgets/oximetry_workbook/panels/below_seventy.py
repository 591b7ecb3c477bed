"""Below 70 %: shown against true, how far curves part that agreed, and what they share."""

from __future__ import annotations

import bqplot
import ipywidgets as widgets
import numpy as np
from numpy.typing import NDArray

from oximetry_workbook.body.sites import SITES
from oximetry_workbook.meter.curve import VALIDATED_PERCENT, Curve, published_curves
from oximetry_workbook.panels import look
from oximetry_workbook.panels.curves_together import LOOKS, OWN_LOOK
from oximetry_workbook.panels.marks import make_line, make_spot, place
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.numbers import numbers_html
from oximetry_workbook.panels.own_curve import OwnCurvePanel
from oximetry_workbook.panels.prose import html
from oximetry_workbook.panels.state_panel import View
from oximetry_workbook.teach.below_seventy import (
    DRAWS,
    FALL_MINUTES,
    MARKED_PERCENT,
    OWN,
    READ_HIGH_SHOWN,
    READ_HIGH_TRUE,
    TRUE_PERCENT,
    BelowSeventy,
)
from oximetry_workbook.teach.below_seventy_words import (
    numbers,
    odd_sentence,
    shown_sentence,
    spread_sentence,
    trend_sentence,
    verdict,
)
from oximetry_workbook.teach.curves_together import site_name
from oximetry_workbook.teach.own_curve import own_sentence

FloatArray = NDArray[np.float64]

LOWEST_TRUE, LOWEST_SHOWN, HIGHEST_PERCENT = 40.0, 20.0, 102.0
LEAST_OFF, MOST_OFF = -20.0, 20.0

_PLACES = [name for name in map(site_name, SITES) if name != OWN]
_PLACE_STYLES = ("dashed", "dotted", "dash_dotted")
DRAWN = {
    OWN: (look.ACCENT, "solid", 4.0),
    **{n: (look.ACCENT, s, 1.5) for n, s in zip(_PLACES, _PLACE_STYLES, strict=True)},
    **{name: LOOKS[name] for name in published_curves},
    "line": (look.VENOUS, "solid", 2.5),
    "quadratic": (look.VENOUS, "dashed", 2.5),
}
"""Colour, style and width of the ten curves."""

GROUP_LOOKS = {"agreeing": look.ACCENT, "fitted": look.VENOUS}
ASIDE = {"agreeing": -1.5, "fitted": 0.5, "others": 2.5}
"""How far beside its saturation each group stands [%]."""


class ShownPlot:
    """What each curve shows, against the saturation of the blood."""

    def __init__(self, notice: Notice) -> None:
        self._scales = {
            "x": bqplot.LinearScale(min=LOWEST_TRUE, max=100.0),
            "y": bqplot.LinearScale(min=LOWEST_SHOWN, max=HIGHEST_PERCENT),
        }
        ends = np.array([LOWEST_TRUE, 100.0])
        truth = make_line(self._scales, ends, look.GHOST, "solid", 1.5)
        truth.y = ends
        self.band = _area(self._scales, look.VENOUS, 0.2)
        self.lines = {
            name: make_line(self._scales, TRUE_PERCENT, *drawn) for name, drawn in DRAWN.items()
        }
        self._state: BelowSeventy | None = None
        self._own: Curve | None = None
        self.own = make_line(self._scales, TRUE_PERCENT, *OWN_LOOK)
        self.own.visible = False
        self.look_up = make_line(self._scales, ends, look.ARTERIAL, "solid", 1.5)
        self.spots = make_spot(self._scales, look.ARTERIAL, "circle", 60)
        print_spot = make_spot(self._scales, look.WARN, "diamond", 150)
        place(print_spot, [READ_HIGH_TRUE], [READ_HIGH_SHOWN])
        shade = _no_samples(self._scales, (LOWEST_SHOWN, HIGHEST_PERCENT))
        drawn = [*self.lines.values(), self.own, self.look_up, self.spots, print_spot]
        self.figure = look.figure([shade, self.band, truth, *drawn], _axes(self._scales))
        self.says, self.says_own = look.says(), look.says()
        body = [self._key(), self.figure, self.says, self.says_own]
        self.widget = look.card("Shown against true", [self.figure], body, notice)
        self.widget.add_class("ow-tall")

    def show(self, state: BelowSeventy) -> None:
        """Draw a state."""
        band = state.spread(TRUE_PERCENT)["fitted"]
        place(self.band, TRUE_PERCENT, np.clip(band, LOWEST_SHOWN, HIGHEST_PERCENT))
        self._state = state
        for name, line in self.lines.items():
            self._draw(line, state.said(state.curves[name]))
        self._draw_own()
        answers = np.array([state.answers[name] for name in DRAWN])
        seen = answers[(answers >= LOWEST_SHOWN) & (answers <= HIGHEST_PERCENT)]
        place(self.spots, np.full(seen.size, state.true_percent), seen)
        place(self.look_up, [state.true_percent] * 2, [LOWEST_SHOWN, HIGHEST_PERCENT])
        self.says.value = html(shown_sentence(state))

    def show_own(self, curve: Curve | None) -> None:
        """Draw the learner's own curve, or take it away."""
        self._own = curve
        self._draw_own()

    def _draw_own(self) -> None:
        curve, state = self._own, self._state
        if curve is None or state is None:
            self.own.visible, self.says_own.value = False, ""
            return
        self._draw(self.own, state.said(curve))
        self.says_own.value = html(own_sentence(curve, state.ratio))

    @staticmethod
    def _draw(line: bqplot.Lines, percent: FloatArray) -> None:
        seen = (percent >= LOWEST_SHOWN) & (percent <= HIGHEST_PERCENT)
        with line.hold_sync():
            line.visible = bool(seen.any())
            if line.visible:
                line.x, line.y = TRUE_PERCENT[seen], percent[seen]

    @staticmethod
    def _key() -> widgets.HTML:
        entries = [
            (look.GHOST, "line", "shown = true"),
            (look.ACCENT, "line", "the probe’s own curve"),
            (look.ACCENT, "dashed", "other places, by diffusion"),
            (look.INK, "line", "textbook line"),
            (look.VENOUS, "line", "line and quadratic of this study"),
            (look.tint(look.VENOUS), "area", f"those of {DRAWS} studies"),
            (look.INK, "dashed", "published, off in range"),
            (look.GHOST, "dotted", "the odd quadratic"),
            (OWN_LOOK[0], "line", "your own"),
            (look.WARN, "diamond", "a meter in print"),
            (look.tint(look.WARN), "area", "no volunteers"),
        ]
        return widgets.HTML(look.key(entries))


class SpreadPlot:
    """How far from the truth curves answer that agreed in range, and those that did not."""

    def __init__(self, notice: Notice) -> None:
        scales = {
            "x": bqplot.LinearScale(min=36.0, max=94.0),
            "y": bqplot.LinearScale(min=LEAST_OFF, max=MOST_OFF),
        }
        zero = make_line(scales, np.array([36.0, 94.0]), look.GHOST, "solid", 1.5)
        zero.y = np.zeros(2)
        self.bars = {
            name: make_line(scales, np.zeros(2), colour, "solid", 7.0)
            for name, colour in GROUP_LOOKS.items()
        }
        self.others = make_spot(scales, look.INK, "cross", 70)
        shade = _no_samples(scales, (LEAST_OFF, MOST_OFF), 36.0)
        across = look.axis(scales["x"], "saturation of blood, %", tick_values=MARKED_PERCENT[::-1])
        ticks = np.arange(LEAST_OFF, MOST_OFF + 1.0, 10.0)
        up = look.axis(scales["y"], "shown less true, points", vertical=True, tick_values=ticks)
        self.figure = look.figure([shade, zero, *self.bars.values(), self.others], [across, up])
        self.says = look.says()
        entries = [
            (look.ACCENT, "area", "agree from 70 to 100 %"),
            (look.VENOUS, "area", f"fitted, {DRAWS} studies"),
        ]
        note = "<small>Crosses: published curves that are off already in range.</small>"
        body = [widgets.HTML(look.key(entries) + note), self.figure, self.says]
        self.widget = look.card("How far apart", [self.figure], body, notice)
        self.widget.add_class("ow-tall")

    def show(self, state: BelowSeventy) -> None:
        """Draw a state; bars that leave the plot end at its edge, crosses are left out."""
        spread = state.spread(MARKED_PERCENT)
        for name, bar in self.bars.items():
            x = MARKED_PERCENT + ASIDE[name]
            off = np.clip(spread[name] - MARKED_PERCENT, LEAST_OFF, MOST_OFF)
            place(bar, np.stack([x, x], axis=1), off.T)
        place(self.others, *self._crosses(state))
        self.says.value = html(spread_sentence(state))

    @staticmethod
    def _crosses(state: BelowSeventy) -> tuple[FloatArray, FloatArray]:
        """Places of the other curves' answers that lie on the plot: saturation, points off."""
        off = np.array([state.said(c) - TRUE_PERCENT for c in state.others.values()])
        marked = np.isin(TRUE_PERCENT, MARKED_PERCENT)
        x = np.broadcast_to(TRUE_PERCENT[marked] + ASIDE["others"], off[:, marked].shape)
        seen = (off[:, marked] >= LEAST_OFF) & (off[:, marked] <= MOST_OFF)
        return x[seen], off[:, marked][seen]


class TrendPlot:
    """A fall and a rise, as the blood has it and as curves show it."""

    def __init__(self, notice: Notice) -> None:
        scales = {
            "x": bqplot.LinearScale(min=0.0, max=float(FALL_MINUTES[-1])),
            "y": bqplot.LinearScale(min=LOWEST_SHOWN, max=HIGHEST_PERCENT),
        }
        self.truth = make_line(scales, FALL_MINUTES, look.GHOST, "solid", 5.0)
        self.lines = {
            name: make_line(scales, FALL_MINUTES, *drawn) for name, drawn in DRAWN.items()
        }
        across = look.axis(scales["x"], "time, minutes", tick_values=np.arange(0.0, 4.1, 1.0))
        up = look.axis(
            scales["y"], "shown, %", vertical=True, tick_values=np.arange(20.0, 101.0, 20.0)
        )
        self.figure = look.figure([self.truth, *self.lines.values()], [across, up])
        self.says = look.says()
        entries = [
            (look.GHOST, "line", "blood"),
            (look.ACCENT, "line", "own curve, other places"),
            (look.INK, "line", "published"),
            (look.VENOUS, "line", "fitted"),
        ]
        body = [widgets.HTML(look.key(entries)), self.figure, self.says]
        self.widget = look.card("A fall and a rise", [self.figure], body, notice)
        self.widget.add_class("ow-tall")

    def show(self, state: BelowSeventy) -> None:
        """Draw a state; what leaves the plot runs along its edge."""
        self.truth.y = state.course
        for name, line in self.lines.items():
            shown = state.said_in_course(state.curves[name])
            line.y = np.clip(shown, LOWEST_SHOWN, 100.0)
        self.says.value = html(trend_sentence(state))


class Summary:
    """The numbers, what they are worth, and which curves are no witness."""

    def __init__(self) -> None:
        self._numbers, self._sentence, self._odd = (widgets.HTML() for _ in range(3))
        self._sentence.add_class("ow-live")
        self._odd.add_class("ow-plot-says")
        heading = widgets.HTML("<h3>What the number is worth</h3>")
        self.widget = widgets.VBox([heading, self._numbers, self._sentence, self._odd])
        self.widget.add_class("ow-card")

    def show(self, state: BelowSeventy) -> None:
        """Write a state."""
        self._numbers.value = numbers_html(numbers(state))
        self._sentence.value = html(verdict(state))
        self._odd.value = html(odd_sentence(state))


def _axes(scales: dict[str, bqplot.Scale]) -> list[bqplot.Axis]:
    return [
        look.axis(
            scales["x"], "saturation of blood, %", tick_values=np.arange(LOWEST_TRUE, 101.0, 10.0)
        ),
        look.axis(scales["y"], "shown, %", vertical=True, tick_values=np.arange(20.0, 101.0, 20.0)),
    ]


def _area(scales: dict[str, bqplot.Scale], colour: str, opacity: float) -> bqplot.Lines:
    """Make an area between two rows that waits for them."""
    area = make_line(scales, np.zeros(2), colour, "solid", 0.0)
    area.y = np.ones((2, 2))
    area.fill, area.fill_colors, area.fill_opacities = "between", [colour], [opacity]
    return area


def _no_samples(
    scales: dict[str, bqplot.Scale], ends: tuple[float, float], lowest: float = LOWEST_TRUE
) -> bqplot.Lines:
    """Make the shade over saturations of the blood at which no meter is held against samples."""
    area = _area(scales, look.WARN, 0.13)
    across = [lowest, VALIDATED_PERCENT[0]]
    place(area, across, [[end, end] for end in ends])
    return area


def make_views(notice: Notice) -> tuple[View, ...]:
    """Make the panel's views."""
    return ShownPlot(notice), Summary(), SpreadPlot(notice), TrendPlot(notice)


def below_seventy(state: BelowSeventy | None = None) -> widgets.VBox:
    """Show what curves that agree from 70 to 100 % make of a saturation below.

    Args:
        state: What to start from; the usual state if left out.
    """
    return OwnCurvePanel(state or BelowSeventy(), make_views).widget
