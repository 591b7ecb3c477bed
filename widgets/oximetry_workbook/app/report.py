"""The command `oximetry-workbook report`: a file of a study or a recording as one HTML page."""

from __future__ import annotations

import argparse
import re
from pathlib import Path
from typing import Any

from oximetry_workbook.app.page_files import (
    Progress,
    Step,
    UnusableFileError,
    check_output,
    last_page,
    read_file,
    write_page,
)

STUDY, RECORDING = "study", "recording"
FORMS = ("linear", "quadratic", "rational")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Give a parser the arguments of this command."""
    add = parser.add_argument
    add("file", type=Path, help="a CSV file of a desaturation study, or of light over time")
    add(
        "--output",
        type=Path,
        metavar="PAGE",
        help="where to write (default: FILE's name with _report.html, in the present folder)",
    )
    add("--force", action="store_true", help="overwrite the page if it is there already")
    add("--kind", choices=(STUDY, RECORDING), help="what the file is (default: by its columns)")
    add("--form", choices=FORMS, help="form of the curve of a study (default: quadratic)")
    add("--robust", action="store_true", help="fit that curve by Huber's estimate")
    add(
        "--rate",
        type=_rate,
        metavar="HZ",
        help="samples per second of a recording without a column of times",
    )


def run(options: argparse.Namespace) -> None:
    """Make the report.

    Raises:
        UnusableFileError: The file cannot be read or reckoned with, or the page is there already.
        OSError: The page cannot be written.
    """
    output = options.output or Path(f"{options.file.stem}_report.html")
    check_output(options.file, output, options.force)
    content = read_file(options.file)
    try:
        kind = options.kind or _kind(options.file, content)
        _check_options(options, kind)
        page = _page(options, kind, content)
    except ValueError as problem:  # our own words, which do not always name the file
        named = str(problem).startswith(options.file.name)
        raise UnusableFileError(f"{'' if named else f'{options.file.name}: '}{problem}") from None
    write_page(page, output, options.force)
    print(f"Wrote {output} ({kind}).", flush=True)


def _page(options: argparse.Namespace, kind: str, content: bytes) -> str:
    with Progress() as step:
        if kind == STUDY:
            return _study_page(options, content, step)
        return _recording_page(options, step)


def _study_page(options: argparse.Namespace, content: bytes, step: Step) -> str:
    from oximetry_workbook.panels.own_study import OwnStudyPanel

    panel = OwnStudyPanel()
    # before the file, which may have too few pairs for another form
    if options.form:
        panel.model.set("form", options.form)
    if options.robust:
        panel.model.set("method", "robust")
    panel.read(options.file.name, content)
    if panel.model.state.calibration is None and (options.form or options.robust):
        raise ValueError("there is no column ratio, so no curve; leave out --form and --robust")
    step(0.2)
    return last_page(panel.report(), lambda share: step(0.2 + 0.8 * share))


def _recording_page(options: argparse.Namespace, step: Step) -> str:
    from oximetry_workbook.panels.own_recording import OwnRecording
    from oximetry_workbook.panels.recording_report import recording_report

    panel = OwnRecording()
    _open(panel, options)
    panel.work.progress.observe(lambda change: step(0.7 * change["new"]), "value")
    panel.work.begin()
    return last_page(recording_report(panel), lambda share: step(0.7 + 0.3 * share))


def _open(panel: Any, options: argparse.Namespace) -> None:
    """Open a recording; with a rate, that of a file without times."""
    try:
        panel.open_path(options.file)
    except ValueError:
        if options.rate is None or panel.opened is None:
            raise
    if options.rate is not None:
        panel.file_fields.rate.value = options.rate
    problem = panel.opened.preview.problem
    if problem is not None:
        raise ValueError(problem)


def _kind(path: Path, content: bytes) -> str:
    """Tell by the columns whether a file is a study or a recording."""
    from oximetry_workbook.meter.files import open_content
    from oximetry_workbook.meter.files.wfdb_record import SUFFIXES

    if path.suffix.lower() in SUFFIXES:
        return RECORDING
    if _has_headings_of_a_study(content):
        return STUDY
    preview = open_content(path.name, content).preview
    if {"red", "infrared"} <= set(preview.chosen):
        return RECORDING
    raise UnusableFileError(
        f"{path.name} is neither a study nor a recording by its columns, "
        f"{', '.join(preview.columns)}. A study has subject, sao2, and ratio or spo2; a "
        "recording has red, infrared and times. Rename the columns, or give --kind"
    )


def _has_headings_of_a_study(content: bytes) -> bool:
    """Whether a study could be read under the file's headings.

    They are tried with a row of fives, which are in every range: whatever is wrong with the
    file's own rows is for the reading of a study to tell.
    """
    from oximetry_workbook.study.pairs import read_pairs

    headings = content.decode("utf-8-sig", errors="replace").lstrip().split("\n", 1)[0].strip()
    fives = re.sub(r"[^,;\t]+", "5", headings)
    try:
        read_pairs(f"{headings}\n{fives}\n".encode())
    except ValueError:
        return False
    return True


def _check_options(options: argparse.Namespace, kind: str) -> None:
    of_study = {"--form": options.form, "--robust": options.robust}
    wrong = {"--rate": options.rate} if kind == STUDY else of_study
    for name, given in wrong.items():
        if given:
            raise UnusableFileError(f"{name} does not go with a {kind}; leave it out")


def _rate(text: str) -> float:
    try:
        rate = float(text)
    except ValueError:
        rate = 0.0
    if not 0.0 < rate <= 1e6:
        raise argparse.ArgumentTypeError(f"{text!r} is no rate; give samples per second above 0")
    return rate
