"""A recording made of the columns of a file; nothing is repaired untold."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from oximetry_workbook.meter.files.columns import CLOCK, TIME_UNITS, Guesses, unit_of_time
from oximetry_workbook.meter.files.preview import Choices
from oximetry_workbook.meter.files.source import UnreadableRecordingError
from oximetry_workbook.meter.files.times import Clock, check_increasing, even_clock, likely_unit
from oximetry_workbook.meter.files.write import calibration_in
from oximetry_workbook.meter.recording import MINIMUM_SAMPLES, Recording

FloatArray = NDArray[np.float64]

CHANNELS = {"red": "red", "infrared": "infrared", "reference": "reference_percent"}
"""Field of a `Recording` that each role fills."""


class Table(Protocol):
    """A file with columns: `table.TextTable` or `wfdb_record.WfdbRecord`."""

    findings: list[str]

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the columns."""

    @property
    def units(self) -> tuple[str, ...]:
        """Units of the columns; empty when not given."""

    @property
    def usable(self) -> tuple[int, ...]:
        """Columns that may be guessed."""

    @property
    def in_seconds(self) -> tuple[int, ...]:
        """Columns that are read as seconds, whatever their names say."""

    @property
    def comments(self) -> tuple[str, ...]:
        """Comment lines."""

    @property
    def assumptions(self) -> tuple[str, ...]:
        """What was taken for granted."""

    @property
    def written_as(self) -> tuple[str, str]:
        """Delimiter and decimal sign, in words."""

    @property
    def sampling_rate_hz(self) -> float | None:
        """Samples per second [Hz]; None when the file does not say."""

    def load(self, columns: list[int]) -> list[FloatArray]:
        """Read columns."""


@dataclass
class Making:
    """A recording being made of a table.

    Attributes:
        time_unit: How the times were read, as in `Preview`.
    """

    table: Table
    label: str
    choices: Choices
    guesses: Guesses
    assumptions: list[str]
    findings: list[str] = field(default_factory=list)
    rows: int | None = None
    time_unit: str = ""

    def recording(self) -> Recording:
        """Read the columns and put them on an even clock.

        Raises:
            UnreadableRecordingError: A column is wanting, or what is in it cannot be used.
        """
        columns = dict(self.guesses.found)
        self._check_enough(columns)
        rate_hz = self.choices.sampling_rate_hz or self.table.sampling_rate_hz
        if rate_hz is not None and columns.pop("time", None) is not None:
            self.assumptions.append("The times are not read: the sampling rate is given.")
        loaded = dict(zip(columns, self.table.load(list(columns.values())), strict=True))
        self.rows = next(iter(loaded.values())).size
        self._check_rows()
        clock = self._clock(loaded.pop("time", None), rate_hz)
        self.assumptions += clock.assumptions
        self.findings += clock.findings
        fields = {CHANNELS[role]: clock.placed(values) for role, values in loaded.items()}
        calibration = calibration_in(self.table.comments, self.label)
        return self._made(clock, fields, calibration)

    def _check_enough(self, columns: Mapping[str, int]) -> None:
        names = ", ".join(repr(name) for name in self.table.names[:20])
        if not {"red", "infrared"} & columns.keys():
            why = self.guesses.why
            raise UnreadableRecordingError(
                f"{self.label}: neither red nor infrared light was recognised among the columns "
                f"{names} (red {why['red']}; infrared {why['infrared']}); choose them by name with "
                "columns"
            )
        timed = "time" in columns or self.choices.sampling_rate_hz or self.table.sampling_rate_hz
        if not timed:
            raise UnreadableRecordingError(
                f"{self.label}: no column of times was recognised among {names} "
                f"({self.guesses.why['time']}); choose it by name, or give the sampling rate"
            )

    def _check_rows(self) -> None:
        if self.rows is not None and self.rows < MINIMUM_SAMPLES:
            raise UnreadableRecordingError(
                f"{self.label} has only {self.rows} rows of numbers; at least {MINIMUM_SAMPLES} "
                "are needed, and some ten seconds for a reading"
            )

    def _clock(self, written: FloatArray | None, rate_hz: float | None) -> Clock:
        if written is None:
            assert rate_hz is not None
            assert self.rows is not None
            return Clock(np.arange(self.rows) / rate_hz)
        try:
            self.time_unit = self._unit(written)
            length_s = TIME_UNITS.get(self.time_unit, 1.0)
            time_s = written if length_s == 1.0 else written * length_s
            check_increasing(time_s)
            return even_clock(time_s)
        except UnreadableRecordingError as error:
            raise UnreadableRecordingError(f"{self.label}: {error}") from error

    def _unit(self, written: FloatArray) -> str:
        index = self.guesses.found["time"]
        name, clock = self.table.names[index], index in self.table.in_seconds
        _check_clock(name, clock, self.choices.time_unit)
        if clock:
            return CLOCK
        unit_cell = self.table.units[index] if index < len(self.table.units) else ""
        unit = self.choices.time_unit or unit_of_time(name, unit_cell)
        if unit is None:
            unit, sentence = likely_unit(written, name)
            self.assumptions.append(sentence)
        return unit

    def _made(
        self, clock: Clock, fields: Mapping[str, FloatArray], calibration: FloatArray | None
    ) -> Recording:
        try:
            return Recording(time_s=clock.time_s, probe_calibration=calibration, **_both(fields))
        except ValueError as error:
            raise UnreadableRecordingError(f"{self.label}: {error}") from error


def _check_clock(name: str, clock: bool, chosen: str | None) -> None:
    """Refuse a unit for clock times, and clock times where there are plain numbers."""
    if clock and chosen not in (None, CLOCK):
        raise UnreadableRecordingError(
            f"{name!r} is written as clock times, which {chosen} does not fit; choose clock time"
        )
    if not clock and chosen == CLOCK:
        raise UnreadableRecordingError(
            f"{name!r} holds plain numbers, not clock times such as 23:59:59.5; choose their unit: "
            f"{', '.join(TIME_UNITS)}"
        )


def _both(fields: Mapping[str, FloatArray]) -> dict[str, FloatArray | None]:
    """Every channel, None for those there are not."""
    return {name: fields.get(name) for name in CHANNELS.values()}
