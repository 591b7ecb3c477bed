"""One low reading: what is true of those who saw it, and how often a healthy person sees it."""

from __future__ import annotations

import bqplot
import ipywidgets as widgets
import numpy as np

from oximetry_workbook.panels import look
from oximetry_workbook.panels.marks import make_line, make_spot, place
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.numbers import numbers_html
from oximetry_workbook.panels.prose import html
from oximetry_workbook.panels.state_panel import StatePanel, View
from oximetry_workbook.teach.one_low_reading import (
    BANDS,
    DAYS,
    LOWEST_PLOTTED_PERCENT,
    PLOTTED_PERCENT,
    OneLowReading,
)
from oximetry_workbook.teach.one_low_reading_words import (
    belief_sentence,
    hundred_sentence,
    meter_sentence,
    month_sentence,
    numbers,
    verdict,
)

ACROSS = 20
"""People in a row of the hundred."""

PEOPLE = np.array([(n % ACROSS, n // ACROSS) for n in range(100)], dtype=float)
"""Places of the hundred, column and row; shape (100, 2)."""

BAND_LOOKS = (
    (look.ARTERIAL, "triangle-up", "triangle"),
    (look.WARN, "diamond", "diamond"),
    (look.GHOST, "square", "area"),
)
"""Colour, marker and kind in the key of each of `BANDS`."""


class BeliefPlot:
    """True saturation in the group, before the reading and after it."""

    def __init__(self, notice: Notice) -> None:
        self._scales = {
            "x": bqplot.LinearScale(min=LOWEST_PLOTTED_PERCENT, max=100.0),
            "y": bqplot.LinearScale(min=0.0, max=50.0),
        }
        self._up = look.axis(self._scales["y"], "people of 100, a point", vertical=True)
        self.earlier = make_line(self._scales, PLOTTED_PERCENT, look.GHOST, "dashed", 2.0)
        self.now = make_line(self._scales, PLOTTED_PERCENT, look.ACCENT, "solid", 3.0)
        with self.now.hold_sync():
            self.now.fill, self.now.fill_colors = "bottom", [look.ACCENT]
            self.now.fill_opacities = [0.13]
        self.shown = make_spot(self._scales, look.WARN, "triangle-up", 150)
        ticks = np.arange(LOWEST_PLOTTED_PERCENT, 101.0, 5.0)
        across = look.axis(self._scales["x"], "true saturation, %", tick_values=ticks)
        self.figure = look.figure([self.earlier, self.now, self.shown], [across, self._up])
        self.says = look.says()
        body = [self._key(), self.figure, self.says]
        self.widget = look.card("What may be true", [self.figure], body, notice)

    def show(self, state: OneLowReading) -> None:
        """Draw a state."""
        self.earlier.y, self.now.y = state.curves.astype(np.float32)
        limit = look.nice_limit(1.02 * state.curves.max(), (1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0))
        look.set_range(self._scales["y"], self._up, 0.0, limit)
        place(self.shown, [state.reading_percent], [0.03 * limit])
        self.says.value = html(belief_sentence(state))

    @staticmethod
    def _key() -> widgets.HTML:
        entries = [
            (look.GHOST, "dashed", "before the reading"),
            (look.ACCENT, "line", "after all readings"),
            (look.WARN, "triangle", "first reading"),
        ]
        return widgets.HTML(look.key(entries))


class HundredPlot:
    """A hundred people who saw these readings: each a mark, by what is true of them."""

    def __init__(self, notice: Notice) -> None:
        scales = {
            "x": bqplot.LinearScale(min=-0.7, max=ACROSS - 0.3),
            "y": bqplot.LinearScale(min=-0.7, max=100 / ACROSS - 0.3),
        }
        self.bands = [make_spot(scales, colour, marker, 110) for colour, marker, _ in BAND_LOOKS]
        margin = {"top": 10, "bottom": 10, "left": 10, "right": 10}
        self.figure = look.figure(self.bands, [], margin=margin)
        self.says = look.says()
        body = [self._key(), self.figure, self.says]
        self.widget = look.card("A hundred who saw this", [self.figure], body, notice)

    def show(self, state: OneLowReading) -> None:
        """Draw a state."""
        ends = np.cumsum(state.of_hundred)
        for band, people in zip(self.bands, np.split(PEOPLE, ends[:-1]), strict=True):
            with band.hold_sync():
                band.visible = people.size > 0
                if people.size:
                    band.x, band.y = people.T
        self.says.value = html(hundred_sentence(state))

    @staticmethod
    def _key() -> widgets.HTML:
        entries = [
            (colour, kind, f"truly {band}")
            for (colour, _, kind), band in zip(BAND_LOOKS, BANDS, strict=True)
        ]
        return widgets.HTML(look.key(entries))


class MonthPlot:
    """Chance that a healthy person has seen such a reading, by day."""

    def __init__(self, notice: Notice) -> None:
        scales = {
            "x": bqplot.LinearScale(min=0.0, max=float(DAYS)),
            "y": bqplot.LinearScale(min=0.0, max=100.0),
        }
        days = np.arange(DAYS + 1.0)
        self.all_new = make_line(scales, days, look.INK_SOFT, "dashed", 2.0)
        self.seen = make_line(scales, days, look.ACCENT, "solid", 3.0)
        across = look.axis(scales["x"], "day", tick_values=np.arange(0.0, DAYS + 1.0, 5.0))
        up = look.axis(
            scales["y"], "chance, %", vertical=True, tick_values=np.linspace(0.0, 100.0, 5)
        )
        self.figure = look.figure([self.all_new, self.seen], [across, up])
        self.says = look.says()
        body = [self._key(), self.figure, self.says]
        title = "A healthy person’s month"
        self.widget = look.card(title, [self.figure], body, notice)

    def show(self, state: OneLowReading) -> None:
        """Draw a state."""
        self.seen.y = np.concatenate([[0.0], state.by_day]).astype(np.float32)
        self.all_new.y = np.concatenate([[0.0], state.by_day_all_new]).astype(np.float32)
        self.says.value = html(month_sentence(state))

    @staticmethod
    def _key() -> widgets.HTML:
        entries = [
            (look.ACCENT, "line", "a part of the error stays"),
            (look.INK_SOFT, "dashed", "if all of it were new each time"),
        ]
        return widgets.HTML(look.key(entries))


class Summary:
    """The numbers, what they mean, and what the meter is worth."""

    def __init__(self) -> None:
        self._numbers, self._sentence, self._meter = (widgets.HTML() for _ in range(3))
        self._sentence.add_class("ow-live")
        self._meter.add_class("ow-plot-says")
        heading = widgets.HTML("<h3>What these readings mean</h3>")
        self.widget = widgets.VBox([heading, self._numbers, self._sentence, self._meter])
        self.widget.add_class("ow-card")

    def show(self, state: OneLowReading) -> None:
        """Write a state."""
        self._numbers.value = numbers_html(numbers(state))
        self._sentence.value = html(verdict(state))
        self._meter.value = html(meter_sentence(state))


def _views(notice: Notice) -> tuple[View, ...]:
    return Summary(), HundredPlot(notice), BeliefPlot(notice), MonthPlot(notice)


def one_low_reading(state: OneLowReading | None = None) -> widgets.VBox:
    """Show what one low reading means, how often it comes, and what a repeat is worth.

    Args:
        state: What to start from; the usual state if left out.
    """
    return StatePanel(state or OneLowReading(), _views).widget
