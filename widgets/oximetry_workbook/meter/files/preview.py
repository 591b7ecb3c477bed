"""What a caller knows of a file, and what was found in it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from oximetry_workbook.meter.files.columns import CLOCK, TIME_UNITS
from oximetry_workbook.meter.files.source import UnreadableRecordingError
from oximetry_workbook.meter.recording import Recording


@dataclass(frozen=True)
class Choices:
    """What the caller knows of a file; whatever is left out is found out, and told.

    Attributes:
        columns: Name of the column for "time", "red", "infrared", "reference"; None leaves a role
            out.
        time_unit: "s", "ms", "us", or "clock" for times like 23:59:59.5.
        sampling_rate_hz: Samples per second [Hz], instead of a column of times.
    """

    columns: Mapping[str, str | None] | None = None
    time_unit: str | None = None
    sampling_rate_hz: float | None = None

    def __post_init__(self) -> None:
        units = (*TIME_UNITS, CLOCK)
        if self.time_unit is not None and self.time_unit not in units:
            raise UnreadableRecordingError(
                f"time_unit is {self.time_unit!r}; it must be one of {', '.join(units)}"
            )
        rate = self.sampling_rate_hz
        if rate is not None and not (math.isfinite(rate) and rate > 0):
            raise UnreadableRecordingError(f"sampling_rate_hz is {rate!r}; it must lie above 0")


@dataclass(frozen=True)
class Preview:
    """What a file holds, to be looked at before anything is measured.

    Attributes:
        name: Name of the file.
        columns: Names of all columns.
        chosen: Column of each role found: "time", "red", "infrared", "reference".
        why: Why that column, or why none, for each role.
        delimiter: What parts the cells: "comma", "semicolon", "tab", "bar", "spaces"; empty for
            a single column and for WFDB.
        decimal: "point" or "comma"; empty for WFDB.
        comments: Comment lines on top of the file.
        time_unit: How the times were read: "s", "ms", "us" or "clock"; empty when they were not.
        rows: Number of samples in the file; None when not read.
        duration_s: Length of the recording [s]; None when there is no recording.
        sampling_rate_hz: Samples per second [Hz]; None when there is no recording.
        assumptions: What was taken for granted or changed, in sentences.
        findings: What is noticeable about the samples, in sentences with places in time.
        problem: Why it cannot be read as a recording as it stands; None when it can.
    """

    name: str
    columns: tuple[str, ...]
    chosen: dict[str, str]
    why: dict[str, str]
    delimiter: str
    decimal: str
    comments: tuple[str, ...]
    time_unit: str = ""
    rows: int | None = None
    duration_s: float | None = None
    sampling_rate_hz: float | None = None
    assumptions: tuple[str, ...] = ()
    findings: tuple[str, ...] = ()
    problem: str | None = None


@dataclass(frozen=True, eq=False)
class Opened:
    """A file as far as it could be read.

    Attributes:
        preview: What it holds.
        recording: The recording; None when `preview.problem` says why there is none.
    """

    preview: Preview
    recording: Recording | None
