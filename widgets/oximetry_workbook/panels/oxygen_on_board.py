"""Oxygen on board: dissociation curve and content, beside the number an oximeter shows."""

from __future__ import annotations

from collections.abc import Mapping

import bqplot
import ipywidgets as widgets
import numpy as np

from oximetry_workbook.panels import look
from oximetry_workbook.panels.marks import make_line, make_spot, place
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.numbers import numbers_html
from oximetry_workbook.panels.prose import html
from oximetry_workbook.panels.state_panel import StatePanel
from oximetry_workbook.teach.oxygen_on_board import (
    DISSOLVED_CURVE_ML_PER_DL,
    SHOULDER,
    SHOWN_MMHG,
    STANDARD,
    OxygenOnBoard,
    content_sentence,
    dissociation_sentence,
    main_sentence,
)
from oximetry_workbook.teach.words import figure, percent

MOST_MMHG = SHOWN_MMHG[-1]
MOST_ML_PER_DL = 30.0
"""Content of blood with 220 g/L haemoglobin, and a little more."""

PRESSURE_TICKS_MMHG = np.arange(0.0, MOST_MMHG + 1.0, 30.0)


class NumbersRow:
    """A row of named numbers over a sentence, as wide as the plots below it."""

    def __init__(self) -> None:
        self.numbers, self.sentence = widgets.HTML(), widgets.HTML()
        self.sentence.add_class("ow-live")
        self.widget = widgets.VBox([self.numbers, self.sentence])
        self.widget.layout.grid_area = "auto / 1 / auto / -1"
        self.widget.add_class("ow-strip")

    def write(self, numbers: Mapping[str, str], sentence: str) -> None:
        """Write numbers by name, and the sentence."""
        self.numbers.value = numbers_html(numbers)
        self.sentence.value = html(sentence)


class OxygenNumbers(NumbersRow):
    """The oximeter's number, and what it does not tell."""

    def show(self, blood: OxygenOnBoard) -> None:
        """Write the numbers of this blood."""
        numbers = {
            "Oximeter shows": percent(blood.oximeter_percent),
            "Hb with oxygen": f"{blood.carrying_percent:.0f} %",
            "Content, mL/dL": f"{blood.content_ml_per_dl:.1f}",
            "Delivery, mL/min": figure(blood.delivery_ml_per_min, 3),
            "P50, mmHg": f"{blood.p50_mmhg:.1f}",
        }
        self.write(numbers, main_sentence(blood))


class DissociationPlot:
    """Saturation against oxygen pressure, with the shoulder and the half-way point."""

    def __init__(self, notice: Notice) -> None:
        self._scales = {
            "x": bqplot.LinearScale(min=0.0, max=MOST_MMHG),
            "y": bqplot.LinearScale(min=0.0, max=102.0),
        }
        self.standard = self._line(look.GHOST, "dashed", 2.5)
        self.standard.y = STANDARD.curve_percent
        self.shoulder = self._line(look.ACCENT, "dash_dotted", 2.0)
        self.half = self._line(look.VENOUS, "dotted", 2.5)
        self.curve = self._line(look.ARTERIAL, "solid", 4.0)
        self.point = make_spot(self._scales, look.INK, "circle")
        marks = [self.standard, self.shoulder, self.half, self.curve, self.point]
        self.figure = look.figure(marks, self._axes())
        self.says = look.says()
        self.widget = look.card(
            "How full: saturation", [self.figure], [self._key(), self.figure, self.says], notice
        )
        self.widget.add_class("ow-tall")

    def show(self, blood: OxygenOnBoard) -> None:
        """Draw this blood's curve and where it is on it."""
        self.curve.y = blood.curve_percent
        shoulder, half = blood.shoulder_mmhg, blood.p50_mmhg
        place(self.shoulder, [0.0, shoulder, shoulder], [100 * SHOULDER, 100 * SHOULDER, 0.0])
        place(self.half, [0.0, half, half], [50.0, 50.0, 0.0])
        place(self.point, [blood.po2_mmhg], [100.0 * blood.saturation])
        self.says.value = html(dissociation_sentence(blood))

    def _line(self, colour: str, style: str, width: float) -> bqplot.Lines:
        return make_line(self._scales, SHOWN_MMHG, colour, style, width)

    def _axes(self) -> list[bqplot.Axis]:
        return [
            look.axis(self._scales["x"], "oxygen pressure, mmHg", tick_values=PRESSURE_TICKS_MMHG),
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
                    (look.ARTERIAL, "line", "this blood"),
                    (look.GHOST, "dashed", "standard blood"),
                    (look.ACCENT, "dashed", "90 %, the shoulder"),
                    (look.VENOUS, "dotted", "half full, P50"),
                ]
            )
        )


class ContentPlot:
    """Oxygen content against oxygen pressure, with the dissolved part at its foot."""

    def __init__(self, notice: Notice) -> None:
        self._scales = {
            "x": bqplot.LinearScale(min=0.0, max=MOST_MMHG),
            "y": bqplot.LinearScale(min=0.0, max=MOST_ML_PER_DL),
        }
        self.standard = self._line(look.GHOST, "dashed", 2.5)
        self.standard.y = STANDARD.content_curve_ml_per_dl
        self.dissolved = self._make_dissolved()
        self.curve = self._line(look.ARTERIAL, "solid", 4.0)
        self.point = make_spot(self._scales, look.INK, "circle")
        marks = [self.dissolved, self.standard, self.curve, self.point]
        self.figure = look.figure(marks, self._axes())
        self.says = look.says()
        self.widget = look.card(
            "How much: content", [self.figure], [self._key(), self.figure, self.says], notice
        )
        self.widget.add_class("ow-tall")

    def show(self, blood: OxygenOnBoard) -> None:
        """Draw this blood's content and where it is on it."""
        self.curve.y = blood.content_curve_ml_per_dl
        place(self.point, [blood.po2_mmhg], [blood.content_ml_per_dl])
        self.says.value = html(content_sentence(blood))

    def _line(self, colour: str, style: str, width: float) -> bqplot.Lines:
        return make_line(self._scales, SHOWN_MMHG, colour, style, width)

    def _make_dissolved(self) -> bqplot.Lines:
        made = self._line(look.TISSUE, "solid", 1.5)
        made.y = DISSOLVED_CURVE_ML_PER_DL
        made.fill, made.fill_colors, made.fill_opacities = "bottom", [look.TISSUE], [0.5]
        return made

    def _axes(self) -> list[bqplot.Axis]:
        return [
            look.axis(self._scales["x"], "oxygen pressure, mmHg", tick_values=PRESSURE_TICKS_MMHG),
            look.axis(
                self._scales["y"],
                "oxygen, mL/dL",
                vertical=True,
                tick_values=np.arange(0.0, MOST_ML_PER_DL + 1.0, 5.0),
            ),
        ]

    @staticmethod
    def _key() -> widgets.HTML:
        return widgets.HTML(
            look.key(
                [
                    (look.ARTERIAL, "line", "this blood"),
                    (look.GHOST, "dashed", "standard blood"),
                    (look.TISSUE, "area", "dissolved part"),
                ]
            )
        )


def oxygen(state: OxygenOnBoard | None = None) -> widgets.VBox:
    """Show what blood carries, beside what an oximeter tells of it.

    Args:
        state: What to start from; the usual state if left out.
    """
    return StatePanel(
        state or OxygenOnBoard(),
        lambda notice: (OxygenNumbers(), DissociationPlot(notice), ContentPlot(notice)),
    ).widget
