"""The report of a recording, made in slices from what the panel of recordings shows."""

from __future__ import annotations

from typing import TYPE_CHECKING

from oximetry_workbook.panels.prose import html
from oximetry_workbook.panels.report import Progress, figures_of
from oximetry_workbook.teach.page import Figure
from oximetry_workbook.teach.page_recording import WINDOWS, recording_page

if TYPE_CHECKING:
    from oximetry_workbook.panels.own_recording import OwnRecording

FILE_NAME = "recording_report.html"


def recording_report(panel: OwnRecording) -> Progress:
    """Make the report of a recording that was measured.

    Args:
        panel: Shows the recording and what was read in it.

    Yields:
        Share done, and the page as HTML; None before it is ready.

    Raises:
        ValueError: Nothing is measured yet, or not to its end, or something else meanwhile.
    """
    opened, readings = panel.opened, panel.readings
    if opened is None or readings is None or panel.work.running:
        raise ValueError("there is no finished measurement to report; press Measure, and wait")
    cards = (panel.saturation.widget, panel.ratio.widget, panel.light.widget)
    figures: list[Figure] = []
    for figure in figures_of(cards):
        figures.append(figure)
        yield min(1.0, 0.3 * len(figures)), None
        if panel.readings is not readings:
            raise ValueError("another file or measurement came meanwhile; press Save report again")
    page = recording_page(opened.preview, readings, {WINDOWS: tuple(figures)})
    yield 1.0, page.html(html)
