"""The heart's share: when beats come, and how much blood each brings.

Shape and sizes here are common practice of pulse-wave modelling, chosen to look and behave like
a healthy finger pulse; no single person's wave.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

SYSTOLIC_WAVE = (0.22, 0.085, 1.0)
"""Centre and width in fractions of a beat, and height, of the wave the heart sends."""

DICROTIC_WAVE = (0.52, 0.13, 0.42)
"""The same of the wave that comes back from the body."""

SHORTEST_INTERVAL, LONGEST_INTERVAL = 0.45, 1.9
"""Limits of a beat interval, in mean intervals."""

BREATHING_PULSE_SHARE = 0.05
"""How much breathing makes the pulse larger and smaller, over its size (common practice)."""

SHAPE_POINTS = 512


def _shape_table() -> FloatArray:
    phase = np.linspace(0.0, 1.0, SHAPE_POINTS, endpoint=False)
    turns = phase[:, None] + np.array([-1.0, 0.0, 1.0])
    waves = [
        height * np.exp(-0.5 * ((turns - centre) / width) ** 2).sum(axis=1)
        for centre, width, height in (SYSTOLIC_WAVE, DICROTIC_WAVE)
    ]
    volume = np.sum(waves, axis=0)
    volume = np.roll(volume, -int(np.argmin(volume)))
    return np.asarray((volume - volume.min()) / (volume.max() - volume.min()))


BEAT_SHAPE = _shape_table()
"""Extra arterial blood over one beat from foot to foot, 0 to 1; shape (512,)."""


def blood_volume(phase: FloatArray) -> FloatArray:
    """Extra arterial blood, 0 at the foot and 1 at the peak, at phases counted in beats."""
    grid = np.arange(SHAPE_POINTS) / SHAPE_POINTS
    return np.interp(phase, grid, BEAT_SHAPE, period=1.0)


def beat_intervals_s(
    heart_rate_bpm: float,
    variability_percent: float,
    irregularity_percent: float,
    breathing_rate_bpm: float,
    duration_s: float,
    rng: np.random.Generator,
) -> FloatArray:
    """Intervals between beats that fill a recording at exactly the mean rate asked for.

    A part swings with breathing, a part is random and independent from beat to beat.

    Args:
        heart_rate_bpm: Mean rate [1/min].
        variability_percent: Rms of the breathing part over the mean interval [%].
        irregularity_percent: Rms of the random part over the mean interval [%].
        breathing_rate_bpm: Breaths per minute [1/min].
        duration_s: Time to fill [s]; three beats more than that are made.
        rng: Source of chance.

    Returns:
        Intervals [s]; their mean is 60 / heart_rate_bpm.
    """
    mean_s = 60.0 / heart_rate_bpm
    # three to spare: the recording may start late in a first beat of two mean intervals
    count = int(np.ceil(duration_s / mean_s)) + 3
    breathing_phase = 2.0 * np.pi * (breathing_rate_bpm / 60.0 * mean_s * np.arange(count))
    swing = np.sqrt(2.0) * np.sin(breathing_phase + rng.uniform(0.0, 2.0 * np.pi))
    relative = (
        1.0
        + variability_percent / 100.0 * swing
        + irregularity_percent / 100.0 * rng.standard_normal(count)
    )
    relative = np.clip(relative, SHORTEST_INTERVAL, LONGEST_INTERVAL)
    return np.asarray(mean_s * relative / relative.mean())


def beat_phase(time_s: FloatArray, intervals_s: FloatArray, rng: np.random.Generator) -> FloatArray:
    """Phase at each time, counted in beats; the recording starts anywhere within a beat."""
    onsets = np.concatenate([[0.0], np.cumsum(intervals_s)])
    onsets -= rng.uniform(0.0, intervals_s[0])
    return np.interp(time_s, onsets, np.arange(onsets.size))


def depth_for_perfusion(perfusion_index_percent: float) -> float:
    """Natural-log depth of a beat whose light has a given peak-to-trough over mean.

    Solves (1 - exp(-x)) / mean(exp(-x shape)) = perfusion index / 100 for x.

    Args:
        perfusion_index_percent: Peak-to-trough over mean [%], below 100.

    Returns:
        Depth x: the light at the systolic peak is exp(-x) of that between beats.
    """
    wanted = perfusion_index_percent / 100.0
    depth = wanted
    for _ in range(30):
        update = -np.log1p(-wanted * np.mean(np.exp(-depth * BEAT_SHAPE)))
        if abs(update - depth) < 1e-12:
            break
        depth = float(update)
    return depth
