"""Take-away buttons: what they offer, the browser downloads through a link."""

from __future__ import annotations

import base64
from collections.abc import Callable, Iterator
from html import escape

import ipywidgets as widgets

from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.work import Work


class FileButton:
    """A button that offers a file; the browser downloads it through a link.

    In the workbook's own pages the link is followed at once; elsewhere it is there to click.

    Attributes:
        button: The button.
        link: Where the link appears.
        widget: Both side by side.
    """

    def __init__(
        self,
        words: str,
        file_name: str,
        mime: str,
        content: Callable[[], str | bytes],
        notice: Notice,
    ) -> None:
        """Make the button.

        Args:
            words: What it says.
            file_name: Name of the file offered.
            mime: Its media type, such as text/csv.
            content: Makes the file when the button is pressed; text is sent as UTF-8.
            notice: Where to tell of a failure.
        """
        self._file_name, self._mime, self._content = file_name, mime, content
        self.button = widgets.Button(description=words)
        self.link = place_of_link()
        self.widget = widgets.HBox([self.button, self.link])
        self.button.on_click(notice.guard(self.offer))

    def offer(self, _: object = None) -> None:
        """Make the file and its link; pressed again, the same file is offered again."""
        offer(self.link, self._file_name, self._mime, self._content())

    def forget(self, _: object = None) -> None:
        """Take the link away: its content is no longer what is on screen."""
        forget(self.link)


class MadeFile:
    """A button that makes a file in slices, with progress and Cancel, and then offers it.

    Attributes:
        work: The button, its progress and its Cancel.
        link: Where the link appears; the workbook's own pages follow it at once.
        widget: What to put on the page.
    """

    def __init__(
        self,
        words: str,
        file_name: Callable[[], str],
        mime: str,
        start: Callable[[], Iterator[tuple[float, str | bytes | None]]],
        notice: Notice,
    ) -> None:
        """Make the button.

        Args:
            words: What it says.
            file_name: Gives the name of the file offered.
            mime: Its media type, such as text/html.
            start: Begins to make the file, at each press: share done, and the content at the end.
            notice: Where to tell of a failure.
        """
        self._file_name, self._mime = file_name, mime
        self.work = Work(start, self._take, notice, words)
        self.link = place_of_link()
        self.widget = widgets.HBox([self.work.widget, self.link])

    def forget(self) -> None:
        """Leave off, and take the link away: what is on screen has changed."""
        if self.work.running:
            self.work.cancel()
        forget(self.link)

    def _take(self, content: str | bytes | None) -> None:
        if content is not None:
            offer(self.link, self._file_name(), self._mime, content)


class CsvButton(FileButton):
    """A button that offers a table."""

    def __init__(self, words: str, file_name: str, text: Callable[[], str], notice: Notice) -> None:
        super().__init__(words, file_name, "text/csv", text, notice)


def place_of_link() -> widgets.HTML:
    """Make an empty place for the link of a file."""
    place = widgets.HTML()
    place.add_class("ow-download")
    return place


def offer(place: widgets.HTML, file_name: str, mime: str, made: str | bytes) -> None:
    """Put the link of a file in its place, anew also where the file is the same as before.

    Args:
        place: Where the link appears.
        file_name: Name of the file.
        mime: Its media type.
        made: Its content; text is sent as UTF-8.
    """
    content = base64.b64encode(made.encode() if isinstance(made, str) else made)
    name = escape(file_name)
    forget(place)
    place.value = (
        f'<a data-ow-download download="{name}" '
        f'href="data:{mime};base64,{content.decode("ascii")}">{name}</a>'
    )


def forget(place: widgets.HTML) -> None:
    """Take a link away."""
    if place.value:
        place.value = ""
