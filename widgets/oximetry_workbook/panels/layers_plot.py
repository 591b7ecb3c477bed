"""Plot of absorbance in layers, with a magnifier on the pulsing top."""

from __future__ import annotations

from collections.abc import Sequence

import bqplot
import ipywidgets as widgets
import numpy as np

from oximetry_workbook.body.probe import LAYERS
from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.body.sites import SITES
from oximetry_workbook.body.varnish import VARNISHES
from oximetry_workbook.panels import look
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.prose import html
from oximetry_workbook.teach.reading import Reading
from oximetry_workbook.teach.words import figure, layers_sentence

COLOURS = (look.TISSUE, look.PIGMENT, look.VENOUS, look.ARTERIAL, look.PULSE)
FILTERS = "pigment"
"""The layer in front of the tissue; varnish, where there is some, lies in it with the pigment."""

STACK_LADDER = (1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 7.0)


class LayersPlot:
    """Steady layers below, the pulse on top, and the pulse alone under a magnifier."""

    def __init__(self, notice: Notice) -> None:
        self._ends = [bqplot.LinearScale(min=0.0, max=1.0) for _ in range(2)]
        self.stack = bars(self._ends[0], COLOURS, 0.3)
        self.top = bars(self._ends[1], COLOURS[-1:], 0.3)
        self.ghost = bars(self._ends[1], (look.GHOST,), 0.08)
        self.ghost.opacities, self.ghost.visible = [0.45], False
        labels = ("absorbance", "thousandths")
        self._axes = [
            look.axis(scale, label, vertical=True)
            for scale, label in zip(self._ends, labels, strict=True)
        ]
        self.figures = [
            bars_figure([self.stack], self._axes[0]),
            bars_figure([self.ghost, self.top], self._axes[1]),
        ]
        self._caption, self.key = caption(), widgets.HTML()
        self.says = look.says()
        self.widget = self._arrange(notice)

    def show(self, reading: Reading) -> None:
        """Draw a reading."""
        layers = reading.absorbance_layers
        thousandths = 1000.0 * layers[-1]
        self.stack.y = layers
        self.top.y = thousandths[None, :]
        self.key.value = _key(reading.scenario)
        self._scale(layers.sum(axis=0).max(), thousandths.max())
        self.says.value = html(layers_sentence(reading))

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
        self._caption.value = f"the pulse, {figure(magnification, 3)} × larger"

    def _arrange(self, notice: Notice) -> widgets.VBox:
        captions = (caption("all layers, the pulse on top"), self._caption)
        body = [self.key, side_by_side(captions, self.figures), self.says]
        return look.card("What takes the light", self.figures, body, notice)


def layer_names(scenario: Scenario) -> tuple[str, ...]:
    """Name the layers from the bottom to the top, by what they hold in a scenario."""
    painted = scenario.varnish != VARNISHES[0] and scenario.varnish_coats > 0.0
    if not (painted and SITES[scenario.site].varnished):
        return LAYERS
    return tuple(f"{name} and varnish" if name == FILTERS else name for name in LAYERS)


def _key(scenario: Scenario) -> str:
    names = layer_names(scenario)
    return look.key([(c, "area", n) for c, n in zip(COLOURS[::-1], names[::-1], strict=True)])


def bars(scale: bqplot.Scale, colours: Sequence[str], padding: float) -> bqplot.Bars:
    """Make two columns, red and infrared, of one stacked part for each colour of paint."""
    return bqplot.Bars(
        x=["red", "infrared"],
        y=np.ones((len(colours), 2)),
        scales={"x": bqplot.OrdinalScale(), "y": scale},
        colors=list(colours),
        type="stacked",
        padding=padding,
        stroke="var(--ow-surface)",
    )


def bars_figure(marks: Sequence[bqplot.Bars], up: bqplot.Axis) -> bqplot.Figure:
    """Make the figure of such columns over a vertical axis."""
    across = look.axis(marks[0].scales["x"], "", grid_lines="none", tick_format=None)
    return look.figure(marks, [across, up], margin={**look.MARGINS, "bottom": 32})


def caption(words: str = "") -> widgets.HTML:
    """Make the line above one of two figures."""
    line = widgets.HTML(words)
    line.add_class("ow-caption")
    return line


def side_by_side(
    captions: Sequence[widgets.HTML], figures: Sequence[bqplot.Figure]
) -> widgets.HBox:
    """Put two figures beside each other, a caption over each."""
    halves = [widgets.VBox(list(half)) for half in zip(captions, figures, strict=True)]
    for half, name in zip(halves, ("ow-stack", "ow-magnifier"), strict=True):
        half.add_class(name)
    pair = widgets.HBox(halves)
    pair.add_class("ow-pair")
    return pair
