"""Plot of red against infrared light over the beats; its slope is the ratio of ratios R."""

from __future__ import annotations

import bqplot
import ipywidgets as widgets
import numpy as np

from oximetry_workbook.panels import look
from oximetry_workbook.panels.marks import make_line
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.prose import html
from oximetry_workbook.teach.reading import Reading
from oximetry_workbook.teach.words import ratio_sentence

SHOWN_SAMPLES = 400


class RatioPlot:
    """Each sample's red change over its infrared change, and the line of slope R."""

    def __init__(self, notice: Notice) -> None:
        self._x, self._y = (bqplot.LinearScale(min=-1.0, max=1.0) for _ in range(2))
        self._axes = [
            look.axis(self._x, "infrared, % of its mean"),
            look.axis(self._y, "red, % of its mean", vertical=True),
        ]
        self.ghost = self._line(look.GHOST, "solid", 2.0)
        self.samples = self._line(look.PULSE, "solid", 1.5)
        self.slope = self._line(look.INK, "dashed", 3.0)
        self.samples.opacities = [0.75]
        self.ghost.visible = False
        self.figure = look.figure([self.ghost, self.samples, self.slope], self._axes)
        self.says = look.says()
        self.widget = look.card(
            "Red against infrared", [self.figure], [self._key(), self.figure, self.says], notice
        )

    def show(self, reading: Reading) -> None:
        """Draw a reading."""
        red, infrared = reading.light_change_percent.astype(np.float32)[:, :SHOWN_SAMPLES]
        with self.samples.hold_sync():
            self.samples.x, self.samples.y = infrared, red
        limit = look.nice_limit(1.05 * np.abs(reading.light_change_percent).max())
        for scale, axis in zip((self._x, self._y), self._axes, strict=True):
            look.set_range(scale, axis, -limit, limit)
        self._draw_slope(self.slope, reading, limit)
        self.says.value = html(ratio_sentence(reading))

    def show_reference(self, reference: Reading | None) -> None:
        """Draw or remove the ghost of a reading kept to compare with."""
        if reference is None:
            self.ghost.visible = False
        else:
            self._draw_slope(self.ghost, reference, 1000.0)

    @staticmethod
    def _draw_slope(line: bqplot.Lines, reading: Reading, limit: float) -> None:
        ratio = reading.measurement.ratio
        with line.hold_sync():
            line.visible = ratio is not None
            if ratio is not None:
                reach = limit / max(1.0, ratio)
                line.x = np.array([-reach, reach])
                line.y = ratio * line.x

    def _line(self, colour: str, style: str, width: float) -> bqplot.Lines:
        scales = {"x": self._x, "y": self._y}
        return make_line(scales, np.array([-1.0, 1.0]), colour, style, width)

    @staticmethod
    def _key() -> widgets.HTML:
        return widgets.HTML(
            look.key([(look.PULSE, "line", "the light, 4 s"), (look.INK, "dashed", "slope R")])
        )
