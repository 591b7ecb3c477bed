"""The lecturer's keys, buttons and clock: what must answer at once lives in the browser."""

from __future__ import annotations

from importlib.resources import files

import anywidget
import traitlets

_STATIC = files("oximetry_workbook.panels") / "static"

_PARTS = ("keys.js", "clock.js", "desk.js")

COMMANDS = ("on", "next", "back", "first", "last", "reveal")
"""What the browser asks of the kernel; "on" is to reveal what is covered, and else to go on."""


class Keys(anywidget.AnyWidget):
    """The row of buttons under the presenter, its keys and its clock.

    It opens and closes the box that it lies in, the one of class `ow-presenter`. A command comes
    as a message `{"command": …}` with one of `COMMANDS`.

    Attributes:
        open_now: Whether the presenter covers the page.
        name: Name of the dialog for screen readers.
        place: Number of the scene, from 0.
        count: How many scenes there are.
        covered: Whether there is something left to reveal.
        polled: Whether the scene has a poll.
        still: Whether the reader's system asks for little motion; set by the browser.
        scene_minutes: Time planned for the scene [min].
        lesson_minutes: Time planned for the lesson [min].
    """

    _esm = "".join((_STATIC / name).read_text("utf-8") for name in _PARTS)
    open_now = traitlets.Bool(False).tag(sync=True)
    name = traitlets.Unicode("Presenter").tag(sync=True)
    place = traitlets.Int(0).tag(sync=True)
    count = traitlets.Int(1).tag(sync=True)
    covered = traitlets.Bool(False).tag(sync=True)
    polled = traitlets.Bool(False).tag(sync=True)
    still = traitlets.Bool(False).tag(sync=True)
    scene_minutes = traitlets.Float(0.0).tag(sync=True)
    lesson_minutes = traitlets.Float(0.0).tag(sync=True)
