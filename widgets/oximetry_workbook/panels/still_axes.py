"""Axes of a figure: ticks, grid and titles at the places and in the words of the page."""

from __future__ import annotations

from collections.abc import Iterator

import bqplot
import numpy as np

from oximetry_workbook.panels.still_colours import colour
from oximetry_workbook.panels.still_numbers import tick_text
from oximetry_workbook.panels.still_page import Style
from oximetry_workbook.panels.still_scales import Plot, check

TICK_SIZE, TITLE_SIZE = 14.0, 15.0
"""Sizes of letters [points]."""

_SHORT, _BESIDE, _BELOW = 6.0, 5.0, 9.0
"""Length of a tick without a grid line, and what is left free before numbers beside and below an
axis [points]; where two axes meet, their numbers must not."""

_DIGIT_HEIGHT = 0.73
"""Height of a digit over the size of its letters, in DejaVu Sans."""

_TRAITS = (
    "grid_lines label label_location label_offset num_ticks scale side tick_format tick_labels "
    "tick_values visible"
)


def draw_axis(plot: Plot, axis: bqplot.Axis) -> None:
    """Draw an axis at the foot or the left of a plot, under all marks.

    Raises:
        NotImplementedError: If the axis asks for what cannot be drawn.
    """
    check(axis, _TRAITS)
    if axis.side not in ("bottom", "left") or axis.label_location != "middle":
        raise NotImplementedError(
            f"a still cannot draw an axis at the {axis.side} with its title at the"
            f" {axis.label_location}; it can at the bottom or left, with the title in the middle"
        )
    if axis.visible:
        _draw_line(plot, axis)
        for at, text in ticks(plot, axis):
            _draw_tick(plot, axis, at, text)
        _draw_title(plot, axis)


def ticks(plot: Plot, axis: bqplot.Axis) -> Iterator[tuple[float, str]]:
    """Yield where each tick stands [points from the axis's start] and what is written there.

    Raises:
        NotImplementedError: If the ticks are left to the browser.
    """
    place, length = (plot.across, plot.width) if axis.side == "bottom" else (plot.up, plot.height)
    named = isinstance(axis.scale, bqplot.OrdinalScale)
    if axis.tick_values is None and not named:
        raise NotImplementedError(
            f"a still cannot choose ticks for the axis {axis.label!r}; set tick_values"
        )
    values = plot.names(axis.scale) if axis.tick_values is None else axis.tick_values
    for value, at in zip(values, place(axis.scale, values), strict=True):
        if -0.5 <= at <= length + 0.5:
            yield float(at), str(value) if named else _words(axis, value)


def _words(axis: bqplot.Axis, value: float) -> str:
    return (axis.tick_labels or {}).get(f"{value:g}") or tick_text(value, axis.tick_format or "~g")


def _draw_line(plot: Plot, axis: bqplot.Axis) -> None:
    end = (plot.width, 0.0) if axis.side == "bottom" else (0.0, plot.height)
    _segment(plot, (0.0, 0.0), end, "var(--bq-axis-path-stroke)", 1.5)


def _draw_tick(plot: Plot, axis: bqplot.Axis, at: float, text: str) -> None:
    level = axis.side == "bottom"
    if axis.grid_lines == "solid":
        ends, shade, reach = (0.0, plot.height if level else plot.width), "tick-stroke", 0.0
    elif axis.grid_lines == "none":
        ends, shade, reach = (-_SHORT, 0.0), "tick-short-stroke", _SHORT
    else:
        raise NotImplementedError(f"a still cannot draw grid_lines = {axis.grid_lines!r}")
    points = np.column_stack([(at, at), ends] if level else [ends, (at, at)])
    _segment(plot, *map(tuple, points), f"var(--bq-axis-{shade})", 0.9)
    ink = colour("var(--bq-axis-tick-text-fill)")
    low = _DIGIT_HEIGHT * TICK_SIZE  # the middle of digits, not that of the font, meets the tick
    x, y = (at, -_BELOW - low) if level else (-reach - _BESIDE, at - low / 2.0)
    side = "center" if level else "right"
    _write(plot, (x, y), text, TICK_SIZE, color=ink, ha=side)


def _draw_title(plot: Plot, axis: bqplot.Axis) -> None:
    ink = colour("var(--bq-axislabel-fill)")
    offset = float((axis.label_offset or "36px").removesuffix("px"))
    if axis.side == "bottom":
        place, turn = (plot.width / 2.0, -offset - 4.0), 0.0
    else:
        widest = max((Style(TICK_SIZE).width(text) for _, text in ticks(plot, axis)), default=0.0)
        left = -max(offset, widest + _BESIDE + 4.0) - 5.0
        place, turn = (left, plot.height / 2.0), 90.0
    _write(plot, place, axis.label, TITLE_SIZE, color=ink, ha="center", rotation=turn)


def _segment(
    plot: Plot, start: tuple[float, float], end: tuple[float, float], css: str, width: float
) -> None:
    (line,) = plot.axes.plot(*zip(start, end, strict=True), color=colour(css), lw=width)
    line.set(zorder=0.5, clip_on=False)


def _write(plot: Plot, place: tuple[float, float], text: str, size: float, **how: object) -> None:
    plot.axes.text(
        *place,
        text,
        fontsize=size,
        va="baseline",
        rotation_mode="anchor",
        parse_math=False,
        **how,
    )
