"""Recordings to find beats in: simulated ones, and real ones that public packages carry."""

import bz2
import importlib.util
import warnings
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from scipy import signal

from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.body.simulate import simulate
from oximetry_workbook.body.timeline import timeline

DURATION_S = 60.0
RATE_HZ = 100.0

CONDITIONS = {
    "ordinary": {"perfusion_index_percent": 3.0},
    "noisy": {"perfusion_index_percent": 1.0, "noise_percent": 0.25},
    "weak": {"perfusion_index_percent": 0.15, "noise_percent": 0.02},
    "irregular": {"perfusion_index_percent": 2.0, "irregularity_percent": 25.0},
    "moving a little": {"perfusion_index_percent": 2.0, "motion_percent": 0.3},
    "moving": {"perfusion_index_percent": 2.0, "motion_percent": 1.0},
    "slow": {"perfusion_index_percent": 3.0},
    "fast": {"perfusion_index_percent": 3.0},
}
"""What makes each kind of simulated recording; the rest of a `Scenario` is ordinary."""

RATES_BPM = {"slow": (32.0, 45.0), "fast": (120.0, 200.0)}
USUAL_RATES_BPM = (50.0, 110.0)

PEAK_LAG_S = (-0.2, 0.2)
"""Where a finder may mark a beat, from its systolic peak [s]."""

ARRIVAL_LAG_S = (0.0, 0.6)
"""Where it may mark it from the R wave [s]: the pulse arrives, then it rises."""


@dataclass(frozen=True, eq=False)
class Known:
    """A pulse wave that points up at systole, and its beats."""

    pulse: np.ndarray
    sampling_rate_hz: float
    beats_s: np.ndarray
    lag_s: tuple[float, float]

    @property
    def duration_s(self):
        return self.pulse.size / self.sampling_rate_hz


def scenario_of(condition, seed):
    """A scenario of that kind with a heart rate of its own."""
    rates = RATES_BPM.get(condition, USUAL_RATES_BPM)
    rate = np.random.default_rng([seed, len(CONDITIONS)]).uniform(*rates)
    return Scenario(heart_rate_bpm=float(rate), **CONDITIONS[condition])


def simulated(condition, seed):
    """The infrared pulse of a minute, with the heart's own beats."""
    scenario = scenario_of(condition, seed)
    recording = simulate(scenario, DURATION_S, RATE_HZ, seed)
    return Known(-recording.infrared, RATE_HZ, systolic_peaks_s(scenario, seed), PEAK_LAG_S)


def systolic_peaks_s(scenario, seed):
    """When the arterial blood is at its most [s], read off the timeline the light is made from.

    Breathing takes a twentieth off a beat; the dicrotic wave never comes to four fifths.
    """
    time_s, volume, _ = timeline(scenario, DURATION_S, RATE_HZ, seed)
    return time_s[signal.find_peaks(volume, height=0.8)[0]]


def beside_an_ecg():
    """Two minutes of a volunteer's finger pulse with the R waves of the ECG beside it, or None.

    The file holds ECG [mV], skin conductance, pulse and breathing at 2048 Hz. Its R waves stand
    over 0.8 mV and everything else under 0.5; neurokit2's `ecg_findpeaks` finds the same 139.
    Every eighth sample of the pulse is taken.
    """
    found = importlib.util.find_spec("pyphysio")
    if found is None:
        return None
    path = Path(found.submodule_search_locations[0]) / "test_data" / "medical.txt.bz2"
    with bz2.open(path) as opened:
        ecg, _, pulse, _ = np.loadtxt(opened, unpack=True)
    r_waves = signal.find_peaks(ecg, height=0.5, distance=round(0.3 * 2048))[0]
    return Known(pulse[::8], 256.0, r_waves / 2048, ARRIVAL_LAG_S)


def without_reference():
    """Finger pulses that come with heartpy 1.2.7, by file name: samples and rate [Hz]."""
    if importlib.util.find_spec("heartpy") is None:
        return {}
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import heartpy

    first, _ = heartpy.load_exampledata(0)
    second, timer_ms = heartpy.load_exampledata(1)
    third, clock = heartpy.load_exampledata(2)
    return {
        "data.csv": (first, 100.0),
        "data2.csv": (second, heartpy.get_samplerate_mstimer(timer_ms)),
        "data3.csv": (
            third,
            heartpy.get_samplerate_datetime(clock, timeformat="%Y-%m-%d %H:%M:%S.%f"),
        ),
    }
