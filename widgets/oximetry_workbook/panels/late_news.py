"""Late news: a breath-hold at the heart, at ear and finger, and what averaging trades for what."""

from __future__ import annotations

from collections.abc import Iterator

import bqplot
import ipywidgets as widgets
import numpy as np

from oximetry_workbook.body.circulation import PLACES
from oximetry_workbook.panels import look
from oximetry_workbook.panels.marks import make_line, make_spot, place
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.numbers import numbers_html
from oximetry_workbook.panels.prose import html
from oximetry_workbook.panels.state_panel import StatePanel, View
from oximetry_workbook.panels.work import Work
from oximetry_workbook.study.alarms import AVERAGINGS_S, Trade, WatchedHour, trades, watched_hour
from oximetry_workbook.teach.late_news import (
    BEFORE_S,
    END_S,
    TIME_S,
    LateNews,
    dips_below,
    first_hours,
)
from oximetry_workbook.teach.late_news_words import (
    event_sentence,
    numbers,
    trade_sentence,
    verdict,
)

LOWEST_PERCENT = 65.0
HOLD_ROW = 66.5
"""Where on the axis of saturation the bar lies that marks the breath-hold [%]."""

HOURS = 24

PLACE_LOOKS = {
    "ear": (look.ACCENT, "dashed", 2.5, "triangle-up"),
    "finger": (look.INK, "solid", 2.0, "square"),
    "cold finger": (look.VENOUS, "dotted", 4.0, "diamond"),
}
"""Colour, style and width of the line, and mark of the alarm, at each place."""

UNDER_PERCENT = -12.0
"""Where the axis of missed dips begins, so that names below marks at 0 have room [%]."""

LADDER = (1.0, 1.2, 1.6, 2.0, 4.0, 6.0, 8.0)


class EventPlot:
    """The breath-hold: the blood at the heart, three displays, the threshold and the alarms."""

    def __init__(self, notice: Notice) -> None:
        scales = {
            "x": bqplot.LinearScale(min=-BEFORE_S, max=END_S),
            "y": bqplot.LinearScale(min=LOWEST_PERCENT, max=101.0),
        }
        ends = np.array([-BEFORE_S, END_S])
        self.hold = make_line(scales, np.array([0.0, 1.0]), look.INK_SOFT, "solid", 6.0)
        self.threshold = make_line(scales, ends, look.WARN, "dash_dotted", 1.5)
        self.truth = make_line(scales, TIME_S, look.ARTERIAL, "solid", 4.0)
        self.shown = {p: make_line(scales, TIME_S, *PLACE_LOOKS[p][:3]) for p in PLACES}
        self.alarms = {p: make_spot(scales, PLACE_LOOKS[p][0], PLACE_LOOKS[p][3]) for p in PLACES}
        across = look.axis(scales["x"], "seconds", tick_values=np.arange(0.0, END_S, 30.0))
        up = look.axis(
            scales["y"], "saturation, %", vertical=True, tick_values=np.arange(65.0, 101.0, 5.0)
        )
        marks = [self.hold, self.threshold, self.truth, *self.shown.values()]
        self.figure = look.figure([*marks, *self.alarms.values()], [across, up])
        self.says = look.says()
        body = [self._key(), self.figure, self.says]
        self.widget = look.card("One breath-hold", [self.figure], body, notice)
        self.widget.add_class("ow-tall")
        self.widget.add_class("ow-whole")

    def show(self, state: LateNews) -> None:
        """Draw a state."""
        place(self.hold, [0.0, state.hold_s], [HOLD_ROW, HOLD_ROW])
        self.threshold.y = np.full(2, state.threshold_percent)
        self.truth.y = state.true_percent.astype(np.float32)
        for name, line in self.shown.items():
            shown = state.shown_percent[name]
            there = np.isfinite(shown)
            with line.hold_sync():
                line.x, line.y = TIME_S[there], shown[there].astype(np.float32)
            self._show_alarm(name, state)
        self.says.value = html(event_sentence(state))

    def _show_alarm(self, name: str, state: LateNews) -> None:
        sounds, mark = state.alarm_s(name), self.alarms[name]
        with mark.hold_sync():
            mark.visible = sounds is not None
            if sounds is not None:
                mark.x, mark.y = np.array([sounds]), np.array([state.threshold_percent])

    @staticmethod
    def _key() -> widgets.HTML:
        entries = [(look.ARTERIAL, "line", "blood at the heart")]
        kinds = {"dashed": "dashed", "solid": "line", "dotted": "dotted"}
        entries += [
            (colour, kinds[style], name) for name, (colour, style, *_) in PLACE_LOOKS.items()
        ]
        entries += [(look.WARN, "dashed", "alarm limit")]
        words = "<small>Marks on the limit: the alarm sounds. Bar at the foot: breath held.</small>"
        return widgets.HTML(look.key(entries) + words)


class TradePlot:
    """False alarms against missed dips for each averaging time, over many hours."""

    def __init__(self, notice: Notice) -> None:
        self._state = LateNews()
        self._hours = {self._state.place: first_hours()}
        self._scales = {
            "x": bqplot.LinearScale(min=0.0, max=20.0),
            "y": bqplot.LinearScale(min=UNDER_PERCENT, max=100.0),
        }
        self._across = look.axis(self._scales["x"], "false alarms an hour")
        look.set_range(self._scales["x"], self._across, 0.0, 20.0)
        up = look.axis(
            self._scales["y"], "dips missed, %", vertical=True, tick_values=np.arange(0, 101, 25)
        )
        self.line = make_line(self._scales, np.arange(4.0), look.INK_SOFT, "dotted", 1.5)
        self.spread = make_line(self._scales, np.arange(2.0), look.GHOST, "solid", 2.0)
        self.spots = make_spot(self._scales, look.ACCENT, "circle", 90)
        self.now = make_spot(self._scales, look.WARN, "diamond", 170)
        self.names = [self._names(row) for row in range(2)]
        self.marks = [self.spread, self.line, self.spots, self.now, *self.names]
        self.figure = look.figure(self.marks, [self._across, up])
        self.says = look.says()
        self.work = Work(self._watch, self._watched, notice, f"Watch {HOURS} hours")
        body = [self._key(), self.work.widget, self.figure, self.says]
        self.widget = look.card("False or missed", [self.figure], body, notice)
        self.widget.add_class("ow-tall")

    def show(self, state: LateNews) -> None:
        """Draw a state, from the hours watched at its place so far."""
        self._state = state
        hours = self._hours.get(state.place, ())
        found = trades(hours, state.threshold_percent, state.wait_s) if hours else ()
        self._draw(found)
        dips = dips_below(hours, state.threshold_percent)
        self.says.value = html(trade_sentence(state, found, dips))

    def _draw(self, found: tuple[Trade, ...]) -> None:
        drawn = bool(found) and found[0].events > 0
        for mark in (self.spread, self.line, self.spots, *self.names):
            mark.visible = drawn
        chosen = [t for t in found if t.averaging_s == self._state.averaging_s]
        self.now.visible = drawn and bool(chosen)
        if not drawn:
            return
        false = [t.false_per_hour.value for t in found]
        missed = [t.missed_percent.value for t in found]
        for mark in (self.line, self.spots):
            place(mark, false, missed)
        for row, names in enumerate(self.names):
            place(names, false[row::2], missed[row::2])
        place(self.spread, *_bars(found))
        if chosen:
            place(self.now, [chosen[0].false_per_hour.value], [chosen[0].missed_percent.value])
        widest = max(t.false_per_hour.high for t in found)
        look.set_range(
            self._scales["x"], self._across, 0.0, look.nice_limit(max(1.12 * widest, 1.0), LADDER)
        )

    def _names(self, row: int) -> bqplot.Label:
        """Every other averaging time, above or below its mark, so that neighbours stay apart."""
        return bqplot.Label(
            x=np.zeros(2),
            y=np.zeros(2),
            text=[f"{averaging:.0f} s" for averaging in AVERAGINGS_S[row::2]],
            scales=dict(self._scales),
            colors=[look.INK],
            x_offset=9,
            y_offset=(-12, 16)[row],
        )

    def _watch(self) -> Iterator[tuple[float, tuple[str, tuple[WatchedHour, ...]]]]:
        name = self._state.place
        hours = self._hours.get(name, ())
        if len(hours) >= HOURS:  # all were watched: watch them again
            hours = ()
        for number in range(len(hours), HOURS):
            hours = (*hours, watched_hour(PLACES[name], seed=number))
            yield (number + 1) / HOURS, (name, hours)

    def _watched(self, result: tuple[str, tuple[WatchedHour, ...]]) -> None:
        name, hours = result
        self._hours[name] = hours
        if name == self._state.place:
            self.show(self._state)

    @staticmethod
    def _key() -> widgets.HTML:
        entries = [
            (look.ACCENT, "area", "averaging over 2, 4, 8, 16 s"),
            (look.WARN, "diamond", "the averaging set now, if one of them"),
            (look.GHOST, "line", "95 % interval"),
        ]
        return widgets.HTML(look.key(entries))


def _bars(found: tuple[Trade, ...]) -> tuple[np.ndarray, np.ndarray]:
    """Intervals across and up as one line that runs from point to end and back; shape (24,)."""
    x, y = [], []
    for trade in found:
        false, missed = trade.false_per_hour, trade.missed_percent
        x += [false.low, false.high, false.value, false.value, false.value, false.value]
        y += [missed.value, missed.value, missed.value, missed.low, missed.high, missed.value]
    return np.array(x), np.array(y)


class Summary:
    """The numbers, and how late the news is."""

    def __init__(self) -> None:
        self._numbers, self._sentence = widgets.HTML(), widgets.HTML()
        self._sentence.add_class("ow-live")
        heading = widgets.HTML(
            "<h3>How late, how shallow</h3><small>Lowest values, and when.</small>"
        )
        self.widget = widgets.VBox([heading, self._numbers, self._sentence])
        self.widget.add_class("ow-card")

    def show(self, state: LateNews) -> None:
        """Write a state."""
        self._numbers.value = numbers_html(numbers(state))
        self._sentence.value = html(verdict(state))


def _views(notice: Notice) -> tuple[View, ...]:
    return EventPlot(notice), Summary(), TradePlot(notice)


def late_news(state: LateNews | None = None) -> widgets.VBox:
    """Show a breath-hold as ear and finger tell of it, and what averaging trades for what.

    Args:
        state: What to start from; the usual state if left out.
    """
    return StatePanel(state or LateNews(), _views).widget
