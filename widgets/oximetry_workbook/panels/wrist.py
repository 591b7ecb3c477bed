"""Finger and wrist side by side: the pulse of one heart, and forty readings of each."""

from __future__ import annotations

import bqplot
import ipywidgets as widgets
import numpy as np

from oximetry_workbook.panels import look
from oximetry_workbook.panels.marks import make_line, make_spot
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.numbers import numbers_html
from oximetry_workbook.panels.prose import html
from oximetry_workbook.panels.pulse_plot import SHOWN_S
from oximetry_workbook.panels.state_panel import StatePanel, View
from oximetry_workbook.panels.steady_and_pulsing import zoom
from oximetry_workbook.panels.work import Slices, Work
from oximetry_workbook.teach.wrist import PLACES, READINGS, FingerAndWrist, Many, Readings
from oximetry_workbook.teach.wrist_words import (
    many_sentence,
    place_numbers,
    pulse_sentence,
    verdict,
)

FEET_PERCENT = (80.0, 60.0, 40.0, 0.0)
"""Where the axis of saturation may begin: as high as all readings have room above [%]."""

HEAD_PERCENT = 101.0

PLACE_LOOKS = {"finger": (look.INK, "square"), "wrist": (look.ACCENT, "triangle-up")}
WITHHELD_ROW = {"finger": 0.12, "wrist": 0.05}
"""Where the marks of withheld readings lie, as a share of the axis from its foot."""


class PlacePulsePlot:
    """Red and infrared light about their means at one place, on an axis of its own."""

    def __init__(self, place: str, notice: Notice) -> None:
        self.place = place
        self._scales = {
            "x": bqplot.LinearScale(min=0.0, max=SHOWN_S),
            "y": bqplot.LinearScale(min=-1.0, max=1.0),
        }
        self._up = look.axis(self._scales["y"], "light, % of its mean", vertical=True)
        across = look.axis(self._scales["x"], "time, seconds", tick_values=np.arange(SHOWN_S + 1.0))
        ends = np.array([0.0, SHOWN_S])
        self.lines = [
            make_line(self._scales, ends, look.RED, "solid", 2.5),
            make_line(self._scales, ends, look.INFRARED, "dashed", 2.5),
        ]
        self.figure = look.figure(self.lines, [across, self._up])
        self.says = look.says()
        entries = [
            (look.RED, "line", "red, 660 nm"),
            (look.INFRARED, "dashed", "infrared, 940 nm"),
        ]
        body = [widgets.HTML(look.key(entries)), self.figure, self.says]
        self.widget = look.card(f"Pulse at the {place}", [self.figure], body, notice)

    def show(self, state: FingerAndWrist) -> None:
        """Draw a state."""
        reading = state.first[self.place]
        shown = reading.recording.time_s <= SHOWN_S
        time_s = reading.recording.time_s[shown].astype(np.float32)
        light = reading.light_change_percent[:, shown]
        for line, change in zip(self.lines, light.astype(np.float32), strict=True):
            with line.hold_sync():
                line.x, line.y = time_s, change
        limit = look.nice_limit(1.05 * float(np.abs(light).max()))
        look.set_range(self._scales["y"], self._up, -limit, limit)
        self.says.value = html(pulse_sentence(state, self.place))


class Summary:
    """The numbers at both places, and what sets them apart."""

    def __init__(self) -> None:
        self._numbers, self._sentence = widgets.HTML(), widgets.HTML()
        self._sentence.add_class("ow-live")
        heading = widgets.HTML("<h3>One heart, two places</h3>")
        self.widget = widgets.VBox([heading, self._numbers, self._sentence])
        self.widget.add_class("ow-card")

    def show(self, _: FingerAndWrist) -> None:
        """Wait: the numbers come with the readings."""

    def show_many(self, state: FingerAndWrist, many: Many) -> None:
        """Write what was read so far."""
        self._numbers.value = numbers_html(place_numbers(state, many))
        self._sentence.value = html(verdict(state, many))


class ManyReadingsPlot:
    """Forty readings at either place, and those that were withheld at the foot."""

    def __init__(self, summary: Summary, notice: Notice) -> None:
        self._summary, self._state = summary, FingerAndWrist()
        self._scales = {
            "x": bqplot.LinearScale(min=0.0, max=READINGS + 1.0),
            "y": bqplot.LinearScale(min=FEET_PERCENT[0], max=HEAD_PERCENT),
        }
        ends = np.array([0.0, READINGS + 1.0])
        self.truth = make_line(self._scales, ends, look.GHOST, "dashed", 2.0)
        self.given = {p: make_spot(self._scales, *PLACE_LOOKS[p], size=70) for p in PLACES}
        self.withheld = {p: make_spot(self._scales, PLACE_LOOKS[p][0], "cross", 50) for p in PLACES}
        tens = np.arange(0.0, READINGS + 1.0, 10.0)
        across = look.axis(self._scales["x"], "stretch of ten seconds", tick_values=tens)
        self._up = look.axis(self._scales["y"], "shown, %", vertical=True)
        marks = [self.truth, *self.given.values(), *self.withheld.values()]
        self.figure = look.figure(marks, [across, self._up])
        self.says = look.says()
        self.work = Work(self._begin, self._show_many, notice, "Read again")
        body = [self._key(), self.figure, self.says, self.work.widget]
        self.widget = look.card("Forty readings", [self.figure], body, notice)

    def show(self, state: FingerAndWrist) -> None:
        """Begin to read a state; what was being read is dropped."""
        self._state = state
        self.work.begin()

    def _begin(self) -> Slices:
        return self._state.read_in_slices()

    def _show_many(self, many: Many) -> None:
        true = 100.0 * self._state.arterial_saturation
        self.truth.y = np.full(2, true)
        least = min(true, *(float(each.given.min(initial=true)) for each in many.values()))
        foot = next(each for each in FEET_PERCENT if least > _row(each, 0.2) or each == 0.0)
        zoom(self._scales["y"], self._up, foot, HEAD_PERCENT)
        for place, readings in many.items():
            self._show_place(place, readings, _row(foot, WITHHELD_ROW[place]))
        self.says.value = html(many_sentence(many))
        self._summary.show_many(self._state, many)

    def _show_place(self, place: str, readings: Readings, withheld_percent: float) -> None:
        found = np.isfinite(readings.shown_percent)
        number = np.arange(1.0, found.size + 1.0)
        _fill(self.given[place], number[found], readings.given)
        _fill(self.withheld[place], number[~found], np.full(readings.withheld, withheld_percent))

    @staticmethod
    def _key() -> widgets.HTML:
        entries = [
            (look.INK, "area", "finger"),
            (look.ACCENT, "triangle", "wrist"),
            (look.GHOST, "dashed", "blood"),
        ]
        return widgets.HTML(look.key(entries) + "<small>Crosses at the foot: withheld.</small>")


def _row(foot: float, share: float) -> float:
    """A height on the axis of saturation, by its share of the axis from the foot [%]."""
    return foot + share * (HEAD_PERCENT - foot)


def _fill(mark: bqplot.Scatter, x: np.ndarray, y: np.ndarray) -> None:
    with mark.hold_sync():
        mark.visible = x.size > 0
        if x.size:
            mark.x, mark.y = x, y.astype(np.float64)


def _views(notice: Notice) -> tuple[View, ...]:
    summary = Summary()
    pulses = [PlacePulsePlot(place, notice) for place in PLACES]
    return summary, ManyReadingsPlot(summary, notice), *pulses


def wrist(state: FingerAndWrist | None = None) -> widgets.VBox:
    """Show the same heart read at the finger and at the wrist.

    Args:
        state: What to start from; the usual state if left out.
    """
    return StatePanel(state or FingerAndWrist(), _views).widget
