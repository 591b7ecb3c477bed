"""Plots of the reading against what is in the blood, and the spectra that explain them."""

from __future__ import annotations

from collections.abc import Sequence

import bqplot
import ipywidgets as widgets
import numpy as np
from numpy.typing import NDArray

from oximetry_workbook.panels import look
from oximetry_workbook.panels.blood import LEAST_EXTINCTION, SpectraPlot
from oximetry_workbook.panels.marks import make_line, make_spot, place
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.prose import html
from oximetry_workbook.teach.colours import BloodSamples
from oximetry_workbook.teach.other_blood import (
    DOGS_MOST_PERCENT,
    DOGS_POINT_PERCENT,
    MOST_DYE_MG_PER_L,
    PLATEAU_PERCENT,
    RULE_WEIGHT,
    SMOKERS_OFFSET,
    SMOKERS_PERCENT,
    SMOKERS_WEIGHT,
    Line,
    OtherBlood,
)
from oximetry_workbook.teach.other_blood_words import (
    dye_sentence,
    methaemoglobin_sentence,
    monoxide_sentence,
    spectra_sentence,
)

Key = Sequence[tuple[str, str, str]]

RULE_X_PERCENT = np.array([0.0, 60.0])
DOGS_X_PERCENT = np.array([0.0, DOGS_MOST_PERCENT])
SMOKERS_X_PERCENT = np.array(SMOKERS_PERCENT)
DYE_X_MG_PER_L = np.array([0.0, MOST_DYE_MG_PER_L])

MONOXIDE_COLOUR, METHAEMOGLOBIN_COLOUR = look.WARN, look.PIGMENT


class ReadingPlot:
    """Reading over an amount of something, beside what the blood carries.

    Attributes:
        chain: The readings of the simulated chain.
        carried: Fractional saturation.
        point: This blood.
    """

    def __init__(self, title: str, across: str, ticks: NDArray[np.float64], notice: Notice) -> None:
        self._scales = {
            "x": bqplot.LinearScale(min=0.0, max=float(ticks[-1])),
            "y": bqplot.LinearScale(min=0.0, max=102.0),
        }
        ends = ticks[[0, -1]]
        self.carried = make_line(self._scales, ends, look.ARTERIAL, "dashed", 2.5)
        self.chain = make_line(self._scales, ends, look.ACCENT, "solid", 4.0)
        self.point = make_spot(self._scales, look.INK, "circle")
        self.published, key = self._make_published()
        up = np.arange(0.0, 101.0, 20.0)
        axes = [
            look.axis(self._scales["x"], across, tick_values=ticks),
            look.axis(self._scales["y"], "percent", vertical=True, tick_values=up),
        ]
        self.figure = look.figure([*self.published, self.carried, self.chain, self.point], axes)
        self.says = look.says()
        body = [widgets.HTML(look.key(key)), self.figure, self.says]
        self.widget = look.card(title, [self.figure], body, notice)
        self.widget.add_class("ow-tall")

    def _make_published(self) -> tuple[list[bqplot.Mark], Key]:
        """Make the marks of what others found, and the whole plot's key."""
        raise NotImplementedError

    def _line(self, x: NDArray[np.float64], colour: str, style: str, width: float) -> bqplot.Lines:
        return make_line(self._scales, x, colour, style, width)

    @staticmethod
    def _draw(drawn: bqplot.Lines, line: Line) -> None:
        with drawn.hold_sync():
            drawn.visible = line.x.size > 1
            if drawn.visible:
                drawn.x, drawn.y = line.x, line.percent

    def _place_point(self, amount: float, blood: OtherBlood) -> None:
        shown = blood.shown_percent
        with self.point.hold_sync():
            self.point.visible = shown is not None
            if shown is not None:
                self.point.x, self.point.y = np.array([amount]), np.array([shown])


class MonoxidePlot(ReadingPlot):
    """Reading over COHb, by the chain, by a rule, and as volunteers and dogs had it."""

    def __init__(self, notice: Notice) -> None:
        ticks = np.arange(0.0, DOGS_MOST_PERCENT + 1.0, 15.0)
        super().__init__("Carbon monoxide", "COHb, % of all haemoglobin", ticks, notice)

    def show(self, blood: OtherBlood) -> None:
        """Draw what this blood would read with more or less COHb."""
        self._draw(self.chain, blood.monoxide_line)
        most = float(blood.monoxide_line.x[-1])
        ends = np.array([0.0, most])
        place(self.carried, ends, blood.carrying_percent(ends, blood.methaemoglobin))
        dogs, rule, smokers, _ = self.published
        dogs.y = blood.counted_as_oxygen(DOGS_X_PERCENT, 1.0)
        rule.y = blood.counted_as_oxygen(RULE_X_PERCENT, RULE_WEIGHT)
        smokers.y = blood.counted_as_oxygen(SMOKERS_X_PERCENT, SMOKERS_WEIGHT, SMOKERS_OFFSET)
        self._place_point(100.0 * blood.carboxyhaemoglobin, blood)
        self.says.value = html(monoxide_sentence(blood))

    def _make_published(self) -> tuple[list[bqplot.Mark], Key]:
        above = make_spot(self._scales, look.GHOST, "triangle-up", 130)
        place(above, *([each] for each in DOGS_POINT_PERCENT))
        marks = [
            self._line(DOGS_X_PERCENT, look.GHOST, "dotted", 3.0),
            self._line(RULE_X_PERCENT, look.TISSUE, "dash_dotted", 2.5),
            self._line(SMOKERS_X_PERCENT, look.INK, "solid", 5.0),
            above,
        ]
        key = [
            (look.ACCENT, "line", "this physics"),
            (look.ARTERIAL, "dashed", "HbO₂ of all haemoglobin (fractional)"),
            (look.GHOST, "dotted", "HbO₂ + COHb: dogs (Barker and Tremper 1987)"),
            (look.GHOST, "triangle", "above 90 % in dogs, HbO₂ below 30 % (the same)"),
            (look.INK, "line", "HbO₂ + 1.06 COHb − 2.49: smokers (Tashiro and others 1988)"),
            (look.TISSUE, "dashed", "HbO₂ + 0.9 COHb: rule of thumb (from memory)"),
        ]
        return marks, key


class MethaemoglobinPlot(ReadingPlot):
    """Reading over MetHb, from this saturation and from a low one."""

    def __init__(self, notice: Notice) -> None:
        super().__init__(
            "Methaemoglobin", "MetHb, % of all haemoglobin", np.arange(0.0, 61.0, 10.0), notice
        )

    def show(self, blood: OtherBlood) -> None:
        """Draw what this blood would read with more or less MetHb."""
        self._draw(self.chain, blood.methaemoglobin_line)
        self._draw(self.published[0], blood.compared_line)
        ends = np.array([0.0, float(blood.methaemoglobin_line.x[-1])])
        place(self.carried, ends, blood.carrying_percent(ends, blood.carboxyhaemoglobin))
        self._place_point(100.0 * blood.methaemoglobin, blood)
        self.says.value = html(methaemoglobin_sentence(blood))

    def _make_published(self) -> tuple[list[bqplot.Mark], Key]:
        first, last, level = PLATEAU_PERCENT
        plateau = self._line(np.array([first, last]), look.TISSUE, "dotted", 3.5)
        plateau.y = np.full(2, level)
        marks = [self._line(np.array([0.0, last]), look.GHOST, "dash_dotted", 2.5), plateau]
        key = [
            (look.ACCENT, "line", "this physics"),
            (look.GHOST, "dashed", "this physics, functional saturation 70 %"),
            (look.ARTERIAL, "dashed", "HbO₂ of all haemoglobin (fractional)"),
            (look.TISSUE, "dotted", "dogs: near 85 % (Barker and others 1989, from memory)"),
        ]
        return marks, key


class DyePlot(ReadingPlot):
    """Reading over the amount of the dye chosen."""

    def __init__(self, notice: Notice) -> None:
        ticks = np.arange(0.0, MOST_DYE_MG_PER_L + 1.0, 5.0)
        super().__init__("A dye", "dye, mg per litre of blood", ticks, notice)

    def show(self, blood: OtherBlood) -> None:
        """Draw what this blood would read with more or less of the dye."""
        self._draw(self.chain, blood.dye_line)
        self.carried.y = np.full(2, blood.fractional_percent)
        (found,), there = self.published, blood.dye_point
        with found.hold_sync():
            found.visible = there is not None
            if there is not None:
                found.x, found.y = (np.array([each]) for each in there)
        self._place_point(0.0 if there is None else blood.dye_mg_per_l, blood)
        self.says.value = html(dye_sentence(blood))

    def _make_published(self) -> tuple[list[bqplot.Mark], Key]:
        key = [
            (look.ACCENT, "line", "this physics"),
            (look.ARTERIAL, "dashed", "HbO₂ of all haemoglobin (fractional)"),
            (look.INK, "diamond", "in people with ordinary blood"),
        ]
        return [make_spot(self._scales, look.INK, "diamond", 130)], key


class FourSpectraPlot(SpectraPlot):
    """Extinction of all four haemoglobins, with the two LEDs' light underneath."""

    def __init__(self, notice: Notice) -> None:
        super().__init__(notice)
        samples = BloodSamples()
        super().show(samples)
        self.others = {
            "COHb": self._line(MONOXIDE_COLOUR, "dotted"),
            "MetHb": self._line(METHAEMOGLOBIN_COLOUR, "dash_dotted"),
        }
        for species, line in self.others.items():
            # a logarithmic axis has no place for COHb's zero at 1000 nm
            line.y = np.maximum(samples.spectrum(species), LEAST_EXTINCTION / 10.0)
        self.figure.marks = [*self.figure.marks, *self.others.values()]
        self.says.value = html(spectra_sentence())

    def show(self, state: OtherBlood) -> None:
        """Nothing here depends on how much there is of each."""

    @staticmethod
    def _key() -> widgets.HTML:
        return widgets.HTML(
            look.key(
                [
                    (look.ARTERIAL, "line", "with oxygen, HbO₂"),
                    (look.VENOUS, "dashed", "without, HHb"),
                    (MONOXIDE_COLOUR, "dotted", "with carbon monoxide, COHb"),
                    (METHAEMOGLOBIN_COLOUR, "dashed", "methaemoglobin, MetHb"),
                    (look.RED, "area", "red LED"),
                    (look.INFRARED, "area", "infrared LED"),
                ]
            )
        )
