"""What ipywidgets has not: the page's address, and text to copy."""

from __future__ import annotations

from importlib.resources import files

import anywidget
import traitlets

_STATIC = files("oximetry_workbook.panels") / "static"


class PageAddress(anywidget.AnyWidget):
    """Knows the address of the page it is on; draws nothing.

    Attributes:
        page: The address without what follows the #, in the served app; empty elsewhere.
        fragment: What follows the # of the address.
        state: What should follow it to come back to the panel's present state. The page offers
            it when the kernel is lost.
    """

    _esm = (_STATIC / "address.js").read_text("utf-8")
    page = traitlets.Unicode().tag(sync=True)
    fragment = traitlets.Unicode().tag(sync=True)
    state = traitlets.Unicode().tag(sync=True)


class CopyField(anywidget.AnyWidget):
    """A line of text with a button that copies it.

    Attributes:
        label: What the text is.
        text: The text.
    """

    _esm = (_STATIC / "copy_field.js").read_text("utf-8")
    label = traitlets.Unicode().tag(sync=True)
    text = traitlets.Unicode().tag(sync=True)


class KeptText(anywidget.AnyWidget):
    """A text that the browser keeps, from page to page and over a reload; draws nothing.

    Attributes:
        key: Its name among what the browser keeps.
        found: What was kept when the page was drawn; empty for nothing.
        text: Set it to keep something else.
    """

    _esm = (_STATIC / "kept_text.js").read_text("utf-8")
    key = traitlets.Unicode().tag(sync=True)
    found = traitlets.Unicode().tag(sync=True)
    text = traitlets.Unicode().tag(sync=True)
