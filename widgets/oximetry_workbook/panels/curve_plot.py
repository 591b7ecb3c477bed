"""Plot of the calibration curve with the look-up drawn from R across to the number."""

from __future__ import annotations

import bqplot
import ipywidgets as widgets
import numpy as np
from numpy.typing import NDArray

from oximetry_workbook.meter.curve import Curve
from oximetry_workbook.panels import look
from oximetry_workbook.panels.marks import curve_axes, make_line, make_spot, no_volunteers
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.prose import html
from oximetry_workbook.teach.reading import Reading, beer_lambert_curve
from oximetry_workbook.teach.words import curve_sentence

FloatArray = NDArray[np.float64]

LARGEST_RATIO = 3.0
LOWEST_PERCENT, HIGHEST_PERCENT = 30.0, 102.0
CURVE_OVERLAP = 0.8
CURVE_RATIO = np.linspace(0.15, LARGEST_RATIO, 115)


class CurvePlot:
    """The curve in use, two others for contrast, and the way from R to the number."""

    def __init__(self, textbook: Curve, notice: Notice) -> None:
        self._scales = {
            "x": bqplot.LinearScale(min=0.0, max=LARGEST_RATIO),
            "y": bqplot.LinearScale(min=LOWEST_PERCENT, max=HIGHEST_PERCENT),
        }
        self.shade = no_volunteers(self._scales, LARGEST_RATIO)
        self.textbook = self._curve(look.INK_SOFT, "dotted", 2.0)
        self.beer_lambert = self._curve(look.TISSUE, "dash_dotted", 2.5)
        self.checked = self._curve(look.ACCENT, "solid", 4.0)
        self.guessed = self._curve(look.ACCENT, "dashed", 3.0)
        self.guessed_above = self._curve(look.ACCENT, "dashed", 3.0)
        self.ghost = self._curve(look.GHOST, "solid", 2.0)
        self.look_up = self._curve(look.ARTERIAL, "solid", 2.5)
        self.point = make_spot(self._scales, look.ARTERIAL, "circle")
        self.truth = make_spot(self._scales, look.INK, "diamond", 130)
        self.textbook.y = textbook(CURVE_RATIO)
        self.ghost.visible = False
        self._drawn: tuple[object, ...] | None = None
        self.figure = look.figure(
            self._marks(), curve_axes(self._scales, LARGEST_RATIO, LOWEST_PERCENT)
        )
        self.says = look.says()
        self.widget = look.card(
            "From ratio to number", [self.figure], [self._key(), self.figure, self.says], notice
        )

    def show(self, reading: Reading) -> None:
        """Draw a reading."""
        self._draw_curves(reading)
        self._draw_look_up(self.look_up, reading)
        ratio, shown = reading.measurement.ratio, reading.measurement.spo2_percent
        with self.point.hold_sync():
            self.point.visible = ratio is not None and shown is not None
            if self.point.visible:
                self.point.x, self.point.y = np.array([ratio]), np.array([shown])
        self.truth.y = np.array([reading.carried_percent])
        self.says.value = html(curve_sentence(reading))

    def show_reference(self, reference: Reading | None) -> None:
        """Draw or remove the ghost of a reading kept to compare with."""
        if reference is None:
            self.ghost.visible = False
        else:
            self._draw_look_up(self.ghost, reference)

    def _draw_curves(self, reading: Reading) -> None:
        scenario, curve = reading.scenario, reading.measurement.curve
        drawn = (
            (curve.name, curve.source, curve.valid_percent, curve.numbers),
            scenario.site,
            scenario.extinction_table,
            scenario.red_peak_nm,
            scenario.infrared_peak_nm,
        )
        if drawn == self._drawn:
            return
        self._drawn = drawn
        percent = curve(CURVE_RATIO)
        low, high = curve.valid_percent
        inside = (percent >= low) & (percent <= high)
        self._draw_part(self.checked, percent, inside)
        # one step into the checked part, so that no gap shows where solid turns to dashed
        self._draw_part(self.guessed, percent, percent <= low + CURVE_OVERLAP)
        above = (percent >= high - CURVE_OVERLAP) & (percent <= 100.0) & (high < 100.0)
        self._draw_part(self.guessed_above, percent, above)
        self.beer_lambert.y = beer_lambert_curve(scenario)(CURVE_RATIO)

    @staticmethod
    def _draw_part(drawn: bqplot.Lines, percent: FloatArray, part: NDArray[np.bool_]) -> None:
        with drawn.hold_sync():
            drawn.visible = bool(part.any())
            if drawn.visible:
                drawn.x, drawn.y = CURVE_RATIO[part], percent[part]

    @staticmethod
    def _draw_look_up(drawn: bqplot.Lines, reading: Reading) -> None:
        ratio, shown = reading.measurement.ratio, reading.measurement.spo2_percent
        with drawn.hold_sync():
            drawn.visible = ratio is not None and shown is not None
            if ratio is not None and shown is not None:
                drawn.x = np.array([ratio, ratio, 0.0])
                drawn.y = np.array([LOWEST_PERCENT, shown, shown])

    def _curve(self, colour: str, style: str, width: float) -> bqplot.Lines:
        return make_line(self._scales, CURVE_RATIO, colour, style, width)

    def _marks(self) -> list[bqplot.Mark]:
        return [
            self.shade,
            self.textbook,
            self.beer_lambert,
            self.guessed,
            self.guessed_above,
            self.checked,
            self.ghost,
            self.look_up,
            self.point,
            self.truth,
        ]

    @staticmethod
    def _key() -> widgets.HTML:
        return widgets.HTML(
            look.key(
                [
                    (look.ACCENT, "line", "curve in use"),
                    (look.INK_SOFT, "dotted", "110 − 25 R"),
                    (look.TISSUE, "dashed", "Beer–Lambert alone"),
                    (look.tint(look.WARN), "area", "no volunteers below 70 %"),
                    (look.INK, "diamond", "what the blood carries"),
                ]
            )
        )
