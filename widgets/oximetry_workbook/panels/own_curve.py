"""A calibration curve of the learner's own, kept by the browser for every panel with curves."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import ipywidgets as widgets

from oximetry_workbook.meter.curve import Curve
from oximetry_workbook.panels import look
from oximetry_workbook.panels.browser import KeptText
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.prose import html
from oximetry_workbook.panels.state_panel import StatePanel
from oximetry_workbook.teach.own_curve import kept_sentence, own_name, read_own_curve
from oximetry_workbook.teach.reading import CURVE_NAMES, PROBE_CURVE

KEY = "ow-own-curve"
"""Its name among what the browser keeps."""

OWN_CURVE = "your own"
"""Stands for the own curve in a list of names."""

BLANK = " "


class OwnCurve:
    """The curve kept: told, replaced, forgotten. Each panel has one; they meet in the browser.

    Attributes:
        curve: The curve; None when there is none.
        kept: What the browser keeps.
        upload: The button that opens a curve's file.
        forget_button: The button that forgets the curve.
        says: What is kept, in a sentence.
        widget: What to put on the page.
    """

    def __init__(
        self, changed: Callable[[], None], notice: Notice, more: Sequence[widgets.Widget] = ()
    ) -> None:
        """Make the parts.

        Args:
            changed: Called when there is another curve, or none any more.
            notice: Where to tell of a failure.
            more: Other ways to a curve, as buttons.
        """
        self.curve: Curve | None = None
        self._lasting = True
        self._changed, self._notice = changed, notice
        self.kept = KeptText(key=KEY)
        self.upload = widgets.FileUpload(
            accept=".json", multiple=False, description="Open a curve (JSON)", icon=""
        )
        self.upload.layout.width = "auto"
        self.forget_button = widgets.Button(description="Forget it", disabled=True)
        self.says = look.says()
        self.says.add_class("ow-live")
        self.widget = self._arrange(more)
        self._tell()
        self.kept.observe(notice.guard(self._found), names="found")
        self.upload.observe(notice.guard(self._opened), names="value")
        self.forget_button.on_click(notice.guard(lambda _: self.forget()))

    def keep(self, curve: Curve) -> None:
        """Keep a curve for every panel.

        Raises:
            ValueError: The curve is made of bare functions, which no text can hold.
        """
        self._write(curve.to_json())
        self.take(curve)

    def take(self, curve: Curve | None, lasting: bool = True) -> None:
        """Have a curve in this panel, or none.

        Args:
            curve: The curve.
            lasting: Whether the browser keeps it.
        """
        self.curve, self._lasting = curve, lasting
        self._tell()
        self._changed()

    def forget(self) -> None:
        """Keep nothing any more, here and in the browser."""
        self._write("")
        self.take(None)

    def _write(self, text: str) -> None:
        if self.kept.text == text:  # the browser writes on a change alone
            self.kept.text = BLANK
        self.kept.text = text

    def _opened(self, change: dict[str, Any]) -> None:
        if change["new"]:
            self.keep(read_own_curve(bytes(change["new"][-1]["content"])))

    def _found(self, change: dict[str, str]) -> None:
        """Take what the browser kept; what cannot be read is left as it is."""
        if not change["new"].strip():
            return
        self.forget_button.disabled = False
        try:
            curve = read_own_curve(change["new"])
        except ValueError as error:
            raise ValueError(
                f"the curve of your own that this browser keeps cannot be used: {error}. It is "
                "left as it is; forget it, or keep another one"
            ) from None
        self.take(curve)

    def _tell(self) -> None:
        self.forget_button.disabled = self.curve is None
        self.says.value = html(kept_sentence(self.curve, self._lasting))

    def _arrange(self, more: Sequence[widgets.Widget]) -> widgets.VBox:
        actions = widgets.HBox([*more, self.upload, self.forget_button])
        actions.add_class("ow-actions")
        own = widgets.VBox([actions, self.says, self.kept])
        own.layout.margin = "0.6rem 0"
        return own


class CurveList:
    """The list of curves that a meter can be given, the own one last once there is one.

    Attributes:
        dropdown: The list; its value is a curve's name, `OWN_CURVE` for the own one.
        own: The own curve.
    """

    def __init__(self, chosen: Callable[[], None], notice: Notice) -> None:
        """Make the list.

        Args:
            chosen: Called when another curve is to be used.
            notice: Where to tell of a failure.
        """
        self._chosen, self._settling = chosen, False
        self.own = OwnCurve(self._offer, notice)
        self.dropdown = widgets.Dropdown(options=self._options())
        self.dropdown.observe(notice.guard(self._pressed), names="value")

    @property
    def curve(self) -> str | Curve:
        """The curve in use: one of `CURVE_NAMES`, or the own one itself."""
        name: str = self.dropdown.value
        return self.own.curve if name == OWN_CURVE and self.own.curve is not None else name

    def show(self, curve: str | Curve) -> None:
        """Choose a curve without calling back; one that is not in the list comes into it."""
        if isinstance(curve, Curve) and curve is not self.own.curve:
            self.own.take(curve, lasting=False)
        self._settle(OWN_CURVE if isinstance(curve, Curve) else curve, self.dropdown.options)

    def _settle(self, name: str, options: Sequence[tuple[str, str]]) -> None:
        self._settling = True
        try:
            if options != self.dropdown.options:
                self.dropdown.options = options  # goes to the first
            self.dropdown.value = name
        finally:
            self._settling = False

    def _options(self) -> tuple[tuple[str, str], ...]:
        own = [] if self.own.curve is None else [(own_name(self.own.curve), OWN_CURVE)]
        named = [*((name, name) for name in CURVE_NAMES), *own]
        return tuple((words[0].upper() + words[1:], name) for words, name in named)

    def _offer(self) -> None:
        """Follow the own curve; where it was in use and is gone, the probe's own takes over."""
        used: str = self.dropdown.value
        gone = used == OWN_CURVE and self.own.curve is None
        self._settle(PROBE_CURVE if gone else used, self._options())
        if used == OWN_CURVE:
            self._chosen()

    def _pressed(self, _: object) -> None:
        if not self._settling:
            self._chosen()


class OwnCurvePanel(StatePanel):
    """A panel whose views that have `show_own` draw the own curve beside the others."""

    def _arrange(self) -> widgets.VBox:
        self.own = OwnCurve(self._draw_own, self.notice)
        self.own.widget.add_class("ow-card")
        panel = super()._arrange()
        panel.children = (*panel.children, self.own.widget)
        return panel

    def _draw_own(self) -> None:
        for view in self.views:
            if hasattr(view, "show_own"):
                view.show_own(self.own.curve)
