"""The ratio of ratios: two lights, divided twice, and what is still there after each division."""

from __future__ import annotations

import bqplot
import ipywidgets as widgets
import numpy as np
from numpy.typing import NDArray

from oximetry_workbook.panels import look
from oximetry_workbook.panels.marks import make_line
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.prose import html
from oximetry_workbook.panels.state_panel import StatePanel
from oximetry_workbook.teach.ratio_of_ratios import (
    SAME_WORDS,
    START,
    TIME_S,
    TwoLights,
    change_words,
    digits,
    divided_sentence,
    light_sentence,
    slope_sentence,
    steps_sentence,
)

FloatArray = NDArray[np.float64]

THOUSAND = 1000.0
"""Light is shown in thousandths of what an LED of brightness 1 sends."""

LEAST_DECADE, MOST_DECADE = 0, 3
"""Powers of ten that the axis of the light always shows; it grows where light leaves them."""

FAR_LABEL = {"label_offset": "58px"}
FAR_MARGINS = look.MARGINS | {"left": 80}
"""Room for ticks as long as those of a very weak pulse."""

ROWS = (
    ("Steady light, DC", "thousandths"),
    ("Pulsing light, AC", "thousandths"),
    ("First ratio, AC / DC", "%"),
)


class StepsTable:
    """DC, AC, their ratio, and R, each with what has become of it since the start."""

    def __init__(self) -> None:
        self.table, self.says = widgets.HTML(), look.says()
        title = widgets.HTML("<h3>Two divisions</h3>")
        self.widget = widgets.VBox([title, self.table, self.says])
        self.widget.add_class("ow-card")

    def show(self, state: TwoLights) -> None:
        """Write a state's numbers."""
        scale = np.array([[THOUSAND], [THOUSAND], [1.0]])
        shown, factors = scale * state.numbers, state.numbers / START.numbers
        rows = [_row(*words, *pair) for words, *pair in zip(ROWS, shown, factors, strict=True)]
        self.table.value = (
            '<table class="ow-steps"><thead><tr><td></td><th scope="col">red</th>'
            f'<th scope="col">infrared</th></tr></thead><tbody>{"".join(rows)}'
            f"{_last_row(state)}</tbody></table>"
        )
        self.says.value = html(steps_sentence(state))


def _row(words: str, unit: str, values: FloatArray, factors: FloatArray) -> str:
    cells = "".join(
        f"<td>{_cell(digits(value), factor)}</td>"
        for value, factor in zip(values, factors, strict=True)
    )
    return f'<tr><th scope="row">{words}<small>{unit}</small></th>{cells}</tr>'


def _last_row(state: TwoLights) -> str:
    cell = _cell(f"{state.ratio:.3f}", state.ratio / START.ratio)
    return (
        '<tr class="ow-steps-last"><th scope="row">Second ratio, R<small>red / infrared</small>'
        f'</th><td colspan="2">{cell}</td></tr>'
    )


def _cell(value: str, factor: float) -> str:
    words = change_words(factor)
    kind = "same" if words == SAME_WORDS else "changed"
    return f'<b>{value}</b><span class="ow-{kind}">{words}</span>'


class LightPlot:
    """Light at the detector over time, on an axis where ten times as much is one step up."""

    def __init__(self, notice: Notice) -> None:
        self._light = bqplot.LogScale(min=10.0**LEAST_DECADE, max=10.0**MOST_DECADE)
        self._up = look.axis(
            self._light,
            "light, thousandths",
            vertical=True,
            tick_values=_decades(LEAST_DECADE, MOST_DECADE),
        )
        self.ghosts, self.lines = _pairs_of_lines(self._light)
        for ghost, light in zip(self.ghosts, START.shown_light, strict=True):
            ghost.y = (THOUSAND * light).astype(np.float32)
        self.figure = look.figure(
            [*self.ghosts, *self.lines], [_time_axis(self.lines[0].scales["x"]), self._up]
        )
        self.says = look.says()
        body = [_pair_key(), self.figure, self.says]
        self.widget = look.card("Light at the detector", [self.figure], body, notice)

    def show(self, state: TwoLights) -> None:
        """Draw a state."""
        light = THOUSAND * state.shown_light
        for line, shown in zip(self.lines, light, strict=True):
            line.y = shown.astype(np.float32)
        self._fit(light)
        self.says.value = html(light_sentence(state))

    def _fit(self, light: FloatArray) -> None:
        low = min(LEAST_DECADE, int(np.floor(np.log10(light.min()))))
        high = max(MOST_DECADE, int(np.ceil(np.log10(light.max()))))
        if (self._light.min, self._light.max) == (10.0**low, 10.0**high):
            return
        with self._light.hold_sync():
            self._light.min, self._light.max = 10.0**low, 10.0**high
        self._up.tick_values = _decades(low, high)


def _decades(low: int, high: int) -> FloatArray:
    return 10.0 ** np.arange(low, high + 1)


def _limit(change_percent: FloatArray) -> float:
    return look.nice_limit(1.05 * np.abs(change_percent).max())


START_LIMIT = _limit(START.shown_change_percent)
"""End of the axis at the start [%]."""


class DividedPlot:
    """The same light, each colour divided by its own mean."""

    def __init__(self, notice: Notice) -> None:
        self._change = bqplot.LinearScale(min=-1.0, max=1.0)
        self._up = look.axis(self._change, "light, % of its mean", vertical=True, **FAR_LABEL)
        self.ghosts, self.lines = _pairs_of_lines(self._change)
        for ghost, change in zip(self.ghosts, START.shown_change_percent, strict=True):
            ghost.y = change.astype(np.float32)
        self.figure = look.figure(
            [*self.ghosts, *self.lines],
            [_time_axis(self.lines[0].scales["x"]), self._up],
            margin=FAR_MARGINS,
        )
        self.says = look.says()
        body = [_pair_key(), self.figure, self.says]
        self.widget = look.card("Divided by its mean", [self.figure], body, notice)

    def show(self, state: TwoLights) -> None:
        """Draw a state."""
        change = state.shown_change_percent
        for line, shown in zip(self.lines, change, strict=True):
            line.y = shown.astype(np.float32)
        limit = _limit(change)
        look.set_range(self._change, self._up, -limit, limit)
        for ghost in self.ghosts:  # of a pulse far too large for the axis only scraps would show
            ghost.visible = limit >= START_LIMIT
        self.says.value = html(divided_sentence(state))


class SlopePlot:
    """Red against infrared, with the slope R and the slope that it had at the start."""

    def __init__(self, notice: Notice) -> None:
        self._x, self._y = (bqplot.LinearScale(min=-1.0, max=1.0) for _ in range(2))
        self._axes = [
            look.axis(self._x, "infrared, % of its mean"),
            look.axis(self._y, "red, % of its mean", vertical=True, **FAR_LABEL),
        ]
        scales = {"x": self._x, "y": self._y}
        self.ghost = make_line(scales, np.array([-1.0, 1.0]), look.GHOST, "solid", 5.0)
        self.samples = make_line(scales, np.array([-1.0, 1.0]), look.PULSE, "solid", 5.0)
        self.slope = make_line(scales, np.array([-1.0, 1.0]), look.INK, "dashed", 2.5)
        self.figure = look.figure(
            [self.ghost, self.samples, self.slope], self._axes, margin=FAR_MARGINS
        )
        self.says = look.says()
        body = [self._key(), self.figure, self.says]
        self.widget = look.card("Red against infrared", [self.figure], body, notice)

    def show(self, state: TwoLights) -> None:
        """Draw a state."""
        red, infrared = state.shown_change_percent.astype(np.float32)
        with self.samples.hold_sync():
            self.samples.x, self.samples.y = infrared, red
        limit = _limit(state.shown_change_percent)
        for scale, axis in zip((self._x, self._y), self._axes, strict=True):
            look.set_range(scale, axis, -limit, limit)
        for line, ratio in ((self.ghost, START.ratio), (self.slope, state.ratio)):
            reach = limit / max(1.0, ratio)
            with line.hold_sync():
                line.x = np.array([-reach, reach])
                line.y = ratio * line.x
        self.says.value = html(slope_sentence(state))

    @staticmethod
    def _key() -> widgets.HTML:
        return widgets.HTML(
            look.key(
                [
                    (look.PULSE, "line", "the light"),
                    (look.INK, "dashed", "slope R"),
                    (look.GHOST, "line", "slope at the start"),
                ]
            )
        )


def _pairs_of_lines(upward: bqplot.Scale) -> tuple[list[bqplot.Lines], list[bqplot.Lines]]:
    """Make ghosts of the start and lines for now over time, red and infrared each."""
    scales = {"x": bqplot.LinearScale(min=0.0, max=TIME_S[-1]), "y": upward}
    time_s = TIME_S.astype(np.float32)
    styles = ((look.RED, "solid"), (look.INFRARED, "dashed"))
    ghosts = [make_line(scales, time_s, look.GHOST, style, 2.0) for _, style in styles]
    return ghosts, [make_line(scales, time_s, colour, style, 2.5) for colour, style in styles]


def _time_axis(scale: bqplot.Scale) -> bqplot.Axis:
    return look.axis(scale, "time, seconds", tick_values=np.arange(0.0, TIME_S[-1] + 0.1))


def _pair_key() -> widgets.HTML:
    return widgets.HTML(
        look.key(
            [
                (look.RED, "line", "red, 660 nm"),
                (look.INFRARED, "dashed", "infrared, 940 nm"),
                (look.GHOST, "line", "at the start"),
            ]
        )
    )


def _views(notice: Notice) -> tuple[StepsTable, LightPlot, DividedPlot, SlopePlot]:
    return StepsTable(), LightPlot(notice), DividedPlot(notice), SlopePlot(notice)


def ratios(state: TwoLights | None = None) -> widgets.VBox:
    """Show two lights divided twice, and what cancels at each step.

    Args:
        state: What to start from; the usual state if left out.
    """
    return StatePanel(state or START, _views).widget
