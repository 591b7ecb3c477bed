"""Text tables: chosen columns as arrays, parsed by pandas' reader in pieces."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from oximetry_workbook.meter.files.cells import MISSING, kind_of, short
from oximetry_workbook.meter.files.layout import DELIMITER_NAMES, SPACES, Layout, find_layout
from oximetry_workbook.meter.files.source import CheckedText, Source, UnreadableRecordingError
from oximetry_workbook.meter.files.times import days_counted

if TYPE_CHECKING:
    import pandas as pd

FloatArray = NDArray[np.float64]

ROWS_AT_A_TIME = 500_000
"""Rows parsed in one go; more would only take more memory."""

EXTRA = "extra"
"""Name of a column more than there should be: whatever lands there is one cell too many."""


def exact_reading() -> dict[str, Any]:
    """Options that make pandas read numbers to the last digit.

    From pandas 3.1 on it always does, and the option is deprecated.
    """
    import pandas as pd

    release = tuple(int(part) for part in pd.__version__.split(".")[:2])
    return {} if release >= (3, 1) else {"float_precision": "round_trip"}


@dataclass
class TextTable:
    """A table in a text file, of which columns can be read.

    Attributes:
        source: Where it comes from.
        layout: How it is written.
        findings: What was noticed while reading, in sentences.
    """

    source: Source
    layout: Layout
    sampling_rate_hz: float | None = None
    findings: list[str] = field(default_factory=list)

    @classmethod
    def open(cls, source: Source) -> TextTable:
        """Find out how the table is written.

        Raises:
            UnreadableRecordingError: It is no table of numbers.
        """
        return cls(source, find_layout(source))

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the columns."""
        return self.layout.names

    @property
    def units(self) -> tuple[str, ...]:
        """Units of the columns, where the table has a row of them."""
        return self.layout.units

    @property
    def usable(self) -> tuple[int, ...]:
        """Columns that do not hold words."""
        return tuple(i for i, kind in enumerate(self.layout.kinds) if kind != "text")

    @property
    def in_seconds(self) -> tuple[int, ...]:
        """Columns of dates and times of day, which become seconds."""
        return tuple(i for i, kind in enumerate(self.layout.kinds) if kind == "date")

    @property
    def comments(self) -> tuple[str, ...]:
        """Comment lines on top."""
        return self.layout.comments

    @property
    def assumptions(self) -> tuple[str, ...]:
        """What was taken for granted about the header."""
        return self.layout.assumptions

    @property
    def written_as(self) -> tuple[str, str]:
        """Delimiter and decimal sign, in words."""
        decimal = "point" if self.layout.decimal == "." else "comma"
        parted = len(self.names) > 1
        return DELIMITER_NAMES[self.layout.delimiter] if parted else "", decimal

    def load(self, columns: list[int]) -> list[FloatArray]:
        """Read columns; dates and times of day become seconds since the first.

        Raises:
            UnreadableRecordingError: A cell holds something else, or a row has too many cells.
        """
        pieces: list[list[FloatArray]] = [[] for _ in columns]
        dates = _Dates()
        row = 0
        try:
            for chunk in self._chunks(columns, self._types(columns)):
                self._check_width(chunk, row)
                for piece, column in zip(pieces, columns, strict=True):
                    values = chunk[str(column)]
                    dated = self.layout.kinds[column] == "date"
                    piece.append(dates.seconds(values, column) if dated else _finite(values))
                row += len(chunk)
        except UnreadableRecordingError:
            raise
        except (ValueError, OverflowError) as error:
            raise self._located(columns, row, error) from error
        joined = [_joined(piece) for piece in pieces]
        return [
            self._past_midnight(values) if column in dates.of_day else values
            for values, column in zip(joined, columns, strict=True)
        ]

    def _past_midnight(self, time_s: FloatArray) -> FloatArray:
        counted_s, midnights = days_counted(time_s)
        if midnights:
            times = "once" if midnights == 1 else f"{midnights} times"
            self.findings.append(f"The clock passes midnight {times}: the next day is counted on.")
        return counted_s

    def _types(self, columns: list[int]) -> dict[str, type]:
        kinds = self.layout.kinds
        types: dict[str, type] = {str(i): str if kinds[i] == "date" else float for i in columns}
        return types | {EXTRA: str}

    def _chunks(self, columns: list[int], types: Any) -> Iterator[pd.DataFrame]:
        import pandas as pd  # here, since it takes a third of a second to import

        layout = self.layout
        spaces = layout.delimiter == SPACES
        joint = " " if spaces else layout.delimiter
        header = joint.join([*(str(i) for i in range(len(layout.names))), EXTRA]) + "\n"
        text = CheckedText(self.source, layout.encoding, layout.skipped_lines, header)
        given: Any = text  # it has what the reader uses, though not all of a file
        try:
            yield from pd.read_csv(
                given,
                sep=r"\s+" if spaces else layout.delimiter,
                decimal=layout.decimal,
                usecols=[*(str(i) for i in columns), EXTRA],
                dtype=types,
                index_col=False,
                comment="#",
                skipinitialspace=True,
                na_values=list(MISSING[6:8]),
                **exact_reading(),
                chunksize=ROWS_AT_A_TIME,
            )
            if text.blank_lines:
                self.findings.append("Blank lines between the rows were passed over.")
        finally:
            text.close()

    def _check_width(self, chunk: pd.DataFrame, first_row: int) -> None:
        extra = chunk[EXTRA].notna().to_numpy()
        if extra.any():
            row = first_row + int(np.argmax(extra)) + 1
            width = len(self.names)
            raise UnreadableRecordingError(
                f"{self.source.label} has more than {width} cells in row {row} below the header, "
                f"where {width} are usual: a decimal comma in a table parted by commas, or "
                "two tables in one file? Correct that row"
            )

    def _located(
        self, columns: list[int], sound_rows: int, error: Exception
    ) -> UnreadableRecordingError:
        """Name the cell that the reader stumbled over, by reading everything as words."""
        row = 0
        try:
            for chunk in self._chunks(columns, dict.fromkeys(map(str, columns), str)):
                for column in columns if row >= sound_rows else ():
                    where = self._first_wrong(chunk[str(column)], self.layout.kinds[column])
                    if where is not None:
                        cell = str(chunk[str(column)].iloc[where])
                        return self._wrong_cell(column, row + where + 1, cell)
                row += len(chunk)
        except ValueError as second:  # the rows themselves cannot be told apart
            error = second
        return UnreadableRecordingError(
            f"{self.source.label} cannot be parsed below row {row}: {str(error).strip()[:200]}; "
            "look for an open quotation mark or a broken line there"
        )

    def _first_wrong(self, cells: pd.Series[str], kind: str) -> int | None:
        """Place of the first cell of another kind; not by pandas.to_numeric, which may crash."""
        allowed = ("date" if kind == "date" else "number", "missing")
        decimal = self.layout.decimal
        present = cells.fillna("").to_list()
        wrong = (i for i, cell in enumerate(present) if kind_of(cell, decimal) not in allowed)
        return next(wrong, None)

    def _wrong_cell(self, column: int, row: int, cell: str) -> UnreadableRecordingError:
        other = "," if self.layout.decimal == "." else "."
        if kind_of(cell, other) == "number":
            hint = f"the other rows have a decimal {self.written_as[1]}: use one sign throughout"
        elif self.layout.kinds[column] == "date":
            hint = "times must be numbers, or like 2001-12-31 23:59:59.5 or 23:59:59.5 throughout"
        else:
            hint = "only numbers may stand there; leave the cell empty where a value is missing"
        return UnreadableRecordingError(
            f"{self.source.label} has {short(cell)} in column {self.names[column]!r}, row {row} "
            f"below the header; {hint}"
        )


class _Dates:
    """Turns dates or times of day into seconds since the first one, piece by piece.

    Attributes:
        of_day: Columns that hold times of day.
    """

    def __init__(self) -> None:
        self.of_day: set[int] = set()
        self._first: int | None = None

    def seconds(self, cells: pd.Series[str], column: int) -> FloatArray:
        import pandas as pd

        written = cells.str.strip().str.replace(",", ".")
        dated = bool(written.str.contains("-", regex=False).any())
        if not dated:
            self.of_day.add(column)
        since = (
            pd.to_datetime(written, format="ISO8601", utc=True).dt.tz_localize(None)
            - pd.Timestamp(0)
            if dated
            else pd.to_timedelta(_with_seconds(written))
        )
        nanoseconds = since.to_numpy(dtype="timedelta64[ns]")
        present = ~np.isnat(nanoseconds)
        whole = nanoseconds.astype(np.int64)
        if self._first is None and present.any():
            self._first = int(whole[np.argmax(present)])
        return np.where(present, (whole - (self._first or 0)) / 1e9, np.nan)


def _with_seconds(clock: pd.Series[str]) -> pd.Series[str]:
    """Times of day without seconds get some: 13:58 is 13:58:00."""
    return clock.where(clock.str.count(":") != 1, clock + ":00")


def _finite(cells: pd.Series[float]) -> FloatArray:
    """Numbers, NaN where none is; pandas may turn what no float can hold into infinity.

    Raises:
        ValueError: There is an infinity.
    """
    values: FloatArray = np.asarray(cells, dtype=np.float64)
    if np.isinf(values).any():
        raise ValueError("a number is too large")
    return values


def _joined(pieces: list[FloatArray]) -> FloatArray:
    """One array of all; each column is joined alone, so that only one exists twice."""
    joined = np.concatenate(pieces) if pieces else np.empty(0)
    pieces.clear()
    return joined
