"""Finders of beats with one face: a pulse wave that points up goes in, peak times come out.

Each library is used as its documentation shows for a pulse wave, with its defaults.
"""

import warnings
from importlib.metadata import PackageNotFoundError, version

import numpy as np

from oximetry_workbook.meter.beats import find_beats
from oximetry_workbook.meter.measure import measure
from oximetry_workbook.meter.quality import LOWEST_QUALITY
from oximetry_workbook.meter.recording import Recording

NOT_INSTALLED = "not installed"
OURS = "this workbook"
PULSE_OVER_STEADY = 0.01
"""A pulse wave that comes without its steady light is given this depth of it (rms)."""


def ours(pulse, sampling_rate_hz):
    """Peaks of `meter.beats.find_beats` [s]."""
    return find_beats(pulse, sampling_rate_hz).peak_s


def ours_kept(pulse, sampling_rate_hz):
    """Those of them that `measure` counts, for their quality is enough [s]."""
    light = -pulse if pulse.max() < 0 else 1.0 - PULSE_OVER_STEADY * _unit(pulse)
    time_s = np.arange(pulse.size) / sampling_rate_hz
    beats = measure(Recording(time_s, None, light)).beats
    return beats["time_s"].to_numpy()[beats["quality"].to_numpy() >= LOWEST_QUALITY]


def _unit(pulse):
    return (pulse - pulse.mean()) / pulse.std()


def neurokit2(pulse, sampling_rate_hz):
    """Peaks of neurokit2's `ppg_clean` and `ppg_findpeaks` [s], method "elgendi", the default."""
    import neurokit2 as nk

    clean = nk.ppg_clean(pulse, sampling_rate=sampling_rate_hz)
    found = nk.ppg_findpeaks(clean, sampling_rate=sampling_rate_hz)
    return np.asarray(found["PPG_Peaks"]) / sampling_rate_hz


def heartpy(pulse, sampling_rate_hz):
    """Peaks of heartpy's `filter_signal` and `process` [s]."""
    return _heartpy(pulse, sampling_rate_hz)[0]


def heartpy_kept(pulse, sampling_rate_hz):
    """Those of them that it uses for its intervals [s]."""
    peaks_s, kept = _heartpy(pulse, sampling_rate_hz)
    return peaks_s[kept]


def _heartpy(pulse, sampling_rate_hz):
    """Peaks [s] and which it keeps; a recording that it refuses has none.

    The filter is the band-pass of `filter_signal`'s own example.
    """
    import heartpy as hp

    band = {"cutoff": [0.75, 3.5], "order": 3, "filtertype": "bandpass"}
    filtered = hp.filter_signal(pulse, sample_rate=sampling_rate_hz, **band)
    try:
        found, _ = hp.process(filtered, sampling_rate_hz)
    except hp.exceptions.BadSignalWarning:
        return np.empty(0), np.empty(0, dtype=bool)
    peaks_s = np.asarray(found["peaklist"]) / sampling_rate_hz
    return peaks_s, np.asarray(found["binary_peaklist"]) == 1


FINDERS = {OURS: ours, "neurokit2": neurokit2, "heartpy": heartpy}
KEPT = {OURS: ours_kept, "heartpy": heartpy_kept}
"""Beats that are left when those are taken out which the library itself does not trust."""


def version_of(package):
    """Version of a package, or None where it is not installed."""
    try:
        return version("oximetry-workbook" if package == OURS else package)
    except PackageNotFoundError:
        return None


def installed():
    """Name and function of the finders there are; ours is always among them."""
    return {name: find for name, find in FINDERS.items() if name == OURS or version_of(name)}


def quietly(find, pulse, sampling_rate_hz):
    """Peak times [s], without the libraries' warnings about old interfaces and empty means."""
    with warnings.catch_warnings(), np.errstate(all="ignore"):
        warnings.simplefilter("ignore")
        return np.sort(find(np.asarray(pulse, dtype=float), float(sampling_rate_hz)))
