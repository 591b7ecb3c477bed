"""Altitude: the way of oxygen from thin air to the arteries, and the saturation to expect."""

from __future__ import annotations

import bqplot
import ipywidgets as widgets
import numpy as np

from oximetry_workbook.panels import look
from oximetry_workbook.panels.marks import make_line, make_spot, place
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.oxygen_on_board import NumbersRow
from oximetry_workbook.panels.prose import html
from oximetry_workbook.panels.state_panel import StatePanel
from oximetry_workbook.teach.altitude import (
    MEASURED_M,
    MEASURED_PERCENT,
    SHOWN_M,
    UNCHANGED,
    Ascent,
    main_sentence,
    pressures_sentence,
    saturation_sentence,
)
from oximetry_workbook.teach.words import DASH

HIGHEST_M = 9000.0
ALTITUDE_TICKS_M = np.arange(0.0, HIGHEST_M + 1.0, 1500.0)
PRESSURE_LADDER = (1.0, 1.6, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0)
"""Where the pressure axis may end, of each decade."""


class AltitudeNumbers(NumbersRow):
    """Air, lungs, arteries, and the saturation to expect."""

    def show(self, ascent: Ascent) -> None:
        """Write the numbers of this ascent."""
        shown = f"{ascent.saturation_percent:.0f} %" if ascent.liveable else DASH
        numbers = {
            "Saturation": shown,
            "Air, mmHg": f"{ascent.barometric_mmhg:.0f}",
            "Inspired PO₂": f"{ascent.inspired_mmhg:.0f}",
            "Alveolar PO₂": f"{ascent.alveolar_mmhg:.0f}",
            "Arterial PO₂": f"{ascent.arterial_mmhg:.0f}",
        }
        self.write(numbers, main_sentence(ascent))


class ExpectedPlot:
    """Saturation against altitude for someone who breathes like this, and measured means."""

    def __init__(self, notice: Notice) -> None:
        self._scales = {
            "x": bqplot.LinearScale(min=0.0, max=HIGHEST_M),
            "y": bqplot.LinearScale(min=0.0, max=102.0),
        }
        self.unchanged = make_line(self._scales, SHOWN_M, look.GHOST, "dashed", 2.5)
        self.unchanged.y = UNCHANGED.curve_percent
        self.shoulder = make_line(self._scales, SHOWN_M, look.ACCENT, "dash_dotted", 2.0)
        self.shoulder.y = np.full(SHOWN_M.size, 90.0)
        self.curve = make_line(self._scales, SHOWN_M, look.ARTERIAL, "solid", 4.0)
        self.measured = make_spot(self._scales, look.VENOUS, "diamond")
        place(self.measured, list(MEASURED_M), list(MEASURED_PERCENT))
        self.point = make_spot(self._scales, look.INK, "circle")
        marks = [self.unchanged, self.shoulder, self.curve, self.measured, self.point]
        self.figure = look.figure(marks, self._axes())
        self.says = look.says()
        body = [self._key(), self.figure, self.says]
        self.widget = look.card("Saturation to expect", [self.figure], body, notice)
        self.widget.add_class("ow-tall")

    def show(self, ascent: Ascent) -> None:
        """Draw what to expect of this ascent."""
        self.curve.y = ascent.curve_percent
        place(self.point, [ascent.altitude_m], [ascent.saturation_percent])
        self.says.value = html(saturation_sentence(ascent))

    def _axes(self) -> list[bqplot.Axis]:
        return [
            look.axis(self._scales["x"], "altitude, m", tick_values=ALTITUDE_TICKS_M),
            look.axis(
                self._scales["y"],
                "saturation, %",
                vertical=True,
                tick_values=np.array([0.0, 25.0, 50.0, 75.0, 90.0, 100.0]),
            ),
        ]

    @staticmethod
    def _key() -> widgets.HTML:
        return widgets.HTML(
            look.key(
                [
                    (look.ARTERIAL, "line", "breathing like this"),
                    (look.GHOST, "dashed", "breathing air as at sea level"),
                    (look.VENOUS, "diamond", "measured means"),
                    (look.ACCENT, "dashed", "90 %"),
                ]
            )
        )


class PressuresPlot:
    """Oxygen pressure in windpipe, lungs and arteries against altitude."""

    def __init__(self, notice: Notice) -> None:
        self._scales = {
            "x": bqplot.LinearScale(min=0.0, max=HIGHEST_M),
            "y": bqplot.LinearScale(min=0.0, max=160.0),
        }
        styles = ((look.TISSUE, "dotted"), (look.VENOUS, "dashed"), (look.ARTERIAL, "solid"))
        self.lines = [make_line(self._scales, SHOWN_M, *style, 3.0) for style in styles]
        self.points = make_spot(self._scales, look.INK, "circle")
        self._up = look.axis(self._scales["y"], "oxygen pressure, mmHg", vertical=True)
        across = look.axis(self._scales["x"], "altitude, m", tick_values=ALTITUDE_TICKS_M)
        self.figure = look.figure([*self.lines, self.points], [across, self._up])
        self.says = look.says()
        body = [self._key(), self.figure, self.says]
        self.widget = look.card("From air to artery", [self.figure], body, notice)
        self.widget.add_class("ow-tall")

    def show(self, ascent: Ascent) -> None:
        """Draw the pressures of this ascent."""
        curves = ascent.pressure_curves_mmhg
        for drawn, heights in zip(self.lines, curves, strict=True):
            drawn.y = heights
        steps = [ascent.inspired_mmhg, ascent.alveolar_mmhg, ascent.arterial_mmhg]
        place(self.points, [ascent.altitude_m] * 3, steps)
        limit = look.nice_limit(1.02 * curves.max(), PRESSURE_LADDER)
        look.set_range(self._scales["y"], self._up, 0.0, limit)
        self.says.value = html(pressures_sentence(ascent))

    @staticmethod
    def _key() -> widgets.HTML:
        return widgets.HTML(
            look.key(
                [
                    (look.TISSUE, "dotted", "in the windpipe"),
                    (look.VENOUS, "dashed", "in the lungs"),
                    (look.ARTERIAL, "line", "in the arteries"),
                ]
            )
        )


def altitude(state: Ascent | None = None) -> widgets.VBox:
    """Show what altitude and breathing do to saturation.

    Args:
        state: What to start from; the usual state if left out.
    """
    return StatePanel(
        state or Ascent(),
        lambda notice: (AltitudeNumbers(), ExpectedPlot(notice), PressuresPlot(notice)),
    ).widget
