"""The report of a desaturation study: its data, its curve, its errors, and their limits."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from oximetry_workbook.body.quantities import specs_of
from oximetry_workbook.study.calibration_fit import BAND_METHOD, Calibration
from oximetry_workbook.study.curve_forms import FORMS
from oximetry_workbook.teach import own_study_words as words
from oximetry_workbook.teach.own_study import (
    RESAMPLES,
    SWING_AT_PERCENT,
    LeftOutSoFar,
    OwnStudy,
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
from oximetry_workbook.teach.page_agreement import (
    agreement_blocks,
    asked_blocks,
    with_minus,
)
from oximetry_workbook.teach.page_made import made_with
from oximetry_workbook.teach.words import figure

CURVE, AGREEMENT, SENSITIVITY = "The curve", "Agreement with blood", "Which assumption counts most"
"""Headings of the sections that hold pictures."""

CAUTION = (
    "A teaching tool. Not for diagnosis or patient care, and no evidence for or against a device. "
    "Follow local protocols and licensed practice."
)
INVENTED_CAUTION = "All volunteers here are invented: no figure on this page is of a real person."
UNCHECKED_CAUTION = "The figures are of a file nobody has checked."

SOURCES = (
    "Limits of A_rms, numbers of subjects and pairs: FDA, Pulse Oximeters: Premarket Notification "
    "Submissions, guidance of 4 March 2013, docket FDA-2007-D-0205; ISO 80601-2-61:2019, as "
    "quoted in JMIR Form Res 2024, e54256 (the standard itself was not opened).",
    "Limits of agreement with several pairs of a person: J. M. Bland and D. G. Altman, J Biopharm "
    "Stat 2007; 17:571.",
    "Robust fit: P. J. Huber, Robust Statistics, 1981 (from memory).",
    "Error found in darker skin: P. E. Bickler, J. R. Feiner and J. W. Severinghaus, "
    "Anesthesiology 2005; 102:715.",
    "Spreads between invented people and LEDs, plateaus: common practice.",
)

TERMS = {
    "linear": "SpO₂ = a0 + a1 R",
    "quadratic": "SpO₂ = a0 + a1 R + a2 R²",
    "rational": "SpO₂ = (a0 + a1 R) / (1 + b1 R)",
}
BAND_ROWS = 6


@dataclass(frozen=True)
class LeftOut:
    """What leaving each subject out of the fit has told.

    Attributes:
        found: The errors; None when there are none.
        reason: Why there are none.
    """

    found: LeftOutSoFar | None
    reason: str = ""

    @property
    def sentence(self) -> str:
        """What it told, or why it told nothing."""
        if self.found is None:
            return f"Leaving each subject out gave no figure: {self.reason}."
        return words.left_out_sentence(self.found)


def study_page(
    study: OwnStudy,
    left_out: LeftOut,
    name: str,
    figures: Mapping[str, tuple[Figure, ...]],
) -> Page:
    """Make the report of a study.

    Args:
        study: What it is about.
        left_out: From leaving each subject out.
        name: Of the file; not shown for invented volunteers.
        figures: Pictures by the heading of their section.
    """
    sections = {
        "In short": _short(study, left_out),
        "The data": _data(study),
        CURVE: _curve(study, left_out),
        AGREEMENT: agreement_blocks(study),
        "Beside what is asked": asked_blocks(study),
        "What the data cannot show": (Bullets(words.not_shown(study)),),
        SENSITIVITY: (_sensitivity(study),),
        "Settings": (_settings(study, name),),
        "Sources": (Bullets(SOURCES),),
    }
    made = tuple(
        Section(heading, (*blocks, *figures.get(heading, ())))
        for heading, blocks in sections.items()
    )
    whose = INVENTED_CAUTION if study.invented else UNCHECKED_CAUTION
    return Page(title(study), _subtitle(study, name), made, f"{whose} {CAUTION}", made_with())


def title(study: OwnStudy) -> str:
    """Name the report; invented volunteers are called invented."""
    return f"A desaturation study{' of invented volunteers' if study.invented else ''}: report"


def _subtitle(study: OwnStudy, name: str) -> str:
    it, judged = study.result.overall, study.judged
    source = f"{it.n_subjects} invented volunteers" if study.invented else f"From the file {name}"
    return f"{source}. Readings judged: {judged}."


def _short(study: OwnStudy, left_out: LeftOut) -> tuple[Block, ...]:
    numbers = tuple(words.numbers(study).items())
    if left_out.found is not None:
        out = f"{left_out.found.a_rms_points:z.2f}"
        numbers += (("A_rms with each subject left out, all pairs, points", out),)
    return (
        Table("Blood from 70 to 100 %", ("Figure", "Value"), numbers),
        Bullets(words.shown(study)),
    )


def _data(study: OwnStudy) -> tuple[Block, ...]:
    table, result = study.pairs.table, study.result
    rows = [
        ("Pairs", str(len(table))),
        ("Subjects", str(table["subject"].nunique())),
        ("Blood, %", _ends(table["sao2_percent"])),
    ]
    for name, label in (("ratio", "Ratio of ratios R"), ("spo2_percent", "Meter’s reading, %")):
        if name in table:
            rows.append((label, _ends(table[name])))
    rows += [
        ("Pairs judged, blood from 70 to 100 %", str(result.overall.n)),
        ("Not judged: blood below 70 %", str(result.n_outside)),
        ("Not judged: no reading", str(result.n_without_reading)),
    ]
    found = words.findings(study) or ("Nothing was left out, and nothing odd was noticed.",)
    noticed = (Subheading("Left out and noticed"), Bullets(found))
    return (Table("What was read", ("What", "Value"), tuple(rows)), *noticed)


def _curve(study: OwnStudy, left_out: LeftOut) -> tuple[Block, ...]:
    found = study.calibration
    if found is None:
        return (Paragraph(words.curve_sentence(study)),)
    errors = np.sqrt(np.diag(found.covariance))
    rows = [
        (name, f"{value:.6g}", f"{error:.2g}")
        for name, value, error in zip(
            _coefficient_names(study.form), found.coefficients, errors, strict=True
        )
    ]
    heads = ("Coefficient", "Value", "Standard error")
    return (
        Paragraph(f"{TERMS[study.form]}, in percent. Fitted by {study.method}."),
        Table("Coefficients; standard errors clustered by subject", heads, with_minus(rows)),
        _band(found),
        Paragraph(BAND_METHOD),
        Paragraph(left_out.sentence),
    )


def _band(found: Calibration) -> Table:
    ratio = np.linspace(*found.ratio_range, BAND_ROWS)
    columns = (ratio, np.asarray(found.curve(ratio)), *found.band(ratio))
    rows = [
        (f"{r:z.3f}", *(f"{each:z.2f}" for each in others))
        for r, *others in zip(*columns, strict=True)
    ]
    heads = ("R", "Curve, %", "Lower, %", "Upper, %")
    return Table("95 % band of the mean curve", heads, with_minus(rows))


def _coefficient_names(form: str) -> tuple[str, ...]:
    above, below = FORMS[form]
    return (*(f"a{k}" for k in range(above + 1)), *(f"b{k}" for k in range(1, below + 1)))


def _sensitivity(study: OwnStudy) -> Table:
    rows = [
        (row.label, f"{row.at_low:z.1f}", f"{row.at_high:z.1f}", f"{row.swing:+z.2f}")
        for row in study.swings.itertuples()
    ]
    heads = ("Assumption", "Reads at the 5th, %", "At the 95th, %", "Swing, points")
    caption = f"Each assumption from the 5th to the 95th of a hundred, at {SWING_AT_PERCENT:z.0f} %"
    return Table(caption, heads, with_minus(rows))


def _settings(study: OwnStudy, name: str) -> Table:
    of_invented = ("subjects", "spread", "lowest_percent", "seed")
    rows = []
    for field, spec in specs_of(study).items():
        if field == "uploaded" or (field in of_invented and not study.invented):
            continue
        value = getattr(study, field)
        shown = value if isinstance(value, str) else f"{figure(value, 4)} {spec.unit}".rstrip()
        rows.append((spec.label, shown))
    if not study.invented:
        rows.append(("File", name))
    rows.append(("Studies drawn anew for the intervals", f"{RESAMPLES}, seed 0"))
    return Table("How this report was made", ("Setting", "Value"), tuple(rows))


def _ends(values: pd.Series) -> str:
    there = values.dropna()
    return f"{figure(there.min(), 4)} to {figure(there.max(), 4)}"
