"""The report of a desaturation study, made in slices from the panel's state and its own plots."""

from __future__ import annotations

from collections.abc import Generator, Mapping, Sequence
from typing import Protocol

import ipywidgets as widgets

from oximetry_workbook.panels.prose import html
from oximetry_workbook.panels.report import Progress, figures_of
from oximetry_workbook.teach.own_study import OwnStudy, leave_each_out
from oximetry_workbook.teach.page import Figure
from oximetry_workbook.teach.page_study import LeftOut, study_page

FILE_NAME = "study_report.html"
SHARE_OF_PEOPLE = 0.6
"""Share of the progress that leaving each subject out takes; the rest are the pictures."""


class Card(Protocol):
    """A view that stands in a card."""

    widget: widgets.Widget


def study_report(study: OwnStudy, name: str, views: Mapping[str, Sequence[Card]]) -> Progress:
    """Make the report of a study.

    Args:
        study: What it is about.
        name: Of the file the pairs are from; not shown for invented volunteers.
        views: The panel's plots, showing this study, by the heading they go under.

    Yields:
        Share done, and the page as HTML; None before it is ready.
    """
    left_out = yield from _leave_out(study)
    figures: dict[str, tuple[Figure, ...]] = {}
    count, done = sum(map(len, views.values())), 0
    for heading, shown in views.items():
        for picture in figures_of(view.widget for view in shown):
            figures[heading] = (*figures.get(heading, ()), picture)
            done += 1
            yield min(1.0, SHARE_OF_PEOPLE + (1.0 - SHARE_OF_PEOPLE) * done / count), None
    yield 1.0, study_page(study, left_out, name, figures).html(html)


def _leave_out(study: OwnStudy) -> Generator[tuple[float, None], None, LeftOut]:
    """Leave each subject out; what cannot be fitted is told in the report, and does not end it."""
    left_out = LeftOut(None, "there are no subjects")
    try:
        for share, found in leave_each_out(study):
            left_out = LeftOut(found)
            yield SHARE_OF_PEOPLE * share, None
    except ValueError as problem:
        return LeftOut(None, str(problem))
    return left_out
