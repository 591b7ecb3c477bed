"""How a text table is written: delimiter, decimal sign, header, units and comments."""

from __future__ import annotations

import csv
from collections import Counter
from dataclasses import dataclass

from oximetry_workbook.meter.files.cells import kind_of, short
from oximetry_workbook.meter.files.columns import guess_columns, is_known, is_unit
from oximetry_workbook.meter.files.source import (
    HEAD_BYTES,
    CheckedText,
    Source,
    UnreadableRecordingError,
    encoding_of,
)

SPACES = "spaces"

CANDIDATES = (
    (",", "."),
    (";", "."),
    ("\t", "."),
    (";", ","),
    ("\t", ","),
    ("|", "."),
    ("|", ","),
    (SPACES, "."),
    (SPACES, ","),
)
"""Delimiters and decimal signs that are tried; of equally good ones the first is taken."""

DELIMITER_NAMES = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar", SPACES: SPACES}

LINES = 400
"""So many lines are looked at, and rows are expected to have begun within them."""

Row = tuple[int, list[str]]
"""Number of the line, from 0, and its cells."""


@dataclass(frozen=True)
class Layout:
    """How a text table is written.

    Attributes:
        encoding: Name of the character encoding.
        delimiter: One character, or `SPACES`.
        decimal: Decimal sign.
        skipped_lines: Lines before the first row of numbers.
        names: Names of the columns, made up where there are none; no two are alike.
        units: What the row of units says; empty where there is none.
        kinds: What each column holds: "number", "date", "missing" or "text".
        comments: The comment lines on top, without their sign.
        assumptions: What was taken for granted, in sentences.
    """

    encoding: str
    delimiter: str
    decimal: str
    skipped_lines: int
    names: tuple[str, ...]
    units: tuple[str, ...]
    kinds: tuple[str, ...]
    comments: tuple[str, ...]
    assumptions: tuple[str, ...]


def find_layout(source: Source) -> Layout:
    """Find out how a text table is written, from its first lines.

    The delimiter and the decimal sign are those under which most cells are numbers, and most rows
    have as many cells as the others.

    Raises:
        UnreadableRecordingError: It is no text, or there are no rows of numbers.
    """
    encoding = encoding_of(source)
    lines = _first_lines(source, encoding)
    written = [
        (i, line) for i, line in enumerate(lines) if line.strip() and line.lstrip()[0] != "#"
    ]
    if not written:
        raise UnreadableRecordingError(f"{source.label} holds no rows; choose another file")
    ending = written[-max(1, len(written) // 4) :]  # headers are on top
    delimiter, decimal = max(CANDIDATES, key=lambda candidate: _fitness(ending, *candidate))
    rows = [(i, split_line(line, delimiter)) for i, line in written]
    kinds = _kinds([cells for _, cells in rows[-len(ending) :]], decimal)
    start = _first_data_row(rows, kinds, decimal)
    if start is None:
        raise UnreadableRecordingError(_no_numbers(source.label, lines))
    first_line = rows[start][0]
    comments = tuple(
        line.lstrip().lstrip("#").strip()
        for line in lines[:first_line]
        if line.lstrip().startswith("#")
    )
    names, units, assumptions = _header(rows[:start], comments, len(kinds), delimiter)
    return Layout(
        encoding, delimiter, decimal, first_line, names, units, kinds, comments, assumptions
    )


def split_line(line: str, delimiter: str) -> list[str]:
    """Cells of a line, without quotes and surrounding spaces."""
    if delimiter == SPACES:
        return [cell.strip('"') for cell in line.split()]
    try:
        cells = next(csv.reader([line], delimiter=delimiter, skipinitialspace=True), [])
    except csv.Error:  # a cell too long for it
        cells = line.split(delimiter)
    return [cell.strip() for cell in cells]


def _first_lines(source: Source, encoding: str) -> list[str]:
    text = CheckedText(source, encoding)
    try:
        head = text.read(HEAD_BYTES)
    finally:
        text.close()
    lines = head.split("\n")
    if len(head) < HEAD_BYTES:
        return lines[:LINES]
    if len(lines) == 1:
        raise UnreadableRecordingError(
            f"the first line of {source.label} has more than {HEAD_BYTES} characters: that is no "
            "table with a row for each sample; write one sample a line"
        )
    return lines[: min(LINES, len(lines) - 1)]  # the last one is cut off


def _fitness(written: list[tuple[int, str]], delimiter: str, decimal: str) -> tuple[float, int]:
    rows = [split_line(line, delimiter) for _, line in written]
    width = _usual_width(rows)
    alike = [cells for cells in rows if len(cells) == width]
    kinds = [kind_of(cell, decimal) for cells in alike for cell in cells]
    present = len(kinds) - kinds.count("missing")
    if "number" not in kinds:
        return 0.0, 0
    readable = kinds.count("number") + kinds.count("date")
    return round(readable / present * len(alike) / len(rows), 6), width


def _usual_width(rows: list[list[str]]) -> int:
    return Counter(len(cells) for cells in rows).most_common(1)[0][0]


def _kinds(rows: list[list[str]], decimal: str) -> tuple[str, ...]:
    """What most rows hold in each column."""
    width = _usual_width(rows)
    alike = [[kind_of(cell, decimal) for cell in cells] for cells in rows if len(cells) == width]
    return tuple(_kind_of_column(column) for column in zip(*alike, strict=True))


def _kind_of_column(kinds: tuple[str, ...]) -> str:
    counts = Counter(kind for kind in kinds if kind != "missing")
    return counts.most_common(1)[0][0] if counts else "missing"


def _first_data_row(rows: list[Row], kinds: tuple[str, ...], decimal: str) -> int | None:
    if "number" not in kinds:
        return None
    for i, (_, cells) in enumerate(rows):
        named = len(cells) > 1 and all(is_known(cell) for cell in cells)
        if named or len(cells) != len(kinds):
            continue  # wavelengths as names make a header of nothing but numbers
        found = [kind_of(cell, decimal) for cell in cells]
        pairs = zip(found, kinds, strict=True)
        fits = all(have in (want, "missing") for have, want in pairs if want in ("number", "date"))
        if fits and "number" in found:
            return i
    return None


def _no_numbers(label: str, lines: list[str]) -> str:
    tried = ", ".join(dict.fromkeys(DELIMITER_NAMES[delimiter] for delimiter, _ in CANDIDATES))
    last = next(line for line in reversed(lines) if line.strip())
    return (
        f"{label} has no rows of numbers in its first {LINES} lines: the last of them reads "
        f"{short(last)}. Cells may be parted by: {tried}; the decimal sign may be a point or a "
        "comma. Check that this is the file with the samples"
    )


def _header(
    above: list[Row], comments: tuple[str, ...], width: int, delimiter: str
) -> tuple[tuple[str, ...], tuple[str, ...], tuple[str, ...]]:
    """Names, units and what was taken for granted about them."""
    fitting = [cells for _, cells in above if 0 <= width - len(cells) <= 1]  # a trailing delimiter
    units: tuple[str, ...] = ()
    if len(fitting) > 1 and all(is_unit(cell) for cell in fitting[-1]):
        units = tuple(fitting.pop())
    told = []
    if fitting:
        names = fitting[-1]
        passed_over = len(above) - 1 - bool(units)
        if passed_over:
            lines = "1 line" if passed_over == 1 else f"{passed_over} lines"
            told.append(f"Passed over above the header: {lines}.")
    else:
        names = _names_in_comments(comments, width, delimiter)
        source = "the last comment line is taken for it" if names else "the columns are numbered"
        told.append(f"There is no header: {source}.")
    return _made_unique(names, width), units, tuple(told)


def _names_in_comments(comments: tuple[str, ...], width: int, delimiter: str) -> list[str]:
    for comment in comments[-1:]:
        cells = split_line(comment, delimiter)
        if len(cells) == width and guess_columns(tuple(cells), (), range(width)).found:
            return cells
    return []


def _made_unique(names: list[str], width: int) -> tuple[str, ...]:
    unique: list[str] = []
    for i in range(width):
        name = names[i] if i < len(names) and names[i] else f"column {i + 1}"
        unique.append(name if name not in unique else f"{name} (column {i + 1})")
    return tuple(unique)
