"""The command `oximetry-workbook handout`: a lesson or a chapter as one HTML page to print."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from pathlib import Path

from oximetry_workbook.app import notebooks
from oximetry_workbook.app.page_files import (
    Progress,
    UnusableFileError,
    check_output,
    last_page,
    read_file,
    write_page,
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Give a parser the arguments of this command."""
    add = parser.add_argument
    add(
        "what",
        metavar="LESSON",
        help="a lesson file (.json), the name of a lesson that comes along, or the number of a "
        "chapter, such as 06",
    )
    add(
        "--output",
        type=Path,
        metavar="PAGE",
        help="where to write (default: LESSON's name with _handout.html, in the present folder)",
    )
    add("--force", action="store_true", help="overwrite the page if it is there already")


def run(options: argparse.Namespace) -> None:
    """Make the handout.

    Raises:
        UnusableFileError: There is no such lesson or chapter, it cannot be read, or the page is
            there already.
        OSError: The page cannot be written.
    """
    file = Path(options.what)
    output = options.output or Path(f"{file.stem}_handout.html")
    check_output(file if file.suffix else None, output, options.force)
    slices = _chapter(options.what) if options.what.isdigit() else _lesson(file)
    with Progress() as step:
        page = last_page(slices, step)
    write_page(page, output, options.force)
    print(f"Wrote {output}.", flush=True)


def _lesson(file: Path) -> Iterator[tuple[float, str | None]]:
    from oximetry_workbook.panels.lesson_pictures import handout
    from oximetry_workbook.teach.lesson_json import own_lesson_texts, read_lesson

    along = own_lesson_texts()
    try:
        return handout(read_lesson(along.get(str(file)) or _text(file, along)))
    except ValueError as problem:
        raise UnusableFileError(f"{file.name}: {problem}") from None


def _text(file: Path, along: dict[str, str]) -> str:
    if not file.suffix and not file.exists():
        raise UnusableFileError(
            f"there is no lesson {str(file)!r}; give a file, a chapter's number, or one of "
            f"{', '.join(along)}"
        )
    from oximetry_workbook.teach.small_files import text_of

    return text_of(read_file(file), "the file")


def _chapter(number: str) -> Iterator[tuple[float, str | None]]:
    from oximetry_workbook.panels.chapter_handout import chapter_handout

    folder = notebooks.find_folder()
    chapters = {each.number: each for each in notebooks.chapters(folder)}
    chosen = chapters.get(number.zfill(2))
    if chosen is None:
        raise UnusableFileError(
            f"there is no chapter {number}; choose one from {min(chapters)} to {max(chapters)}"
        )
    return chapter_handout((folder / chosen.notebook).read_text("utf-8"))
