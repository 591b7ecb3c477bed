"""From ratio to number: curves together, and a volunteer study in small with its errors."""

from __future__ import annotations

from collections.abc import Sequence

import bqplot
import ipywidgets as widgets
import numpy as np
from numpy.typing import NDArray

from oximetry_workbook.panels import look
from oximetry_workbook.panels.curves_together import CurvesList, CurvesPlot
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.own_curve import OwnCurvePanel
from oximetry_workbook.panels.prose import html
from oximetry_workbook.panels.state_panel import StatePanel
from oximetry_workbook.study.small_study import PLATEAUS, SAMPLES_PER_PLATEAU
from oximetry_workbook.teach.curves_together import CurvesTogether
from oximetry_workbook.teach.ratio_to_number import (
    FDA_A_RMS_POINTS,
    TRUE_PERCENT,
    CalibrationStudy,
    beyond_sentence,
    error_sentence,
    ethics_sentence,
    people_sentence,
    study_sentence,
)

FloatArray = NDArray[np.float64]

LOWEST_PERCENT, HIGHEST_PERCENT = float(TRUE_PERCENT.min()), 102.0
RATIO_ENDS = (2.5, 3.0, 4.0, 5.0)
CURVE_POINTS = 81
LEAST_ERROR_SHOWN = 5.0

PEOPLE_COLOURS = (look.TISSUE, look.VENOUS, look.ARTERIAL, look.INFRARED, look.GHOST)
SAMPLES = PLATEAUS * SAMPLES_PER_PLATEAU
POINT_COLOURS = [colour for colour in PEOPLE_COLOURS for _ in range(SAMPLES)]
"""One colour a person, coming round again after the last."""


class StudyPlot:
    """Pairs by volunteer, the curve fitted to them, and the truth behind them."""

    def __init__(self, notice: Notice) -> None:
        self._x = bqplot.LinearScale(min=0.0, max=RATIO_ENDS[0])
        self._y = bqplot.LinearScale(min=LOWEST_PERCENT, max=HIGHEST_PERCENT)
        self._scales = {"x": self._x, "y": self._y}
        self.shade = self._shade()
        self.threads = _line(self._scales, PEOPLE_COLOURS, "solid", 1.0)
        self.threads.opacities = [0.45]
        self.other = _line(self._scales, [look.INK], "dotted", 2.0)
        self.beyond = _line(self._scales, [look.ACCENT], "dashed", 3.0)
        self.inside = _line(self._scales, [look.ACCENT], "solid", 4.0)
        self.points = _points(self._scales)
        self.truth = _diamonds(self._scales)
        self._axis = look.axis(self._x, "ratio of ratios R", tick_format=".1f")
        self.figure = look.figure(self._marks(), [self._axis, self._vertical()])
        self.says, self.warns = look.says(), look.says()
        body = [self._key(), self.figure, self.says, self.warns]
        self.widget = look.card("The study", [self.figure], body, notice)
        self.widget.add_class("ow-tall")

    def show(self, study: CalibrationStudy) -> None:
        """Draw a study."""
        end = self._fit_axis(study)
        with self.points.hold_sync():
            self.points.x = study.pairs["ratio"].to_numpy()
            self.points.y = study.pairs["sao2_percent"].to_numpy()
        with self.threads.hold_sync():
            self.threads.x = study.true_ratio
            self.threads.y = np.tile(TRUE_PERCENT, (study.count, 1))
        tens = TRUE_PERCENT % 10.0 == 0.0
        with self.truth.hold_sync():
            self.truth.x, self.truth.y = study.mean_ratio[tens], TRUE_PERCENT[tens]
        self.shade.y = np.full(2, study.lowest_percent)
        self._draw_curves(study, end)
        self.says.value = html(f"{study_sentence(study)} {beyond_sentence(study)}")
        self.warns.value = _warned(study)

    def _draw_curves(self, study: CalibrationStudy, end: float) -> None:
        ratio = np.linspace(0.2, end, CURVE_POINTS)
        for line, curve in ((self.beyond, study.curve), (self.other, study.other)):
            percent = np.asarray(curve(ratio))
            seen = (percent >= LOWEST_PERCENT) & (percent <= HIGHEST_PERCENT)
            _draw(line, ratio[seen], percent[seen])
        first, last = study.pairs["ratio"].min(), study.pairs["ratio"].max()
        taken = np.linspace(max(first, 0.2), min(last, end), CURVE_POINTS)
        percent = np.asarray(study.curve(taken))
        within = (percent >= study.lowest_percent) & (percent <= HIGHEST_PERCENT)
        _draw(self.inside, taken[within], percent[within])

    def _fit_axis(self, study: CalibrationStudy) -> float:
        largest = max(study.pairs["ratio"].max(), study.mean_ratio.max())
        end = next((each for each in RATIO_ENDS if each >= largest), RATIO_ENDS[-1])
        if self._x.max != end or self._axis.tick_values is None:
            self._x.max = end
            self._axis.tick_values = np.arange(0.0, end + 0.1, 0.5)
        return end

    def _marks(self) -> list[bqplot.Mark]:
        curves = [self.other, self.beyond, self.inside]
        return [self.shade, self.threads, self.points, *curves, self.truth]

    def _vertical(self) -> bqplot.Axis:
        ticks = np.arange(50.0, 101.0, 10.0)
        return look.axis(self._y, "saturation of blood, %", vertical=True, tick_values=ticks)

    def _shade(self) -> bqplot.Lines:
        shade = _line(self._scales, [look.WARN], "dashed", 1.0)
        shade.x = np.array([0.0, RATIO_ENDS[-1]])
        shade.fill, shade.fill_colors, shade.fill_opacities = "bottom", [look.WARN], [0.13]
        return shade

    @staticmethod
    def _key() -> widgets.HTML:
        return widgets.HTML(
            look.key(
                [
                    (look.ACCENT, "line", "curve, where there are samples"),
                    (look.ACCENT, "dashed", "and beyond"),
                    (look.INK, "dotted", "the other form"),
                    (look.INK, "diamond", "truth, mean of these people"),
                    (look.VENOUS, "line", "a person’s own truth"),
                    (look.tint(look.WARN), "area", "no samples"),
                ]
            )
        )


class ErrorPlot:
    """What the curve says less the truth, against the truth."""

    def __init__(self, notice: Notice) -> None:
        self._x = bqplot.LinearScale(min=LOWEST_PERCENT, max=100.0)
        self._y = bqplot.LinearScale(min=-LEAST_ERROR_SHOWN, max=LEAST_ERROR_SHOWN)
        self._scales = {"x": self._x, "y": self._y}
        self.shade = self._area(look.WARN, 0.13)
        self.band = self._area(look.ACCENT, 0.16)
        self.limits = _line(self._scales, [look.WARN], "dotted", 2.0)
        self.limits.x = np.array([LOWEST_PERCENT, 100.0])
        self.limits.y = np.array([[s * FDA_A_RMS_POINTS] * 2 for s in (-1.0, 1.0)])
        self.other = _line(self._scales, [look.INK], "dotted", 2.0)
        self.beyond = _line(self._scales, [look.ACCENT], "dashed", 3.0)
        self.inside = _line(self._scales, [look.ACCENT], "solid", 4.0)
        self.points = _points(self._scales)
        self._axis = look.axis(self._y, "curve less blood, points", vertical=True)
        self.figure = look.figure(self._marks(), [self._axis, self._horizontal()])
        self.says, self.people = look.says(), look.says()
        body = [self._key(), self.figure, self.says, self.people]
        self.widget = look.card("Its errors", [self.figure], body, notice)
        self.widget.add_class("ow-tall")

    def show(self, study: CalibrationStudy) -> None:
        """Draw a study's errors."""
        both = (study.curve, study.other)
        chosen, other = (curve(study.mean_ratio) - TRUE_PERCENT for curve in both)
        largest = max(np.abs(each).max() for each in (study.errors, chosen, other))
        limit = look.nice_limit(max(largest, LEAST_ERROR_SHOWN))
        look.set_range(self._y, self._axis, -limit, limit)
        with self.points.hold_sync():
            self.points.x = study.pairs["sao2_percent"].to_numpy()
            self.points.y = study.errors
        taken = np.linspace(study.lowest_percent, 100.0, TRUE_PERCENT.size)
        _draw(self.beyond, TRUE_PERCENT, chosen)
        _draw(self.inside, taken, np.interp(taken, TRUE_PERCENT[::-1], chosen[::-1]))
        _draw(self.other, TRUE_PERCENT, other)
        ends = np.array([study.lowest_percent, 100.0])
        self._fill(self.band, ends, study.agreement.a_rms)
        self._fill(self.shade, np.array([LOWEST_PERCENT, study.lowest_percent]), limit)
        self.says.value = html(error_sentence(study))
        self.people.value = html(people_sentence(study))

    @staticmethod
    def _fill(area: bqplot.Lines, across: FloatArray, half: float) -> None:
        with area.hold_sync():
            area.x = across
            area.y = np.array([[-half, -half], [half, half]])

    def _marks(self) -> list[bqplot.Mark]:
        curves = [self.other, self.beyond, self.inside]
        return [self.shade, self.band, self.limits, self.points, *curves]

    def _horizontal(self) -> bqplot.Axis:
        ticks = np.arange(50.0, 101.0, 10.0)
        return look.axis(self._x, "saturation of blood, %", tick_values=ticks)

    def _area(self, colour: str, opacity: float) -> bqplot.Lines:
        area = _line(self._scales, [colour], "solid", 0.0)
        area.y = np.array([[-1.0, -1.0], [1.0, 1.0]])
        area.fill, area.fill_colors, area.fill_opacities = "between", [colour], [opacity]
        return area

    @staticmethod
    def _key() -> widgets.HTML:
        return widgets.HTML(
            look.key(
                [
                    (look.ACCENT, "line", "curve, on the mean of these people"),
                    (look.INK, "dotted", "the other form"),
                    (look.tint(look.ACCENT), "area", "± A_rms of the samples"),
                    (look.WARN, "dotted", "± 3, what A_rms may be"),
                    (look.tint(look.WARN), "area", "no samples"),
                ]
            )
        )


def _warned(study: CalibrationStudy) -> str:
    return f"<strong>{html(ethics_sentence(study))}</strong>"


def _draw(line: bqplot.Lines, x: FloatArray, y: FloatArray) -> None:
    with line.hold_sync():
        line.visible = x.size > 1
        if x.size > 1:
            line.x, line.y = x, y


def _line(
    scales: dict[str, bqplot.Scale], colours: Sequence[str], style: str, width: float
) -> bqplot.Lines:
    return bqplot.Lines(
        x=np.array([0.0, 1.0]),
        y=np.full(2, LOWEST_PERCENT),
        scales=scales,
        colors=list(colours),
        line_style=style,
        stroke_width=width,
    )


def _points(scales: dict[str, bqplot.Scale]) -> bqplot.Scatter:
    return bqplot.Scatter(
        x=np.zeros(1),
        y=np.full(1, LOWEST_PERCENT),
        scales=scales,
        colors=POINT_COLOURS,
        default_size=22,
        opacities=[0.75],
    )


def _diamonds(scales: dict[str, bqplot.Scale]) -> bqplot.Scatter:
    return bqplot.Scatter(
        x=np.zeros(1),
        y=np.full(1, LOWEST_PERCENT),
        scales=scales,
        colors=[look.INK],
        marker="diamond",
        default_size=90,
    )


def calibration(state: CurvesTogether | CalibrationStudy | None = None) -> widgets.VBox:
    """Show curves of all origins, and a volunteer study that makes one.

    Args:
        state: What one of the two starts from; the usual state if left out.
    """
    together = state if isinstance(state, CurvesTogether) else CurvesTogether()
    studied = state if isinstance(state, CalibrationStudy) else CalibrationStudy()
    curves = OwnCurvePanel(together, lambda notice: (CurvesPlot(notice), CurvesList()))
    study = StatePanel(studied, lambda notice: (StudyPlot(notice), ErrorPlot(notice)))
    study.widget.layout.margin = "0.8rem 0 0"
    both = widgets.VBox([curves.widget, study.widget])
    both.layout.overflow = "visible"
    return both
