"""A desaturation study: invented volunteers or a file, a curve, its errors, and their limits."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import Any

import ipywidgets as widgets

from oximetry_workbook.panels.download import CsvButton
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.numbers import numbers_html
from oximetry_workbook.panels.own_study_plots import (
    BlandAltmanPlot,
    CurvePlot,
    DecilesPlot,
    ErrorPlot,
)
from oximetry_workbook.panels.own_study_swings import SwingsPlot
from oximetry_workbook.panels.prose import html
from oximetry_workbook.panels.state_panel import StatePanel
from oximetry_workbook.panels.work import Work
from oximetry_workbook.teach import own_study_words as words
from oximetry_workbook.teach.own_study import LeftOutSoFar, OwnStudy, leave_each_out, with_file

COLUMNS = (
    "A CSV file in UTF-8 with headings, in any order: subject, sao2 (blood, %), and ratio (R) or "
    "spo2 (meter, %) or both; group if there is one. It is read here and kept nowhere. Leave out "
    "names and all else that could tell who somebody is."
)

OF_INVENTED = ("subjects", "lowest_percent", "seed")
"""Controls that say nothing about a file; the spread still moves the model's assumptions."""


class DataCard:
    """Where the pairs come from: a file to upload, what was noticed, and what to take away."""

    def __init__(self, notice: Notice) -> None:
        self._study: OwnStudy | None = None
        self.use: Callable[[bytes], None] = lambda _: None
        self.upload = widgets.FileUpload(
            accept=".csv,.tsv,.txt", description="Read a CSV file", icon=""
        )
        self.upload.layout.width = "auto"
        self.upload.observe(notice.guard(self._uploaded), names="value")
        self.findings = widgets.HTML()
        self.pairs = CsvButton("Pairs as CSV", "pairs.csv", self._pairs_text, notice)
        self.curve = CsvButton("Curve as JSON", "curve.json", self._curve_text, notice)
        actions = widgets.HBox([self.upload, self.pairs.widget, self.curve.widget])
        actions.add_class("ow-actions")
        columns = widgets.HTML(f"<p>{html(COLUMNS)}</p>")
        heading = widgets.HTML("<h3>The pairs</h3>")
        self.widget = widgets.VBox([heading, columns, actions, self.findings])
        for name in ("ow-card", "ow-whole"):
            self.widget.add_class(name)

    def show(self, study: OwnStudy) -> None:
        """Tell what was noticed."""
        self._study = study
        self.pairs.forget()
        self.curve.forget()
        self.findings.value = _list("What was noticed", words.findings(study))

    def _uploaded(self, change: dict[str, Any]) -> None:
        if change["new"]:
            self.use(bytes(change["new"][-1]["content"]))

    def _pairs_text(self) -> str:
        assert self._study is not None
        return str(self._study.pairs.table.to_csv(index=False))

    def _curve_text(self) -> str:
        assert self._study is not None
        if self._study.calibration is None:
            raise ValueError("the pairs have no column ratio; without R there is no curve to save")
        return self._study.calibration.curve.to_json()


class Statement:
    """The numbers, what they say, what they cannot say, and subjects left out in turn."""

    def __init__(self, notice: Notice) -> None:
        self._study = OwnStudy()
        self._numbers, self._shown, self._not_shown = (widgets.HTML() for _ in range(3))
        self.left_out = widgets.HTML()
        self.left_out.add_class("ow-live")
        self.work = Work(self._start, self._take, notice, "Leave each subject out")
        heading = widgets.HTML("<h3>In plain words</h3>")
        parts = [self._numbers, self._shown, self._not_shown, self.work.widget, self.left_out]
        self.widget = widgets.VBox([heading, *parts])
        for name in ("ow-card", "ow-whole"):
            self.widget.add_class(name)

    @property
    def texts(self) -> tuple[str, str, str]:
        """Numbers, what is shown and what is not, as on the page."""
        return self._numbers.value, self._shown.value, self._not_shown.value

    def show(self, study: OwnStudy) -> None:
        """Write a study; what was left out of another one is dropped."""
        self._study = study
        self.work.cancel()
        self._take(None)
        self._numbers.value = numbers_html(words.numbers(study))
        self._shown.value = _list("What the data show", words.shown(study))
        self._not_shown.value = _list("What they cannot show", words.not_shown(study))

    def _start(self) -> Iterator[tuple[float, LeftOutSoFar]]:
        return leave_each_out(self._study)

    def _take(self, found: LeftOutSoFar | None) -> None:
        self.left_out.value = html(words.left_out_sentence(found))


class OwnStudyPanel(StatePanel):
    """The panel; a file that is read becomes its state, or is refused as a whole."""

    def __init__(self) -> None:
        fields = [name for name in OwnStudy.__dataclass_fields__ if name != "uploaded"]
        super().__init__(OwnStudy(), make_views, fields)
        self.data.use = self._use

    @property
    def data(self) -> DataCard:
        """Card of the file."""
        found: DataCard = self.views[-1]  # type: ignore[assignment]
        return found

    def _show(self, _: object = None) -> None:
        super()._show()
        for name in OF_INVENTED:
            self.controls[name].widget.layout.display = (
                None if self.model.state.invented else "none"
            )

    def _use(self, content: bytes) -> None:
        self.model.state = with_file(self.model.state, content)


def make_views(notice: Notice) -> Sequence[Any]:
    """Make the panel's views."""
    plots = (CurvePlot, DecilesPlot, ErrorPlot, BlandAltmanPlot)
    first = [each(notice) for each in plots]
    swings = SwingsPlot(notice)
    swings.widget.add_class("ow-whole")
    return (*first, Statement(notice), swings, DataCard(notice))


def _list(heading: str, sentences: Sequence[str]) -> str:
    if not sentences:
        return ""
    items = "".join(f"<li>{html(each)}</li>" for each in sentences)
    return f"<p><strong>{html(heading)}</strong></p><ul>{items}</ul>"


def own_study() -> widgets.VBox:
    """Show a desaturation study with its curve, its errors, and what they cannot show."""
    return OwnStudyPanel().widget
