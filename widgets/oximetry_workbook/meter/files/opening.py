"""Opening a file: what is in it, what was taken for granted, and the recording it makes."""

from __future__ import annotations

from os import PathLike
from pathlib import Path
from typing import BinaryIO

from oximetry_workbook.meter.files.columns import choose_columns
from oximetry_workbook.meter.files.findings import find_faults
from oximetry_workbook.meter.files.making import Making, Table
from oximetry_workbook.meter.files.preview import Choices, Opened, Preview
from oximetry_workbook.meter.files.source import (
    Source,
    UnreadableRecordingError,
    from_content,
    from_open_file,
    from_path,
    short_label,
)
from oximetry_workbook.meter.files.table import TextTable
from oximetry_workbook.meter.files.wfdb_record import SUFFIXES, WfdbRecord, find_record


def open_path(path: str | PathLike[str], choices: Choices | None = None) -> Opened:
    """Open a text table or a WFDB record.

    Raises:
        UnreadableRecordingError: It is neither, or the choices do not fit it.
    """
    where = Path(path)
    record = find_record(where)
    if record is not None:
        return _opened(WfdbRecord.open(record), short_label(record.name), choices or Choices())
    source = from_path(where)
    return _open_text(source, choices)


def open_content(
    name: str,
    content: bytes | bytearray | memoryview | BinaryIO,
    choices: Choices | None = None,
) -> Opened:
    """Open a text table from bytes, such as an upload's; the name is only shown.

    Raises:
        UnreadableRecordingError: It is no text table, or the choices do not fit it.
    """
    return _open_alone(from_content(name, content), choices)


def open_stored(name: str, file: BinaryIO, choices: Choices | None = None) -> Opened:
    """Open a text table in a file that is open for reading, such as a temporary one.

    It is read from its start and not loaded at once; it stays open. The name is only shown.

    Raises:
        UnreadableRecordingError: It is no text table, or the choices do not fit it.
    """
    return _open_alone(from_open_file(name, file), choices)


def _open_alone(source: Source, choices: Choices | None) -> Opened:
    """Open a file that comes without its neighbours."""
    if source.label.lower().endswith(SUFFIXES):
        raise UnreadableRecordingError(
            f"{source.label} is one of the several files of a WFDB record; read the record from "
            "its folder, or convert it to CSV"
        )
    return _open_text(source, choices)


def _open_text(source: Source, choices: Choices | None) -> Opened:
    return _opened(TextTable.open(source), source.label, choices or Choices())


def _opened(table: Table, label: str, choices: Choices) -> Opened:
    guesses = choose_columns(table.names, table.usable, choices.columns)
    making = Making(table, label, choices, guesses, list(table.assumptions))
    problem, recording = None, None
    try:
        recording = making.recording()
    except UnreadableRecordingError as error:
        problem = str(error)
    found = [*table.findings, *making.findings]
    if recording is not None:
        found += find_faults(recording)
    delimiter, decimal = table.written_as
    preview = Preview(
        name=label,
        columns=table.names,
        chosen={role: table.names[i] for role, i in guesses.found.items()},
        why=guesses.why,
        delimiter=delimiter,
        decimal=decimal,
        comments=table.comments,
        time_unit=making.time_unit,
        rows=making.rows,
        duration_s=None if recording is None else recording.duration_s,
        sampling_rate_hz=None if recording is None else recording.sampling_rate_hz,
        assumptions=tuple(making.assumptions),
        findings=tuple(found),
        problem=problem,
    )
    return Opened(preview, recording)
