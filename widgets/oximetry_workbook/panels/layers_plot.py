"""Plot of absorbance in layers, with a magnifier on the pulsing top."""

from __future__ import annotations

import bqplot
import ipywidgets as widgets
import numpy as np

from oximetry_workbook.body.probe import LAYERS
from oximetry_workbook.panels import look
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.teach.reading import Reading
from oximetry_workbook.teach.words import layers_sentence

COLOURS = (look.TISSUE, look.INK, look.VENOUS, look.ARTERIAL, look.PULSE)
STACK_LADDER = (1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 7.0)


class LayersPlot:
    """Steady layers below, the pulse on top, and the pulse alone under a magnifier."""

    def __init__(self, notice: Notice) -> None:
        self._ends = [bqplot.LinearScale(min=0.0, max=1.0) for _ in range(2)]
        self.stack = self._bars(self._ends[0], COLOURS, 0.3)
        self.top = self._bars(self._ends[1], COLOURS[-1:], 0.3)
        self.ghost = self._bars(self._ends[1], (look.GHOST,), 0.08)
        self.ghost.opacities, self.ghost.visible = [0.45], False
        labels = ("absorbance", "thousandths")
        self._axes = [
            look.axis(scale, label, vertical=True)
            for scale, label in zip(self._ends, labels, strict=True)
        ]
        self.figures = [
            self._figure([self.stack], self._axes[0]),
            self._figure([self.ghost, self.top], self._axes[1]),
        ]
        self._caption = widgets.HTML()
        self._caption.add_class("ow-caption")
        self.says = look.says()
        self.widget = self._arrange(notice)

    def show(self, reading: Reading) -> None:
        """Draw a reading."""
        layers = reading.absorbance_layers
        thousandths = 1000.0 * layers[-1]
        self.stack.y = layers
        self.top.y = thousandths[None, :]
        self._scale(layers.sum(axis=0).max(), thousandths.max())
        self.says.value = layers_sentence(reading)

    def show_reference(self, reference: Reading | None) -> None:
        """Draw or remove the ghost of a reading kept to compare with."""
        self.ghost.visible = reference is not None
        if reference is not None:
            self.ghost.y = 1000.0 * reference.absorbance_layers[-1:]

    def _scale(self, whole: float, pulse_thousandths: float) -> None:
        limits = (look.nice_limit(whole, STACK_LADDER), look.nice_limit(pulse_thousandths))
        for scale, axis, limit in zip(self._ends, self._axes, limits, strict=True):
            look.set_range(scale, axis, 0.0, limit)
        magnification = 1000.0 * limits[0] / limits[1]
        self._caption.value = f"the pulse, {magnification:,.0f} × larger"

    @staticmethod
    def _bars(scale: bqplot.Scale, colours: tuple[str, ...], padding: float) -> bqplot.Bars:
        return bqplot.Bars(
            x=["red", "infrared"],
            y=np.ones((len(colours), 2)),
            scales={"x": bqplot.OrdinalScale(), "y": scale},
            colors=list(colours),
            type="stacked",
            padding=padding,
            stroke="var(--ow-surface)",
        )

    @staticmethod
    def _figure(marks: list[bqplot.Mark], up: bqplot.Axis) -> bqplot.Figure:
        across = look.axis(marks[0].scales["x"], "", grid_lines="none", tick_format=None)
        return look.figure(marks, [across, up], margin={**look.MARGINS, "bottom": 32})

    def _arrange(self, notice: Notice) -> widgets.VBox:
        entries = [(c, "area", n) for c, n in zip(COLOURS[::-1], LAYERS[::-1], strict=True)]
        magnifier = widgets.VBox([self._caption, self.figures[1]])
        magnifier.add_class("ow-magnifier")
        whole = widgets.HTML("all layers, the pulse on top")
        whole.add_class("ow-caption")
        left = widgets.VBox([whole, self.figures[0]])
        left.add_class("ow-stack")
        pair = widgets.HBox([left, magnifier])
        pair.add_class("ow-pair")
        body = [widgets.HTML(look.key(entries)), pair, self.says]
        return look.card("What takes the light", self.figures, body, notice)
