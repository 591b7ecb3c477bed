"""Sentences about finger and wrist, good enough to read out."""

from __future__ import annotations

from oximetry_workbook.meter.curve import VALIDATED_PERCENT
from oximetry_workbook.teach.words import figure, percent
from oximetry_workbook.teach.wrist import LOW_SHOWN_PERCENT, PLACES, FingerAndWrist, Many, Readings


def place_numbers(state: FingerAndWrist, all_readings: Many) -> dict[str, str]:
    """Write what was read at each place, by what it is."""
    values: dict[str, str] = {"Blood carries": f"{100.0 * state.arterial_saturation:.1f} %"}
    for place in PLACES:
        many = all_readings[place]
        mean = many.mean_percent
        values[f"{place.capitalize()}, mean"] = "–" if mean is None else f"{mean[0]:.1f} %"
        values[f"{place.capitalize()}, withheld"] = f"{many.withheld} of {many.quality.size}"
    return values


def pulse_sentence(state: FingerAndWrist, place: str) -> str:
    """Say how large the pulse is at a place, how good it is, and what is read."""
    measurement = state.first[place].measurement
    quality = f"Signal quality {round(100.0 * measurement.quality)} %."
    if measurement.spo2_percent is None:
        return f"{quality} No number is shown. {measurement.reason}"
    found = measurement.perfusion_index_percent or 0.0
    return (
        f"Infrared swings by {figure(found)} % of its mean. {quality} "
        f"Shown: {percent(measurement.spo2_percent)}."
    )


def many_sentence(all_readings: Many) -> str:
    """Say how many of the readings were given, withheld or low, and how far they spread."""
    parts = " ".join(f"{place.capitalize()}: {_spread(all_readings[place])}." for place in PLACES)
    guessed = any(each.given.size and each.given.min() < _LEAST for each in all_readings.values())
    return parts + (" Below 70 % any curve is a guess." if guessed else "")


_LEAST = VALIDATED_PERCENT[0]


def _spread(readings: Readings) -> str:
    mean = readings.mean_percent
    withheld = f"{readings.withheld} of {readings.quality.size} withheld"
    if mean is None:
        return withheld
    given = readings.given
    low, high = percent(float(given.min())), percent(float(given.max()))
    return (
        f"{withheld}; shown from {low} to {high}, mean {mean[0]:.1f} ± {figure(mean[1], 1)} "
        f"(95 % interval), {readings.low} of them {LOW_SHOWN_PERCENT:.0f} % or less"
    )


def verdict(state: FingerAndWrist, all_readings: Many) -> str:
    """Say what sets the wrist apart here."""
    times = state.times_smaller
    size = (
        f"The pulse at the wrist is {figure(times)} times smaller than at the finger."
        if times > 1.05
        else "The pulse at the wrist is as large as at the finger, or larger."
    )
    return f"{size} {_trouble(state, all_readings)}"


def _trouble(state: FingerAndWrist, all_readings: Many) -> str:
    finger, wrist = (all_readings[place] for place in PLACES)
    if wrist.given.size == 0:
        return "No number can be had at the wrist here, and none is shown: better than a wrong one."
    off, steady = (_largest_error(state, each) for each in (wrist, finger))
    if off < 2.0:
        return "All that it shows at the wrist is within 2 points of the truth."
    both = (
        f"the finger’s by up to {figure(steady)}" if finger.given.size else "the finger gives none"
    )
    return (
        f"What the wrist shows is off by up to {figure(off)} points, {both}. The same disturbance "
        f"weighs more against a small pulse. {_noticed(wrist)}"
    )


def _noticed(readings: Readings) -> str:
    if readings.withheld == 0:
        return "This meter does not notice: it withholds nothing."
    return (
        f"This meter notices in part: it withholds {readings.withheld} of {readings.quality.size}."
    )


def _largest_error(state: FingerAndWrist, readings: Readings) -> float:
    if readings.given.size == 0:
        return 0.0
    return float(abs(readings.given - 100.0 * state.arterial_saturation).max())
