"""A weak pulse at four places: what cold leaves, and what a meter reads from it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import bqplot
import ipywidgets as widgets
import numpy as np

from oximetry_workbook.meter.quality import LOWEST_QUALITY
from oximetry_workbook.panels import look
from oximetry_workbook.panels.marks import make_line, make_spot, place
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.prose import html
from oximetry_workbook.panels.state_panel import StatePanel, View
from oximetry_workbook.panels.work import Work
from oximetry_workbook.teach.many_readings import NORMAL_95
from oximetry_workbook.teach.weak_pulse import (
    NARROWING,
    PLACES,
    ManySites,
    WeakPulse,
    alike,
    many_sites,
    pulse_left_percent,
)
from oximetry_workbook.teach.weak_pulse_words import (
    MANY_COLUMNS,
    SINGLE_COLUMNS,
    errors_sentence,
    many_table,
    published_sentence,
    pulse_sentence,
    quality_sentence,
    single_table,
    verdict,
)

SITE_LOOKS = {
    "finger": (look.INK, "solid", 3.5),
    "ear": (look.ACCENT, "dashed", 2.5),
    "forehead": (look.VENOUS, "dotted", 3.0),
    "wrist": (look.PULSE, "solid", 2.0),
}
"""Colour, line style and width of each place."""

_KEY_KINDS = {"solid": "line", "dashed": "dashed", "dotted": "dotted"}
_ENDS = (-0.5, len(PLACES) - 0.5)

LEAST_ERROR = 2.0
"""The axis of error reaches at least this far on either side of 0 [points]."""


class PulsePlot:
    """Perfusion index of each place over narrowing, and where each stands now."""

    def __init__(self, notice: Notice) -> None:
        scales = {
            "x": bqplot.LinearScale(min=0.0, max=100.0),
            "y": bqplot.LogScale(min=0.05, max=5.0),
        }
        self.lines, self.spots = [], []
        for site, left in zip(PLACES, pulse_left_percent(), strict=True):
            line = make_line(scales, 100.0 * NARROWING, *SITE_LOOKS[site])
            line.y = left
            self.lines.append(line)
            self.spots.append(make_spot(scales, SITE_LOOKS[site][0], "circle", 110))
        across = look.axis(
            scales["x"], "narrowing of the vessels, %", tick_values=np.linspace(0.0, 100.0, 5)
        )
        up = look.axis(
            scales["y"],
            "perfusion index, %",
            vertical=True,
            tick_values=np.array([0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0]),
        )
        self.figure = look.figure([*self.lines, *self.spots], [across, up])
        self.says, study = look.says(), look.says()
        study.value = html(published_sentence())
        body = [self._key(), self.figure, self.says, study]
        self.widget = look.card("What cold leaves", [self.figure], body, notice)
        self.widget.add_class("ow-tall")

    def show(self, state: WeakPulse) -> None:
        """Draw a state."""
        for spot, left in zip(self.spots, state.perfusion_index_percent, strict=True):
            place(spot, [100.0 * state.vasoconstriction], [left])
        self.says.value = html(pulse_sentence(state))

    @staticmethod
    def _key() -> widgets.HTML:
        entries = [
            (colour, _KEY_KINDS[style], site) for site, (colour, style, _) in SITE_LOOKS.items()
        ]
        return widgets.HTML(look.key(entries))


class SitesCard:
    """One reading of each place, what it says, and what many readings gave."""

    def __init__(self) -> None:
        self.table, self.many, self.sentence = (widgets.HTML() for _ in range(3))
        self.sentence.add_class("ow-live")
        heading = widgets.HTML("<h3>The same meter at four places</h3>")
        self.widget = widgets.VBox([heading, self.table, self.sentence, self.many])
        self.widget.add_class("ow-card")

    def show(self, state: WeakPulse) -> None:
        """Write a state."""
        self.table.value = _table_html(SINGLE_COLUMNS, single_table(state))
        self.sentence.value = html(verdict(state))

    def show_many(self, many: ManySites | None) -> None:
        """Write what many readings gave, None for none."""
        if many is None:
            self.many.value = ""
            return
        head = f"<p>{html(f'Over {many.minutes} minutes, with 95 % intervals:')}</p>"
        self.many.value = head + _table_html(MANY_COLUMNS, many_table(many))


class QualityPlot:
    """Signal quality of one reading at each place, and the limit under which none is shown."""

    def __init__(self, notice: Notice) -> None:
        scales = {"x": bqplot.OrdinalScale(), "y": bqplot.LinearScale(min=0.0, max=100.0)}
        self.bars = bqplot.Bars(
            x=list(PLACES),
            y=np.ones(len(PLACES)),
            scales=scales,
            colors=[look.ACCENT],
            padding=0.4,
        )
        level = {"x": bqplot.LinearScale(min=0.0, max=1.0), "y": scales["y"]}
        limit = make_line(level, np.array([0.0, 1.0]), look.WARN, "dashed", 2.5)
        limit.y = np.full(2, 100.0 * LOWEST_QUALITY)
        across = look.axis(scales["x"], "", grid_lines="none", tick_format=None)
        up = look.axis(
            scales["y"], "signal quality, %", vertical=True, tick_values=np.arange(0, 101, 25)
        )
        self.figure = look.figure(
            [self.bars, limit], [across, up], margin={**look.MARGINS, "bottom": 32}
        )
        self.says = look.says()
        key = look.key(
            [
                (look.ACCENT, "area", "one reading of 10 s"),
                (look.WARN, "dashed", "below, no number is shown"),
            ]
        )
        body = [widgets.HTML(key), self.figure, self.says]
        self.widget = look.card("Signal quality", [self.figure], body, notice)

    def show(self, state: WeakPulse) -> None:
        """Draw a state."""
        self.bars.y = 100.0 * np.array([made.quality for made in state.single])
        self.says.value = html(quality_sentence(state))


class ErrorPlot:
    """Mean error of many readings at each place, and how single ones scatter; long work."""

    def __init__(self, numbers: SitesCard, notice: Notice) -> None:
        self._state, self._numbers = WeakPulse(), numbers
        self.work = Work(self._start, self.draw_many, notice, "Measure longer")
        self._scales = {
            "x": bqplot.LinearScale(min=_ENDS[0], max=_ENDS[1]),
            "y": bqplot.LinearScale(min=-1.0, max=1.0),
        }
        self._up = look.axis(self._scales["y"], "error, points", vertical=True)
        self.zero = make_line(self._scales, np.array(_ENDS), look.GHOST, "solid", 1.0)
        self.zero.y = np.zeros(2)
        self.scatter = make_line(self._scales, np.zeros(2), look.GHOST, "solid", 8.0)
        self.interval = make_line(self._scales, np.zeros(2), look.ACCENT, "solid", 2.5)
        self.mean = make_spot(self._scales, look.ACCENT, "diamond", 110)
        marks = [self.zero, self.scatter, self.interval, self.mean]
        self.figure = look.figure(
            marks, [self._across(), self._up], margin={**look.MARGINS, "bottom": 32}
        )
        self.says = look.says()
        body = [self._key(), self.work.widget, self.figure, self.says]
        self.widget = look.card("Error over many minutes", [self.figure], body, notice)
        self.draw_many(None)

    def show(self, state: WeakPulse) -> None:
        """Take up a state; what was read in another one is dropped."""
        dropped, self._state = not alike(self._state, state), state
        if dropped:
            self.work.cancel()
        if dropped or not self.mean.visible:
            self.draw_many(None)

    def draw_many(self, many: ManySites | None) -> None:
        """Draw the readings so far, None for none."""
        self.says.value = html(errors_sentence(many, self._state.minutes))
        self._numbers.show_many(many)
        known = np.zeros(len(PLACES), bool) if many is None else np.isfinite(many.errors.mean)
        for mark in (self.scatter, self.interval, self.mean):
            mark.visible = bool(known.any())
        reach = LEAST_ERROR
        if many is not None and known.any():
            reach = max(reach, self._draw(many, known))
        limit = look.nice_limit(reach, (1.0, 2.0, 4.0, 8.0))
        look.set_range(self._scales["y"], self._up, -limit, limit)

    def _draw(self, many: ManySites, known: np.ndarray) -> float:
        """Draw the places that gave numbers; return how far the drawing reaches."""
        x = np.flatnonzero(known).astype(np.float64)
        mean, half = many.errors.mean[known], many.errors.half_width[known]
        spread = NORMAL_95 * many.errors.sd[known]
        for mark, size in ((self.scatter, spread), (self.interval, half)):
            place(mark, np.stack([x, x], axis=1), np.stack([mean - size, mean + size], axis=1))
        place(self.mean, x, mean)
        return float(np.max(np.abs(mean) + np.maximum(spread, half)))

    def _start(self) -> Iterator[tuple[float, ManySites]]:
        return many_sites(self._state)

    def _across(self) -> bqplot.Axis:
        places = np.arange(float(len(PLACES)))
        across = look.axis(self._scales["x"], "", grid_lines="none", tick_values=places)
        across.tick_labels = {f"{k}": site for k, site in enumerate(PLACES)}
        return across

    @staticmethod
    def _key() -> widgets.HTML:
        entries = [
            (look.ACCENT, "diamond", "mean; bar: its 95 % interval"),
            (look.GHOST, "area", "19 in 20 single readings (± 1.96 SD)"),
        ]
        return widgets.HTML(look.key(entries))


def _table_html(columns: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    head = "".join(f'<th scope="col">{html(each)}</th>' for each in ("Place", *columns))
    body = "".join(
        f'<tr><th scope="row">{html(name)}</th>'
        + "".join(f"<td>{html(cell)}</td>" for cell in cells)
        + "</tr>"
        for name, *cells in rows
    )
    return f'<table class="ow-steps"><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>'


def _views(notice: Notice) -> tuple[View, ...]:
    numbers = SitesCard()
    return PulsePlot(notice), numbers, QualityPlot(notice), ErrorPlot(numbers, notice)


def weak_pulse(state: WeakPulse | None = None) -> widgets.VBox:
    """Show a weak pulse at four places, and what a meter reads from it.

    Args:
        state: What to start from; the usual state if left out.
    """
    return StatePanel(state or WeakPulse(), _views).widget
