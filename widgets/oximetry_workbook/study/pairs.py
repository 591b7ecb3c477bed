"""Reading a study's table of pairs: columns found by name, units checked, odd things told."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd

NAMES = {
    "subject": ("subject", "subject_id", "subject_no", "volunteer", "participant", "person"),
    "group": ("group", "skin_tone", "skin_tone_group", "skin_group", "monk", "fitzpatrick"),
    "ratio": ("ratio", "r", "ratio_of_ratios", "r_value"),
    "spo2_percent": ("spo2", "spo2_percent", "reading", "meter"),
    "sao2_percent": ("sao2", "sao2_percent", "reference", "blood", "co_oximeter"),
}
"""Headings each column may have, in lower case, with units and punctuation taken off."""

MEASURED = ("ratio", "spo2_percent", "sao2_percent")
LABELS = ("subject", "group")
NO_VALUE = frozenset({"", "-", "--", "---", "–", "—", "na", "n/a", "nan", "none", "null"})
"""What stands for a reading that was withheld or a sample that was lost (common practice)."""

ALLOWED = {"ratio": (0.0, 10.0), "spo2_percent": (1.0, 110.0), "sao2_percent": (1.0, 100.0)}
"""Above the first, up to the second. R beyond 10 is no ratio of ratios of living tissue; a curve
may overshoot 100 % before the display clips it; blood does not."""

FRACTION_AT_MOST = 1.1
DECIMAL_COMMA = r"^(\s*-?\d+),(\d+\s*%?\s*)$"
MOST_BYTES = 20_000_000


@dataclass(frozen=True, eq=False)
class StudyPairs:
    """Pairs of a study, ready for `calibrate` and `accuracy`.

    Attributes:
        table: Columns subject and sao2_percent; group, ratio and spo2_percent where given.
        findings: What was found on the way, as sentences: rows left out, columns passed over.
    """

    table: pd.DataFrame
    findings: tuple[str, ...]


def read_pairs(source: str | Path | bytes | pd.DataFrame) -> StudyPairs:
    """Read a study's pairs from a CSV file, its bytes, or a table.

    Columns are found by their headings, whatever their order and case: subject, sao2 (blood, %),
    and spo2 (meter, %) or ratio (R) or both; group if there is one. Comma, semicolon and tab
    part columns; with the last two a decimal comma is understood.

    Args:
        source: Path of the file, its content, or a table with such columns.

    Returns:
        The pairs. Rows without subject, group, blood value or any reading are left out.

    Raises:
        ValueError: There is no such file, it is no text, a column is missing or there twice, or a
            value is no number or out of range; the message names column, row and remedy. Rows
            are counted from 1 without the heading.
    """
    raw = source if isinstance(source, pd.DataFrame) else _from_text(_text(source))
    columns, passed_over = _columns(raw)
    table = pd.DataFrame(
        {
            name: _numbers(name, raw[heading]) if name in MEASURED else _labels(raw[heading])
            for name, heading in columns.items()
        }
    )
    table.index = pd.RangeIndex(1, len(table) + 1)
    for name in MEASURED:
        if name in table:
            _check_range(name, table[name].dropna())
    kept, findings = _complete(table)
    if passed_over:
        findings += (f"Columns not used: {', '.join(passed_over)}.",)
    return StudyPairs(kept.reset_index(drop=True), findings + _oddities(kept))


def _text(source: str | Path | bytes) -> str:
    if not isinstance(source, bytes):
        path = Path(source)
        if not path.is_file():
            raise ValueError(f"source is {path.name!r}; there is no such file")
        if path.stat().st_size > MOST_BYTES:
            raise ValueError(f"the file is larger than {MOST_BYTES // 1_000_000} MB")
        source = path.read_bytes()
    if len(source) > MOST_BYTES:
        raise ValueError(f"the file is larger than {MOST_BYTES // 1_000_000} MB")
    try:
        return source.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise ValueError("the file is no UTF-8 text; save the table as CSV in UTF-8") from None


def _from_text(text: str) -> pd.DataFrame:
    heading = text.lstrip().split("\n", 1)[0]
    separator = max((";", "\t", ","), key=heading.count)
    try:
        # the heading is read as a row, since pandas renames headings that are there twice
        cells = pd.read_csv(
            io.StringIO(text), sep=separator, dtype=str, keep_default_na=False, header=None
        )
    except (pd.errors.ParserError, pd.errors.EmptyDataError) as error:
        raise ValueError(
            f"the file is no table of columns ({str(error).strip()}); with decimal commas, part "
            "the columns by semicolons"
        ) from None
    if separator != ",":
        for place in cells:
            cells[place] = cells[place].str.replace(DECIMAL_COMMA, r"\1.\2", regex=True)
    return cells.iloc[1:].set_axis(cells.iloc[0].tolist(), axis=1)


def _plain(heading: object) -> str:
    """Heading in lower case, without units; spaces and punctuation made one underscore."""
    words = re.sub(r"[(\[].*?[)\]]|%", " ", str(heading)).replace("₂", "2").lower()
    return re.sub(r"[^a-z0-9]+", "_", words).strip("_")


def _columns(raw: pd.DataFrame) -> tuple[dict[str, object], list[str]]:
    """Heading of each column that was found, by its name here; and the headings left over."""
    found: dict[str, object] = {}
    passed_over = []
    for heading in raw.columns:
        name = next((name for name, known in NAMES.items() if _plain(heading) in known), None)
        if name is None:
            passed_over += [str(heading)] if _plain(heading) else []
        elif name in found:
            raise ValueError(
                f"{name} is there twice, as {found[name]!r} and {heading!r}; keep one of them"
            )
        else:
            found[name] = heading
    for name in ("subject", "sao2_percent"):
        if name not in found:
            raise ValueError(_missing(name, raw))
    if not {"ratio", "spo2_percent"} & set(found):
        raise ValueError(_missing("spo2_percent", raw) + "; or ratio")
    return found, passed_over


def _missing(name: str, raw: pd.DataFrame) -> str:
    headings = ", ".join(map(str, raw.columns))
    return f"there is no column {name} among {headings}; call it {' or '.join(NAMES[name][:2])}"


def _labels(column: pd.Series) -> pd.Series:
    """Labels as text, missing ones as None: subject 7 of one file is subject 7 of the next."""

    def label(value: object) -> str | None:
        if isinstance(value, float) and value.is_integer():
            value = int(value)  # a table with gaps turns whole numbers into floats
        text = "" if pd.isna(value) else str(value).strip()  # type: ignore[call-overload]
        return None if text.lower() in NO_VALUE else text

    return pd.Series([label(value) for value in column], dtype=object)


def _numbers(name: str, column: pd.Series) -> pd.Series:
    texts = column.map(lambda value: "" if pd.isna(value) else str(value).strip())
    absent = texts.str.lower().isin(NO_VALUE)
    numbers = pd.to_numeric(texts.mask(absent).str.removesuffix("%"), errors="coerce")
    wrong = (~np.isfinite(numbers.to_numpy(dtype=np.float64))) & ~absent.to_numpy()
    if wrong.any():
        row = int(np.argmax(wrong))
        raise ValueError(
            f"{name} is {texts.iloc[row]!r} in row {row + 1}; it must be a number, or empty where "
            "there is none"
        )
    return pd.Series(numbers.to_numpy(dtype=np.float64))


def _check_range(name: str, values: pd.Series) -> None:
    low, high = ALLOWED[name]
    if name != "ratio" and len(values) and values.max() <= FRACTION_AT_MOST:
        raise ValueError(
            f"{name} goes no higher than {values.max():g}, as fractions do; give percentages: "
            "multiply by 100"
        )
    wrong = ~((values > low) & (values <= high))
    if wrong.any():
        place = int(wrong.argmax())
        row, value = values.index[place], values.iloc[place]
        raise ValueError(
            f"{name} is {value:g} in row {row}; allowed is above {low:g} and up to "
            f"{high:g}. Correct it, or leave the cell empty if there is no value"
        )


def _complete(table: pd.DataFrame) -> tuple[pd.DataFrame, tuple[str, ...]]:
    """Rows that have all they need, and sentences about those that do not."""
    readings = [name for name in ("ratio", "spo2_percent") if name in table]
    reasons: list[tuple[str, Callable[[pd.DataFrame], pd.Series]]] = [
        ("subject", lambda rows: rows["subject"].isna()),
        ("sao2_percent", lambda rows: rows["sao2_percent"].isna()),
        (" and ".join(readings), lambda rows: rows[readings].isna().all(axis=1)),
    ]
    if "group" in table:
        reasons.append(("group", lambda rows: rows["group"].isna()))
    findings = []
    for what, absent in reasons:
        out = absent(table)
        if out.any():
            count = int(out.sum())
            findings.append(f"Left out for want of {what}: {_rows(count)}, first {out.idxmax()}.")
            table = table[~out]
    if table.empty:
        raise ValueError("no row is left with subject, sao2_percent and a reading; fill them in")
    return table, tuple(findings)


def _rows(count: int) -> str:
    return "1 row" if count == 1 else f"{count} rows"


def _oddities(table: pd.DataFrame) -> tuple[str, ...]:
    """Sentences about what may be a mistake but need not be."""
    found = []
    for name in ("ratio", "spo2_percent"):
        if name in table and table[name].isna().any():
            found.append(f"{name} is missing in {_rows(int(table[name].isna().sum()))}.")
    twice = int(table.duplicated().sum())
    if twice:
        found.append(f"Exact copies of an earlier row: {_rows(twice)}. They were kept.")
    if "ratio" in table and len(table) > 2 and table["ratio"].corr(table["sao2_percent"]) > 0.0:
        found.append("R rises with saturation; the two colours may be swapped.")
    outside = int((table["sao2_percent"] < 70.0).sum())
    if outside:
        found.append(f"Blood below 70 %: {_rows(outside)}, outside the range that studies cover.")
    return tuple(found)
