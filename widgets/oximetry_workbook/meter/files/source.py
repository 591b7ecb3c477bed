"""Where the bytes of a recording come from, and how they become text."""

from __future__ import annotations

import codecs
import io
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO

if TYPE_CHECKING:
    from typing_extensions import Buffer

HEAD_BYTES = 1 << 18
"""So much is looked at to find out how a file is written; a line must fit into it."""

LABEL_CHARACTERS = 80

VIEW_BYTES = 1 << 16
"""So much of an open file is fetched at once."""

BYTE_ORDER_MARKS = {
    codecs.BOM_UTF8: "utf-8-sig",
    codecs.BOM_UTF32_LE: "utf-32",  # before UTF-16, whose mark it begins with
    codecs.BOM_UTF32_BE: "utf-32",
    codecs.BOM_UTF16_LE: "utf-16",
    codecs.BOM_UTF16_BE: "utf-16",
}

PACKED = {b"PK\x03\x04": "a spreadsheet or a zip archive", b"\x1f\x8b": "a gzip archive"}
"""First bytes of what is often taken for a table (PKWARE's application note; RFC 1952)."""


class UnreadableRecordingError(ValueError):
    """A file that cannot be read as a recording; the message says why and what to do."""


@dataclass(frozen=True)
class Source:
    """A file or an upload.

    Attributes:
        label: What messages call it; never used to open anything.
        open: Opens the bytes anew, from the first one.
    """

    label: str
    open: Callable[[], BinaryIO]


def from_path(path: Path) -> Source:
    """The bytes of a file.

    Raises:
        UnreadableRecordingError: There is no such file.
    """
    label = short_label(path.name)
    if not is_file(path):
        raise UnreadableRecordingError(f"{label}: there is no such file; check the path")
    return Source(label, partial(_open, path, label))


def is_file(path: Path) -> bool:
    """Whether there is such a file; no path is too odd to ask."""
    try:
        return path.is_file()
    except (OSError, ValueError):  # too long a name, or a NUL in it
        return False


def from_content(name: str, content: bytes | bytearray | memoryview | BinaryIO) -> Source:
    """Bytes at hand, such as an upload's. The name is a label only: nothing is opened by it.

    Raises:
        TypeError: `content` is neither bytes nor a binary file.
    """
    held = content if isinstance(content, bytes | bytearray | memoryview) else content.read()
    if isinstance(held, str):
        raise TypeError("content is text; open the file in binary mode, or encode the text")
    return Source(short_label(name), lambda: io.BytesIO(held))


def from_open_file(name: str, file: BinaryIO) -> Source:
    """The bytes of a file that stays open, not loaded at once. The name is a label only."""
    return Source(short_label(name), lambda: io.BufferedReader(_View(file), VIEW_BYTES))


class _View(io.RawIOBase):
    """A file read from its start, with a place and an end of its own."""

    def __init__(self, file: BinaryIO):
        self._file, self._place = file, 0

    def readable(self) -> bool:
        return True

    def readinto(self, buffer: Buffer) -> int:
        self._file.seek(self._place)
        piece = self._file.read(memoryview(buffer).nbytes)
        memoryview(buffer)[: len(piece)] = piece
        self._place += len(piece)
        return len(piece)


def short_label(name: str) -> str:
    """The last part of a name, without control characters and not too long."""
    last = str(name).replace("\\", "/").rsplit("/", 1)[-1]
    shown = "".join(character for character in last if character.isprintable())
    return shown[:LABEL_CHARACTERS] or "the file"


def encoding_of(source: Source) -> str:
    """How the bytes spell text: by the byte-order mark, else UTF-8, else Windows' Latin.

    Raises:
        UnreadableRecordingError: The file is empty, or is not text.
    """
    with source.open() as raw:
        head = raw.read(HEAD_BYTES)
    if not head:
        raise UnreadableRecordingError(
            f"{source.label} is empty; choose the file with the recording"
        )
    for mark, what in PACKED.items():
        if head.startswith(mark):
            raise UnreadableRecordingError(
                f"{source.label} is {what}, not plain text; save or unpack it as CSV first"
            )
    for mark, encoding in BYTE_ORDER_MARKS.items():
        if head.startswith(mark):
            return encoding
    if b"\0" in head:
        raise _holds_nul(source.label)
    try:
        codecs.getincrementaldecoder("utf-8")().decode(head)
    except UnicodeDecodeError:
        return "cp1252"
    return "utf-8"


class CheckedText:
    """Text as pandas' reader wants it: a header first, then the rows, with every piece checked.

    A NUL must be found here, since the reader would take "3<NUL>4" for 3.
    """

    def __init__(self, source: Source, encoding: str, skipped_lines: int = 0, first: str = ""):
        self._label = source.label
        self._text = io.TextIOWrapper(source.open(), encoding=encoding, errors="replace")
        self._first = first
        self._ending = ""
        self.blank_lines = False
        for _ in range(skipped_lines):
            self._text.readline()

    def read(self, size: int = -1) -> str:
        """Read so many characters, or all.

        Raises:
            UnreadableRecordingError: There is a NUL among them.
        """
        if self._first:
            header, self._first = self._first, ""
            return header
        text = self._text.read(size)
        if "\0" in text:
            raise _holds_nul(self._label)
        self._watch_for_blank_lines(text)
        return text

    def _watch_for_blank_lines(self, text: str) -> None:
        body = text.lstrip("\n")
        leading = self._ending + text[: len(text) - len(body)]
        self.blank_lines |= bool(body) and ("\n\n" in leading or "\n\n" in body.rstrip("\n"))
        self._ending = leading if not body else text[len(text.rstrip("\n")) :]

    def __iter__(self) -> Iterator[str]:
        """Go through the lines."""
        return iter(self._text)

    def close(self) -> None:
        """Close what was opened."""
        self._text.close()


def _open(path: Path, label: str) -> BinaryIO:
    try:
        return path.open("rb")
    except OSError as error:
        raise UnreadableRecordingError(f"{label} cannot be opened: {error.strerror}") from error


def _holds_nul(label: str) -> UnreadableRecordingError:
    return UnreadableRecordingError(
        f"{label} holds NUL bytes: it is a binary file, or UTF-16 text without a byte-order mark; "
        "save it as CSV in UTF-8"
    )
