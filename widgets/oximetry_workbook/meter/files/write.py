"""Writing a recording as CSV so that reading it back gives the same numbers, to the last digit."""

from __future__ import annotations

import io
from collections.abc import Iterable, Sequence
from os import PathLike
from pathlib import Path
from typing import TextIO

import numpy as np
from numpy.typing import NDArray

from oximetry_workbook.meter.files.source import UnreadableRecordingError
from oximetry_workbook.meter.recording import Recording

FloatArray = NDArray[np.float64]

CHANNELS = ("red", "infrared", "reference_percent")

CALIBRATION = ("probe_calibration_ratio", "probe_calibration_percent")
"""Comment lines that hold the two rows of `Recording.probe_calibration`."""

ROWS_AT_A_TIME = 100_000


def recording_to_csv(
    recording: Recording, path: str | PathLike[str] | None, comments: Iterable[str]
) -> str | None:
    """Write a recording; see `Recording.to_csv`."""
    if path is None:
        text = io.StringIO()
        _write(recording, text, comments)
        return text.getvalue()
    with Path(path).open("w", encoding="utf-8", newline="\n") as file:
        _write(recording, file, comments)
    return None


def _write(recording: Recording, file: TextIO, comments: Iterable[str]) -> None:
    import pandas as pd  # here, since it takes a third of a second to import

    lines = [line for comment in comments for line in comment.splitlines()]
    if recording.probe_calibration is not None:
        rows = np.asarray(recording.probe_calibration, dtype=np.float64).tolist()
        pairs = zip(CALIBRATION, rows, strict=True)
        lines += [f"{name}: {' '.join(map(repr, row))}" for name, row in pairs]
    file.writelines(f"# {line}\n" for line in lines)
    columns = {"time_s": recording.time_s} | {
        name: values for name in CHANNELS if (values := getattr(recording, name)) is not None
    }
    table = pd.DataFrame(columns, copy=False)
    table.to_csv(
        file,
        index=False,
        chunksize=ROWS_AT_A_TIME,
        lineterminator="\n",
        float_format=float.__repr__,  # else numpy's print options, which others set, cut digits
    )


def calibration_in(comments: Sequence[str], label: str) -> FloatArray | None:
    """The probe's calibration that `recording_to_csv` wrote, shape (2, k); None for none.

    Raises:
        UnreadableRecordingError: It is damaged.
    """
    written = dict(line.split(":", 1) for line in comments if line.startswith(CALIBRATION))
    if not written:
        return None
    try:
        ratio, percent = (np.array(written[name].split(), dtype=np.float64) for name in CALIBRATION)
        table = np.stack([ratio, percent])
    except (KeyError, ValueError) as error:
        raise UnreadableRecordingError(
            f"{label}: the comment lines {' and '.join(CALIBRATION)} must hold equally many "
            "numbers, parted by spaces; correct or remove them"
        ) from error
    return table
