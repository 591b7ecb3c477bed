"""Where a figure's data lie on its plot, reckoned as bqplot does in the browser."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import bqplot
import numpy as np
from numpy.typing import ArrayLike, NDArray

if TYPE_CHECKING:
    from matplotlib.axes import Axes

FloatArray = NDArray[np.float64]

_NOT_SEEN = frozenset(
    {"display_legend", "enable_hover", "enable_move", "interactions", "labels", "layout"}
    | {"preserve_domain", "scales_metadata", "selected", "selected_style", "tabbable"}
    | {"tooltip", "tooltip_location", "tooltip_style", "unselected_style"}
)
"""Traits that change nothing of a picture that stands still."""


@dataclass(frozen=True)
class Plot:
    """The inside of one figure; a length of 1 is a pixel of the page and a point of the still.

    Attributes:
        figure: The figure on the page.
        axes: Where it is drawn; the axes' own coordinates are points from the lower left.
        width, height: Size of the plot area.
    """

    figure: bqplot.Figure
    axes: Axes
    width: float
    height: float

    def across(self, scale: bqplot.Scale, values: ArrayLike) -> FloatArray:
        """Return how far from the left values lie; NaN where the scale has no place for them."""
        return self._along(scale, values, self.width)

    def up(self, scale: bqplot.Scale, values: ArrayLike) -> FloatArray:
        """Return how far above the foot values lie; NaN where the scale has no place for them."""
        return self._along(scale, values, self.height)

    def names(self, scale: bqplot.OrdinalScale) -> list[str]:
        """Return the categories of a scale in their order."""
        used = [
            name
            for mark in self.figure.marks
            if scale in mark.scales.values()
            for name in np.asarray(mark.x)
        ]
        return list(dict.fromkeys(scale.domain or used))

    def _along(self, scale: bqplot.Scale, values: ArrayLike, length: float) -> FloatArray:
        if isinstance(scale, bqplot.OrdinalScale):
            return length * self._shares_of_names(scale, np.asarray(values))
        room = self._room(scale)
        return room + (length - 2.0 * room) * _shares(scale, np.asarray(values, float))

    def _shares_of_names(self, scale: bqplot.OrdinalScale, values: NDArray[Any]) -> FloatArray:
        names = self.names(scale)
        share = (np.array([names.index(each) for each in values], float) + 0.5) / len(names)
        return 1.0 - share if scale.reverse else share

    def _room(self, scale: bqplot.Scale) -> float:
        """Room beyond a scale's ends, so that no mark on them is cut."""
        marks = (mark for mark in self.figure.marks if scale in mark.scales.values())
        return max(map(_half_size, marks), default=0.0) if scale.allow_padding else 0.0


def check(widget: bqplot.Mark | bqplot.Axis, drawn: str) -> None:
    """Raise unless all that a mark or axis asks for can be drawn.

    Args:
        widget: The mark or axis.
        drawn: Names of the traits that are drawn, with blanks between.

    Raises:
        NotImplementedError: If another trait differs from its default.
    """
    known = _NOT_SEEN.union(drawn.split())
    for name in widget.keys:
        if name.startswith("_") or name in known:
            continue
        if not _same(getattr(widget, name), widget.trait_defaults(name)):
            raise NotImplementedError(
                f"a still cannot draw {name} = {getattr(widget, name)!r} of bqplot’s"
                f" {type(widget).__name__}"
            )


def _same(value: Any, default: Any) -> bool:
    if isinstance(value, np.ndarray):
        return value.size == 0 or np.array_equal(value, default)
    return value is None or value in ([], {}, "") or value == default


def _half_size(mark: bqplot.Mark) -> float:
    if isinstance(mark, bqplot.Lines):
        return mark.stroke_width / 2.0
    if isinstance(mark, (bqplot.Scatter, bqplot.Label)):
        return math.sqrt(mark.default_size) / 2.0 + 1.0
    return 0.0


def _shares(scale: bqplot.Scale, values: FloatArray) -> FloatArray:
    """Return how far along a scale values lie, from 0 at its start to 1 at its end."""
    step = _steps(scale)
    if scale.min is None or scale.max is None:
        raise NotImplementedError("a still needs scales with both ends; set min and max")
    with np.errstate(divide="ignore", invalid="ignore"):
        low, high, at = step(scale.min), step(scale.max), step(values)
    share = np.where(np.isfinite(at), (at - low) / (high - low), np.nan)
    return 1.0 - share if scale.reverse else share


def _steps(scale: bqplot.Scale) -> Callable[[ArrayLike], FloatArray]:
    """Return what makes steps along a scale even."""
    if type(scale) is bqplot.LogScale:
        return np.log10
    if type(scale) is bqplot.LinearScale:
        return np.positive
    raise NotImplementedError(f"a still cannot draw bqplot’s {type(scale).__name__}")
