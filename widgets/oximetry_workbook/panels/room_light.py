"""Room light: the lamp's flicker and the samples of it, the folding rule, and the light seen."""

from __future__ import annotations

import bqplot
import ipywidgets as widgets
import numpy as np

from oximetry_workbook.meter.beats import HIGH_HZ, LOW_HZ
from oximetry_workbook.panels import look
from oximetry_workbook.panels.marks import make_line, make_spot, place
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.prose import html
from oximetry_workbook.teach.wrong_light import (
    CLOSE_UP_S,
    CLOSE_UP_TIME_S,
    MAINS_HZ,
    SHOWN_S,
    RoomLight,
)
from oximetry_workbook.teach.wrong_light_words import (
    close_up_sentence,
    folding_sentence,
    seen_sentence,
)

LEAST_LIGHT_SHOWN = 10.0
"""The axis of the room light shows at least this [% of the steady infrared light]."""

FOLDING_LADDER = (1.0, 1.2, 1.6, 2.0, 4.0, 6.0, 8.0)

LEAST_CHANGE_SHOWN = 2.0
"""The axis of the light seen shows at least this on either side [% of the mean]."""


class CloseUpPlot:
    """The lamp's flicker as it is, and the moments at which the meter looks."""

    def __init__(self, notice: Notice) -> None:
        self._scales = {
            "x": bqplot.LinearScale(min=0.0, max=1000.0 * CLOSE_UP_S),
            "y": bqplot.LinearScale(min=0.0, max=LEAST_LIGHT_SHOWN),
        }
        milliseconds = 1000.0 * CLOSE_UP_TIME_S
        self.flicker = make_line(self._scales, milliseconds, look.GHOST, "solid", 1.2)
        self.samples = make_spot(self._scales, look.ACCENT, "circle", 60)
        across = look.axis(
            self._scales["x"], "time, ms", tick_values=np.linspace(0.0, 1000.0 * CLOSE_UP_S, 6)
        )
        self._up = look.axis(self._scales["y"], "room light, %", vertical=True)
        self.figure = look.figure([self.flicker, self.samples], [across, self._up])
        self.says = look.says()
        entries = [(look.GHOST, "line", "the lamp"), (look.ACCENT, "area", "the meter looks")]
        body = [widgets.HTML(look.key(entries)), self.figure, self.says]
        self.widget = look.card("The flicker, close up", [self.figure], body, notice)

    def show(self, state: RoomLight) -> None:
        """Draw a state."""
        light = state.close_up_percent
        limit = look.nice_limit(max(light.max(), LEAST_LIGHT_SHOWN))
        look.set_range(self._scales["y"], self._up, 0.0, limit)
        self.flicker.y = light.astype(np.float32)
        time_s, sampled = state.samples
        with self.samples.hold_sync():
            self.samples.x, self.samples.y = 1000.0 * time_s, sampled
        self.says.value = html(close_up_sentence(state))


class FoldingPlot:
    """Where a lamp's flicker comes out in the samples, over the mains frequency."""

    def __init__(self, notice: Notice) -> None:
        self._scales = {
            "x": bqplot.LinearScale(min=49.0, max=61.0),
            "y": bqplot.LinearScale(min=0.0, max=50.0),
        }
        self.band = self._band()
        self.rule = make_line(self._scales, MAINS_HZ, look.ACCENT, "solid", 2.5)
        self.spot = make_spot(self._scales, look.INK, "diamond", 150)
        self._up = look.axis(self._scales["y"], "comes out at, Hz", vertical=True)
        across = look.axis(
            self._scales["x"], "mains frequency, Hz", tick_values=np.arange(49.0, 61.5, 2.0)
        )
        self.figure = look.figure([self.band, self.rule, self.spot], [across, self._up])
        self.says = look.says()
        entries = [
            (look.ACCENT, "line", "the folded flicker"),
            (look.tint(look.WARN), "area", "band of a pulse"),
            (look.INK, "diamond", "now"),
        ]
        body = [widgets.HTML(look.key(entries)), self.figure, self.says]
        self.widget = look.card("The folding rule", [self.figure], body, notice)

    def show(self, state: RoomLight) -> None:
        """Draw a state."""
        limit = look.nice_limit(state.sampling_rate_hz / 2.0, FOLDING_LADDER)
        look.set_range(self._scales["y"], self._up, 0.0, limit)
        self.rule.y = state.folding_rule_hz
        place(self.spot, [state.mains_frequency_hz], [state.folded_hz])
        self.says.value = html(folding_sentence(state))

    def _band(self) -> bqplot.Lines:
        return bqplot.Lines(
            x=np.array([49.0, 61.0]),
            y=np.array([[LOW_HZ, LOW_HZ], [HIGH_HZ, HIGH_HZ]]),
            scales=dict(self._scales),
            colors=[look.WARN],
            stroke_width=0.5,
            fill="between",
            fill_colors=[look.WARN],
            fill_opacities=[0.2],
        )


class SeenPlot:
    """Red and infrared light as the meter has them, the lamp in both."""

    def __init__(self, notice: Notice) -> None:
        self._scales = {
            "x": bqplot.LinearScale(min=0.0, max=SHOWN_S),
            "y": bqplot.LinearScale(min=-1.0, max=1.0),
        }
        some = np.linspace(0.0, SHOWN_S, 2)
        self.lines = [
            make_line(self._scales, some, look.RED, "solid", 2.0),
            make_line(self._scales, some, look.INFRARED, "dashed", 2.0),
        ]
        across = look.axis(
            self._scales["x"], "time, seconds", tick_values=np.arange(0.0, SHOWN_S + 0.5)
        )
        self._up = look.axis(self._scales["y"], "change, % of mean", vertical=True)
        self.figure = look.figure(self.lines, [across, self._up])
        self.says = look.says()
        entries = [(look.RED, "line", "red"), (look.INFRARED, "dashed", "infrared")]
        body = [widgets.HTML(look.key(entries)), self.figure, self.says]
        self.widget = look.card("What the meter sees", [self.figure], body, notice)

    def show(self, state: RoomLight) -> None:
        """Draw a state."""
        time_s, change = state.seen
        limit = look.nice_limit(max(np.abs(change).max(), LEAST_CHANGE_SHOWN))
        look.set_range(self._scales["y"], self._up, -limit, limit)
        for line, each in zip(self.lines, change, strict=True):
            with line.hold_sync():
                line.x, line.y = time_s.astype(np.float32), each.astype(np.float32)
        self.says.value = html(seen_sentence(state))
