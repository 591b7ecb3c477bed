"""What a two-wavelength sensor hands over: time and light, nothing else."""

from __future__ import annotations

import warnings
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from os import PathLike
from typing import TYPE_CHECKING, BinaryIO

import numpy as np
from numpy.typing import ArrayLike, NDArray

if TYPE_CHECKING:
    from oximetry_workbook.meter.files import Opened

FloatArray = NDArray[np.float64]

MINIMUM_SAMPLES = 8
"""Fewer samples than this are no recording: not even one beat can be told."""

TIMING_TOLERANCE = 0.01
"""Largest deviation of a sampling interval from the median one, as a fraction of it."""


class RecordingWarning(UserWarning):
    """Something about a file was taken for granted or changed while reading it."""


@dataclass(frozen=True, eq=False)
class Recording:
    """Red and infrared light at the detector over time, evenly sampled.

    Attributes:
        time_s: Sample times [s], increasing, evenly spaced; shape (n,).
        red: Red light at the detector, in detector units, linear in light; shape (n,).
            None when the device has no red channel.
        infrared: Infrared light, as `red`.
        reference_percent: True arterial saturation over time [%], where it is known; shape (n,).
        probe_calibration: The calibration that belongs to the probe, as two rows:
            ratio of ratios (rising) and saturation [%]; shape (2, k).

    Raises:
        ValueError: The message names the field, what is wrong with it and what is allowed.
    """

    time_s: FloatArray
    red: FloatArray | None
    infrared: FloatArray | None
    reference_percent: FloatArray | None = None
    probe_calibration: FloatArray | None = None

    def __post_init__(self) -> None:
        time_s = _vector("time_s", self.time_s)
        _check_times(time_s)
        object.__setattr__(self, "time_s", time_s)
        if self.red is None and self.infrared is None:
            raise ValueError(
                "red and infrared are both missing; a recording needs at least one of them"
            )
        for name in ("red", "infrared", "reference_percent"):
            values = getattr(self, name)
            if values is not None:
                object.__setattr__(self, name, _channel(name, values, time_s.size))

    @property
    def sampling_rate_hz(self) -> float:
        """Samples per second [Hz]."""
        return float((self.time_s.size - 1) / (self.time_s[-1] - self.time_s[0]))

    @property
    def duration_s(self) -> float:
        """Time from the first to the last sample, plus one sampling interval [s]."""
        return self.time_s.size / self.sampling_rate_hz

    @classmethod
    def read(
        cls,
        path: str | PathLike[str],
        columns: Mapping[str, str | None] | None = None,
        time_unit: str | None = None,
        sampling_rate_hz: float | None = None,
    ) -> Recording:
        """Read a text table (CSV, TSV and the like) or a WFDB record.

        Columns are recognised by their names ("time_s", "red", "IR", "940 nm", "SpO2"…). What is
        taken for granted is told by a `RecordingWarning`; `files.open_path` shows it and what is
        noticeable about the samples. Where the times have gaps, the samples are NaN.

        Args:
            path: The file; of a WFDB record the header.
            columns: Name of the column for "time", "red", "infrared" or "reference"; None leaves
                one out.
            time_unit: "s", "ms", "us", or "clock" for times such as 23:59:59.5; by default by the
                column's name, row of units or form, else the one that makes a plausible
                sampling rate.
            sampling_rate_hz: Samples per second [Hz], instead of a column of times.

        Raises:
            ValueError: `files.UnreadableRecordingError` says what is wrong and what to do.
        """
        from oximetry_workbook.meter.files import Choices, open_path  # they know `Recording`

        return _recording_of(open_path(path, Choices(columns, time_unit, sampling_rate_hz)))

    @classmethod
    def read_bytes(
        cls,
        name: str,
        content: bytes | bytearray | memoryview | BinaryIO,
        columns: Mapping[str, str | None] | None = None,
        time_unit: str | None = None,
        sampling_rate_hz: float | None = None,
    ) -> Recording:
        """Read a text table from bytes or a binary file, such as an upload; see `read`.

        Args:
            name: What messages call it; nothing is opened by that name.
            content: The bytes.
            columns: As for `read`.
            time_unit: As for `read`.
            sampling_rate_hz: As for `read`.

        Raises:
            ValueError: As for `read`.
        """
        from oximetry_workbook.meter.files import Choices, open_content

        choices = Choices(columns, time_unit, sampling_rate_hz)
        return _recording_of(open_content(name, content, choices))

    def to_csv(
        self, path: str | PathLike[str] | None = None, comments: Iterable[str] = ()
    ) -> str | None:
        """Write as CSV; reading it back gives the same numbers to the last digit.

        Args:
            path: File to write; by default the text is returned.
            comments: Lines to put on top, behind a "#". The probe's calibration follows them.
        """
        from oximetry_workbook.meter.files import recording_to_csv

        return recording_to_csv(self, path, comments)

    def between(self, start_s: float, end_s: float) -> Recording:
        """The samples from `start_s` up to, not including, `end_s` [s].

        Raises:
            ValueError: There are too few.
        """
        first, last = np.searchsorted(self.time_s, [start_s, end_s]).tolist()
        part = slice(first, last)
        return replace(
            self,
            time_s=self.time_s[part],
            red=None if self.red is None else self.red[part],
            infrared=None if self.infrared is None else self.infrared[part],
            reference_percent=(
                None if self.reference_percent is None else self.reference_percent[part]
            ),
        )


def _recording_of(opened: Opened) -> Recording:
    if opened.recording is None:
        from oximetry_workbook.meter.files import UnreadableRecordingError

        raise UnreadableRecordingError(opened.preview.problem)
    for sentence in opened.preview.assumptions:
        warnings.warn(f"{opened.preview.name}: {sentence}", RecordingWarning, stacklevel=3)
    return opened.recording


def _vector(name: str, values: ArrayLike) -> FloatArray:
    try:
        vector = np.asarray(values, dtype=np.float64)
    except (TypeError, ValueError):
        raise ValueError(f"{name} holds something that is not a number") from None
    if vector.ndim != 1:
        raise ValueError(f"{name} has {vector.ndim} dimensions; it must have one")
    if vector.size < MINIMUM_SAMPLES:
        raise ValueError(
            f"{name} has {vector.size} samples; at least {MINIMUM_SAMPLES} are needed, "
            "and some ten seconds for a reading"
        )
    return vector


def _check_times(time_s: FloatArray) -> None:
    if not np.all(np.isfinite(time_s)):
        where = int(np.argmin(np.isfinite(time_s)))
        raise ValueError(f"time_s has no finite value at sample {where}; remove or fill that row")
    steps = np.diff(time_s)
    if np.any(steps <= 0):
        where = int(np.argmax(steps <= 0)) + 1
        raise ValueError(
            f"time_s does not increase at sample {where} ({time_s[where]:g} s after "
            f"{time_s[where - 1]:g} s); sort the samples and remove doubles"
        )
    median = float(np.median(steps))
    uneven = np.abs(steps - median) > TIMING_TOLERANCE * median
    if np.any(uneven):
        where = int(np.argmax(uneven))
        raise ValueError(
            f"time_s has a gap or an uneven step of {steps[where]:g} s after {time_s[where]:g} s, "
            f"where {median:g} s is usual; cut the recording there or resample it"
        )


def _channel(name: str, values: ArrayLike, expected: int) -> FloatArray:
    channel = _vector(name, values)
    if channel.size != expected:
        raise ValueError(f"{name} has {channel.size} samples but time_s has {expected}")
    return channel
