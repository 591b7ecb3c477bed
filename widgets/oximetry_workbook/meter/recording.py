"""What a two-wavelength sensor hands over: time and light, nothing else."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]

MINIMUM_SAMPLES = 8
"""Fewer samples than this are no recording: not even one beat can be told."""

TIMING_TOLERANCE = 0.01
"""Largest deviation of a sampling interval from the median one, as a fraction of it."""


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
