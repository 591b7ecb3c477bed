"""Marks that several plots share: lines and spots that wait for their data, axes of a curve."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import bqplot
import numpy as np
from numpy.typing import NDArray

from oximetry_workbook.meter.curve import VALIDATED_PERCENT
from oximetry_workbook.panels import look

Scales = Mapping[str, bqplot.Scale]


def make_line(
    scales: Scales, x: NDArray[np.floating], colour: str, style: str, width: float
) -> bqplot.Lines:
    """Make a line over given x that waits for its heights (until then 1, fit for a log scale)."""
    return bqplot.Lines(
        x=x,
        y=np.ones(x.size),
        scales=dict(scales),
        colors=[colour],
        line_style=style,
        stroke_width=width,
    )


def make_spot(scales: Scales, colour: str, marker: str, size: int = 120) -> bqplot.Scatter:
    """Make a single mark that waits for its place."""
    return bqplot.Scatter(
        x=np.zeros(1),
        y=np.ones(1),
        scales=dict(scales),
        colors=[colour],
        marker=marker,
        default_size=size,
    )


def place(mark: bqplot.Mark, x: Sequence[float], y: Sequence[float]) -> None:
    """Move a mark in one message."""
    with mark.hold_sync():
        mark.x, mark.y = np.array(x), np.array(y)


def no_volunteers(scales: Scales, largest_ratio: float) -> bqplot.Lines:
    """Make the shade over saturations below those that curves are checked at."""
    return bqplot.Lines(
        x=np.array([0.0, largest_ratio]),
        y=np.full(2, VALIDATED_PERCENT[0]),
        scales=dict(scales),
        colors=[look.WARN],
        line_style="dashed",
        stroke_width=1.0,
        fill="bottom",
        fill_colors=[look.WARN],
        fill_opacities=[0.13],
    )


def curve_axes(scales: Scales, largest_ratio: float, lowest_percent: float) -> list[bqplot.Axis]:
    """Make the axes of a plot of saturation [%] over the ratio of ratios R."""
    return [
        look.axis(
            scales["x"],
            "ratio of ratios R",
            tick_format=".1f",
            tick_values=np.arange(0.0, largest_ratio + 0.1, 0.5),
        ),
        look.axis(
            scales["y"],
            "saturation, %",
            vertical=True,
            tick_values=np.arange(lowest_percent, 101.0, 10.0),
        ),
    ]
