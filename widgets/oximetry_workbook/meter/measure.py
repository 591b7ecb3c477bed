"""Read a recording: saturation, pulse rate and perfusion index, or why there is no value."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from oximetry_workbook.meter.beats import find_beats
from oximetry_workbook.meter.curve import TEXTBOOK, Curve
from oximetry_workbook.meter.display import check_averaging, clamped, in_window, rounded
from oximetry_workbook.meter.faults import (
    channels,
    colour_fault,
    empty_window,
    missing_colour,
    pulse_fault,
    rhythm_fault,
    sample_fault,
)
from oximetry_workbook.meter.filters import FloatArray
from oximetry_workbook.meter.quality import LOWEST_QUALITY
from oximetry_workbook.meter.readings import (
    METHODS,
    BeatReadings,
    beat_table,
    empty_table,
    read_beats,
)
from oximetry_workbook.meter.recording import Recording

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True, eq=False)
class Measurement:
    """What the meter reads, and how far it may be believed.

    Attributes:
        spo2_percent: Saturation shown [%], 0 to 100; None when withheld.
        heart_rate_bpm: Pulse rate [1/min]; None when no pulse is credible.
        perfusion_index_percent: AC/DC of infrared, peak to trough over mean [%]; None when no
            pulse is credible or there is no infrared.
        ratio: Ratio of ratios R behind `spo2_percent`; None when withheld.
        quality: Signal quality, 0 to 1: the mean over the beats of the window (see `quality`);
            0 when there is nothing to judge.
        reason: Why saturation is withheld, for the learner; None when it is not.
        extrapolated: Whether `spo2_percent`, to the whole percent, lies outside the range the
            curve is valid in: not quantitatively reliable.
        curve: The calibration curve used.
        curve_origin: Why that curve: "given", "computed for this probe" or "textbook line, for
            want of a calibration".
        averaging_s: Length of the trailing window averaged [s]; None for the whole recording.
        method: How R was made, "slope" or "peak_to_trough".
        beats: Table of the whole beats, good and bad, one row each. `time_s` of the peak;
            `interval_s` since the beat before; `ratio` by the chosen method, `ratio_slope` and
            `ratio_peak_to_trough` by both; `spo2_percent` unaveraged, 0 to 100, believable only
            where `quality` is; `ac_…` and `dc_…` of both colours in detector units; `agreement`,
            the correlation of the colours; `quality`, 0 to 1.
    """

    spo2_percent: float | None
    heart_rate_bpm: float | None
    perfusion_index_percent: float | None
    ratio: float | None
    quality: float
    reason: str | None
    extrapolated: bool
    curve: Curve
    curve_origin: str
    averaging_s: float | None
    method: str
    beats: pd.DataFrame


def measure(
    recording: Recording,
    curve: Curve | None = None,
    averaging_s: float | None = None,
    method: str = "slope",
) -> Measurement:
    """Read saturation, pulse rate and perfusion index from two colours of light.

    Beats are found in the infrared (in red, for want of it). The medians of R and of AC/DC over
    the good beats of the last `averaging_s` are taken, and the curve turns R into a saturation.
    No number is better than a wrong one: where the samples are at fault, or the beats' mean
    quality is under 0.3, saturation is withheld and `reason` says why. All filters look ahead
    (see `filters`), which a bedside meter cannot. For teaching, not for patient care.

    Args:
        recording: Light over time.
        curve: Calibration curve; by default the one that came with the probe, else the textbook
            line 110 − 25 R.
        averaging_s: Length of the trailing window [s]; by default the whole recording.
        method: "slope" (red against infrared, every sample counts) or "peak_to_trough".

    Raises:
        TypeError: `recording` is no Recording, or `curve` no Curve.
        ValueError: `averaging_s`, `method` or the recording's `probe_calibration` is unusable.
    """
    _check(recording, curve, averaging_s, method)
    nothing = _without_value(recording, curve, averaging_s, method)
    reason: str | None = sample_fault(recording)
    if reason is not None:
        return replace(nothing, reason=reason)
    light = channels(recording)
    found = find_beats(-next(iter(light.values())), recording.sampling_rate_hz)
    reason = rhythm_fault(found, recording.duration_s)
    if reason is not None:
        return replace(nothing, reason=reason)
    start_s, end_s = float(recording.time_s[0]), float(recording.time_s[-1])
    readings = read_beats(light, found, recording.sampling_rate_hz, start_s)
    window = in_window(readings.peak_s, end_s, averaging_s)
    return _judged(nothing, readings, window, missing_colour(recording))


def _check(recording: object, curve: object, averaging_s: float | None, method: str) -> None:
    if not isinstance(recording, Recording):
        raise TypeError(f"recording is a {type(recording).__name__}; it must be a Recording")
    if curve is not None and not isinstance(curve, Curve):
        raise TypeError(f"curve is a {type(curve).__name__}; it must be a Curve or None")
    check_averaging(averaging_s)
    if method not in METHODS:
        raise ValueError(f"method is {method!r}; it must be one of {', '.join(METHODS)}")


def curve_for(recording: Recording) -> tuple[Curve, str]:
    """The curve a recording is read with when none is given, and why that one.

    Raises:
        ValueError: The recording's `probe_calibration` is no curve.
    """
    table = recording.probe_calibration
    if table is None:
        return TEXTBOOK, "textbook line, for want of a calibration"
    name = "computed for this probe"
    try:
        ratio, percent = np.asarray(table, dtype=np.float64)
        return Curve.table(name, ratio, percent, "The probe_calibration of the recording"), name
    except ValueError as error:
        raise ValueError(
            f"probe_calibration cannot serve as a curve: {error}; give another curve"
        ) from error


def _without_value(
    recording: Recording, curve: Curve | None, averaging_s: float | None, method: str
) -> Measurement:
    curve, origin = curve_for(recording) if curve is None else (curve, "given")
    return Measurement(
        spo2_percent=None,
        heart_rate_bpm=None,
        perfusion_index_percent=None,
        ratio=None,
        quality=0.0,
        reason=None,
        extrapolated=False,
        curve=curve,
        curve_origin=origin,
        averaging_s=averaging_s,
        method=method,
        beats=empty_table(),
    )


def _judged(
    nothing: Measurement,
    readings: BeatReadings,
    window: NDArray[np.bool_],
    missing: str | None,
) -> Measurement:
    """Give the pulse if it is credible, and the saturation if the colours are as well."""
    tabled = replace(nothing, beats=beat_table(readings, nothing.curve, nothing.method))
    if not window.any():
        return replace(tabled, reason=empty_window(nothing.averaging_s))
    marks = readings.marks.within(window)
    tabled = replace(tabled, quality=float(np.mean(marks.quality)))
    reason = pulse_fault(marks)
    if reason is not None:
        return replace(tabled, reason=reason)
    pulsed = _with_pulse(tabled, readings, window)
    reason = missing or colour_fault(marks)
    if reason is not None:
        return replace(pulsed, reason=reason)
    return _with_saturation(pulsed, readings, window)


def _with_pulse(
    measurement: Measurement, readings: BeatReadings, window: NDArray[np.bool_]
) -> Measurement:
    good = window & (readings.marks.pulse >= LOWEST_QUALITY)
    infrared = readings.light.get("infrared")
    index = None if infrared is None else 100 * float(np.median(infrared.modulation[good]))
    return replace(
        measurement,
        heart_rate_bpm=60 / _usual_interval_s(readings.interval_s, good),
        perfusion_index_percent=index,
    )


def _usual_interval_s(interval_s: FloatArray, good: NDArray[np.bool_]) -> float:
    """Mean interval [s] between good neighbours; a bad beat's peak may be out of place.

    The mean, since it also fits an irregular heart: so many beats in so much time.
    """
    both = good & np.roll(good, 1)  # the first has no neighbour before it, and no interval
    for usable in (both, good):
        chosen = interval_s[usable]
        chosen = chosen[np.isfinite(chosen)]
        if chosen.size:
            return float(np.mean(chosen))
    return float(np.nanmean(interval_s))


def _with_saturation(
    measurement: Measurement, readings: BeatReadings, window: NDArray[np.bool_]
) -> Measurement:
    good = window & (readings.marks.quality >= LOWEST_QUALITY)
    ratio = float(np.median(readings.ratios[measurement.method][good]))
    spo2_percent = clamped(measurement.curve(ratio))
    low, high = measurement.curve.valid_percent
    return replace(
        measurement,
        spo2_percent=spo2_percent,
        ratio=ratio,
        extrapolated=not low <= rounded(spo2_percent) <= high,
    )
