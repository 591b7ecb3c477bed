"""Plots of a desaturation study: its curve and its errors."""

from __future__ import annotations

import bqplot
import ipywidgets as widgets
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from oximetry_workbook.panels import look
from oximetry_workbook.panels.marks import Scales, make_line, place
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.prose import html
from oximetry_workbook.study.breakdown import DECILES_PERCENT
from oximetry_workbook.study.calibration_fit import Calibration
from oximetry_workbook.teach import own_study_words as words
from oximetry_workbook.teach.own_study import OwnStudy

FloatArray = NDArray[np.float64]

PEOPLE_COLOURS = (look.TISSUE, look.VENOUS, look.ARTERIAL, look.INFRARED, look.INK_SOFT)
LADDER = (1.0, 2.0, 4.0, 8.0)
LEAST_ERROR, LEAST_A_RMS = 8.0, 6.0
"""Axes reach at least this far [points]."""

LOWEST_ENDS = (60.0, 40.0, 0.0)
HIGHEST_PERCENT = 104.0
CURVE_POINTS = 81
LEAST_RATIO = 0.2
"""Curves are drawn from here on, or from the lowest R of the pairs."""

MIDDLES = np.array([np.mean(each) for each in DECILES_PERCENT])


class CurvePlot:
    """Pairs by person, the curve fitted to them with its band, and its validated range."""

    def __init__(self, notice: Notice) -> None:
        self._scales = _scales((0.0, 2.0), (60.0, HIGHEST_PERCENT))
        self.shade = make_line(self._scales, np.array([0.0, 10.0]), look.WARN, "dashed", 1.0)
        self.shade.fill, self.shade.fill_colors = "bottom", [look.WARN]
        self.shade.fill_opacities = [0.13]
        self.band = _area(self._scales, look.ACCENT, 0.25)
        self.beyond = make_line(self._scales, np.zeros(2), look.ACCENT, "dashed", 2.5)
        self.inside = make_line(self._scales, np.zeros(2), look.ACCENT, "solid", 3.5)
        self.points = _points(self._scales)
        self._across = look.axis(self._scales["x"], "ratio of ratios R", tick_format=".1f")
        self._up = look.axis(self._scales["y"], "saturation of blood, %", vertical=True)
        marks = [self.shade, self.band, self.points, self.beyond, self.inside]
        self.figure = look.figure(marks, [self._across, self._up])
        self.says = look.says()
        body = [self._key(), self.figure, self.says]
        self.widget = look.card("The curve", [self.figure], body, notice)
        self.widget.add_class("ow-tall")

    def show(self, study: OwnStudy) -> None:
        """Draw a study."""
        self.says.value = html(words.curve_sentence(study))
        found, pairs = study.calibration, study.fitted_pairs
        for mark in self.figure.marks:
            mark.visible = found is not None
        if found is None or pairs is None:
            return
        self._fit_axes(pairs)
        _draw_people(self.points, pairs, pairs["ratio"], pairs["sao2_percent"])
        self.shade.y = np.full(2, max(found.curve.valid_percent[0], self._scales["y"].min))
        self._draw_curve(found)

    def _draw_curve(self, found: Calibration) -> None:
        first, last = found.ratio_range
        everywhere = np.linspace(min(LEAST_RATIO, first), self._scales["x"].max, CURVE_POINTS)
        self._draw(self.beyond, everywhere, np.asarray(found.curve(everywhere)))
        taken = np.linspace(first, last, CURVE_POINTS)
        percent = np.asarray(found.curve(taken))
        low, high = found.curve.valid_percent
        within = (percent >= low) & (percent <= high)
        self._draw(self.inside, taken[within], percent[within])
        place(self.band, taken, np.stack(found.band(taken)))  # type: ignore[arg-type]

    def _draw(self, line: bqplot.Lines, ratio: FloatArray, percent: FloatArray) -> None:
        low = self._scales["y"].min
        seen = (percent >= low) & (percent <= HIGHEST_PERCENT)
        line.visible = int(seen.sum()) > 1
        if line.visible:
            place(line, ratio[seen], percent[seen])

    def _fit_axes(self, pairs: pd.DataFrame) -> None:
        end = max(2.0, np.ceil(2.0 * pairs["ratio"].max()) / 2.0)
        self._scales["x"].max = end
        self._across.tick_values = np.arange(0.0, end + 0.1, 0.5 if end <= 4.0 else 2.0)
        lowest = pairs["sao2_percent"].min()
        low = next(each for each in LOWEST_ENDS if each <= lowest)
        self._scales["y"].min = low
        self._up.tick_values = np.linspace(low, 100.0, 5)

    @staticmethod
    def _key() -> widgets.HTML:
        entries = [
            (look.ACCENT, "line", "curve, where checked"),
            (look.ACCENT, "dashed", "and beyond"),
            (look.tint(look.ACCENT), "area", "95 % band of the mean curve"),
            (look.tint(look.WARN), "area", "below the checked range"),
        ]
        return widgets.HTML(look.key(entries))


class ErrorPlot:
    """Reading less blood, against blood."""

    def __init__(self, notice: Notice) -> None:
        self._scales = _scales((60.0, 101.0), (-LEAST_ERROR, LEAST_ERROR))
        self.zero = make_line(self._scales, np.array([0.0, 110.0]), look.GHOST, "solid", 1.0)
        self.zero.y = np.zeros(2)
        self.points = _points(self._scales)
        self._across = look.axis(self._scales["x"], "saturation of blood, %")
        self._up = look.axis(self._scales["y"], "reading less blood, points", vertical=True)
        self.figure = look.figure([self.zero, self.points], [self._across, self._up])
        self.says = look.says()
        self.widget = look.card(
            "Errors against blood", [self.figure], [self.figure, self.says], notice
        )
        self.widget.add_class("ow-tall")

    def show(self, study: OwnStudy) -> None:
        """Draw a study."""
        table = study.judged_pairs
        _fit(self._scales, self._across, self._up, table["sao2_percent"], study.errors)
        _draw_people(self.points, table, table["sao2_percent"], study.errors)
        self.says.value = html(words.errors_sentence(study))


class BlandAltmanPlot:
    """Difference of meter and blood against their mean, with bias and limits of agreement."""

    def __init__(self, notice: Notice) -> None:
        self._scales = _scales((60.0, 105.0), (-LEAST_ERROR, LEAST_ERROR))
        ends = np.array([0.0, 110.0])
        self.band = _area(self._scales, look.ACCENT, 0.18)
        self.bias = make_line(self._scales, ends, look.ACCENT, "solid", 3.0)
        self.limits = make_line(self._scales, ends, look.ACCENT, "dashed", 2.0)
        self.points = _points(self._scales)
        self._across = look.axis(self._scales["x"], "mean of reading and blood, %")
        self._up = look.axis(self._scales["y"], "reading less blood, points", vertical=True)
        marks = [self.band, self.points, self.limits, self.bias]
        self.figure = look.figure(marks, [self._across, self._up])
        self.says = look.says()
        body = [self._key(), self.figure, self.says]
        self.widget = look.card("Bland–Altman", [self.figure], body, notice)
        self.widget.add_class("ow-tall")

    def show(self, study: OwnStudy) -> None:
        """Draw a study; bias and limits are those of blood from 70 to 100 %."""
        table, it = study.judged_pairs, study.result.overall
        mean = (table["spo2_percent"] + table["sao2_percent"]) / 2.0
        _fit(self._scales, self._across, self._up, mean, study.errors)
        _draw_people(self.points, table, mean, study.errors)
        self.bias.y = np.full(2, it.bias)
        self.limits.y = np.array([[it.lower_limit] * 2, [it.upper_limit] * 2])
        place(self.band, self.bias.x, [[end] * 2 for end in it.intervals["bias"]])  # type: ignore[list-item]
        self.says.value = html(words.limits_sentence(study))

    @staticmethod
    def _key() -> widgets.HTML:
        entries = [
            (look.ACCENT, "line", "bias"),
            (look.tint(look.ACCENT), "area", "its 95 % interval"),
            (look.ACCENT, "dashed", "95 % limits of agreement"),
        ]
        return widgets.HTML(look.key(entries))


class DecilesPlot:
    """A_rms by saturation of the blood with intervals, and the limits asked for."""

    def __init__(self, notice: Notice) -> None:
        self._scales = _scales((69.0, 101.0), (0.0, LEAST_A_RMS))
        self.bars = [_bar(self._scales, middle) for middle in MIDDLES]
        self.reach = [make_line(self._scales, np.full(2, x), look.INK, "solid", 2.5)
                      for x in MIDDLES]  # fmt: skip
        limits = [self._limit(*each) for each in zip(words.SHOWN_LIMITS.values(),
                  ("dashed", "dotted"), strict=True)]  # fmt: skip
        across = look.axis(
            self._scales["x"], "saturation of blood, %", tick_values=np.arange(70.0, 101.0, 10.0)
        )
        self._up = look.axis(self._scales["y"], "A_rms, points", vertical=True)
        self.limits = limits
        self.figure = look.figure([*self.bars, *limits, *self.reach], [across, self._up])
        self.says = look.says()
        body = [self._key(), self.figure, self.says]
        self.widget = look.card("Where it errs most", [self.figure], body, notice)
        self.widget.add_class("ow-tall")

    def show(self, study: OwnStudy) -> None:
        """Draw a study."""
        largest = LEAST_A_RMS
        for bar, reach, part in zip(self.bars, self.reach, study.result.deciles, strict=True):
            bar.visible = reach.visible = part.agreement is not None
            if part.agreement is not None:
                low, high = part.agreement.intervals["a_rms"]
                bar.y = np.array([[0.0, 0.0], [part.agreement.a_rms] * 2])
                reach.y = np.array([low, high])
                largest = max(largest, high, part.agreement.a_rms)
        look.set_range(
            self._scales["y"], self._up, 0.0, look.nice_limit(largest, (1.2, 2.0, 4.0, 6.0, 8.0))
        )
        self.says.value = html(words.deciles_sentence(study))

    def _limit(self, points: float, style: str) -> bqplot.Lines:
        line = make_line(self._scales, np.array([69.0, 101.0]), look.WARN, style, 2.0)
        line.y = np.full(2, points)
        return line

    @staticmethod
    def _key() -> widgets.HTML:
        limits = zip(words.SHOWN_LIMITS, ("dashed", "dotted"), strict=True)
        entries = [
            (look.tint(look.ACCENT), "area", "A_rms"),
            (look.INK, "line", "95 % interval"),
            *((look.WARN, kind, name) for name, kind in limits),
        ]
        return widgets.HTML(look.key(entries))


def _scales(across: tuple[float, float], up: tuple[float, float]) -> dict[str, bqplot.Scale]:
    return {
        "x": bqplot.LinearScale(min=across[0], max=across[1]),
        "y": bqplot.LinearScale(min=up[0], max=up[1]),
    }


def _area(scales: Scales, colour: str, opacity: float) -> bqplot.Lines:
    area = make_line(scales, np.zeros(2), colour, "solid", 0.0)
    area.y = np.zeros((2, 2))
    area.fill, area.fill_colors, area.fill_opacities = "between", [colour], [opacity]
    return area


def _bar(scales: Scales, middle: float) -> bqplot.Lines:
    bar = _area(scales, look.ACCENT, 0.4)
    bar.x = np.array([middle - 3.5, middle + 3.5])
    return bar


def _points(scales: Scales) -> bqplot.Scatter:
    return bqplot.Scatter(
        x=np.zeros(1), y=np.zeros(1), scales=dict(scales), default_size=20, opacities=[0.75]
    )


def _draw_people(points: bqplot.Scatter, table: pd.DataFrame, x: object, y: object) -> None:
    """Draw pairs, one colour a person, coming round again after the last."""
    codes = pd.factorize(table["subject"])[0]
    with points.hold_sync():
        points.x, points.y = np.asarray(x), np.asarray(y)
        points.colors = [PEOPLE_COLOURS[code % len(PEOPLE_COLOURS)] for code in codes]


def _fit(
    scales: Scales, across: bqplot.Axis, up: bqplot.Axis, percent: pd.Series, errors: FloatArray
) -> None:
    limit = look.nice_limit(max(LEAST_ERROR, float(np.abs(errors).max())), LADDER)
    look.set_range(scales["y"], up, -limit, limit)
    low = next(each for each in LOWEST_ENDS if each <= percent.min())
    scales["x"].min = low
    across.tick_values = np.linspace(low, 100.0, 5)
