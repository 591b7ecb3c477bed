"""Take-away buttons: what they offer, the browser downloads through a link."""

from __future__ import annotations

import base64
from collections.abc import Callable
from html import escape

import ipywidgets as widgets

from oximetry_workbook.panels.notice import Notice


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
        self.link = widgets.HTML()
        self.link.add_class("ow-download")
        self.widget = widgets.HBox([self.button, self.link])
        self.button.on_click(notice.guard(self.offer))

    def offer(self, _: object = None) -> None:
        """Make the file and its link; pressed again, the same file is offered again."""
        made = self._content()
        content = base64.b64encode(made.encode() if isinstance(made, str) else made)
        name = escape(self._file_name)
        self.forget()
        self.link.value = (
            f'<a data-ow-download download="{name}" '
            f'href="data:{self._mime};base64,{content.decode("ascii")}">{name}</a>'
        )

    def forget(self, _: object = None) -> None:
        """Take the link away: its content is no longer what is on screen."""
        if self.link.value:
            self.link.value = ""


class CsvButton(FileButton):
    """A button that offers a table."""

    def __init__(self, words: str, file_name: str, text: Callable[[], str], notice: Notice) -> None:
        super().__init__(words, file_name, "text/csv", text, notice)
