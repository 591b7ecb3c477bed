"""Plots of one's own recording: light, saturation of each window, ratio of each beat."""

from __future__ import annotations

import math

import bqplot
import ipywidgets as widgets
import numpy as np
from numpy.typing import NDArray

from oximetry_workbook.meter.recording import Recording
from oximetry_workbook.panels import look
from oximetry_workbook.panels.marks import make_line, make_spot
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.prose import html
from oximetry_workbook.teach.own_recording import (
    Readings,
    beats_sentence,
    drawn_line,
    nice_ends,
    saturation_sentence,
)

FloatArray = NDArray[np.float64]

Stretch = tuple[float, float]
"""From when to when is drawn [s]."""

HIGHEST_PERCENT = 102.0
USUAL_LOWEST_PERCENT = 70.0
HIGHEST_RATIO = 4.0
"""Ratios above this are not drawn: no saturation goes with them."""
LIGHT_STYLES = {"red": (look.RED, "solid"), "infrared": (look.INFRARED, "dashed")}


class TimePlot:
    """A plot over time that can be narrowed.

    Attributes:
        figure: The plot.
        x: Its scale of time [s].
        y: Its other scale.
    """

    def __init__(self, label: str, **axis_traits: object) -> None:
        self.x, self.y = bqplot.LinearScale(min=0.0, max=1.0), bqplot.LinearScale(min=0.0, max=1.0)
        self.scales = {"x": self.x, "y": self.y}
        self._across = look.axis(self.x, "seconds")
        self._up = look.axis(self.y, label, vertical=True, **axis_traits)
        self.figure = look.figure([], [self._across, self._up])

    def set_stretch(self, stretch: Stretch) -> None:
        """Narrow or widen the axis of time."""
        ticks = nice_ends(*stretch)
        with self.x.hold_sync():
            self.x.min, self.x.max = stretch
        self._across.tick_values = ticks[(ticks >= stretch[0]) & (ticks <= stretch[1])]

    def set_ticks(self, ticks: FloatArray, highest: float | None = None) -> None:
        """Give the other axis its ticks, and its ends: the first and last tick, or `highest`."""
        with self.y.hold_sync():
            self.y.min = float(ticks[0])
            self.y.max = float(ticks[-1]) if highest is None else highest
        self._up.tick_values = ticks


class LightPlot:
    """Red and infrared light over time, each on a scale of its own."""

    def __init__(self, notice: Notice) -> None:
        self.plots = {colour: TimePlot(f"{colour} light") for colour in LIGHT_STYLES}
        self.lines: dict[str, bqplot.Lines] = {}
        for colour, (ink, style) in LIGHT_STYLES.items():
            plot = self.plots[colour]
            line = make_line(plot.scales, np.arange(2.0), ink, style, 1.2)
            self.lines[colour] = line
            plot.figure.marks = [line]
        figures = [plot.figure for plot in self.plots.values()]
        self.says = look.says()
        entries = [
            (look.RED, "line", "red"),
            (look.INFRARED, "dashed", "infrared"),
        ]
        body = [widgets.HTML(look.key(entries)), *figures, self.says]
        self.widget = look.card("Light at the detector", figures, body, notice)
        self.widget.add_class("ow-whole")

    def show(self, recording: Recording, stretch: Stretch) -> None:
        """Draw a stretch of a recording."""
        drawn = [self._show(colour, recording, stretch) for colour in LIGHT_STYLES]
        missing = [c for c, there in zip(LIGHT_STYLES, drawn, strict=True) if not there]
        said = f"From {stretch[0]:g} to {stretch[1]:g} s, in the file’s own units."
        if missing:
            said += f" No {' and no '.join(missing)} light there."
        self.says.value = html(said)

    def _show(self, colour: str, recording: Recording, stretch: Stretch) -> bool:
        plot, line, light = self.plots[colour], self.lines[colour], getattr(recording, colour)
        x, y = (np.empty(0),) * 2
        if light is not None:
            x, y = drawn_line(recording.time_s, light, *stretch)
        plot.set_stretch(stretch)
        draw(line, x, y)
        if y.size:
            plot.set_ticks(nice_ends(float(np.nanmin(y)), float(np.nanmax(y)), 3))
        return bool(y.size)


class SaturationPlot:
    """Saturation of each window, those withheld at the foot, and the reference where known."""

    def __init__(self, notice: Notice) -> None:
        self.plot = TimePlot("saturation, %")
        scales = self.plot.scales
        self.reference = make_line(scales, np.arange(2.0), look.ARTERIAL, "solid", 2.0)
        self.spots = make_spot(scales, look.ACCENT, "circle", 45)
        self.withheld = make_spot(scales, look.WARN, "cross", 60)
        self.plot.figure.marks = [self.reference, self.spots, self.withheld]
        self.says = look.says()
        entries = [
            (look.ACCENT, "dotted", "SpO₂ of a window"),
            (look.WARN, "area", "withheld (crosses at the foot)"),
            (look.ARTERIAL, "line", "reference, if the file has one"),
        ]
        body = [widgets.HTML(look.key(entries)), self.plot.figure, self.says]
        self.widget = look.card("Saturation by window", [self.plot.figure], body, notice)
        self.widget.add_class("ow-tall")

    def show(self, readings: Readings, recording: Recording, stretch: Stretch) -> None:
        """Draw a stretch of the windows."""
        saturation = readings.windows["spo2_percent"].to_numpy(np.float64)
        x, y = drawn_line(readings.middle_s, saturation, *stretch)
        given = np.isfinite(y)
        draw(self.spots, x[given], y[given])
        known = recording.reference_percent
        line = (np.empty(0),) * 2
        if known is not None:
            line = drawn_line(recording.time_s, known, *stretch)
        draw(self.reference, *line)
        lowest = self._show_axes(np.concatenate([y, line[1]]), stretch)
        self._show_withheld(readings, stretch, lowest)
        self.says.value = html(saturation_sentence(readings))

    def _show_axes(self, drawn: FloatArray, stretch: Stretch) -> float:
        """Set the axes; return the lowest saturation on them [%]."""
        self.plot.set_stretch(stretch)
        inside = drawn[np.isfinite(drawn) & (drawn >= 0.0)]
        lowest = USUAL_LOWEST_PERCENT
        if inside.size:
            lowest = min(lowest, 10.0 * math.floor((inside.min() - 3.0) / 10.0))
        lowest = max(lowest, -10.0)
        step = 5.0 if lowest >= 60.0 else 10.0 if lowest >= 40.0 else 20.0
        ticks = np.arange(100.0, lowest - 0.1, -step)[::-1]
        self.plot.set_ticks(ticks, HIGHEST_PERCENT)
        self.plot.y.min = lowest
        return lowest

    def _show_withheld(self, readings: Readings, stretch: Stretch, lowest: float) -> None:
        height = lowest + 0.04 * (HIGHEST_PERCENT - lowest)
        missing = np.where(readings.shown, np.nan, height)
        x, y = drawn_line(readings.middle_s, missing, *stretch)
        crossed = np.isfinite(y)
        draw(self.withheld, x[crossed], y[crossed])


class RatioPlot:
    """The ratio of ratios of each beat, good and doubtful."""

    def __init__(self, notice: Notice) -> None:
        self.plot = TimePlot("ratio of ratios R")
        self.good = make_spot(self.plot.scales, look.ACCENT, "circle", 18)
        self.doubtful = make_spot(self.plot.scales, look.GHOST, "cross", 30)
        self.plot.figure.marks = [self.doubtful, self.good]
        self.says = look.says()
        entries = [
            (look.ACCENT, "dotted", "R of a good beat"),
            (look.GHOST, "area", "R of a doubtful beat (crosses)"),
        ]
        body = [widgets.HTML(look.key(entries)), self.plot.figure, self.says]
        self.widget = look.card("Ratio by beat", [self.plot.figure], body, notice)
        self.widget.add_class("ow-tall")

    def show(self, readings: Readings, stretch: Stretch) -> None:
        """Draw a stretch of the beats."""
        time_s = readings.beats["time_s"].to_numpy(np.float64)
        ratio, good = readings.beats["ratio"].to_numpy(np.float64), readings.good_beats
        trusted = ratio[good & np.isfinite(ratio)]
        ticks = nice_ends(0.0, min(trusted.max(initial=1.0), HIGHEST_RATIO))
        for spots, chosen in ((self.good, good), (self.doubtful, ~good)):
            x, y = drawn_line(time_s[chosen], ratio[chosen], *stretch)
            inside = (y >= 0.0) & (y <= ticks[-1])
            draw(spots, x[inside], y[inside])
        self.plot.set_stretch(stretch)
        self.plot.set_ticks(ticks)
        self.says.value = html(beats_sentence(readings))


def draw(mark: bqplot.Mark, x: FloatArray, y: FloatArray) -> None:
    """Move a mark in one message; without points it is hidden, since empty arrays break axes."""
    with mark.hold_sync():
        mark.visible = bool(x.size)
        if x.size:
            mark.x, mark.y = x, y
