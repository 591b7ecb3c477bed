"""Synthetic two-wavelength recordings whose pulse, ratio and beats are known beforehand."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest

from oximetry_workbook.meter.recording import Recording

sys.path.insert(0, str(Path(__file__).parent))  # for made_files, which several files of tests use

# Beat shapes over one cycle: centre, width and height of the systolic and of the dicrotic wave.
SHAPES = {
    "round": ((0.25, 0.09, 1.0), (0.55, 0.10, 0.3)),
    "narrow": ((0.18, 0.06, 1.0), (0.45, 0.07, 0.3)),
}


@dataclass(frozen=True)
class Synthetic:
    recording: Recording
    peak_s: np.ndarray
    pulse: np.ndarray

    @property
    def rate_bpm(self):
        """Mean rate over the whole beats between the first and the last peak."""
        return 60 * (self.peak_s.size - 1) / (self.peak_s[-1] - self.peak_s[0])


def beat_shape(phase, shape):
    def waves(x):
        return sum(
            height * np.exp(-0.5 * ((x - centre + turn) / width) ** 2)
            for centre, width, height in SHAPES[shape]
            for turn in (-1, 0, 1)
        )

    over_cycle = waves(np.linspace(0, 1, 2001))
    return (waves(phase) - over_cycle.min()) / np.ptp(over_cycle)


def make_synthetic(
    heart_rate_bpm=70.0,
    modulation=0.02,
    ratio=0.6,
    noise=0.0,
    sampling_rate_hz=100.0,
    duration_s=10.0,
    seed=0,
    shape="round",
    variability=0.03,
    irregularity=0.0,
    breathing=0.001,
):
    """I_ir = 1 − m p(t), I_red = 2 (1 − R m p(t)), with breathing and white noise on both."""
    rng = np.random.default_rng(seed)
    time_s = np.arange(round(duration_s * sampling_rate_hz)) / sampling_rate_hz
    starts = [-3.0 + rng.uniform()]
    while starts[-1] < duration_s + 3:
        breath = 1 + variability * np.sin(2 * np.pi * 0.25 * starts[-1])
        wait = 60 / heart_rate_bpm * breath * np.exp(irregularity * rng.standard_normal())
        starts.append(starts[-1] + max(wait, 0.27))
    starts = np.array(starts)
    beat = np.searchsorted(starts, time_s, side="right") - 1
    pulse = beat_shape((time_s - starts[beat]) / np.diff(starts)[beat], shape)
    baseline = breathing * np.sin(2 * np.pi * 0.25 * time_s + rng.uniform(0, 6))
    red, infrared = (
        level * (1 - part * modulation * pulse + baseline + noise * rng.standard_normal(beat.size))
        for level, part in ((2.0, ratio), (1.0, 1.0))
    )
    peaks = starts[:-1] + SHAPES[shape][0][0] * np.diff(starts)
    inside = (peaks > 0) & (peaks < duration_s)
    return Synthetic(Recording(time_s, red, infrared), peaks[inside], pulse)


@pytest.fixture(scope="session")
def synthetic():
    return make_synthetic
