"""Marks of a figure, drawn as the page draws them."""

from __future__ import annotations

import math
from collections.abc import Sequence

import bqplot
import numpy as np
from numpy.typing import NDArray

from oximetry_workbook.panels.still_colours import colour, faded
from oximetry_workbook.panels.still_scales import FloatArray, Plot, check

DASHES = {
    "solid": (),
    "dashed": (10.0, 10.0),
    "dotted": (2.0, 10.0),
    "dash_dotted": (10.0, 5.0, 2.0, 5.0),
}
"""Lengths of line and gap [points], those of bqplot."""

_TALL = (math.sqrt(3.0) / 2.0) ** 0.5
"""Half the height of a diamond of area 1 that is the root of 3 times as tall as wide."""

_WIDE = _TALL / math.sqrt(3.0)
_HALF_CROSS = np.array([[-3, -1], [-1, -1], [-1, -3], [1, -3], [1, -1], [3, -1]])
_TRIANGLE = np.array([[-1, -1], [1, -1], [0, 1]]) * [3.0**-0.25, 3.0**0.25 / 2.0]
_SYMBOLS = {
    "square": np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) / 2.0,
    "diamond": np.array([[0, _TALL], [_WIDE, 0], [0, -_TALL], [-_WIDE, 0]]),
    "triangle-up": _TRIANGLE,
    "triangle-down": -_TRIANGLE,
    "cross": np.vstack([_HALF_CROSS, -_HALF_CROSS]) / math.sqrt(20.0),
}
"""Corners of each symbol of area 1, in the proportions of bqplot."""


def draw(plot: Plot, mark: bqplot.Mark, order: int) -> None:
    """Draw a mark over those of lower order.

    Raises:
        NotImplementedError: If the mark asks for what cannot be drawn.
    """
    if type(mark) not in _DRAWERS:
        raise NotImplementedError(f"a still cannot draw bqplot’s {type(mark).__name__}")
    drawer, drawn = _DRAWERS[type(mark)]
    check(mark, f"x y scales visible colors opacities {drawn}")
    if mark.visible:
        drawer(plot, mark, order)


def _lines(plot: Plot, mark: bqplot.Lines, order: int) -> None:
    from matplotlib.lines import Line2D

    dashes = DASHES[mark.line_style]
    style = (0, [each / (mark.stroke_width or 1.0) for each in dashes]) if dashes else "-"
    rows = _rows(plot, mark)
    for k, (x, y) in enumerate(rows):
        _area(plot, mark, (x, y, rows[min(k + 1, len(rows) - 1)][1]), k, order)
        if mark.stroke_width:
            paint = faded(_one_of(mark.colors, k), _opacity(mark, k))
            line = Line2D(x, y, color=paint, lw=mark.stroke_width, ls=style, zorder=order)
            line.set(dash_capstyle="butt", solid_capstyle="butt", solid_joinstyle="round")
            plot.axes.add_line(line)


def _rows(plot: Plot, mark: bqplot.Lines) -> list[tuple[FloatArray, FloatArray]]:
    x = np.atleast_2d(plot.across(mark.scales["x"], mark.x))
    y = np.atleast_2d(plot.up(mark.scales["y"], mark.y))
    if len(x) == 1:
        x = np.broadcast_to(x, (len(y), x.shape[1]))
    length = min(x.shape[1], y.shape[1])
    return [(a[:length], b[:length]) for a, b in zip(x, y, strict=False)]


def _area(plot: Plot, mark: bqplot.Lines, row: tuple[FloatArray, ...], k: int, order: int) -> None:
    if mark.fill == "none":
        return
    x, y, next_y = row
    ends = {"bottom": 0.0, "top": plot.height, "between": next_y}
    if mark.fill not in ends:
        raise NotImplementedError(f"a still cannot draw fill = {mark.fill!r} of bqplot’s Lines")
    paints, opacities = mark.fill_colors or mark.colors, mark.fill_opacities
    paint = faded(_one_of(paints, k), opacities[k] if k < len(opacities) else 1.0)
    plot.axes.fill_between(
        x, y, ends[mark.fill], where=np.isfinite(y), color=paint, lw=0.0, zorder=order
    )


def _scatter(plot: Plot, mark: bqplot.Scatter, order: int) -> None:
    from matplotlib.collections import PathCollection
    from matplotlib.transforms import IdentityTransform

    paints = _paints(mark)
    marks = PathCollection(
        [symbol(mark.marker)],
        sizes=[mark.default_size],
        offsets=_places(plot, mark),
        offset_transform=plot.axes.transData,
        transform=IdentityTransform(),
        facecolors=paints if mark.fill else "none",
        edgecolors=colour(mark.stroke) if mark.stroke else paints,  # as bqplot has it
        linewidths=mark.stroke_width,
        zorder=order,
    )
    plot.axes.add_collection(marks, autolim=False)


def symbol(name: str):
    """Return the outline of a symbol of area 1, as a matplotlib path.

    Raises:
        NotImplementedError: If a still has no such symbol.
    """
    from matplotlib.path import Path

    if name == "circle":
        circle = Path.unit_circle()
        return Path(circle.vertices / math.sqrt(math.pi), circle.codes)
    if name not in _SYMBOLS:
        raise NotImplementedError(f"a still cannot draw the symbol {name!r}")
    return Path([*_SYMBOLS[name], _SYMBOLS[name][0]], closed=True)


def _bars(plot: Plot, mark: bqplot.Bars, order: int) -> None:
    from matplotlib.patches import Rectangle

    parts = np.nan_to_num(np.atleast_2d(mark.y)) - mark.base
    upright = mark.orientation == "vertical"
    along, out = (plot.across, plot.up) if upright else (plot.up, plot.across)
    length, step = (plot.width, 1) if upright else (plot.height, -1)
    thick = length / len(plot.names(mark.scales["x"])) * (1.0 - mark.padding)
    middles = along(mark.scales["x"], mark.x)
    starts = mark.base + _stacked(parts)
    froms, tos = out(mark.scales["y"], starts), out(mark.scales["y"], starts + parts)
    for (part, k), start in np.ndenumerate(froms):
        corner, size = (middles[k] - thick / 2.0, start), (thick, tos[part, k] - start)
        paint = _paint_of_bar(mark, k, part, len(parts))
        bar = Rectangle(corner[::step], *size[::step], fc=paint, zorder=order)
        bar.set(lw=mark.stroke_width, ec=colour(mark.stroke) if mark.stroke else paint)
        plot.axes.add_patch(bar)
    _base_line(plot, float(out(mark.scales["y"], [mark.base])[0]), upright, order)


def _stacked(parts: FloatArray) -> FloatArray:
    """Return where each part starts: the positive stand on each other, the negative hang."""
    ups, downs = np.maximum(parts, 0.0), np.minimum(parts, 0.0)
    return np.where(parts >= 0.0, np.cumsum(ups, 0) - ups, np.cumsum(downs, 0) - downs)


def _paint_of_bar(mark: bqplot.Bars, column: int, part: int, parts: int):
    group = mark.color_mode == "group" or (mark.color_mode == "auto" and parts == 1)
    own = {"no_group": column * parts + part}.get(mark.color_mode, column if group else part)
    faint = mark.opacity_mode == "group" or (mark.opacity_mode == "auto" and parts == 1)
    return faded(_one_of(mark.colors, own), _opacity(mark, column if faint else part))


def _base_line(plot: Plot, at: float, upright: bool, order: int) -> None:
    drawn = plot.axes.axhline if upright else plot.axes.axvline
    drawn(at, color=colour("var(--bq-content-font-color)"), lw=1.0, zorder=order)


def _labels(plot: Plot, mark: bqplot.Label, order: int) -> None:
    side = {"start": "left", "middle": "center", "end": "right"}[mark.align]
    for (x, y), words, paint in zip(_places(plot, mark), mark.text, _paints(mark), strict=True):
        plot.axes.text(
            x + mark.x_offset,
            y - mark.y_offset,
            str(words),
            color=paint,
            fontsize=mark.default_size,
            fontweight=mark.font_weight,
            ha=side,
            va="center",
            parse_math=False,
            zorder=order,
        )


def _places(plot: Plot, mark: bqplot.Mark) -> NDArray[np.float64]:
    x, y = plot.across(mark.scales["x"], mark.x), plot.up(mark.scales["y"], mark.y)
    return np.column_stack([x, y])


def _paints(mark: bqplot.Mark) -> list[tuple[float, ...]]:
    return [faded(_one_of(mark.colors, k), _opacity(mark, k)) for k in range(len(mark.x))]


def _one_of(items: Sequence[str], k: int) -> str:
    return items[k % len(items)]


def _opacity(mark: bqplot.Mark, k: int) -> float:
    return mark.opacities[k % len(mark.opacities)] if len(mark.opacities) else 1.0


_DRAWERS = {
    bqplot.Lines: (_lines, "fill fill_colors fill_opacities line_style stroke_width"),
    bqplot.Scatter: (_scatter, "default_size fill marker stroke stroke_width"),
    bqplot.Bars: (_bars, "base color_mode opacity_mode orientation padding stroke stroke_width"),
    bqplot.Label: (_labels, "align default_size font_weight text x_offset y_offset"),
}
"""What draws each kind of mark, and the traits that it draws."""
