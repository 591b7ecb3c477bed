"""A panel's state to take along: as a link, as a file, as a line of Python; and back again."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import ipywidgets as widgets

from oximetry_workbook.panels import look
from oximetry_workbook.panels.browser import CopyField, PageAddress
from oximetry_workbook.panels.download import FileButton
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.prose import html
from oximetry_workbook.teach.share import (
    is_link,
    json_text,
    link_text,
    panel_name,
    python_text,
    read_json,
    read_link,
)
from oximetry_workbook.teach.small_files import text_of

BETWEEN = ";"
"""Stands between the states of several panels of one page in a link."""


class Share:
    """Buttons and fields to share a panel's state, and the way in for a shared one.

    Attributes:
        toggle: The button that unfolds the fields.
        address: Where a link comes in; to be put on the page.
        box: The fields; to be put on the page.
        left_out: What is not shared, among the fields.
    """

    def __init__(self, state: Any, opened: Callable[[Any], None], notice: Notice) -> None:
        """Make the parts.

        Args:
            state: The panel's state.
            opened: Called with a state that came from a link or a file.
            notice: Where to tell of one that cannot be read.
        """
        self._state, self._kind = state, type(state)
        self._opened, self._notice = opened, notice
        self.address = PageAddress(state=link_text(state))
        self.toggle = widgets.ToggleButton(value=False, description="Share")
        self.box = widgets.VBox()
        self.box.add_class("ow-share")
        self.box.add_class("ow-folded")
        self.left_out = widgets.HTML()
        self._fields: tuple[CopyField, CopyField] | None = None
        self.toggle.observe(notice.guard(self._fold), names="value")
        self.address.observe(notice.guard(self._arrived), names="fragment")
        self.address.observe(notice.guard(self._write), names="page")

    def show(self, state: Any, left_out: str = "") -> None:
        """Take note of the present state, and of what is not in it."""
        self._state = state
        self.left_out.value = f"<p>{html(left_out)}</p>" if left_out else ""
        self.address.state = link_text(state)
        self._write()

    def _fold(self, change: dict[str, bool]) -> None:
        if change["new"] and self._fields is None:
            self._fields = self._fill()
        self._write()
        look.mark(self.box, "ow-folded", not change["new"])

    def _fill(self) -> tuple[CopyField, CopyField]:
        link, line = CopyField(label="Link"), CopyField(label="Line of Python")
        name = f"{panel_name(self._kind).lower()}.json"
        save = FileButton(
            "Save state",
            name,
            "application/json",
            lambda: json_text(self._state),
            self._notice,
        )
        load = widgets.FileUpload(accept=".json", multiple=False, description="Open a state")
        load.observe(self._notice.guard(self._loaded), names="value")
        files = widgets.HBox([save.widget, load])
        files.add_class("ow-actions")
        self.box.children = (self.left_out, link, line, files)
        return link, line

    def _write(self, _: object = None) -> None:
        if self._fields is None or not self.toggle.value:
            return
        link, line = self._fields
        link.text = f"{self.address.page}#{self.address.state}"
        module = self._kind.__module__
        line.text = (
            f"from oximetry_workbook.panels import show; from {module} import "
            f"{self._kind.__name__}; show({python_text(self._state)})"
        )

    def _arrived(self, change: dict[str, str]) -> None:
        for text in change["new"].split(BETWEEN):
            if is_link(text, self._kind):
                self._open(lambda text=text: read_link(text, self._kind))

    def _loaded(self, change: dict[str, Any]) -> None:
        for upload in change["new"]:
            content = bytes(upload["content"])
            self._open(lambda content=content: read_json(text_of(content, "the file"), self._kind))

    def _open(self, read: Callable[[], Any]) -> None:
        try:
            state = read()
        except ValueError as error:
            raise ValueError(f"the shared state cannot be used: {error}") from None
        self._opened(state)
