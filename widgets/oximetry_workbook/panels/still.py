"""A plot of the workbook as a picture to take away, made without a browser.

What bqplot draws on the page is drawn anew by matplotlib, which is loaded only when a picture is
asked for. A pixel of the page becomes a point of the still, so that the plot keeps its
proportions of letters, lines and marks.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from html import escape  # that of xml.sax would bring urllib and http with it
from typing import TYPE_CHECKING

import bqplot

import oximetry_workbook
from oximetry_workbook.panels.still_axes import draw_axis
from oximetry_workbook.panels.still_colours import colour
from oximetry_workbook.panels.still_marks import draw
from oximetry_workbook.panels.still_page import (
    SERIF,
    Block,
    KeyEntry,
    Style,
    key_rows,
    paragraphs,
)
from oximetry_workbook.panels.still_scales import Plot

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

SOURCE = (
    f"Oximetry Workbook {oximetry_workbook.__version__}, simulated from published physics "
    "(see the chapter’s sources)"
)
CAUTION = "A teaching tool, not for diagnosis or patient care."

WIDTH, NARROW, MARGIN, PLOT_HEIGHT = 720.0, 540.0, 26.0, 310.0
"""Width of the page, and of one that stands beside another; the margin; and the height of a figure
on the wide page, which it keeps in proportion on a narrow one [points]."""

_TITLE = Style(23.0, family=SERIF, weight="bold", leading=1.2, below=9.0)
_KEY = Style(15.0, below=9.0)
_HEADING = Style(14.0, ink="var(--ow-ink-soft)")
_CAPTION = Style(16.0, below=10.0)
_SOURCE = Style(12.0, ink="var(--ow-ink-soft)")
_CAUTION = Style(12.0, weight="bold", ink="var(--ow-warn)")

_NOT_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""Characters that XML 1.0 does not allow (section 2.2)."""


def file_source(name: str) -> str:
    """Say that what is drawn was read from somebody's own file."""
    version = oximetry_workbook.__version__
    return f"Oximetry Workbook {version}, read from {name}; nobody has checked that file"


@dataclass(frozen=True)
class Still:
    """Figures that stand side by side, and what a picture needs to be understood on its own.

    Figures are drawn as they are at the moment when a picture is asked for.

    Attributes:
        figures: What to draw.
        title: Heading.
        key: Colour, kind and words of each mark, as `look.key` takes them.
        caption: What the plot shows now; a line break starts a paragraph.
        source: Where it comes from.
        caution: What it must not be used for.
        headings: A line over each figure, if any.
        width: Of the picture [points]; letters keep their size.
    """

    figures: Sequence[bqplot.Figure]
    title: str
    key: Sequence[KeyEntry] = ()
    caption: str = ""
    source: str = SOURCE
    caution: str = CAUTION
    headings: Sequence[str] = ()
    width: float = WIDTH

    def svg(self) -> str:
        """Return the picture as an SVG element: real text, a title and description, no date.

        Raises:
            NotImplementedError: If a figure asks for what a still cannot draw.
        """
        with _settings():
            buffer = io.StringIO()
            about = {"Title": self.title, "Source": self.source, "Creator": None, "Date": None}
            self._drawn().savefig(buffer, format="svg", metadata=about)
        text = _NOT_XML.sub("\N{REPLACEMENT CHARACTER}", buffer.getvalue())
        text = text[text.index("<svg ") :].replace("<svg ", '<svg role="img" ', 1)
        told = f"</title>\n <desc>{escape(self.description, quote=False)}</desc>"
        return text.replace("</title>", _NOT_XML.sub("\N{REPLACEMENT CHARACTER}", told), 1)

    def png(self, dpi: float = 200.0) -> bytes:
        """Return the picture as a PNG file.

        Args:
            dpi: Dots per inch of a picture 10 inches wide: 200 gives 2000 pixels across.

        Raises:
            NotImplementedError: If a figure asks for what a still cannot draw.
        """
        with _settings():
            buffer = io.BytesIO()
            about = {"Title": self.title, "Description": self.description, "Software": None}
            self._drawn().savefig(buffer, format="png", dpi=dpi, metadata=about)
        return buffer.getvalue()

    @property
    def description(self) -> str:
        """What a screen reader says of the picture."""
        marks = "; ".join(words for _, _, words in self.key)
        parts = (self.caption, f"Key: {marks}." if marks else "", self.caution, self.source)
        return " ".join(" ".join(parts).split())

    def _drawn(self) -> Figure:
        from matplotlib.figure import Figure

        blocks = [block for block in self._blocks() if block.height]
        height = 2.0 * MARGIN + sum(block.height for block in blocks)
        size = (self.width / 72.0, height / 72.0)
        drawn = Figure(figsize=size, facecolor=colour("var(--ow-surface)"))
        page = drawn.add_axes((0.0, 0.0, 1.0, 1.0), xlim=(0.0, self.width), ylim=(height, 0.0))
        page.set_axis_off()
        top = MARGIN
        for block in blocks:
            block.draw(page, top)
            top += block.height
        return drawn

    def _blocks(self) -> list[Block]:
        room = MARGIN, self.width - 2.0 * MARGIN
        return [
            paragraphs(self.title, _TITLE, *room),
            key_rows(self.key, _KEY, *room),
            self._plots(),
            paragraphs(self.caption, _CAPTION, *room),
            paragraphs(self.source, _SOURCE, *room),
            paragraphs(self.caution, _CAUTION, *room),
        ]

    def _plots(self) -> Block:
        over = 1.5 * _HEADING.size if any(self.headings) else 0.0
        share = (self.width - 2.0 * MARGIN) / max(1, len(self.figures))
        height = PLOT_HEIGHT * self.width / WIDTH

        def draw_all(page: Axes, top: float) -> None:
            for k, heading in enumerate(self.headings):
                middle = MARGIN + (k + 0.5) * share
                _HEADING.write(page, middle, top + _HEADING.size, heading, side="center")
            for k, figure in enumerate(self.figures):
                _draw_figure(figure, page, (MARGIN + k * share, top + over, share, height))

        return Block(over + height + _CAPTION.below, draw_all)


def _draw_figure(figure: bqplot.Figure, page: Axes, box: tuple[float, float, float, float]) -> None:
    """Draw a figure into a box of the page: left, top, width and height [points]."""
    (left, top, width, height), around = box, figure.fig_margin
    size = (width - around["left"] - around["right"], height - around["top"] - around["bottom"])
    whole = (page.get_xlim()[1], page.get_ylim()[0])
    foot = whole[1] - top - height + around["bottom"]
    corner = ((left + around["left"]) / whole[0], foot / whole[1])
    place = (*corner, size[0] / whole[0], size[1] / whole[1])
    axes = page.figure.add_axes(place, xlim=(0.0, size[0]), ylim=(0.0, size[1]))
    axes.set_axis_off()
    plot = Plot(figure, axes, *size)
    for axis in figure.axes:
        draw_axis(plot, axis)
    for order, mark in enumerate(figure.marks, start=1):
        draw(plot, mark, order)


@contextmanager
def _settings() -> Iterator[None]:
    """Set matplotlib's defaults and ours, whatever its user has set, for as long as one draws."""
    import matplotlib

    with matplotlib.rc_context():
        matplotlib.rcdefaults()
        matplotlib.rcParams.update(
            {"svg.fonttype": "none", "svg.hashsalt": "still", "font.family": "DejaVu Sans"}
        )
        yield
