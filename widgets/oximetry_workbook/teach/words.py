"""Sentences about a reading, good enough to read out."""

from __future__ import annotations

from oximetry_workbook.body.probe import LAYERS
from oximetry_workbook.meter.display import rounded
from oximetry_workbook.teach.reading import Reading

LEAST_LOST = 0.005
"""Share of all haemoglobin lost to something else that is worth a sentence: everybody has a
little COHb and MetHb, under 1 or 2 % (common practice)."""

CAUSES = {
    "motion_percent": "venous blood that moves",
    "coupling_percent": "a probe that shifts",
    "venous_pulse": "venous blood that pulses",
    "bypass_percent": "light past the tissue",
    "ambient_light_percent": "room light",
    "red_peak_nm": "a red LED off 660 nm",
    "infrared_peak_nm": "an infrared LED off 940 nm",
    "led_temperature_c": "LEDs that are not at 25 °C",
    "haemoglobin_g_per_l": "another amount of haemoglobin",
    "venous_difference": "tissue that takes another share of the oxygen",
    "vasoconstriction": "narrowed vessels",
    "blood_volume_scale": "another amount of blood in the tissue",
    "thickness_scale": "another thickness",
    "scattering_scale": "tissue that scatters otherwise",
    "melanin_fraction": "another skin tone",
    "varnish": "nail varnish",
    "dye": "a dye in the blood",
    "noise_percent": "noise",
    "converter_bits": "another converter",
}
"""Fields that can make a reading wrong, in words."""

DASH = "–"
"""Stands for a number that is withheld."""

GROUPED_FROM = 10_000
"""Numbers from here on are written with their thousands set apart."""

CLOSE_POINTS = 2.0
"""An error up to this is called close: within what a good meter is allowed (A_rms 3 points,
FDA guidance of 4 March 2013)."""


def figure(value: float, digits: int = 2) -> str:
    """Write a number to significant digits, without an exponent; below 1e-10 it is 0.

    Thousands are set apart from five digits on: 8400, 12 000.
    """
    shown = float(f"{value:.{digits}g}")
    number = f"{shown:,.10f}" if abs(shown) >= GROUPED_FROM else f"{shown:.10f}"
    return number.rstrip("0").rstrip(".").replace(",", " ")


def signed(value: float) -> str:
    """Write a difference to one decimal with its sign, and plain 0.0 for none."""
    shown = f"{value:+.1f}".replace("-", "−")
    return "0.0" if shown[1:] == "0.0" else shown


def percent(value: float | None) -> str:
    """Write a saturation as the display would: whole percent, or a dash when withheld."""
    return DASH if value is None else f"{rounded(value)} %"


def reading_numbers(reading: Reading) -> dict[str, str]:
    """Return what the meter shows, the truth, the error and what stands behind, as text."""
    measurement, error = reading.measurement, reading.error_points
    rate, perfusion = measurement.heart_rate_bpm, measurement.perfusion_index_percent
    return {
        "Meter shows": percent(measurement.spo2_percent),
        "Blood carries": f"{figure(reading.carried_percent, 3)} %",
        "Error, points": DASH if error is None else signed(error),
        "Pulse, per min": DASH if rate is None else str(rounded(rate)),
        "Perfusion index": DASH if perfusion is None else f"{figure(perfusion)} %",
        "Ratio R": DASH if measurement.ratio is None else f"{measurement.ratio:.2f}",
        "Signal quality": f"{round(100 * measurement.quality)} %",
    }


def main_sentence(reading: Reading) -> str:
    """Say in a sentence or two what the meter shows and whether to believe it."""
    measurement = reading.measurement
    if measurement.spo2_percent is None:
        return f"No number is shown. {measurement.reason}"
    shown, true = percent(measurement.spo2_percent), percent(reading.carried_percent)
    sentence = f"The meter shows {shown}; the blood carries {true}. {_verdict(reading)}"
    sentence += _blind_spot(reading)
    if measurement.extrapolated:
        sentence += (
            " This part of the curve is guessed: volunteers’ data end at 70 %, "
            "so the number tells “very low”, not how low."
        )
    return sentence


def _verdict(reading: Reading) -> str:
    error = reading.error_points or 0.0
    if abs(error) <= CLOSE_POINTS:
        return _pulse_remark(reading)
    way = "too high" if error > 0 else "too low"
    return (
        f"It reads {figure(abs(error))} points {way}, though the display looks as sure as ever."
        f"{_causes(reading)}"
    )


def _causes(reading: Reading) -> str:
    found = causes_of(reading)
    return f" What differs here: {', '.join(found)}." if found else ""


def causes_of(reading: Reading) -> list[str]:
    """Name what sets a situation apart from the one the probe's curve was made for."""
    changed = reading.scenario.changes()
    found = [words for field, words in CAUSES.items() if field in changed]
    if reading.measurement.curve_origin == "given":
        found.append("a curve made for another probe")
    return found


def _blind_spot(reading: Reading) -> str:
    scenario = reading.scenario
    blocked = {
        "carbon monoxide": scenario.carboxyhaemoglobin,
        "methaemoglobin": scenario.methaemoglobin,
    }
    named = " and ".join(name for name, share in blocked.items() if share >= LEAST_LOST)
    if not named:
        return ""
    share = 100.0 * sum(blocked.values())
    return (
        f" Of all haemoglobin, {figure(share)} % is lost to {named}; two colours of light cannot "
        "tell it from the rest. It takes a blood sample."
    )


def _pulse_remark(reading: Reading) -> str:
    perfusion = reading.measurement.perfusion_index_percent or 0.0
    if perfusion < 0.5:
        return (
            f"It is close, on a very weak pulse: only {figure(perfusion)} parts in a hundred "
            "of the light move with the heart."
        )
    return (
        f"Of the infrared light, {figure(perfusion)} parts in a hundred move with the heart; "
        "only these speak for the arteries."
    )


def layers_sentence(reading: Reading) -> str:
    """Say what the plot of absorbance layers shows."""
    layers = reading.absorbance_layers
    total = layers.sum(axis=0)
    pulse = layers[LAYERS.index("arterial blood, pulsing")]
    shares = 100.0 * pulse / total
    return (
        f"The pulse is {figure(shares[0])} % of all that red loses and {figure(shares[1])} % "
        f"of what infrared loses. Red pulse over infrared pulse: {pulse[0] / pulse[1]:.2f}."
    )


def pulses_sentence(reading: Reading) -> str:
    """Say what the plot of both pulses over time shows."""
    measurement = reading.measurement
    if measurement.heart_rate_bpm is None:
        return "No credible pulse is found in these ten seconds."
    beats = reading.beat_times_s.size
    return (
        f"{beats} whole beats found, {rounded(measurement.heart_rate_bpm)} per minute. "
        "When blood comes, light falls."
    )


def ratio_sentence(reading: Reading) -> str:
    """Say what the plot of red against infrared shows."""
    if reading.measurement.ratio is None:
        return "The two colours do not rise and fall together, so there is no slope to read."
    return (
        f"The slope is R = {reading.measurement.ratio:.2f}: for each 1 % that infrared moves, "
        f"red moves {reading.measurement.ratio:.2f} %."
    )


def curve_sentence(reading: Reading) -> str:
    """Say what the plot of the calibration curve shows."""
    measurement = reading.measurement
    if measurement.ratio is None:
        return "Nothing to look up: the meter withholds R."
    where = "beyond the volunteers’ range" if measurement.extrapolated else "in the checked range"
    return (
        f"Across from R = {measurement.ratio:.2f} the curve says "
        f"{percent(measurement.spo2_percent)}, {where}."
    )
