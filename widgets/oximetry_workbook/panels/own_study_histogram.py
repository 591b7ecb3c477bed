"""How often each error of a study comes, beside normal errors as the limits take for granted."""

from __future__ import annotations

import bqplot
import ipywidgets as widgets
import numpy as np

from oximetry_workbook.panels import look
from oximetry_workbook.panels.marks import make_line, place
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.prose import html
from oximetry_workbook.teach.own_study import OwnStudy
from oximetry_workbook.teach.own_study_histogram import (
    errors_counted,
    histogram,
    histogram_sentence,
    normal_counts,
)

LADDER, PAIRS_LADDER = (1.0, 2.0, 4.0, 8.0), (1.2, 2.0, 4.0, 6.0, 8.0)
LEAST_ERROR = 8.0
"""The axis reaches at least this far on either side of 0 [points]."""

NORMAL_POINTS = 129


class HistogramPlot:
    """Errors counted, the bias, the limits of agreement, and a normal curve beside them."""

    def __init__(self, notice: Notice) -> None:
        self._across = bqplot.LinearScale(min=-LEAST_ERROR, max=LEAST_ERROR)
        self._up = bqplot.LinearScale(min=0.0, max=50.0)
        scales = {"x": self._across, "y": self._up}
        self.counts = make_line(scales, np.zeros(2), look.ACCENT, "solid", 1.0)
        self.counts.fill, self.counts.fill_colors = "bottom", [look.ACCENT]
        self.counts.fill_opacities = [0.3]
        self.normal = make_line(scales, np.zeros(2), look.INK_SOFT, "solid", 1.5)
        self.bias = make_line(scales, np.zeros(2), look.ACCENT, "solid", 3.0)
        self.limits = [make_line(scales, np.zeros(2), look.ACCENT, "dashed", 2.0) for _ in range(2)]
        self._points = look.axis(self._across, "reading less blood, points")
        self._number = look.axis(self._up, "pairs", vertical=True)
        marks = [self.counts, self.normal, *self.limits, self.bias]
        self.figure = look.figure(marks, [self._points, self._number])
        self.says = look.says()
        body = [self._key(), self.figure, self.says]
        self.widget = look.card("How often each error comes", [self.figure], body, notice)
        self.widget.add_class("ow-tall")

    def show(self, study: OwnStudy) -> None:
        """Draw a study; pairs with blood from 70 to 100 %."""
        it, errors = study.result.overall, errors_counted(study)
        ends = (it.lower_limit, it.upper_limit)
        reach = look.nice_limit(float(np.abs([LEAST_ERROR, *ends, *errors]).max()), LADDER)
        counted = histogram(study, reach)
        across = np.linspace(-reach, reach, NORMAL_POINTS)
        normal = normal_counts(study, across, counted.width)
        top = look.nice_limit(max(counted.counts.max(), normal.max()), PAIRS_LADDER)
        look.set_range(self._across, self._points, -reach, reach)
        look.set_range(self._up, self._number, 0.0, top)
        steps = np.concatenate([[0.0], np.repeat(counted.counts, 2), [0.0]])
        place(self.counts, np.repeat(counted.edges, 2), steps)  # type: ignore[arg-type]
        place(self.normal, across, normal)  # type: ignore[arg-type]
        place(self.bias, [it.bias] * 2, [0.0, top])
        for line, end in zip(self.limits, ends, strict=True):
            place(line, [end] * 2, [0.0, top])
        self.says.value = html(histogram_sentence(study, counted))

    @staticmethod
    def _key() -> widgets.HTML:
        entries = [
            (look.tint(look.ACCENT), "area", "pairs"),
            (look.ACCENT, "line", "bias"),
            (look.ACCENT, "dashed", "95 % limits of agreement"),
            (look.INK_SOFT, "line", "if errors were normal"),
        ]
        return widgets.HTML(look.key(entries))
