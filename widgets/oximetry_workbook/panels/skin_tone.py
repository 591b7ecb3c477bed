"""Skin tone: melanin as a filter, what it does to a reading, and what studies found beyond it."""

from __future__ import annotations

import bqplot
import ipywidgets as widgets
import numpy as np

from oximetry_workbook.body.light import INFRARED_PEAK_NM, RED_PEAK_NM
from oximetry_workbook.panels import look
from oximetry_workbook.panels.marks import make_line
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.numbers import numbers_html
from oximetry_workbook.panels.prose import html
from oximetry_workbook.panels.skin_tone_errors import ErrorPlot, MelaninPlot, Repeats
from oximetry_workbook.panels.state_panel import StatePanel, View
from oximetry_workbook.teach.skin_tone import LIGHT_SKIN, SHOWN_NM, SkinTone, filter_passes
from oximetry_workbook.teach.skin_tone_words import filter_sentence, numbers, verdict


class FilterPlot:
    """What the epidermis lets through, over wavelength."""

    def __init__(self, notice: Notice) -> None:
        scales = {
            "x": bqplot.LinearScale(min=600.0, max=1000.0),
            "y": bqplot.LinearScale(min=0.0, max=102.0),
        }
        self.light = make_line(scales, SHOWN_NM, look.ACCENT, "dashed", 2.5)
        self.light.y = 100.0 * filter_passes(LIGHT_SKIN, SHOWN_NM)
        self.dark = make_line(scales, SHOWN_NM, look.PIGMENT, "solid", 3.5)
        red = make_line(scales, np.full(2, RED_PEAK_NM), look.RED, "solid", 2.0)
        infrared = make_line(scales, np.full(2, INFRARED_PEAK_NM), look.INFRARED, "dashed", 2.0)
        for led in (red, infrared):
            led.y = np.array([0.0, 102.0])
        across = look.axis(
            scales["x"], "wavelength, nm", tick_values=np.arange(600.0, 1001.0, 100.0)
        )
        up = look.axis(
            scales["y"], "light let through, %", vertical=True, tick_values=np.arange(0, 101, 25)
        )
        self.figure = look.figure([red, infrared, self.light, self.dark], [across, up])
        self.says = look.says()
        body = [self._key(), self.figure, self.says]
        self.widget = look.card("The filter", [self.figure], body, notice)
        self.widget.add_class("ow-tall")

    def show(self, state: SkinTone) -> None:
        """Draw a state."""
        self.dark.y = 100.0 * filter_passes(state.melanin_fraction, SHOWN_NM)
        self.says.value = html(filter_sentence(state))

    @staticmethod
    def _key() -> widgets.HTML:
        entries = [
            (look.ACCENT, "dashed", "light skin"),
            (look.PIGMENT, "line", "this skin"),
            (look.RED, "line", "red LED, 660 nm"),
            (look.INFRARED, "dashed", "infrared LED, 940 nm"),
        ]
        return widgets.HTML(look.key(entries))


class Summary:
    """The numbers, and what simple optics makes of them."""

    def __init__(self) -> None:
        self._numbers, self._sentence = widgets.HTML(), widgets.HTML()
        self._sentence.add_class("ow-live")
        heading = widgets.HTML("<h3>This skin, against light skin</h3>")
        self.widget = widgets.VBox([heading, self._numbers, self._sentence])
        self.widget.add_class("ow-card")

    def show(self, state: SkinTone) -> None:
        """Write a state."""
        self._numbers.value = numbers_html(numbers(state))
        self._sentence.value = html(verdict(state))


def make_views(notice: Notice) -> tuple[View, ...]:
    """Make the panel's views; two of them share the long work."""
    repeats = Repeats(notice)
    errors, melanin = ErrorPlot(repeats, notice), MelaninPlot(repeats, notice)
    return errors, Summary(), FilterPlot(notice), melanin


def skin_tone(state: SkinTone | None = None) -> widgets.VBox:
    """Show melanin as a filter, its errors in the engine, and what a study found.

    Args:
        state: What to start from; the usual state if left out.
    """
    return StatePanel(state or SkinTone(), make_views).widget
