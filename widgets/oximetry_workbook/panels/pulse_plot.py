"""Plot of the two pulses over time, with the beats that the meter found."""

from __future__ import annotations

import bqplot
import ipywidgets as widgets
import numpy as np

from oximetry_workbook.panels import look
from oximetry_workbook.panels.marks import make_line, make_spot
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.prose import html
from oximetry_workbook.teach.reading import Reading
from oximetry_workbook.teach.words import pulses_sentence

SHOWN_S = 6.0
"""Seconds on screen: few enough beats to see their shape from the back row."""


class PulsePlot:
    """Red and infrared light about their means, over time."""

    def __init__(self, notice: Notice) -> None:
        self._time = bqplot.LinearScale(min=0.0, max=SHOWN_S)
        self._change = bqplot.LinearScale(min=-1.0, max=1.0)
        self._scales = {"x": self._time, "y": self._change}
        self._up = look.axis(self._change, "light, % of its mean", vertical=True)
        self.ghosts = [self._line(look.GHOST, "solid", 1.5), self._line(look.GHOST, "dashed", 1.5)]
        self.lines = [self._line(look.RED, "solid", 2.5), self._line(look.INFRARED, "dashed", 2.5)]
        self.beats = make_spot(self._scales, look.INK, "triangle-up", 90)
        self.figure = look.figure(
            [*self.ghosts, *self.lines, self.beats],
            [
                look.axis(self._time, "time, seconds", tick_values=np.arange(SHOWN_S + 1)),
                self._up,
            ],
        )
        for ghost in self.ghosts:
            ghost.visible = False
        self.says = look.says()
        self.widget = look.card(
            "The two pulses", [self.figure], [self._key(), self.figure, self.says], notice
        )

    def show(self, reading: Reading) -> None:
        """Draw a reading."""
        self._draw(self.lines, reading)
        # what was found in noise is not a beat, and is not drawn as one
        credible = reading.measurement.heart_rate_bpm is not None
        times = reading.beat_times_s if credible else np.empty(0)
        times = times[times <= SHOWN_S]
        infrared = np.interp(times, reading.recording.time_s, reading.light_change_percent[1])
        with self.beats.hold_sync():
            self.beats.visible = times.size > 0
            if times.size:
                self.beats.x, self.beats.y = times, infrared
        largest = np.abs(reading.light_change_percent).max()
        limit = look.nice_limit(1.05 * largest)
        look.set_range(self._change, self._up, -limit, limit)
        self.says.value = html(pulses_sentence(reading))

    def show_reference(self, reference: Reading | None) -> None:
        """Draw or remove the ghost of a reading kept to compare with."""
        for ghost in self.ghosts:
            ghost.visible = reference is not None
        if reference is not None:
            self._draw(self.ghosts, reference)

    @staticmethod
    def _draw(lines: list[bqplot.Lines], reading: Reading) -> None:
        shown = reading.recording.time_s <= SHOWN_S
        time_s = reading.recording.time_s[shown].astype(np.float32)
        for line, change in zip(lines, reading.light_change_percent, strict=True):
            with line.hold_sync():
                line.x, line.y = time_s, change[shown].astype(np.float32)

    def _line(self, colour: str, style: str, width: float) -> bqplot.Lines:
        return make_line(self._scales, np.array([0.0, SHOWN_S]), colour, style, width)

    @staticmethod
    def _key() -> widgets.HTML:
        return widgets.HTML(
            look.key(
                [
                    (look.RED, "line", "red, 660 nm"),
                    (look.INFRARED, "dashed", "infrared, 940 nm"),
                    (look.INK, "triangle", "beat found"),
                ]
            )
        )
