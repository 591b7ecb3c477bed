"""Steady and pulsing: layers of a finger, the light past them, and a magnifier for what moves."""

from __future__ import annotations

import math

import bqplot
import ipywidgets as widgets
import numpy as np
from numpy.typing import NDArray

from oximetry_workbook.panels import look
from oximetry_workbook.panels.layers_plot import (
    COLOURS,
    STACK_LADDER,
    bars,
    bars_figure,
    caption,
    side_by_side,
)
from oximetry_workbook.panels.marks import make_line
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.numbers import numbers_html
from oximetry_workbook.panels.prose import html
from oximetry_workbook.panels.state_panel import StatePanel, View
from oximetry_workbook.teach.steady_and_pulsing import (
    MOVING_LAYERS,
    SHOWN_S,
    SUBSTANCES,
    TIME_S,
    SteadyAndPulsing,
)
from oximetry_workbook.teach.steady_and_pulsing_words import (
    light_sentence,
    numbers,
    shares_sentence,
    stack_sentence,
    verdict,
)
from oximetry_workbook.teach.words import figure

STACK_COLOURS = (*COLOURS, look.VENOUS)
SHARE_COLOURS = (look.TISSUE, look.PIGMENT, look.VENOUS, look.ARTERIAL)
MOVING = 2
"""How many layers on top of the stack move."""

HEADROOM = 0.03
"""Room above 100 % of the light, over the height shown, so that lines are not cut in half."""


class StackPlot:
    """All layers, and beside them the moving ones alone, magnified."""

    def __init__(self, notice: Notice) -> None:
        self._scales = [bqplot.LinearScale(min=0.0, max=1.0) for _ in range(2)]
        self.stack = bars(self._scales[0], STACK_COLOURS, 0.3)
        self.top = bars(self._scales[1], STACK_COLOURS[-MOVING:], 0.3)
        self._axes = [
            look.axis(scale, label, vertical=True)
            for scale, label in zip(self._scales, ("absorbance", "thousandths"), strict=True)
        ]
        marks = (self.stack, self.top)
        self.figures = [bars_figure([m], a) for m, a in zip(marks, self._axes, strict=True)]
        self._caption = caption()
        self.says = look.says()
        self.widget = self._arrange(notice)

    def show(self, state: SteadyAndPulsing) -> None:
        """Draw a state."""
        self.stack.y, self.top.y = state.layers, 1000.0 * state.layers[-MOVING:]
        limit = look.nice_limit(state.layers.sum(axis=0).max(), STACK_LADDER)
        ends = (limit, 1000.0 * limit / state.magnification)
        for scale, axis, end in zip(self._scales, self._axes, ends, strict=True):
            zoom(scale, axis, 0.0, end)
        self._caption.value = f"what moves, × {figure(state.magnification, 3)}"
        self.says.value = html(stack_sentence(state, ends[1] / 1000.0))

    def _arrange(self, notice: Notice) -> widgets.VBox:
        # moving venous blood has the colour of venous blood: one entry for both
        entries = [(c, "area", n) for c, n in zip(COLOURS, MOVING_LAYERS, strict=False)]
        captions = (caption("all layers"), self._caption)
        body = [
            widgets.HTML(look.key(entries[::-1])),
            side_by_side(captions, self.figures),
            self.says,
        ]
        return look.card("The layers", self.figures, body, notice)


class LightPlot:
    """Light at the detector over time, down to nothing or only its pulsing top."""

    def __init__(self, notice: Notice) -> None:
        self._scales = {
            "x": bqplot.LinearScale(min=0.0, max=SHOWN_S),
            "y": bqplot.LinearScale(min=-1.0, max=100.0),
        }
        self._up = look.axis(self._scales["y"], "light, %", vertical=True)
        self.lines = [self._line(look.RED, "solid"), self._line(look.INFRARED, "dashed")]
        across = look.axis(
            self._scales["x"], "time, seconds", tick_values=np.arange(0.0, SHOWN_S + 0.5)
        )
        self.figure = look.figure(self.lines, [across, self._up])
        self.says = look.says()
        body = [self._key(), caption("100 % is the light between beats"), self.figure, self.says]
        self.widget = look.card("The light over time", [self.figure], body, notice)

    def show(self, state: SteadyAndPulsing) -> None:
        """Draw a state."""
        for line, light in zip(self.lines, state.light_percent, strict=True):
            line.y = light.astype(np.float32)
        low = state.lowest_shown_percent
        zoom(self._scales["y"], self._up, low, 100.0 + HEADROOM * (100.0 - low))
        self.says.value = html(light_sentence(state))

    def _line(self, colour: str, style: str) -> bqplot.Lines:
        return make_line(self._scales, TIME_S, colour, style, 2.5)

    @staticmethod
    def _key() -> widgets.HTML:
        entries = [
            (look.RED, "line", "red, 660 nm"),
            (look.INFRARED, "dashed", "infrared, 940 nm"),
        ]
        return widgets.HTML(look.key(entries))


class SharesPlot:
    """Parts of 100 that each substance takes: of everything, and of what moves."""

    def __init__(self, notice: Notice) -> None:
        self.whole, self.moving = (self._share_bars() for _ in range(2))
        self.figures = [self._share_figure(mark) for mark in (self.whole, self.moving)]
        self.says = look.says()
        entries = [(c, "area", n) for c, n in zip(SHARE_COLOURS, SUBSTANCES, strict=True)]
        captions = (caption("of all that is lost"), caption("of what moves"))
        body = [
            widgets.HTML(look.key(entries[::-1])),
            side_by_side(captions, self.figures),
            self.says,
        ]
        self.widget = look.card("Who speaks", self.figures, body, notice)

    def show(self, state: SteadyAndPulsing) -> None:
        """Draw a state."""
        self.whole.y, self.moving.y = state.shares_percent
        self.says.value = html(shares_sentence(state))

    @staticmethod
    def _share_bars() -> bqplot.Bars:
        return bars(bqplot.LinearScale(min=0.0, max=100.0), SHARE_COLOURS, 0.3)

    @staticmethod
    def _share_figure(mark: bqplot.Bars) -> bqplot.Figure:
        ticks = np.linspace(0.0, 100.0, 5)
        up = look.axis(mark.scales["y"], "parts of 100", vertical=True, tick_values=ticks)
        return bars_figure([mark], up)


class Summary:
    """The numbers, and what a meter would make of what moves."""

    def __init__(self) -> None:
        self._numbers, self._sentence = widgets.HTML(), widgets.HTML()
        self._sentence.add_class("ow-live")
        heading = widgets.HTML("<h3>What a meter makes of it</h3>")
        self.widget = widgets.VBox([heading, self._numbers, self._sentence])
        self.widget.add_class("ow-card")

    def show(self, state: SteadyAndPulsing) -> None:
        """Write a state."""
        self._numbers.value = numbers_html(numbers(state))
        self._sentence.value = html(verdict(state))


def zoom(scale: bqplot.LinearScale, axis: bqplot.Axis, low: float, high: float) -> None:
    """Give a scale its ends and its axis round ticks between them."""
    with scale.hold_sync():
        scale.min, scale.max = low, high
    # a last tick may stick out by a rounding error
    axis.tick_values = np.clip(round_ticks(low, high), low, high)


def round_ticks(low: float, high: float) -> NDArray[np.float64]:
    """Return three to seven round numbers within a range that is wider than nothing."""
    rough = (high - low) / 6.0
    power = 10.0 ** math.floor(math.log10(rough))
    step = power * next(s for s in (1.0, 2.0, 2.5, 5.0, 10.0) if s * power >= rough)
    first, last = math.ceil(low / step - 1e-6), math.floor(high / step + 1e-6)
    return np.round(step * np.arange(first, last + 1), 9)


def _views(notice: Notice) -> tuple[View, ...]:
    return StackPlot(notice), LightPlot(notice), SharesPlot(notice), Summary()


def layers(state: SteadyAndPulsing | None = None) -> widgets.VBox:
    """Show the layers of a finger, the light past them, and what of it pulses.

    Args:
        state: What to start from; the usual state if left out.
    """
    return StatePanel(state or SteadyAndPulsing(), _views).widget
