"""A file of one's own: which column is what, and what was found in it."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import ipywidgets as widgets

from oximetry_workbook.meter.files import Choices, Opened
from oximetry_workbook.panels.controls import labelled
from oximetry_workbook.panels.prose import html
from oximetry_workbook.teach.own_recording import ROLES, found_sentences

NO_COLUMN = ("none", "")
"""Entry of a list for no column; a column always has a name."""

LARGEST_MB = 45
"""Size of file that still gets through with room to spare: the server ends a connection at a
message of 64 MiB (`app.serve.LARGEST_MESSAGE`), without a word to the page [MB]."""


class FileFields:
    """Which column is what, and the sampling rate where there are no times.

    Attributes:
        columns: A list for each role.
        rate: Samples per second; 0 for "take the times".
        widget: What to put on the page.
    """

    def __init__(self, changed: Callable[[], None]) -> None:
        self._changed, self._filling = changed, False
        self.columns = {role: widgets.Dropdown(options=[NO_COLUMN]) for role in ROLES}
        self.rate = widgets.BoundedFloatText(value=0.0, min=0.0, max=1e6)
        lists = [labelled(f"Column: {role}", field) for role, field in self.columns.items()]
        rate = labelled("Samples per second (0: take the times)", self.rate)
        self.widget = widgets.VBox([*lists, rate])
        self.widget.add_class("ow-controls")
        for field in (*self.columns.values(), self.rate):
            field.observe(self._heard, names="value")

    @property
    def choices(self) -> Choices:
        """What is chosen now."""
        columns = {role: field.value or None for role, field in self.columns.items()}
        return Choices(columns=columns, sampling_rate_hz=self.rate.value or None)

    def fill(self, names: tuple[str, ...], chosen: Mapping[str, str], rate_hz: float) -> None:
        """Offer the columns of a file; nothing is reported."""
        self._filling = True
        try:
            options = [NO_COLUMN, *((name, name) for name in names)]
            for role, field in self.columns.items():
                if field.options != tuple(options):
                    field.options = options
                field.value = chosen.get(role, "")
            self.rate.value = rate_hz
        finally:
            self._filling = False

    def _heard(self, _: object) -> None:
        if not self._filling:
            self._changed()


class PreviewCard:
    """What was found in the file, what was taken for granted, and what is noticeable."""

    def __init__(self) -> None:
        self.text = widgets.HTML()
        self.widget = widgets.VBox([self.text])
        self.widget.add_class("ow-card")
        self.widget.add_class("ow-whole")
        self.show(None)

    def show(self, opened: Opened | None) -> None:
        """Write what a file holds; None before there is one."""
        if opened is None:
            self.text.value = (
                "<h3>No file yet</h3><p>Choose a table of light over time, or the invented "
                "recording. A file goes only to the program behind this page, and is not kept. "
                f"{html(f'It may have {LARGEST_MB} MB at most; larger ones do not arrive.')}</p>"
            )
            return
        preview = opened.preview
        parts = [
            ("What it holds", found_sentences(preview)),
            ("Taken for granted", preview.assumptions),
            ("Noticeable", preview.findings),
            ("What is wanting", () if preview.problem is None else (preview.problem,)),
        ]
        lists = "".join(_list(title, sentences) for title, sentences in parts if sentences)
        self.text.value = f"<h3>{html(preview.name)}</h3>{lists}"


def _list(title: str, sentences: tuple[str, ...]) -> str:
    items = "".join(f"<li>{html(each)}</li>" for each in sentences)
    return f"<strong>{html(title)}</strong><ul>{items}</ul>"
