"""What commands that make a page share: what may be read and written, and progress."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from pathlib import Path

Step = Callable[[float], None]
"""Is told the share done, from 0 to 1."""


class UnusableFileError(Exception):
    """A file that cannot be read, or must not be written; the message says why and what to do."""


def write_page(page: str, output: Path, force: bool) -> None:
    """Write a page.

    Raises:
        OSError: It cannot be written, or came into being meanwhile and may not be overwritten.
    """
    with output.open("w" if force else "x", encoding="utf-8", newline="\n") as file:
        file.write(page)


def check_output(source: Path | None, output: Path, force: bool) -> None:
    """Make sure that a page may be written.

    Args:
        source: The file it is made from, if any; never overwritten.
        output: Where to write it.
        force: Whether a file that is there may be overwritten.

    Raises:
        UnusableFileError: It may not, or its folder is not there.
    """
    if not output.parent.is_dir():
        raise UnusableFileError(
            f"{output.parent} is no folder; make it, or choose another --output"
        )
    if not output.exists():
        return
    if source is not None and source.exists() and output.samefile(source):
        raise UnusableFileError(f"{output} is the file to read; choose another name for the page")
    if not force:
        raise UnusableFileError(
            f"{output} is there already; choose another --output, or add --force to overwrite it"
        )


def read_file(path: Path) -> bytes:
    """Return what a file holds.

    Raises:
        UnusableFileError: There is no such file, or it cannot be read.
    """
    if path.is_dir():
        raise UnusableFileError(f"{path} is a folder; give a file")
    try:
        return path.read_bytes()
    except FileNotFoundError:
        raise UnusableFileError(f"{path}: there is no such file; check the path") from None
    except OSError as problem:
        raise UnusableFileError(f"{path} cannot be read: {problem.strerror}") from None


def last_page(slices: Iterator[tuple[float, str | None]], step: Step) -> str:
    """Make a page in slices, telling each share done."""
    *_, last = (_told(each, step) for each in slices)
    assert last is not None  # the last slice brings the page
    return last


def _told(made: tuple[float, str | None], step: Step) -> str | None:
    step(made[0])
    return made[1]


class Progress:
    """A line that counts up while somebody watches; a terminal is needed for that."""

    def __enter__(self) -> Step:
        self._shown = sys.stderr.isatty()
        return self._step

    def __exit__(self, *_: object) -> None:
        if self._shown:
            print("\r\033[K", end="", file=sys.stderr, flush=True)

    def _step(self, share: float) -> None:
        if self._shown:
            print(f"\r{100.0 * share:3.0f} %", end="", file=sys.stderr, flush=True)
