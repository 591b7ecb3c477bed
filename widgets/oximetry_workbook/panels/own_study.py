"""A desaturation study: invented volunteers or a file, a curve, its errors, and their limits."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import Any

import ipywidgets as widgets

from oximetry_workbook.meter.curve import Curve
from oximetry_workbook.meter.files.source import short_label
from oximetry_workbook.panels import look
from oximetry_workbook.panels.download import CsvButton
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.numbers import numbers_html
from oximetry_workbook.panels.own_curve import OwnCurve
from oximetry_workbook.panels.own_study_histogram import HistogramPlot
from oximetry_workbook.panels.own_study_plots import (
    BlandAltmanPlot,
    CurvePlot,
    DecilesPlot,
    ErrorPlot,
)
from oximetry_workbook.panels.own_study_swings import SwingsPlot
from oximetry_workbook.panels.prose import html
from oximetry_workbook.panels.report import Progress, report_button
from oximetry_workbook.panels.state_panel import StatePanel
from oximetry_workbook.panels.still import SOURCE, file_source
from oximetry_workbook.panels.study_report import FILE_NAME, study_report
from oximetry_workbook.panels.work import Work
from oximetry_workbook.teach import own_study_words as words
from oximetry_workbook.teach.own_study import LeftOutSoFar, OwnStudy, leave_each_out, with_file
from oximetry_workbook.teach.page_study import AGREEMENT, CURVE, SENSITIVITY

COLUMNS = (
    "A CSV file in UTF-8 with headings, in any order: subject, sao2 (blood, %), and ratio (R) or "
    "spo2 (meter, %) or both; group if there is one. It is read here and kept nowhere. Leave out "
    "names and all else that could tell who somebody is."
)

OF_INVENTED = ("subjects", "lowest_percent", "seed")
"""Controls that say nothing about a file; the spread still moves the model's assumptions."""


class DataCard:
    """Where the pairs come from: a file to upload, what was noticed, and what to take away.

    Attributes:
        use: Takes name and content of a file.
        start_report: Begins the report of what is shown.
        own: The curve kept for the other chapters.
    """

    def __init__(self, notice: Notice) -> None:
        self._study: OwnStudy | None = None
        self.use: Callable[[str, bytes], None] = lambda _name, _content: None
        self.start_report: Callable[[], Progress] = lambda: iter(())
        self.upload = widgets.FileUpload(
            accept=".csv,.tsv,.txt", description="Read a CSV file", icon=""
        )
        self.upload.layout.width = "auto"
        self.upload.observe(notice.guard(self._uploaded), names="value")
        self.findings = widgets.HTML()
        self.pairs = CsvButton("Pairs as CSV", "pairs.csv", self._pairs_text, notice)
        use = widgets.Button(description="Use this curve in the workbook")
        use.on_click(notice.guard(lambda _: self.own.keep(self._fitted())))
        self.own = OwnCurve(lambda: None, notice, [use])
        self.curve = CsvButton("Curve as JSON", "curve.json", self._curve_text, notice)
        self.report = report_button(FILE_NAME, lambda: self.start_report(), notice)
        saved = (self.pairs, self.curve, self.report)
        actions = widgets.HBox([self.upload, *(each.widget for each in saved)])
        actions.add_class("ow-actions")
        actions.layout.align_items = "flex-start"  # the report's progress may take two lines
        columns = widgets.HTML(f"<p>{html(COLUMNS)}</p>")
        heading = widgets.HTML("<h3>The pairs</h3>")
        self.widget = widgets.VBox([heading, columns, actions, self.own.widget, self.findings])
        for name in ("ow-card", "ow-whole"):
            self.widget.add_class(name)

    def show(self, study: OwnStudy) -> None:
        """Tell what was noticed."""
        self._study = study
        self.pairs.forget()
        self.curve.forget()
        self.report.forget()
        self.findings.value = _list("What was noticed", words.findings(study))

    def _uploaded(self, change: dict[str, Any]) -> None:
        if change["new"]:
            file = change["new"][-1]
            self.use(file["name"], bytes(file["content"]))

    def _pairs_text(self) -> str:
        assert self._study is not None
        return str(self._study.pairs.table.to_csv(index=False))

    def _curve_text(self) -> str:
        return self._fitted().to_json()

    def _fitted(self) -> Curve:
        assert self._study is not None
        if self._study.calibration is None:
            raise ValueError("the pairs have no column ratio; without R there is no curve to save")
        return self._study.calibration.curve


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
    """The panel; a file that is read becomes its state, or is refused as a whole.

    Attributes:
        file_name: Of the file read last.
    """

    file_name = ""

    def __init__(self, study: OwnStudy | None = None) -> None:
        fields = [name for name in OwnStudy.__dataclass_fields__ if name != "uploaded"]
        super().__init__(study or OwnStudy(), make_views, fields)
        self.data.use, self.data.start_report = self.read, self.report

    @property
    def data(self) -> DataCard:
        """Card of the file."""
        found: DataCard = self.views[-1]  # type: ignore[assignment]
        return found

    def _show(self, _: object = None) -> None:
        super()._show()
        for card in look.stills(self.widget):
            card.source = SOURCE if self.model.state.invented else file_source(self.file_name)
        for name in OF_INVENTED:
            self.controls[name].widget.layout.display = (
                None if self.model.state.invented else "none"
            )

    def read(self, name: str, content: bytes) -> None:
        """Show the study of a file.

        Raises:
            ValueError: The file will not do; what is shown stays.
        """
        state = with_file(self.model.state, content)
        self.file_name = short_label(name)
        self.model.state = state

    def report(self) -> Progress:
        """Make the report of what is shown; see `study_report`."""
        curve, deciles, errors, bland_altman, _, histogram, swings, _ = self.views
        shown = {
            CURVE: (curve,) if self.model.state.calibration else (),
            AGREEMENT: (errors, bland_altman, histogram, deciles),
            SENSITIVITY: (swings,),
        }
        return study_report(self.model.state, self.file_name, shown)


def make_views(notice: Notice) -> Sequence[Any]:
    """Make the panel's views."""
    plots = (CurvePlot, DecilesPlot, ErrorPlot, BlandAltmanPlot)
    first = [each(notice) for each in plots]
    return (
        *first,
        Statement(notice),
        HistogramPlot(notice),
        SwingsPlot(notice),
        DataCard(notice),
    )


def _list(heading: str, sentences: Sequence[str]) -> str:
    if not sentences:
        return ""
    items = "".join(f"<li>{html(each)}</li>" for each in sentences)
    return f"<p><strong>{html(heading)}</strong></p><ul>{items}</ul>"


def own_study(state: OwnStudy | None = None) -> widgets.VBox:
    """Show a desaturation study with its curve, its errors, and what they cannot show.

    Args:
        state: What to start from; the usual state if left out.
    """
    return OwnStudyPanel(state).widget
