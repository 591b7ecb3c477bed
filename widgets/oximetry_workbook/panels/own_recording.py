"""Your own recording: a file opened, looked at, and measured window by window."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path

import ipywidgets as widgets

from oximetry_workbook.meter.files import (
    Choices,
    Opened,
    UnreadableRecordingError,
    open_content,
    open_path,
    open_stored,
)
from oximetry_workbook.meter.recording import Recording
from oximetry_workbook.panels import look
from oximetry_workbook.panels.controls import labelled
from oximetry_workbook.panels.download import CsvButton
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.numbers import numbers_html
from oximetry_workbook.panels.own_curve import CurveList
from oximetry_workbook.panels.own_recording_file import FileFields, FileSource, PreviewCard
from oximetry_workbook.panels.own_recording_plots import (
    LightPlot,
    RatioPlot,
    SaturationPlot,
    Stretch,
)
from oximetry_workbook.panels.recording_report import FILE_NAME, recording_report
from oximetry_workbook.panels.report import report_button
from oximetry_workbook.panels.still import SOURCE, file_source
from oximetry_workbook.panels.upload import Arrival
from oximetry_workbook.panels.work import Work
from oximetry_workbook.teach.invented_recording import INVENTED_NAME, invented_csv
from oximetry_workbook.teach.own_recording import Readings, numbers, read_in_parts, table_csv
from oximetry_workbook.teach.reading import curve_of

OpenAnew = Callable[[Choices], Opened]
"""Opens the file that is shown once more, with other choices."""

SHORTEST_WINDOW_S, LONGEST_WINDOW_S = 4.0, 300.0


class OwnRecording:
    """The panel: a file, its preview, its plots, its readings.

    Attributes:
        notice: Where messages appear.
        opened: The file as far as it could be read; None before there is one.
        readings: What was measured so far; None before Measure.
        widget: What to put on the page.
    """

    def __init__(self) -> None:
        self.notice = Notice()
        self.opened: Opened | None = None
        self.readings: Readings | None = None
        self._choices = Choices()
        self._open_anew: OpenAnew | None = None
        self._arrival: Arrival | None = None
        self._make_fields()
        self.preview = PreviewCard()
        self.light, self.saturation = LightPlot(self.notice), SaturationPlot(self.notice)
        self.ratio, self.numbers = RatioPlot(self.notice), widgets.HTML()
        self._strip = widgets.VBox([self.numbers, self._make_downloads()])
        for name in ("ow-card", "ow-whole"):
            self._strip.add_class(name)
        self.widget = self._arrange()

    def open(self, name: str, content: bytes) -> None:
        """Open a file; one that is no table at all leaves everything as it was.

        Raises:
            UnreadableRecordingError: It is no table, or something is wanting that can be chosen.
        """
        self._begin_with(partial(open_content, name, content))

    def open_path(self, path: Path) -> None:
        """Open a file on this machine, as `open` does."""
        self._begin_with(partial(open_path, path))

    def receive(self, arrival: Arrival) -> None:
        """Open an upload, as `open` does; it is kept until another file has been opened."""
        try:
            self._begin_with(partial(open_stored, arrival.name, arrival.file), arrival)
        finally:
            if self._arrival is not arrival:
                arrival.remove()

    def _begin_with(self, open_anew: OpenAnew, arrival: Arrival | None = None) -> None:
        opened = open_anew(Choices())
        if self._arrival is not None:
            self._arrival.remove()
        self._open_anew, self._arrival, self._choices = open_anew, arrival, Choices()
        self._take(opened, new=True)

    def _make_fields(self) -> None:
        self.source = FileSource(self.receive, self.open_path, self.notice)
        self.file_fields = FileFields(self.notice.guard(self._choose))
        self.curves = CurveList(self._measure_anew, self.notice)
        self.curve = self.curves.dropdown
        self.window = widgets.BoundedFloatText(
            value=10.0, min=SHORTEST_WINDOW_S, max=LONGEST_WINDOW_S
        )
        self.start, self.end = widgets.FloatText(value=0.0), widgets.FloatText(value=0.0)
        self._stretch: Stretch = (0.0, 0.0)
        self._settling = False
        self.work = Work(self._measure, self._measured, self.notice, "Measure")
        self.source.invented.on_click(
            self.notice.guard(lambda _: self.open(INVENTED_NAME, invented_csv()))
        )
        self.window.observe(self.notice.guard(self._measure_anew), names="value")
        for field in (self.start, self.end):
            field.observe(self.notice.guard(self._zoomed), names="value")

    def _make_downloads(self) -> widgets.HBox:
        tables = [
            CsvButton(f"Save {name} (CSV)", f"{name}.csv", self._text_of(name), self.notice)
            for name in ("windows", "beats")
        ]
        report = report_button(FILE_NAME, lambda: recording_report(self), self.notice)
        self.downloads = (*tables, report)
        row = widgets.HBox([each.widget for each in self.downloads])
        row.add_class("ow-actions")
        return row

    def _text_of(self, name: str) -> Callable[[], str]:
        def text() -> str:
            assert self.readings is not None  # the button is not on the page before
            assert self.opened is not None
            table = getattr(self.readings, name)
            return table_csv(table, self.readings, self.opened.preview.name)

        return text

    def _arrange(self) -> widgets.VBox:
        how = widgets.VBox(
            [
                labelled("Calibration curve", self.curve),
                self.curves.own.widget,
                labelled("Window, s", self.window),
                labelled("Show from, s", self.start),
                labelled("Show to, s", self.end),
            ]
        )
        how.add_class("ow-controls")
        side = widgets.VBox([self.source.widget, self.file_fields.widget, how, self.work.widget])
        side.add_class("ow-side")
        self.shown = widgets.Box([self.preview.widget])
        self.shown.add_class("ow-plots")
        self.shown.add_class("ow-shown")
        body = widgets.Box([side, self.shown])
        body.add_class("ow-bench-body")
        panel = widgets.VBox([look.style(), self.notice, body])
        panel.add_class("ow-panel")
        return panel

    def _choose(self) -> None:
        """Read the file anew with the columns chosen; what cannot be is taken back."""
        if self._open_anew is None:
            self._fill()
            raise UnreadableRecordingError("there is no file yet; choose one first")
        try:
            choices = self.file_fields.choices
            opened = self._open_anew(choices)
        except UnreadableRecordingError:
            self._fill()
            raise
        self._choices = choices
        self._take(opened, new=False)

    def _take(self, opened: Opened, new: bool) -> None:
        """Show a file.

        Raises:
            UnreadableRecordingError: Something is wanting; the preview is shown all the same.
        """
        first = new or self._recording is None
        self.opened = opened
        name = opened.preview.name
        for plot in (self.light, self.saturation, self.ratio):
            plot.widget.source = SOURCE if name == INVENTED_NAME else file_source(name)
        self._fill()
        self.preview.show(opened)
        if opened.recording is not None and (first or self._out_of_range()):
            self._set_stretch(self._whole())
        self._forget()
        if opened.preview.problem is not None:
            raise UnreadableRecordingError(opened.preview.problem)

    def _fill(self) -> None:
        preview = None if self.opened is None else self.opened.preview
        self.file_fields.fill(preview, self._choices)

    def _whole(self) -> Stretch:
        assert self._recording is not None
        time_s = self._recording.time_s
        return math.floor(time_s[0]), math.ceil(time_s[-1])

    def _out_of_range(self) -> bool:
        first, last = self._whole()
        return self._stretch[0] < first or self._stretch[1] > last

    def _set_stretch(self, stretch: Stretch) -> None:
        self._stretch, self._settling = stretch, True
        try:
            self.start.value, self.end.value = stretch
        finally:
            self._settling = False

    def _zoomed(self, _: object) -> None:
        if self._settling:
            return
        start, end = self.start.value, self.end.value
        if not (math.isfinite(start) and math.isfinite(end) and start < end):
            self._set_stretch(self._stretch)
            raise ValueError(f"{start:g} to {end:g} s is no stretch; from must be less than to")
        self._stretch = (start, end)
        self._draw()

    def _measure(self) -> Iterator[tuple[float, Readings]]:
        if self._recording is None:
            raise ValueError("there is no recording to measure yet; choose a file first")
        curve = curve_of(self.curves.curve)
        return read_in_parts(self._recording, self.window.value, curve)

    def _measure_anew(self, _: object = None) -> None:
        """Follow another curve or window where there are readings already."""
        if self.readings is not None or self.work.running:
            self.work.begin()

    def _measured(self, readings: Readings) -> None:
        self.readings = readings
        for each in self.downloads:
            each.forget()
        self._draw_readings()

    def _forget(self) -> None:
        """Drop readings of another file or other columns."""
        self.work.cancel()
        self.readings = None
        self._draw()

    @property
    def _recording(self) -> Recording | None:
        return None if self.opened is None else self.opened.recording

    def _draw(self) -> None:
        if self._recording is not None:
            self.light.show(self._recording, self._stretch)
        self._draw_readings()

    def _draw_readings(self) -> None:
        recording, readings = self._recording, self.readings
        if recording is not None and readings is not None:
            self.numbers.value = numbers_html(numbers(readings))
            self.saturation.show(readings, recording, self._stretch)
            self.ratio.show(readings, self._stretch)
        self._put_on_page()

    def _put_on_page(self) -> None:
        """Show only cards that have something to show."""
        cards = [self.preview.widget]
        if self.readings is not None:
            cards += [self._strip, self.saturation.widget, self.ratio.widget]
        if self._recording is not None:
            cards.append(self.light.widget)
        if self.shown.children != tuple(cards):
            self.shown.children = cards


def own_recording() -> widgets.VBox:
    """Show a file of one's own: what it holds, and what the meter reads in it.

    An invented recording is there from the start, so that there is something to try it on.
    """
    panel = OwnRecording()
    panel.open(INVENTED_NAME, invented_csv())
    panel.work.begin()
    return panel.widget
