"""Errors of a study as tables of its report, and beside what standard and guidance ask."""

from __future__ import annotations

from oximetry_workbook.study.accuracy import LEAST_PAIRS, LEAST_SUBJECTS, LIMITS_POINTS
from oximetry_workbook.study.agreement import Agreement
from oximetry_workbook.study.breakdown import COMPARED, Part
from oximetry_workbook.teach.own_study import RESAMPLES, OwnStudy
from oximetry_workbook.teach.page import Block, Paragraph, Table

STATISTICS = {
    "bias": "Bias (mean error)",
    "sd": "Precision (SD of one error)",
    "a_rms": "A_rms",
    "lower_limit": "Lower limit of agreement",
    "upper_limit": "Upper limit of agreement",
}
MOST_SUBJECTS = 40
"""A longer table of subjects would fill more than a page; those with the largest A_rms stay."""


def agreement_blocks(study: OwnStudy) -> tuple[Block, ...]:
    """Bias, precision, A_rms and limits: overall, by saturation, by group and by subject."""
    result = study.result
    rows = [
        (label, f"{getattr(result.overall, name):z.2f}", _span(result.overall.intervals[name]))
        for name, label in STATISTICS.items()
    ]
    blocks: list[Block] = [
        Table(
            "Reading less blood, points", ("Statistic", "Value", "95 % interval"), with_minus(rows)
        ),
        Paragraph(
            f"Intervals: {RESAMPLES} studies drawn anew from whole subjects (percentile "
            "bootstrap). With ten subjects or fewer they are too narrow. Those of parts are those "
            "of A_rms."
        ),
        _parts("By saturation of the blood", result.deciles),
    ]
    if result.groups:
        blocks.append(_parts("By group", result.groups))
    if result.differences:
        blocks.append(_differences(study))
    return (*blocks, _subjects(study))


def _parts(caption: str, parts: tuple[Part, ...]) -> Table:
    heads = ("Part", "Pairs", "Subjects", "Bias", "SD", "A_rms", "95 % interval")
    rows = [
        (part.name, str(part.n), str(part.n_subjects), *_part_figures(part.agreement))
        for part in parts
    ]
    return Table(f"{caption}, points", heads, with_minus(rows))


def _part_figures(it: Agreement | None) -> tuple[str, ...]:
    if it is None:
        return ("–", "–", "–", "too few subjects")
    return (f"{it.bias:z.2f}", f"{it.sd:z.2f}", f"{it.a_rms:z.2f}", _span(it.intervals["a_rms"]))


def _differences(study: OwnStudy) -> Table:
    heads = ("First less second", "Bias", "95 % interval", "A_rms", "95 % interval")
    rows = []
    for each in study.result.differences:
        cells = [
            cell
            for name in COMPARED
            for cell in (f"{getattr(each, name):z.2f}", _span(each.intervals[name]))
        ]
        rows.append((f"{each.first} less {each.second}", *cells))
    return Table("Differences between groups, points", heads, with_minus(rows))


def _subjects(study: OwnStudy) -> Table:
    people = study.result.subjects
    shown = people.nlargest(MOST_SUBJECTS, "a_rms", keep="first")
    rows = [
        (str(row.subject), str(row.n), f"{row.bias:z.2f}", f"{row.a_rms:z.2f}")
        for row in shown.itertuples()
    ]
    caption = "By subject, largest A_rms first, points"
    if len(shown) < len(people):
        caption += f"; {len(shown)} of {len(people)} subjects"
    heads = ("Subject", "Pairs", "Bias", "A_rms")
    return Table(caption, heads, with_minus(rows))


def asked_blocks(study: OwnStudy) -> tuple[Block, ...]:
    """The figures beside those that standard and guidance ask for."""
    it = study.result.overall
    here = f"{it.a_rms:z.2f} ({_span(it.intervals['a_rms'])})"
    rows = [
        (f"A_rms: {name}", f"{limit:z.1f} at most", here) for name, limit in LIMITS_POINTS.items()
    ]
    rows += [
        ("Subjects: FDA guidance", f"{LEAST_SUBJECTS} at least", str(it.n_subjects)),
        ("Pairs: FDA guidance", f"{LEAST_PAIRS} at least", str(it.n)),
    ]
    return (
        Table("A_rms in points, with its 95 % interval", ("What", "Asked", "Here"), tuple(rows)),
        Paragraph(
            "The sentences under “In short” say how the two compare. A number that meets a limit "
            "is no verdict on a device: guidance asks for much more than these figures."
        ),
    )


def _span(ends: tuple[float, float]) -> str:
    return f"{ends[0]:z.2f} to {ends[1]:z.2f}"


def with_minus(rows: list[tuple[str, ...]]) -> tuple[tuple[str, ...], ...]:
    """Put a minus for the hyphen of numbers; the first cell is a name and stays."""
    return tuple((first, *(cell.replace("-", "−") for cell in rest)) for first, *rest in rows)
