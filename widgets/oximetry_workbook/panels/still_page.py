"""What stands around the plots of a still: title, key, sentence, source and caution."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from oximetry_workbook.panels.still_colours import colour
from oximetry_workbook.panels.still_marks import symbol

if TYPE_CHECKING:
    from matplotlib.axes import Axes

KeyEntry = tuple[str, str, str]
"""Colour, kind and words, as `look.key` takes them."""

SANS, SERIF = ("DejaVu Sans", "sans-serif"), ("DejaVu Serif", "serif")
"""Fonts; the first of each comes with matplotlib, so that every machine breaks lines alike."""

LINE_STYLES = {"line": (), "dashed": (2.4, 1.4), "dotted": (1.0, 1.2)}
"""Lengths of line and gap in the key, over the line's width."""

SYMBOLS = {"triangle": "triangle-up", "diamond": "diamond", "area": "square"}
"""Symbols in the key, by kind."""

_LINE_LENGTH, _SYMBOL_WIDTH, _SAMPLE_GAP, _ENTRY_GAP = 30.0, 14.0, 8.0, 22.0
_LINE_WIDTH, _SYMBOL_AREA = 3.5, 170.0


@dataclass(frozen=True)
class Style:
    """How words are written.

    Attributes:
        size: Of the letters [points].
        ink: Colour.
        family: Fonts to try, in this order.
        weight: "normal" or "bold".
        leading: From line to line, over the size.
        below: Room left under a block so written [points].
    """

    size: float
    ink: str = "var(--ow-ink)"
    family: tuple[str, ...] = SANS
    weight: str = "normal"
    leading: float = 1.35
    below: float = 0.0

    def width(self, text: str) -> float:
        """Return how long a text is [points]."""
        from matplotlib.textpath import text_to_path

        return text_to_path.get_text_width_height_descent(text, self._font(), ismath=False)[0]

    def write(self, page: Axes, x: float, baseline: float, text: str, side: str = "left") -> None:
        """Write a line of text at a place of the page [points from its upper left]."""
        page.text(
            x,
            baseline,
            text,
            color=colour(self.ink),
            fontproperties=self._font(),
            ha=side,
            va="baseline",
            parse_math=False,
        )

    def _font(self):
        from matplotlib.font_manager import FontProperties

        return FontProperties(family=list(self.family), size=self.size, weight=self.weight)


@dataclass(frozen=True)
class Block:
    """A part of the page.

    Attributes:
        height: Its height [points].
        draw: Draws it; takes the page and the block's upper edge.
    """

    height: float
    draw: Callable[[Axes, float], None]


def paragraphs(text: str, style: Style, left: float, width: float) -> Block:
    """Make a block of text broken into lines; a line break in the text starts a paragraph."""
    lines = [line for each in text.splitlines() for line in wrapped(each, style, width)]
    step = style.leading * style.size

    def draw(page: Axes, top: float) -> None:
        for k, line in enumerate(lines):
            style.write(page, left, top + k * step + style.size, line)

    return Block(step * len(lines) + (style.below if lines else 0.0), draw)


def wrapped(text: str, style: Style, width: float) -> list[str]:
    """Break a text at its blanks into lines no wider than a width [points] where words allow.

    No-break spaces stay: they keep numbers with their units.
    """
    lines: list[str] = []
    for word in filter(None, text.split(" ")):
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and style.width(longer) <= width:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines


def key_rows(entries: Sequence[KeyEntry], style: Style, left: float, width: float) -> Block:
    """Make the block of a key: a sample of each mark before its words, in rows."""
    rows = list(_rows(entries, style, width))
    step = 1.6 * style.size

    def draw(page: Axes, top: float) -> None:
        for k, row in enumerate(rows):
            baseline = top + k * step + style.size
            for x, (paint, kind, words) in row:
                _sample(page, left + x, baseline - 0.36 * style.size, paint, kind)
                style.write(page, left + x + _room(kind), baseline, words)

    return Block(step * len(rows) + (style.below if rows else 0.0), draw)


def _rows(
    entries: Iterable[KeyEntry], style: Style, width: float
) -> Iterable[list[tuple[float, KeyEntry]]]:
    row: list[tuple[float, KeyEntry]] = []
    x = 0.0
    for entry in entries:
        length = _room(entry[1]) + style.width(entry[2])
        if row and x + length > width:
            yield row
            row, x = [], 0.0
        row.append((x, entry))
        x += length + _ENTRY_GAP
    if row:
        yield row


def _room(kind: str) -> float:
    return (_LINE_LENGTH if kind in LINE_STYLES else _SYMBOL_WIDTH) + _SAMPLE_GAP


def _sample(page: Axes, x: float, middle: float, paint: str, kind: str) -> None:
    if kind in LINE_STYLES:
        style = (0, LINE_STYLES[kind]) if LINE_STYLES[kind] else "-"
        ends = [x, x + _LINE_LENGTH]
        (line,) = page.plot(ends, [middle] * 2, color=colour(paint), lw=_LINE_WIDTH)
        line.set(linestyle=style, solid_capstyle="butt", dash_capstyle="butt")
    elif kind in SYMBOLS:
        marker, at = symbol(SYMBOLS[kind]), ([x + _SYMBOL_WIDTH / 2.0], [middle])
        # matplotlib scales a marker of its user's to a box of 1; the area is to be ours
        box = 2.0 * abs(marker.vertices).max()
        area = _SYMBOL_AREA * box**2
        page.scatter(*at, s=area, marker=marker, color=[colour(paint)], lw=0.0)
    else:
        known = ", ".join([*LINE_STYLES, *SYMBOLS])
        raise NotImplementedError(f"a still has no key of the kind {kind!r}; it has {known}")
