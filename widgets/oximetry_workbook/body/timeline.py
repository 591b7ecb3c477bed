"""What chance gives a recording: when the beats come, how breathing sways them, and noise."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from oximetry_workbook.body.pulse import (
    BREATHING_PULSE_SHARE,
    beat_intervals_s,
    beat_phase,
    blood_volume,
)
from oximetry_workbook.body.scenario import Scenario

FloatArray = NDArray[np.float64]

BEATS, NOISE, MOTION = 1, 2, 3
"""One stream of chance for each cause, so that more noise does not move the beats."""

MOST_KEPT = 2**15
"""Samples up to which pulse and noise are kept for the next who asks: five minutes at 100 Hz. Kept
hours would fill the kernel of a learner who watches alarms with tens of megabytes."""


def timeline(
    scenario: Scenario, duration_s: float, sampling_rate_hz: float, seed: int
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Times and pulse of a recording, read-only; a short one is kept for the next who asks.

    Args:
        scenario: The situation, whose rates of heart and breathing count.
        duration_s: Length [s].
        sampling_rate_hz: Samples per second [Hz].
        seed: Seed of the recording.

    Returns:
        Times [s], extra arterial blood (0 to 1, larger and smaller with breathing) and the
        breathing wave (-1 to 1); shape (n,) each.
    """
    make = _kept_timeline if round(duration_s * sampling_rate_hz) <= MOST_KEPT else _timeline
    return make(
        scenario.heart_rate_bpm,
        scenario.heart_rate_variability_percent,
        scenario.irregularity_percent,
        scenario.breathing_rate_bpm,
        float(duration_s),
        float(sampling_rate_hz),
        int(seed),
    )


def _timeline(
    heart_rate_bpm: float,
    variability_percent: float,
    irregularity_percent: float,
    breathing_rate_bpm: float,
    duration_s: float,
    sampling_rate_hz: float,
    seed: int,
) -> tuple[FloatArray, FloatArray, FloatArray]:
    rng = np.random.default_rng([seed, BEATS])
    time_s = np.arange(round(duration_s * sampling_rate_hz)) / sampling_rate_hz
    intervals = beat_intervals_s(
        heart_rate_bpm,
        variability_percent,
        irregularity_percent,
        breathing_rate_bpm,
        duration_s,
        rng,
    )
    volume = blood_volume(beat_phase(time_s, intervals, rng))
    breathing = np.sin(
        2.0 * np.pi * breathing_rate_bpm / 60.0 * time_s + rng.uniform(0.0, 2.0 * np.pi)
    )
    volume = volume * (1.0 + BREATHING_PULSE_SHARE * breathing)
    for shared in (time_s, volume, breathing):
        shared.flags.writeable = False  # the cache hands the same arrays to all who ask
    return time_s, volume, breathing


_kept_timeline = lru_cache(maxsize=8)(_timeline)


def unit_noise(count: int, seed: int) -> FloatArray:
    """Return noise of rms 1, red and infrared, read-only; shape (2, count)."""
    return (_kept_noise if count <= MOST_KEPT else _noise)(count, seed)


def _noise(count: int, seed: int) -> FloatArray:
    noise = np.random.default_rng([seed, NOISE]).standard_normal((2, count))
    noise.flags.writeable = False
    return noise


_kept_noise = lru_cache(maxsize=4)(_noise)
