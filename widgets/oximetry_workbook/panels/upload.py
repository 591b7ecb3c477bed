"""A file from the browser in slices: it arrives with progress and can be cancelled."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from importlib.resources import files
from typing import Any

import anywidget
import traitlets

from oximetry_workbook.meter.files.source import short_label
from oximetry_workbook.panels.notice import Notice

STATIC = files("oximetry_workbook.panels") / "static"

LARGEST_MB = 200
"""A day of two colours at 100 samples a second, written as text, fits into this."""

SETTING = "OXIMETRY_WORKBOOK_UPLOAD_MB"
"""Environment variable by which a server for many lowers it."""


def largest_bytes(environment: Mapping[str, str]) -> int:
    """Return the size of the largest file that is taken [bytes], given environment variables."""
    said = environment.get(SETTING, "")
    lowered = int(said) if said.isascii() and said.isdigit() else LARGEST_MB
    return 1_000_000 * min(lowered, LARGEST_MB)


LARGEST_BYTES = largest_bytes(os.environ)

SLICE_BYTES = 1 << 20
"""So much is sent at once: far below what a server takes as one message
(`app.serve.LARGEST_MESSAGE`), and long enough that acknowledging each costs little time."""


class Arrival:
    """A file that arrives in slices, stored in a temporary file until it is removed.

    That file has no name that anybody could open, and the system removes it with the program,
    even when the program is killed.

    Attributes:
        name: What messages call it; never used to open anything.
        size_bytes: Announced size.
        stored_bytes: So much has arrived.
        file: The temporary file.
    """

    def __init__(self, name: object, size_bytes: object) -> None:
        """Make room for a file.

        Raises:
            ValueError: The announced size is none, or too large; or nothing can be stored.
        """
        self.name = short_label(str(name))
        self.size_bytes = _checked_size(self.name, size_bytes)
        self.stored_bytes = 0
        try:
            self.file = tempfile.TemporaryFile()  # noqa: SIM115 - open until it is removed
        except OSError as error:
            raise self._not_stored(error) from error

    @property
    def complete(self) -> bool:
        """Whether all of it has arrived."""
        return self.stored_bytes == self.size_bytes

    def add(self, start: object, slices: Sequence[memoryview]) -> None:
        """Store the next slice.

        Raises:
            ValueError: It is not the next one, or goes beyond the announced size; or it cannot be
                stored.
        """
        piece = memoryview(slices[0] if len(slices) == 1 else b"")
        if start != self.stored_bytes or not 0 < piece.nbytes <= SLICE_BYTES:
            raise ValueError(
                f"{self.name} arrived out of order after {self.stored_bytes} of {self.size_bytes} "
                "bytes; choose the file again"
            )
        if self.stored_bytes + piece.nbytes > self.size_bytes:
            raise ValueError(
                f"{self.name} has more than the {self.size_bytes} bytes it was said to have; wait "
                "until it is no longer being written, then choose it again"
            )
        try:
            self.file.write(piece)
            self.file.flush()
        except OSError as error:
            raise self._not_stored(error) from error
        self.stored_bytes += piece.nbytes

    def remove(self) -> None:
        """Forget the file."""
        with suppress(OSError):  # a full disk cannot take the rest
            self.file.close()

    def _not_stored(self, error: OSError) -> ValueError:
        return ValueError(
            f"{self.name} cannot be stored in the folder for temporary files: {error.strerror}; "
            "make room there, then choose it again"
        )


def _checked_size(name: str, size_bytes: object) -> int:
    if not isinstance(size_bytes, int) or isinstance(size_bytes, bool) or size_bytes < 0:
        raise ValueError(f"{name} comes with {size_bytes!r} for its size; choose it again")
    if size_bytes > LARGEST_BYTES:
        raise ValueError(
            f"{name} has {size_bytes / 1e6:.0f} MB; at most {LARGEST_BYTES / 1e6:.0f} MB can be "
            "uploaded. Shorten it, or leave out columns that are not needed"
        )
    return size_bytes


class Upload(anywidget.AnyWidget):
    """A button that sends a file, its progress, and a button that ends it early.

    The browser announces a file, and sends a slice whenever the kernel asks for the next. So the
    kernel hears other messages in between, and there is never more than a slice on the way.

    Attributes:
        words: What the button says.
        accept: Endings of files that the browser offers.
    """

    _esm = (STATIC / "upload.js").read_text("utf-8")
    _css = (STATIC / "upload.css").read_text("utf-8")
    words = traitlets.Unicode().tag(sync=True)
    accept = traitlets.Unicode().tag(sync=True)
    largest_bytes = traitlets.Int(LARGEST_BYTES).tag(sync=True)
    slice_bytes = traitlets.Int(SLICE_BYTES).tag(sync=True)

    def __init__(
        self, received: Callable[[Arrival], None], notice: Notice, words: str, accept: str
    ) -> None:
        """Make the button.

        Args:
            received: Takes a file that is complete, and removes it when it is no longer needed.
            notice: Where to tell of a failure.
            words: What the button says.
            accept: Endings of files that the browser offers, parted by commas.
        """
        super().__init__(words=words, accept=accept)
        self._arrival: Arrival | None = None
        self._number = ""
        self._notice = notice
        self._hand_over = notice.guard(received)
        self._tell = notice.guard(_raise)
        self.on_msg(self._hear)

    def _hear(self, _: object, said: Mapping[str, Any], slices: Sequence[memoryview]) -> None:
        number = str(said.get("number"))
        try:
            answer = self._answer(number, said, slices)
        except Exception as error:
            self._drop()
            answer = "refused"
            self._tell(error)
        stored = 0 if self._arrival is None else self._arrival.stored_bytes
        self.send({"answer": answer, "number": number, "stored": stored})

    def _answer(self, number: str, said: Mapping[str, Any], slices: Sequence[memoryview]) -> str:
        """Do what the browser asks; the file begun last is the only one that goes on."""
        if said.get("step") == "begin":
            self._drop()
            self._notice.clear()
            self._number = number
            self._arrival = Arrival(said.get("name"), said.get("size"))
        elif self._arrival is None or number != self._number:
            return "dropped"  # a slice that was on its way when its file was cancelled or replaced
        elif said.get("step") == "cancel":
            self._drop()
            return "dropped"
        else:
            self._arrival.add(said.get("start"), slices)
        return self._go_on(self._arrival)

    def _go_on(self, arrival: Arrival) -> str:
        if not arrival.complete:
            return "next"
        self._arrival = None
        self._hand_over(arrival)
        return "done"

    def _drop(self) -> None:
        if self._arrival is not None:
            self._arrival.remove()
            self._arrival = None

    def close(self) -> None:
        """Leave the page; what was arriving is dropped."""
        self._drop()
        super().close()


def _raise(error: Exception) -> None:
    raise error
