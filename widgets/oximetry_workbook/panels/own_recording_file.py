"""A file of one's own: where it comes from, which column is what, and what was found in it."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from pathlib import Path

import ipywidgets as widgets

from oximetry_workbook.meter.files import Choices, Opened, Preview, UnreadableRecordingError
from oximetry_workbook.panels.controls import labelled
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.prose import html
from oximetry_workbook.panels.upload import LARGEST_BYTES, Arrival, Upload
from oximetry_workbook.teach.own_recording import ROLES, TIME_WORDS, found_sentences

ENDINGS = ".csv,.tsv,.txt"

NO_COLUMN = ("none", "")
"""Entry of a list for no column; a column always has a name."""

AS_FOUND = "as found"
"""Entry of the list of units for what the file itself says, or makes likely."""

PATHS_SETTING = "OXIMETRY_WORKBOOK_PATHS"
"""Environment variable: at 1, files may be opened by their path. Only for a server that nobody but
the person at this machine can reach: whoever sees the page can read every table on it."""


def paths_allowed() -> bool:
    """Whether files may be opened by their path."""
    return os.environ.get(PATHS_SETTING) == "1"


class FileSource:
    """Where a file comes from: an upload, the workbook itself, or a path on this machine.

    Attributes:
        upload: Sends a file from the browser.
        invented: The button for the invented recording.
        path: The field for a path, and its button; None where paths are not allowed.
        widget: What to put on the page.
    """

    def __init__(
        self,
        received: Callable[[Arrival], None],
        open_path: Callable[[Path], None],
        notice: Notice,
    ) -> None:
        self.upload = Upload(received, notice, "Choose a file", ENDINGS)
        self.invented = widgets.Button(description="An invented recording")
        buttons = widgets.HBox([self.upload, self.invented])
        buttons.add_class("ow-actions")
        self.path = PathField(open_path, notice) if paths_allowed() else None
        self.widget = widgets.VBox([buttons])
        if self.path is not None:
            self.widget.children = (buttons, self.path.widget)
        self.widget.add_class("ow-controls")


class PathField:
    """A field for the path of a file on this machine.

    Attributes:
        text: The field.
        button: Opens the file; so does Enter in the field.
        widget: What to put on the page.
    """

    def __init__(self, open_path: Callable[[Path], None], notice: Notice) -> None:
        self._open_path = open_path
        self.text = widgets.Text(placeholder="/folder/recording.csv")
        self.button = widgets.Button(description="Open this path")
        actions = widgets.HBox([self.button])
        actions.add_class("ow-actions")
        field = labelled("Or the path of a file on this machine", self.text)
        self.widget = widgets.VBox([field, actions])
        self.widget.add_class("ow-path")
        self._guarded_open = notice.guard(self.open)
        self.button.on_click(lambda _: self._guarded_open())
        self.text.on_msg(self._entered)

    def open(self) -> None:
        """Open the file that the field names.

        Raises:
            UnreadableRecordingError: There is no such file, or it is no recording.
        """
        self._open_path(path_in(self.text.value))

    def _entered(self, _: object, said: Mapping[str, object], __: object) -> None:
        if said.get("event") == "submit":
            self._guarded_open()


def path_in(text: str) -> Path:
    """The path that somebody typed or pasted, with or without quotation marks.

    Raises:
        UnreadableRecordingError: There is none.
    """
    written = text.strip().strip("\"'").strip()
    if not written:
        raise UnreadableRecordingError("there is no path yet; type or paste that of a file first")
    path = Path(written)
    try:
        return path.expanduser()
    except RuntimeError:  # ~ of somebody unknown
        return path


class FileFields:
    """Which column is what, the unit of the times, and the sampling rate where there are none.

    Attributes:
        columns: A list for each role.
        unit: The list of units; empty for what the file says or makes likely.
        rate: Samples per second; 0 for "take the times".
        widget: What to put on the page.
    """

    def __init__(self, changed: Callable[[], None]) -> None:
        self._changed, self._filling = changed, False
        self.columns = {role: widgets.Dropdown(options=[NO_COLUMN]) for role in ROLES}
        self.unit = widgets.Dropdown(options=_units(""))
        self.rate = widgets.BoundedFloatText(value=0.0, min=0.0, max=1e6)
        lists = [labelled(f"Column: {role}", field) for role, field in self.columns.items()]
        unit = labelled("Unit of the times", self.unit)
        rate = labelled("Samples per second (0: take the times)", self.rate)
        self.widget = widgets.VBox([lists[0], unit, *lists[1:], rate])
        self.widget.add_class("ow-controls")
        for field in (*self.columns.values(), self.unit, self.rate):
            field.observe(self._heard, names="value")

    @property
    def choices(self) -> Choices:
        """What is chosen now."""
        columns = {role: field.value or None for role, field in self.columns.items()}
        return Choices(columns, self.unit.value or None, self.rate.value or None)

    def fill(self, preview: Preview | None, choices: Choices) -> None:
        """Offer the columns of a file; nothing is reported.

        Args:
            preview: What the file holds; None before there is one.
            choices: What was chosen for it.
        """
        self._filling = True
        names = () if preview is None else preview.columns
        chosen = {} if preview is None else preview.chosen
        found = "" if preview is None or choices.time_unit else preview.time_unit
        try:
            for role, field in self.columns.items():
                _fill(field, [NO_COLUMN, *((name, name) for name in names)], chosen.get(role, ""))
            _fill(self.unit, _units(found), choices.time_unit or "")
            self.rate.value = choices.sampling_rate_hz or 0.0
        finally:
            self._filling = False

    def _heard(self, _: object) -> None:
        if not self._filling:
            self._changed()


def _units(found: str) -> list[tuple[str, str]]:
    """Entries of the list of units; `found` is the one that the file says or makes likely."""
    as_found = f"{AS_FOUND}: {TIME_WORDS[found]}" if found else AS_FOUND
    return [(as_found, ""), *((words, unit) for unit, words in TIME_WORDS.items())]


def _fill(field: widgets.Dropdown, options: list[tuple[str, str]], value: str) -> None:
    if field.options != tuple(options):
        field.options = options
    field.value = value


class PreviewCard:
    """What was found in the file, what was taken for granted, and what is noticeable."""

    def __init__(self) -> None:
        self.text = widgets.HTML()
        self.widget = widgets.VBox([self.text])
        for name in ("ow-card", "ow-whole", "ow-preview"):
            self.widget.add_class(name)
        self.show(None)

    def show(self, opened: Opened | None) -> None:
        """Write what a file holds; None before there is one."""
        if opened is None:
            largest = f"An upload may have {LARGEST_BYTES / 1e6:.0f} MB at most."
            self.text.value = (
                "<h3>No file yet</h3><p>Choose a table of light over time, or the invented "
                "recording. A file goes only to the program behind this page. It is forgotten "
                f"when you open another, and when that program ends. {html(largest)}</p>"
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
