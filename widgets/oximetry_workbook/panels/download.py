"""Take-away buttons: a plot as a picture, data as CSV."""

from __future__ import annotations

import base64
from collections.abc import Callable, Sequence

import bqplot
import ipywidgets as widgets

from oximetry_workbook.panels.notice import Notice

SCALE = 3.0
"""Pixels of a saved picture for each one on screen: enough for a slide."""


def picture_button(figures: Sequence[bqplot.Figure], name: str, notice: Notice) -> widgets.Button:
    """Make the button that saves figures as PNG files in the browser."""
    button = widgets.Button(description="Save image", tooltip=f"Save “{name}” as PNG")
    stem = name.replace(" ", "-")
    files = [f"{stem}.png", *(f"{stem}-{k}.png" for k in range(2, len(figures) + 1))]

    def save(_: object) -> None:
        for figure, file in zip(figures, files, strict=True):
            figure.save_png(file, SCALE)

    button.on_click(notice.guard(save))
    return button


class CsvButton:
    """A button that offers text as a file; the browser downloads it through a link.

    In the workbook's own pages the link is followed at once; elsewhere it is there to click.

    Attributes:
        widget: What to put on the page.
        link: Where the link appears.
    """

    def __init__(self, words: str, file_name: str, text: Callable[[], str], notice: Notice) -> None:
        self._file_name, self._text = file_name, text
        button = widgets.Button(description=words)
        self.link = widgets.HTML()
        self.link.add_class("ow-download")
        self.widget = widgets.HBox([button, self.link])
        button.on_click(notice.guard(self.offer))

    def offer(self, _: object = None) -> None:
        """Make the file and its link."""
        content = base64.b64encode(self._text().encode()).decode("ascii")
        self.link.value = (
            f'<a data-ow-download download="{self._file_name}" '
            f'href="data:text/csv;base64,{content}">{self._file_name}</a>'
        )

    def forget(self) -> None:
        """Take the link away: its content is no longer what is on screen."""
        if self.link.value:
            self.link.value = ""
