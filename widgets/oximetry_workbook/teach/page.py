"""A page to take away: text, tables and pictures in one HTML file, for the screen and for paper.

It holds no script and asks for nothing from outside. All text is escaped; pictures are SVG that
the workbook made.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from html import escape
from typing import Protocol

from oximetry_workbook.teach.page_style import STYLE

Writer = Callable[[str], str]
"""Turns plain text into HTML; it must escape what it is given."""

SEALED = "default-src 'none'; style-src 'unsafe-inline'"
"""Content Security Policy: the browser loads nothing for this page and runs nothing in it."""

_NUMBER = re.compile(r"[−+]?[\d.]+( %)?|–")
"""A cell of a number only, or a dash for none."""


class Block(Protocol):
    """A part of a section."""

    def html(self, write: Writer) -> str:
        """Write the part as HTML."""


@dataclass(frozen=True)
class Paragraph:
    """Sentences that stand together."""

    text: str

    def html(self, write: Writer) -> str:
        """Write the paragraph as HTML."""
        return f"<p>{write(self.text)}</p>"


@dataclass(frozen=True)
class Subheading:
    """The heading of a part of a section."""

    text: str

    def html(self, write: Writer) -> str:
        """Write the heading as HTML."""
        return f"<h3>{write(self.text)}</h3>"


@dataclass(frozen=True)
class Bullets:
    """Sentences each on its own."""

    items: tuple[str, ...]

    def html(self, write: Writer) -> str:
        """Write the list as HTML; nothing for an empty one."""
        items = "".join(f"<li>{write(item)}</li>" for item in self.items)
        return f"<ul>{items}</ul>" if items else ""


@dataclass(frozen=True)
class Table:
    """Rows under headings, the first cell of each row naming it; columns of numbers flush right.

    Attributes:
        caption: What it shows, with units.
        head: Headings of the columns.
        rows: Cells as text; as many in each row as there are headings.

    Raises:
        ValueError: A row has more or fewer cells than there are headings.
    """

    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]

    def __post_init__(self) -> None:
        for row in self.rows:
            if len(row) != len(self.head):
                raise ValueError(
                    f"a row of “{self.caption}” has {len(row)} cells; there are {len(self.head)} "
                    "headings"
                )

    def html(self, write: Writer) -> str:
        """Write the table as HTML; it can be scrolled sideways where it is too wide."""
        kinds = ["", *(_kind(column) for column in [*zip(*self.rows, strict=True)][1:])]
        kinds += [""] * (len(self.head) - len(kinds))  # a table without rows
        named = zip(self.head, kinds, strict=True)
        head = "".join(f'<th scope="col"{kind}>{write(name)}</th>' for name, kind in named)
        body = "".join(_row(row, kinds, write) for row in self.rows)
        return (
            f'<div class="wide" role="region" tabindex="0" aria-label="{write(self.caption)}">'
            f"<table><caption>{write(self.caption)}</caption><thead><tr>{head}</tr></thead>"
            f"<tbody>{body}</tbody></table></div>"
        )


@dataclass(frozen=True)
class Figure:
    """A picture with the words below it.

    Attributes:
        svg: The picture, an `<svg>` element of our own making: it is put in as it is.
        alt: What is to be seen, for those who cannot see it.
        caption: What it shows.
    """

    svg: str
    alt: str
    caption: str

    def html(self, write: Writer) -> str:
        """Write the figure as HTML."""
        return (
            f'<figure><div class="wide" tabindex="0" role="img" aria-label="{write(self.alt)}">'
            f"{self.svg}</div>"
            f"<figcaption>{write(self.caption)}</figcaption></figure>"
        )


@dataclass(frozen=True)
class Abreast:
    """Figures two in a row, where the page is wide enough; on paper always."""

    figures: tuple[Figure, ...]

    def html(self, write: Writer) -> str:
        """Write the figures as HTML; nothing for none."""
        drawn = "\n".join(each.html(write) for each in self.figures)
        return f'<div class="abreast">{drawn}</div>' if drawn else ""


@dataclass(frozen=True)
class Section:
    """What stands under one heading.

    Attributes:
        heading: The heading.
        blocks: Parts in their order.
        new_page: Whether it starts on a new sheet of paper.
    """

    heading: str
    blocks: tuple[Block, ...]
    new_page: bool = False

    def html(self, write: Writer) -> str:
        """Write the section as HTML."""
        body = "\n".join(block.html(write) for block in self.blocks)
        start = '<section class="new-page">' if self.new_page else "<section>"
        return f"{start}\n<h2>{write(self.heading)}</h2>\n{body}\n</section>"


@dataclass(frozen=True)
class Page:
    """A whole page.

    Attributes:
        title: What it is, on the page and on the browser's tab.
        subtitle: What it is about.
        sections: In their order.
        caution: What to be careful about; it stands above the first section.
        footer: With what and when it was made.
    """

    title: str
    subtitle: str
    sections: tuple[Section, ...]
    caution: str
    footer: str

    def html(self, write: Writer = escape) -> str:
        """Write the page as one HTML document.

        Args:
            write: Turns plain text into HTML, and escapes it.
        """
        return "\n".join(self._lines(write)) + "\n"

    def _lines(self, write: Writer) -> Iterator[str]:
        yield '<!DOCTYPE html>\n<html lang="en-GB">\n<head>\n<meta charset="utf-8">'
        yield f'<meta http-equiv="Content-Security-Policy" content="{escape(SEALED)}">'
        yield '<meta name="viewport" content="width=device-width, initial-scale=1">'
        yield f"<title>{write(self.title)}</title>\n<style>{STYLE}</style>\n</head>"
        yield f"<body>\n<header>\n<h1>{write(self.title)}</h1>"
        yield f'<p class="subtitle">{write(self.subtitle)}</p>'
        yield f'<p class="caution" role="note">{write(self.caution)}</p>\n</header>\n<main>'
        yield from (section.html(write) for section in self.sections)
        yield f"</main>\n<footer>{write(self.footer)}</footer>\n</body>\n</html>"


def _row(cells: tuple[str, ...], kinds: list[str], write: Writer) -> str:
    first, *others = (f"{kind}>{write(cell)}" for cell, kind in zip(cells, kinds, strict=True))
    return f'<tr><th scope="row"{first}</th>{"".join(f"<td{cell}</td>" for cell in others)}</tr>'


def _kind(column: tuple[str, ...]) -> str:
    """Attribute of the cells of a column: numbers stand flush right."""
    return ' class="number"' if all(_NUMBER.fullmatch(cell) for cell in column) else ""
