"""The report of a recording: what its file holds, what was read in it, and with which curve."""

from __future__ import annotations

import math
from collections.abc import Mapping

import pandas as pd

from oximetry_workbook.meter.files import Preview
from oximetry_workbook.teach.invented_recording import INVENTED_NAME
from oximetry_workbook.teach.own_recording import (
    Readings,
    curve_words,
    found_sentences,
    numbers,
    saturation_sentence,
)
from oximetry_workbook.teach.page import (
    Block,
    Bullets,
    Figure,
    Page,
    Paragraph,
    Section,
    Subheading,
    Table,
)
from oximetry_workbook.teach.page_made import made_with
from oximetry_workbook.teach.words import figure

WINDOWS = "Window by window"
"""Heading of the section that holds the pictures."""

CAUTION = (
    "A teaching tool. Not for diagnosis or patient care. What it reads in a recording of a real "
    "person is no finding about that person; follow local protocols and licensed practice."
)
INVENTED_CAUTION = "This recording is invented: simulated light, nobody’s finger."

UNITS = "Light is in the file’s own units: they cancel in the ratio."

MISLEADS = (
    "Linear light is taken for granted. A recorder that took the logarithm, turned the signal "
    "upside down or threw the steady light away spoils R, and nothing says so.",
    "A reference is taken at its word: blood, another meter and a simulation are different things, "
    "and it may be earlier or later than the place that was measured.",
    "The wavelengths are not in the file. A probe with other LEDs needs a curve of its own.",
    "Below 70 % curves are not held against blood: the number tells “very low”, not how low.",
)
SOURCES = (
    "Range in which meters are held against blood: FDA, Pulse Oximeters: Premarket Notification "
    "Submissions, guidance of 4 March 2013, docket FDA-2007-D-0205.",
    "The textbook line 110 − 25 R: widely taught; its origin is unknown.",
    "How beats are found, quality judged and values withheld: this workbook’s own choice.",
)

MOST_WINDOWS = 36
"""Rows of the table of windows: with its caption they fill a sheet of Letter."""
COMMONEST = 8

COLUMNS = {
    "time_s": ("Starts, s", 1),
    "spo2_percent": ("SpO₂, %", 1),
    "reference_percent": ("Reference, %", 1),
    "ratio": ("R", 3),
    "heart_rate_bpm": ("Pulse, per min", 0),
    "perfusion_index_percent": ("Perfusion index, %", 2),
    "quality": ("Quality", 2),
}
"""Heading and decimals of each column of the table of windows."""


def recording_page(
    preview: Preview, readings: Readings, figures: Mapping[str, tuple[Figure, ...]]
) -> Page:
    """Make the report of a recording.

    Args:
        preview: What its file holds.
        readings: What was read in it.
        figures: Pictures by the heading of their section.
    """
    sections = {
        "In short": _short(readings),
        "The file": _file(preview),
        "The calibration curve": (_curve(readings),),
        WINDOWS: _windows(readings),
        "What may mislead": (Bullets(MISLEADS),),
        "Sources": (Bullets(SOURCES),),
    }
    made = tuple(
        Section(heading, (*blocks, *figures.get(heading, ())))
        for heading, blocks in sections.items()
    )
    caution = f"{INVENTED_CAUTION} {CAUTION}" if invented(preview) else CAUTION
    return Page(title(preview), _subtitle(preview), made, caution, made_with())


def invented(preview: Preview) -> bool:
    """Whether the recording says of itself that it is invented."""
    said = any(line.lower().startswith("invented") for line in preview.comments)
    return said or preview.name == INVENTED_NAME


def title(preview: Preview) -> str:
    """Name the report; an invented recording is called invented."""
    return f"{'An invented recording' if invented(preview) else 'A recording'}: report"


def _subtitle(preview: Preview) -> str:
    length = "" if preview.duration_s is None else f", {figure(preview.duration_s, 4)} s of light"
    return f"From {preview.name}{length}."


def _short(readings: Readings) -> tuple[Block, ...]:
    return (
        Table("All windows together", ("Figure", "Value"), tuple(numbers(readings).items())),
        Paragraph(saturation_sentence(readings)),
    )


def _file(preview: Preview) -> tuple[Block, ...]:
    parts = {
        "Taken for granted": preview.assumptions,
        "Noticeable": preview.findings or ("Nothing was noticed: no gaps, no clipped light.",),
    }
    blocks: list[Block] = [Bullets((*found_sentences(preview), UNITS))]
    for heading, sentences in parts.items():
        if sentences:
            blocks += [Subheading(heading), Bullets(sentences)]
    return tuple(blocks)


def _curve(readings: Readings) -> Table:
    curve = readings.curve
    low, high = curve.valid_percent
    rows = (
        ("Curve", curve_words(readings)),
        ("From", curve.source),
        ("Checked range", f"{low:g} to {high:g} %"),
        ("Window", f"{readings.window_s:g} s"),
    )
    return Table("How the light was read", ("Setting", "Value"), rows)


def _windows(readings: Readings) -> tuple[Block, ...]:
    table = readings.windows
    every = math.ceil(len(table) / MOST_WINDOWS)
    shown = table.iloc[::every]
    known = [name for name in COLUMNS if name in table and table[name].notna().any()]
    rows = tuple(
        tuple(_cell(row[name], COLUMNS[name][1]) for name in known) for _, row in shown.iterrows()
    )
    caption = "Windows; a dash stands for a value withheld or not known"
    if every > 1:
        caption = f"{len(shown)} of {len(table)} windows, one in {every}; a dash: withheld"
    heads = tuple(COLUMNS[name][0] for name in known)
    return (*_withheld(table), Table(caption, heads, rows))


def _withheld(table: pd.DataFrame) -> tuple[Block, ...]:
    """Why windows show nothing; the commonest reasons."""
    reasons = table.loc[table["spo2_percent"].isna(), "reason"].value_counts()
    if reasons.empty:
        return (Paragraph("Every window has a number."),)
    rows = tuple((str(why), str(n)) for why, n in reasons.head(COMMONEST).items())
    more = f", the {COMMONEST} commonest of {len(reasons)}" if len(reasons) > COMMONEST else ""
    return (Table(f"Why numbers were withheld{more}", ("Reason", "Windows"), rows),)


def _cell(value: float, decimals: int) -> str:
    return "–" if math.isnan(value) else f"{value:.{decimals}f}".replace("-", "−")
