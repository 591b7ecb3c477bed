"""Wrong light: from the room, past the finger and through varnish, or off its wavelength."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from typing import Any

import ipywidgets as widgets

from oximetry_workbook.panels.browser import PageAddress
from oximetry_workbook.panels.led_light import ErrorPlot, LedPlot, SharesPlot, VarnishPlot
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.numbers import numbers_html
from oximetry_workbook.panels.prose import html
from oximetry_workbook.panels.room_light import CloseUpPlot, FoldingPlot, SeenPlot
from oximetry_workbook.panels.share import BETWEEN
from oximetry_workbook.panels.state_panel import StatePanel, View
from oximetry_workbook.teach.share import is_link
from oximetry_workbook.teach.words import main_sentence, reading_numbers
from oximetry_workbook.teach.wrong_light import LedLight, PastTheTissue, RoomLight
from oximetry_workbook.teach.wrong_light_words import room_verdict

FIRST_AMBIENT_PERCENT = 50.0
"""Room light that the panel starts with: much, so that the flicker is seen (our own choice)."""


class Summary:
    """The numbers, and what the meter would show."""

    def __init__(
        self, sentence: Callable[[Any], str] = lambda state: main_sentence(state.reading)
    ) -> None:
        self._say = sentence
        self._numbers, self._sentence = widgets.HTML(), widgets.HTML()
        self._sentence.add_class("ow-live")
        heading = widgets.HTML("<h3>What the meter makes of it</h3>")
        self.widget = widgets.VBox([heading, self._numbers, self._sentence])
        self.widget.add_class("ow-card")

    def show(self, state: RoomLight | PastTheTissue | LedLight) -> None:
        """Write a state."""
        self._numbers.value = numbers_html(reading_numbers(state.reading))
        self._sentence.value = html(self._say(state))


def room_light_panel(state: RoomLight | None = None) -> StatePanel:
    """Make the panel of room light and its folding."""

    def views(notice: Notice) -> tuple[View, ...]:
        plots = SeenPlot(notice), CloseUpPlot(notice), FoldingPlot(notice)
        return *plots, Summary(room_verdict)

    return StatePanel(state or RoomLight(ambient_light_percent=FIRST_AMBIENT_PERCENT), views)


def past_the_tissue_panel(state: PastTheTissue | None = None) -> StatePanel:
    """Make the panel of light past the finger and of varnish."""

    def views(notice: Notice) -> tuple[View, ...]:
        return VarnishPlot(notice), SharesPlot(notice), ErrorPlot(notice), Summary()

    return StatePanel(state or PastTheTissue(), views)


def led_panel(state: LedLight | None = None) -> StatePanel:
    """Make the panel of LEDs off their wavelength."""

    def views(notice: Notice) -> tuple[View, ...]:
        summary = Summary()
        summary.widget.layout.grid_area = "auto / 1 / auto / -1"  # the third of three: a whole row
        return LedPlot(notice), ErrorPlot(notice), summary

    return StatePanel(state or LedLight(), views)


PANELS: dict[str, Callable[..., StatePanel]] = {
    "Room light": room_light_panel,
    "Past the finger, through varnish": past_the_tissue_panel,
    "The LEDs": led_panel,
}
"""Makers of the panels, by the words on their buttons."""

STATES = dict(zip((RoomLight, PastTheTissue, LedLight), PANELS, strict=True))
"""Words on the buttons, by the class of the panel's state."""


class WrongLight:
    """Three panels in one place, one of them on view; each is made when first asked for.

    Attributes:
        chooser: Buttons that say which.
        widget: What to put on the page.
    """

    def __init__(self, state: RoomLight | PastTheTissue | LedLight | None = None) -> None:
        first = STATES.get(type(state), next(iter(PANELS)))
        self._panel = cache(lambda name: PANELS[name](state if name == first else None))
        self.chooser = widgets.ToggleButtons(options=list(PANELS), value=first)
        self.notice, self.address = Notice(), PageAddress()
        self._place = widgets.VBox()
        self.widget = widgets.VBox([self.notice, self.chooser, self.address, self._place])
        self._show()
        self.address.observe(self.notice.guard(self._follow), names="fragment")
        self.chooser.observe(self.notice.guard(self._show), names="value")

    @property
    def panel(self) -> StatePanel:
        """The panel on view."""
        return self._panel(self.chooser.value)

    def _follow(self, change: dict[str, str]) -> None:
        """Bring the panel into view that a link is for; it then reads the link itself."""
        for kind, words in STATES.items():
            if any(is_link(text, kind) for text in change["new"].split(BETWEEN)):
                self.chooser.value = words

    def _show(self, _: object = None) -> None:
        self._place.children = (self.panel.widget,)


def wrong_light(state: RoomLight | PastTheTissue | LedLight | None = None) -> widgets.VBox:
    """Show what light from elsewhere, varnish and stray LEDs do to a reading.

    Args:
        state: What one of the three starts from, and which is on view; the usual if left out.
    """
    return WrongLight(state).widget
