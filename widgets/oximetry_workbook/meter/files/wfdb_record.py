"""WFDB records (a header .hea beside files of samples), read by the package `wfdb`.

Source of the format: the WFDB Applications Guide, header(5) and signal(5), PhysioNet.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from importlib import import_module
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from oximetry_workbook.meter.files.source import UnreadableRecordingError, is_file, short_label

FloatArray = NDArray[np.float64]

SUFFIXES = (".hea", ".dat")

BYTES_A_SAMPLE = {
    "8": 1.0,
    "16": 2.0,
    "24": 3.0,
    "32": 4.0,
    "61": 2.0,
    "80": 1.0,
    "160": 2.0,
    "212": 1.5,
    "310": 4 / 3,
    "311": 4 / 3,
}
"""Formats whose size is known beforehand; signal(5). Compressed ones are not among them."""


@dataclass
class WfdbRecord:
    """A record of which signals can be read; it has the attributes of a `table.TextTable`."""

    path: Path
    label: str
    header: Any
    findings: list[str] = field(default_factory=list)
    in_seconds: tuple[int, ...] = ()
    comments: tuple[str, ...] = ()
    assumptions: tuple[str, ...] = ()
    written_as: tuple[str, str] = ("", "")

    @classmethod
    def open(cls, path: Path) -> WfdbRecord:
        """Read the header and hold it against the files of samples.

        Raises:
            UnreadableRecordingError: `wfdb` is not installed, or the header is damaged, asks for a
                file elsewhere, or announces more samples than there are.
        """
        label = short_label(path.name)
        header = _header(path, label)
        if getattr(header, "n_seg", None) is not None:
            raise UnreadableRecordingError(
                f"{label} is a record of several segments; read one of its segments"
            )
        if not header.n_sig or not header.file_name or not header.fs or not header.fs > 0:
            raise UnreadableRecordingError(f"{label} describes no signals, or no sampling rate")
        if len(header.file_name) != header.n_sig:
            raise UnreadableRecordingError(
                f"{label} announces {header.n_sig} signals and describes {len(header.file_name)}; "
                "correct the header"
            )
        _check_files(path.parent, label, header)
        return cls(path, label, header, comments=tuple(header.comments or ()))

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the signals."""
        given = self.header.sig_name or [None] * self.header.n_sig
        return tuple(name or f"signal {i + 1}" for i, name in enumerate(given))

    @property
    def units(self) -> tuple[str, ...]:
        """Units of the signals."""
        return tuple(unit or "" for unit in self.header.units)

    @property
    def usable(self) -> tuple[int, ...]:
        """All signals hold numbers."""
        return tuple(range(self.header.n_sig))

    @property
    def sampling_rate_hz(self) -> float:
        """Frames per second [Hz]."""
        return float(self.header.fs)

    def load(self, columns: list[int]) -> list[FloatArray]:
        """Read signals in physical units; invalid samples become NaN.

        Raises:
            UnreadableRecordingError: The files do not fit the header.
        """
        often = [self.names[i] for i in columns if self.header.samps_per_frame[i] > 1]
        if often:
            self.findings.append(
                f"{', '.join(often)} has several samples a frame: their means are taken."
            )
        try:
            record = _wfdb(self.label).rdrecord(str(self.path.with_suffix("")), channels=columns)
            return [np.ascontiguousarray(signal, dtype=np.float64) for signal in record.p_signal.T]
        except Exception as error:  # whatever the package raises over a damaged file
            raise UnreadableRecordingError(
                f"{self.label}: the samples do not fit the header ({str(error)[:200]})"
            ) from error


def find_record(path: Path) -> Path | None:
    """The header of the record that a path names, with or without a suffix; None for no record."""
    header = path.with_suffix(".hea") if path.suffix.lower() in SUFFIXES else None
    if not path.suffix and not is_file(path):
        header = path.parent / f"{path.name}.hea"
    return header if header is not None and is_file(header) else None


def _wfdb(label: str) -> Any:
    try:
        return import_module("wfdb")
    except ImportError as error:
        raise UnreadableRecordingError(
            f"{label} is a WFDB record, which takes the package wfdb: "
            'pip install "oximetry-workbook[wfdb]"'
        ) from error


def _header(path: Path, label: str) -> Any:
    wfdb = _wfdb(label)
    if "::" in str(path):
        raise UnreadableRecordingError(f"{label}: a path to a record may not hold '::'; rename it")
    try:
        return wfdb.rdheader(str(path.resolve().with_suffix("")))
    except Exception as error:  # whatever the package raises over a damaged header
        raise UnreadableRecordingError(
            f"{label} is no WFDB header that can be read ({str(error)[:200]})"
        ) from error


def _check_files(folder: Path, label: str, header: Any) -> None:
    """Refuse files elsewhere, and more samples than there are: memory is taken by the header."""
    needed: dict[str, float] = {}
    for name, form, often in zip(header.file_name, header.fmt, header.samps_per_frame, strict=True):
        if not name or any(sign in name for sign in "/\\:~") or name in ("..", "."):
            raise UnreadableRecordingError(
                f"{label} asks for the samples in {name!r}; they must lie in the same folder"
            )
        if form not in BYTES_A_SAMPLE:
            raise UnreadableRecordingError(
                f"{label} has samples in format {form}; those of {', '.join(BYTES_A_SAMPLE)} can "
                "be read. Convert the record"
            )
        needed[name] = needed.get(name, 0.0) + BYTES_A_SAMPLE[form] * (often or 1)
    for name, bytes_a_frame in needed.items():
        _check_size(folder / name, label, int(bytes_a_frame * (header.sig_len or 0)))


def _check_size(path: Path, label: str, announced: int) -> None:
    if not is_file(path):
        raise UnreadableRecordingError(
            f"{label} asks for {path.name}, which is not beside it; add it"
        )
    there = path.stat().st_size
    if there < announced - 4:  # packed formats may round down at the end
        raise UnreadableRecordingError(
            f"{label} announces {announced / 1e6:.6g} MB of samples in {path.name}, which has "
            f"{there / 1e6:.6g} MB: the record is cut short or the header is wrong; get it anew"
        )
