"""Sentences about motion, venous pulse and rhythm, good enough to read out."""

from __future__ import annotations

import numpy as np

from oximetry_workbook.body.probe import venous_saturation
from oximetry_workbook.meter.curve import VALIDATED_PERCENT
from oximetry_workbook.meter.display import rounded
from oximetry_workbook.teach.many_readings import ManyReadings
from oximetry_workbook.teach.moving_hand import ALIKE, KINDS, SIZES_PERCENT, MovingHand
from oximetry_workbook.teach.words import CLOSE_POINTS, figure, percent, signed

DASH = "–"

GOOD_QUALITY = 0.5
"""From here on a learner would take a signal quality for a good one."""

RATE_OFF_BPM = 5.0
"""A pulse rate so far off the heart's is pointed out [1/min]."""

CAUSES = {
    "motion_percent": "venous blood that moves with the hand",
    "coupling_percent": "a probe that shifts",
    "venous_pulse": "veins that pulse",
}


def numbers(state: MovingHand) -> dict[str, str]:
    """Write the panel's numbers, by what they are."""
    measurement = state.reading.measurement
    rate, ratio, error = (
        measurement.heart_rate_bpm,
        measurement.ratio,
        state.reading.error_points,
    )
    return {
        "Meter shows": percent(measurement.spo2_percent),
        "Arteries carry": percent(100.0 * state.arterial_saturation),
        "Veins carry": percent(state.venous_percent),
        "Error, points": DASH if error is None else signed(error),
        "Ratio R": DASH if ratio is None else f"{ratio:.2f}",
        "Pulse, per min": DASH if rate is None else str(rounded(rate)),
        "Signal quality": f"{round(100.0 * measurement.quality)} %",
    }


def verdict(state: MovingHand) -> str:
    """Say what the meter shows, what drew it there, and whether it noticed."""
    measurement, error = state.reading.measurement, state.reading.error_points
    if measurement.spo2_percent is None or error is None:
        return f"No number is shown. {measurement.reason}"
    true = 100.0 * state.arterial_saturation
    sentence = f"The meter shows {percent(measurement.spo2_percent)}; the arteries carry "
    sentence += f"{percent(true)}. {_why(state, error)}{_unnoticed(state, error)}"
    sentence += _veins_remark(state)
    if measurement.spo2_percent < VALIDATED_PERCENT[0]:
        sentence += " Below 70 % the curve itself is a guess."
    return sentence + _rate_remark(state)


def _why(state: MovingHand, error: float) -> str:
    causes = [words for name, words in CAUSES.items() if getattr(state, name) > 0.0]
    if abs(error) <= CLOSE_POINTS:
        return "That is close."
    way = "high" if error > 0.0 else "low"
    if not causes:
        return f"It reads {figure(abs(error))} points too {way}, and nothing moves."
    return f"It reads {figure(abs(error))} points too {way}. At work: {' and '.join(causes)}."


def _veins_remark(state: MovingHand) -> str:
    """Say why resting veins turn the reading where the curve takes them to be otherwise."""
    usual = 100.0 * float(venous_saturation(state.arterial_saturation))
    if rounded(state.venous_percent) == rounded(usual):
        return ""
    way = (
        "brighter, so red light wanders farther before it is lost, and a beat takes more of it"
        if state.venous_percent > usual
        else "darker, so red light that wanders far is lost, and a beat takes less of the rest"
    )
    return (
        f" The veins are not as the curve takes them to be: they carry "
        f"{percent(state.venous_percent)}, not {percent(usual)}. Their blood lies in the light’s "
        f"way even at rest. It is {way}."
    )


def _unnoticed(state: MovingHand, error: float) -> str:
    quality = state.reading.measurement.quality
    if abs(error) <= CLOSE_POINTS or quality < GOOD_QUALITY:
        return ""
    return f" It does not notice: the signal quality is {round(100.0 * quality)} %."


def _rate_remark(state: MovingHand) -> str:
    rate, true = state.reading.measurement.heart_rate_bpm, state.scenario.heart_rate_bpm
    if rate is None or abs(rate - true) < RATE_OFF_BPM:
        return ""
    cause = "motion" if max(state.motion_percent, state.coupling_percent) > 0.0 else "rhythm"
    return (
        f" Its pulse rate is {rounded(rate)} per minute where the heart’s mean rate is "
        f"{rounded(true)}: the {cause} is in it."
    )


def lines_sentence(state: MovingHand, many: ManyReadings | None) -> str:
    """Say where readings go as motion grows, and where the two kinds end."""
    if many is None:
        values, sure = state.quick_lines, ""
        tail = " Two readings make each point: press the button for many."
    else:
        values, half = many.mean, many.half_width
        widest = float(np.nanmax(half, initial=0.0)) if np.isfinite(half).any() else 0.0
        sure = f" The widest 95 % interval of a mean is ± {figure(widest)} points."
        tail = f" {many.values.shape[-1]} readings of 10 s make each point."
    venous, probe = (_last(row) for row in values)
    return (
        f"Strong motion of the probe alone ends at {probe}, strong motion of venous blood alone at "
        f"{venous}. R = 1 reads {percent(state.reads_percent(ALIKE))}.{sure}{tail}"
    )


def _last(row: np.ndarray) -> str:
    shown = np.flatnonzero(np.isfinite(row))
    if not shown.size:
        return "no number"
    end = f"{percent(float(row[shown[-1]]))}"
    if shown[-1] < SIZES_PERCENT.size - 1:
        end += f" (from {figure(SIZES_PERCENT[shown[-1] + 1])} % on no number)"
    return end


def slopes_sentence(state: MovingHand) -> str:
    """Say where each pure slope would read, and where the mixture lies."""
    arterial, venous = state.slopes
    at = (
        f"Arteries alone have the slope {arterial:.2f} and read "
        f"{percent(state.reads_percent(arterial))}; a swing alike in both colours has 1 and reads "
        f"{percent(state.reads_percent(ALIKE))}; venous blood alone has {venous:.2f} and reads "
        f"{percent(state.reads_percent(venous))}, where the veins carry "
        f"{percent(state.venous_percent)}."
    )
    ratio = state.reading.measurement.ratio
    return at if ratio is None else f"Measured, of all that swings here: R = {ratio:.2f}. {at}"


def beats_sentence(state: MovingHand) -> str:
    """Say what the meter takes for beats, and how even they and their R are."""
    times, intervals = state.beats
    if times.size < 3 or intervals.size < 2:
        return "No whole beats to speak of in these ten seconds."
    table = state.reading.measurement.beats
    quartiles = np.nanpercentile(table["ratio"].to_numpy(dtype=np.float64), [25, 75])
    rate = state.reading.measurement.heart_rate_bpm
    shown = "no rate" if rate is None else f"{rounded(rate)} per minute"
    return (
        f"{times.size} beats found, {shown}; the heart’s mean rate is "
        f"{rounded(state.scenario.heart_rate_bpm)}. Intervals scatter by "
        f"{figure(intervals.std(ddof=1))} % of their mean. Half of the beats have R between "
        f"{quartiles[0]:.2f} and {quartiles[1]:.2f}."
    )


def kind_words(kind: str) -> str:
    """Name a kind of motion for a key, by field name."""
    return dict(zip(KINDS, ("venous blood alone", "the probe alone"), strict=True))[kind]
