"""The card of a plot, which can give itself away as a still."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

import bqplot
import ipywidgets as widgets

from oximetry_workbook.panels.download import FileButton
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.prose import html
from oximetry_workbook.panels.still import SOURCE, Still
from oximetry_workbook.panels.still_page import KeyEntry
from oximetry_workbook.panels.still_words import said
from oximetry_workbook.teach.small_files import file_stem

SAYS, OVER_FIGURE, FOLDED = "ow-plot-says", "ow-caption", "ow-folded"
"""Classes of the sentence under a plot, of the line over a figure, and of what is not shown."""


class Card(widgets.VBox):
    """A plot with its key and its sentence, under a title and buttons that save them.

    Attributes:
        title: Heading.
        figures: What is drawn.
        source: Where what is drawn comes from; to be set anew where it is a learner's own data.
        file_stem: Name of the saved picture, without its ending.
        pictures: The buttons.
    """

    def __init__(
        self,
        title: str,
        figures: Sequence[bqplot.Figure],
        body: Sequence[widgets.Widget],
        notice: Notice,
    ) -> None:
        self.title, self.figures, self._body = title, tuple(figures), tuple(body)
        self.source = SOURCE
        self.file_stem = file_stem(title, "plot")
        self.pictures = (
            self._button("Save image", "png", "image/png", lambda: self.still().png(), notice),
            self._button("SVG", "svg", "image/svg+xml", lambda: self.still().svg(), notice),
        )
        super().__init__([self._top(), *body, *(each.link for each in self.pictures)])
        for name in ("ow-card", "ow-plot"):
            self.add_class(name)
        self._watch()

    def still(self) -> Still:
        """Return the plot as it is now: figures, key, notes and sentences."""
        key: list[KeyEntry] = []
        says: list[str] = []
        notes: list[str] = []
        headings: list[str] = []
        for line in (each for each in shown(self._body) if isinstance(each, widgets.HTML)):
            words = said(line.value)
            if OVER_FIGURE in line._dom_classes:
                headings.append(words.text)
            elif SAYS in line._dom_classes:
                says.append(words.text)
            elif words.key:
                key.extend(words.key)
                notes.append(words.text)
        caption = "\n".join(filter(None, [*says, *notes]))
        return Still(
            self.figures, self.title, tuple(key), caption, self.source, headings=tuple(headings)
        )

    def _button(
        self, words: str, ending: str, mime: str, content: Callable[[], str | bytes], notice: Notice
    ) -> FileButton:
        button = FileButton(words, f"{self.file_stem}.{ending}", mime, content, notice)
        button.button.tooltip = f"Save “{self.title.lower()}” as {ending.upper()}"
        button.link.layout.display = "none"
        return button

    def _top(self) -> widgets.HBox:
        buttons = widgets.HBox([each.button for each in self.pictures])
        buttons.layout.flex, buttons.layout.grid_gap = "0 0 auto", "0.3rem"
        top = widgets.HBox([widgets.HTML(f"<h3>{html(self.title)}</h3>"), buttons])
        top.add_class("ow-card-top")
        return top

    def _watch(self) -> None:
        """Take a link away once its picture is old, and give it room only while it is there."""
        lines = (each for each in shown(self._body) if isinstance(each, widgets.HTML))
        marks = [mark for figure in self.figures for mark in figure.marks]
        for button in self.pictures:
            button.link.observe(_give_room, names="value")
            for line in lines:
                line.observe(button.forget, names="value")
            for mark in marks:
                mark.observe(button.forget, names=["x", "y", "visible"])


def _give_room(change: dict[str, object]) -> None:
    change["owner"].layout.display = None if change["new"] else "none"


def shown(parts: Sequence[widgets.Widget]) -> Iterator[widgets.Widget]:
    """Yield widgets and all within them, in their order on the page; not what is folded away."""
    for part in parts:
        if FOLDED in part._dom_classes or part.layout.display == "none":
            continue
        yield part
        yield from shown(getattr(part, "children", ()))
