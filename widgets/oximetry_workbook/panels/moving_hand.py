"""Motion, venous pulse and rhythm: readings over motion, red against infrared, and the light."""

from __future__ import annotations

from collections.abc import Iterator

import bqplot
import ipywidgets as widgets
import numpy as np
from numpy.typing import NDArray

from oximetry_workbook.panels import look
from oximetry_workbook.panels.marks import make_line, make_spot, place
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.numbers import numbers_html
from oximetry_workbook.panels.prose import html
from oximetry_workbook.panels.state_panel import StatePanel, View
from oximetry_workbook.panels.work import Work
from oximetry_workbook.teach.many_readings import READING_S, ManyReadings
from oximetry_workbook.teach.moving_hand import (
    ALIKE,
    KINDS,
    SIZES_PERCENT,
    MovingHand,
    many_sweeps,
    same_lines,
)
from oximetry_workbook.teach.moving_hand_words import (
    beats_sentence,
    kind_words,
    lines_sentence,
    numbers,
    slopes_sentence,
    verdict,
)

FloatArray = NDArray[np.float64]

KIND_LOOKS = {"motion_percent": (look.VENOUS, "solid"), "coupling_percent": (look.INK, "dashed")}
"""Colour and line style of each kind of motion."""

LEAST_PERCENT = 40.0
"""The axis of readings starts here, or at 0 where a reading is lower [%]."""

SHOWN_SAMPLES = 400
LEAST_CHANGE = 2.0
"""Plots of the light reach at least this far on either side of its mean [%]."""


class LinesPlot:
    """Reading over the size of each kind of motion, and means of many readings; long work."""

    def __init__(self, notice: Notice) -> None:
        self._state = MovingHand()
        self._many: ManyReadings | None = None
        self.work = Work(self._start, self._draw_many, notice, "Average many")
        self._scales = {
            "x": bqplot.LogScale(min=0.09, max=22.0),
            "y": bqplot.LinearScale(min=LEAST_PERCENT, max=102.0),
        }
        self._up = look.axis(self._scales["y"], "reading, %", vertical=True)
        across = look.axis(self._scales["x"], "motion, % of the light", tick_values=SIZES_PERCENT)
        ends = np.array([0.09, 22.0])
        self.true = make_line(self._scales, ends, look.ARTERIAL, "solid", 1.5)
        self.alike = make_line(self._scales, ends, look.GHOST, "dotted", 2.5)
        self.now = make_line(self._scales, ends, look.ACCENT, "dash_dotted", 2.5)
        self.lines = [make_line(self._scales, SIZES_PERCENT, *KIND_LOOKS[k], 3.0) for k in KINDS]
        self.bands = [self._band(KIND_LOOKS[kind][0]) for kind in KINDS]
        marks = [*self.bands, self.true, self.alike, self.now, *self.lines]
        self.figure = look.figure(marks, [across, self._up])
        self.says = look.says()
        body = [self._key(), self.work.widget, self.figure, self.says]
        self.widget = look.card("Reading against motion", [self.figure], body, notice)
        self.widget.add_class("ow-tall")

    def show(self, state: MovingHand) -> None:
        """Draw a state; many readings made in another one are dropped."""
        if not same_lines(self._state, state):
            self.work.cancel()
            self._many = None
        self._state = state
        self.true.y = np.full(2, 100.0 * state.arterial_saturation)
        self.alike.y = np.full(2, state.reads_percent(ALIKE))
        shown = state.reading.measurement.spo2_percent
        with self.now.hold_sync():
            self.now.visible = shown is not None
            if shown is not None:
                self.now.y = np.full(2, shown)
        self._draw()

    def _start(self) -> Iterator[tuple[float, ManyReadings]]:
        return many_sweeps(self._state)

    def _draw_many(self, many: ManyReadings) -> None:
        self._many = many
        self._draw()

    def _draw(self) -> None:
        """Draw the means of many readings with their intervals, or the quick lines."""
        many = self._many
        known = many is not None and bool(np.isfinite(many.mean).any())
        values = many.mean if many is not None and known else self._state.quick_lines
        half = many.half_width if many is not None and known else np.zeros_like(values)
        for line, band, middle, width in zip(self.lines, self.bands, values, half, strict=True):
            _draw_row(line, middle)
            _draw_band(band, middle, width if known else None)
        self._fit(values)
        self.says.value = html(lines_sentence(self._state, many if known else None))

    def _fit(self, values: FloatArray) -> None:
        lowest = np.nanmin([*values.ravel(), float(self.now.y[0])])
        low = LEAST_PERCENT if lowest >= LEAST_PERCENT else 0.0
        if self._scales["y"].min != low or self._up.tick_values is None:
            self._scales["y"].min = low
            self._up.tick_values = np.arange(low, 101.0, 10.0 if low else 20.0)

    def _band(self, colour: str) -> bqplot.Lines:
        return bqplot.Lines(
            x=SIZES_PERCENT,
            y=np.ones((2, SIZES_PERCENT.size)),
            scales=dict(self._scales),
            colors=[colour],
            stroke_width=0.0,
            fill="between",
            fill_colors=[colour],
            fill_opacities=[0.3],
            visible=False,
        )

    @staticmethod
    def _key() -> widgets.HTML:
        kinds = [
            (colour, "line" if style == "solid" else "dashed", kind_words(kind))
            for kind, (colour, style) in KIND_LOOKS.items()
        ]
        entries = [
            *kinds,
            (look.tint(look.VENOUS), "area", "95 % interval of a mean"),
            (look.ARTERIAL, "line", "the arteries"),
            (look.GHOST, "dotted", "where R = 1 reads"),
            (look.ACCENT, "dashed", "the meter now"),
        ]
        return widgets.HTML(look.key(entries))


class SlopesPlot:
    """Red against infrared, and the slopes of what can swing the light."""

    def __init__(self, notice: Notice) -> None:
        self._scales = {axis: bqplot.LinearScale(min=-1.0, max=1.0) for axis in ("x", "y")}
        self._axes = [
            look.axis(self._scales["x"], "infrared, % of its mean"),
            look.axis(self._scales["y"], "red, % of its mean", vertical=True),
        ]
        self.samples = self._line(look.PULSE, "solid", 1.5)
        self.samples.opacities = [0.7]
        self.pure = [
            self._line(look.ARTERIAL, "solid", 2.5),
            self._line(look.GHOST, "dotted", 3.0),
            self._line(look.VENOUS, "solid", 2.5),
        ]
        self.measured = self._line(look.ACCENT, "dash_dotted", 3.5)
        self.figure = look.figure([self.samples, *self.pure, self.measured], self._axes)
        self.says = look.says()
        body = [self._key(), self.figure, self.says]
        self.widget = look.card("Which slope", [self.figure], body, notice)
        self.widget.add_class("ow-tall")

    def show(self, state: MovingHand) -> None:
        """Draw a state."""
        change = state.reading.light_change_percent
        red, infrared = change.astype(np.float32)[:, :SHOWN_SAMPLES]
        with self.samples.hold_sync():
            self.samples.x, self.samples.y = infrared, red
        limit = look.nice_limit(max(1.05 * float(np.abs(change).max()), LEAST_CHANGE))
        for axis, each in zip(("x", "y"), self._axes, strict=True):
            look.set_range(self._scales[axis], each, -limit, limit)
        arterial, venous = state.slopes
        for line, slope in zip(self.pure, (arterial, ALIKE, venous), strict=True):
            _draw_slope(line, slope, limit)
        ratio = state.reading.measurement.ratio
        self.measured.visible = ratio is not None
        if ratio is not None:
            _draw_slope(self.measured, ratio, limit)
        self.says.value = html(slopes_sentence(state))

    def _line(self, colour: str, style: str, width: float) -> bqplot.Lines:
        return make_line(self._scales, np.array([-1.0, 1.0]), colour, style, width)

    @staticmethod
    def _key() -> widgets.HTML:
        entries = [
            (look.PULSE, "line", "the light, 4 s"),
            (look.ARTERIAL, "line", "arteries alone"),
            (look.GHOST, "dotted", "both colours alike, slope 1"),
            (look.VENOUS, "line", "venous blood alone"),
            (look.ACCENT, "dashed", "slope measured, R"),
        ]
        return widgets.HTML(look.key(entries))


class BeatsPlot:
    """The light over time, and what the meter takes for beats."""

    def __init__(self, notice: Notice) -> None:
        self._scales = {
            "x": bqplot.LinearScale(min=0.0, max=READING_S),
            "y": bqplot.LinearScale(min=-1.0, max=1.0),
        }
        some = np.linspace(0.0, READING_S, 2)
        self.lines = [
            make_line(self._scales, some, look.RED, "solid", 1.8),
            make_line(self._scales, some, look.INFRARED, "dashed", 1.8),
        ]
        self.beats = make_spot(self._scales, look.ACCENT, "diamond", 60)
        across = look.axis(
            self._scales["x"], "time, seconds", tick_values=np.arange(0.0, READING_S + 0.5, 2.0)
        )
        self._up = look.axis(self._scales["y"], "light, % of mean", vertical=True)
        self.figure = look.figure([*self.lines, self.beats], [across, self._up])
        self.says = look.says()
        entries = [
            (look.RED, "line", "red"),
            (look.INFRARED, "dashed", "infrared"),
            (look.ACCENT, "diamond", "taken for a beat"),
        ]
        body = [widgets.HTML(look.key(entries)), self.figure, self.says]
        self.widget = look.card("Light and beats found", [self.figure], body, notice)

    def show(self, state: MovingHand) -> None:
        """Draw a state."""
        change = state.reading.light_change_percent
        limit = look.nice_limit(max(1.25 * float(np.abs(change).max()), LEAST_CHANGE))
        look.set_range(self._scales["y"], self._up, -limit, limit)
        time_s = state.reading.recording.time_s
        for line, each in zip(self.lines, change.astype(np.float32), strict=True):
            with line.hold_sync():
                line.x, line.y = time_s.astype(np.float32), each
        times, _ = state.beats
        with self.beats.hold_sync():
            self.beats.visible = times.size > 0
            if times.size:
                self.beats.x, self.beats.y = times, np.full(times.size, 0.9 * limit)
        self.says.value = html(beats_sentence(state))


class Summary:
    """The numbers, and what drew them there."""

    def __init__(self) -> None:
        self._numbers, self._sentence = widgets.HTML(), widgets.HTML()
        self._sentence.add_class("ow-live")
        heading = widgets.HTML("<h3>What a plain meter makes of it</h3>")
        self.widget = widgets.VBox([heading, self._numbers, self._sentence])
        self.widget.add_class("ow-card")

    def show(self, state: MovingHand) -> None:
        """Write a state."""
        self._numbers.value = numbers_html(numbers(state))
        self._sentence.value = html(verdict(state))


def _draw_row(line: bqplot.Lines, values: FloatArray) -> None:
    known = np.isfinite(values)
    with line.hold_sync():
        line.visible = bool(known.any())
        if known.any():
            # a line of one point is none: give it its end twice
            ends = np.append(np.flatnonzero(known), np.flatnonzero(known)[-1])
            line.x, line.y = SIZES_PERCENT[ends], values[ends]


def _draw_band(band: bqplot.Lines, middle: FloatArray, half: FloatArray | None) -> None:
    known = np.isfinite(middle)
    with band.hold_sync():
        band.visible = half is not None and bool(known.any())
        if half is not None and known.any():
            low, high = middle[known] - half[known], middle[known] + half[known]
            band.x, band.y = SIZES_PERCENT[known], np.stack([low, high])


def _draw_slope(line: bqplot.Lines, slope: float, limit: float) -> None:
    reach = limit / max(1.0, slope)
    place(line, [-reach, reach], [-slope * reach, slope * reach])


def _views(notice: Notice) -> tuple[View, ...]:
    return LinesPlot(notice), SlopesPlot(notice), Summary(), BeatsPlot(notice)


def moving_hand(state: MovingHand | None = None) -> widgets.VBox:
    """Show what motion, venous pulse and an irregular rhythm do to a reading.

    Args:
        state: What to start from; the usual state if left out.
    """
    return StatePanel(state or MovingHand(), _views).widget
