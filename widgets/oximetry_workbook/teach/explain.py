"""The whole chain in five sentences, with the numbers of a reading, at two levels."""

from __future__ import annotations

from oximetry_workbook.body.sites import SITES
from oximetry_workbook.meter.display import rounded
from oximetry_workbook.teach.reading import Reading
from oximetry_workbook.teach.situations import POOR_QUALITY
from oximetry_workbook.teach.steady_and_pulsing_words import points
from oximetry_workbook.teach.words import CLOSE_POINTS, causes_of, figure, percent

PUBLIC, STUDENTS = "for the public", "for students"
LEVELS = (PUBLIC, STUDENTS)

PLACES = {"finger": "finger", "ear": "ear lobe", "forehead": "forehead", "wrist": "wrist"}
"""Sites in words."""


def explain(reading: Reading, level: str = STUDENTS) -> tuple[str, str, str, str, str]:
    """Tell the chain from light to number in five sentences.

    Args:
        reading: What to explain.
        level: `PUBLIC`, without symbols, or `STUDENTS`.

    Raises:
        ValueError: For another level.
    """
    if level == PUBLIC:
        return (
            _lamps(reading),
            _what_moves(reading),
            _compared(reading),
            _looked_up(reading),
            _believed(reading),
        )
    if level == STUDENTS:
        return (
            _light(reading),
            _layers(reading),
            _ratio(reading),
            _curve(reading),
            _verdict(reading),
        )
    raise ValueError(f"level is {level!r}; choose one of {', '.join(LEVELS)}")


def _lamps(reading: Reading) -> str:
    place = PLACES[reading.scenario.site]
    through = SITES[reading.scenario.site].geometry == "slab"
    way = (
        f"shine through the {place}"
        if through
        else f"shine into the {place}, which sends some back"
    )
    return (
        f"Two small lamps {way}: one red, which blood without oxygen swallows far more of, and one "
        "infrared, which the eye cannot see."
    )


def _what_moves(reading: Reading) -> str:
    moving = reading.measurement.perfusion_index_percent
    if moving is None:
        return "Whatever in this light moves with the heart is lost here among other things."
    return (
        "Skin, flesh and veins take light as well, but they keep still: of the infrared light, "
        f"{figure(moving)} parts in a hundred move with each heartbeat, and only what moves "
        "speaks for the arteries."
    )


def _compared(reading: Reading) -> str:
    ratio = reading.measurement.ratio
    if ratio is None:
        return "So the meter cannot compare how far the red and the infrared light move."
    return (
        "The meter compares how far both colours move: where infrared moves by 10 parts, red moves "
        f"by {figure(10.0 * ratio)}."
    )


def _looked_up(reading: Reading) -> str:
    if reading.measurement.ratio is None:
        return "There is nothing to look up in the table that volunteers’ blood has made."
    if reading.measurement.extrapolated:
        return (
            "It looks that up in a table made with volunteers, but nobody was measured with so "
            "little oxygen: this end of the table is a guess."
        )
    return "It looks that up in a table that was made with volunteers and their blood."


def _believed(reading: Reading) -> str:
    shown, carried = reading.measurement.spo2_percent, percent(reading.carried_percent)
    if shown is None:
        return (
            f"It shows no number, and that is honest; the blood here carries {carried} of the "
            "oxygen that it could."
        )
    if abs(reading.error_points or 0.0) <= CLOSE_POINTS:
        return f"It shows {percent(shown)}, and the blood carries {carried}: close enough."
    return (
        f"It shows {percent(shown)}, and nothing about that looks wrong, but the blood carries "
        f"{carried}{_because(reading)}."
        if reading.measurement.quality >= POOR_QUALITY
        else f"It shows {percent(shown)} on an uneven signal, and the blood carries {carried}"
        f"{_because(reading)}."
    )


def _because(reading: Reading) -> str:
    found = [*_blocked(reading), *causes_of(reading)]
    return f"; what differs here: {', '.join(found)}" if found else ""


def _blocked(reading: Reading) -> list[str]:
    scenario = reading.scenario
    shares = {
        "carbon monoxide on the haemoglobin": scenario.carboxyhaemoglobin,
        "haemoglobin turned to methaemoglobin": scenario.methaemoglobin,
    }
    return [words for words, share in shares.items() if share > 0.0]


def _light(reading: Reading) -> str:
    scenario, site = reading.scenario, SITES[reading.scenario.site]
    red, infrared = reading.path_length_cm
    distance = site.distance_cm * scenario.thickness_scale
    way = "through" if site.geometry == "slab" else "back out of"
    return (
        f"LEDs of {scenario.red_peak_nm:.0f} and {scenario.infrared_peak_nm:.0f} nm send light "
        f"{way} the {PLACES[scenario.site]}: {figure(distance)} cm as the crow flies, "
        f"{figure(red)} and {figure(infrared)} cm on its scattered way."
    )


def _layers(reading: Reading) -> str:
    layers = reading.absorbance_layers
    steady, pulse = layers[:-1].sum(axis=0), 1000.0 * layers[-1]
    return (
        f"What keeps still takes {steady[0]:.2f} units of absorbance from red and "
        f"{steady[1]:.2f} from infrared (one unit leaves a tenth); each beat adds "
        f"{figure(pulse[0])} and {figure(pulse[1])} thousandths."
    )


def _ratio(reading: Reading) -> str:
    measurement = reading.measurement
    if measurement.ratio is None or measurement.perfusion_index_percent is None:
        return (
            "The ratio of ratios R = (AC/DC of red) / (AC/DC of infrared) cannot be trusted here."
        )
    infrared = measurement.perfusion_index_percent
    return (
        f"Pulsing over steady light, AC/DC, is {figure(measurement.ratio * infrared)} % in red "
        f"and {figure(infrared)} % in infrared; one divided by the other is "
        f"R = {measurement.ratio:.2f}."
    )


def _curve(reading: Reading) -> str:
    measurement = reading.measurement
    low, high = measurement.curve.valid_percent
    checked = f"checked against blood from {low:.0f} to {high:.0f} %"
    if measurement.ratio is None:
        return f"Without R, the calibration curve, {checked}, has nothing to answer."
    where = "and this lies beyond" if measurement.extrapolated else "and this lies within"
    return (
        f"The calibration curve ({measurement.curve.name}) turns R into "
        f"{percent(measurement.spo2_percent)}; it counts as {checked}, {where}."
    )


def _verdict(reading: Reading) -> str:
    measurement, error = reading.measurement, reading.error_points
    quality = f"signal quality is {round(100 * measurement.quality)} %"
    if error is None:
        return f"SpO2 is withheld ({quality}): {_reason(reading)}"
    if abs(error) <= CLOSE_POINTS:
        return (
            f"SpO2 {percent(measurement.spo2_percent)} stands against {_truth(reading)}: "
            f"{_off(abs(error))} off, while {quality}."
        )
    way = "too high" if error > 0 else "too low"
    return (
        f"SpO2 {percent(measurement.spo2_percent)} stands against {_truth(reading)}, "
        f"{_off(abs(error))} {way}, while {quality}{_because(reading)}."
    )


def _off(points_off: float) -> str:
    return "less than half a point" if points_off < 0.5 else points(rounded(points_off))


def _reason(reading: Reading) -> str:
    reason = reading.measurement.reason or ""
    return reason[:1].lower() + reason[1:]


def _truth(reading: Reading) -> str:
    arterial = 100.0 * reading.scenario.arterial_saturation
    if _blocked(reading):
        return (
            f"{figure(reading.carried_percent, 3)} % of all haemoglobin with oxygen (SaO2, of the "
            f"haemoglobin that still can, is {figure(arterial, 3)} %)"
        )
    return f"SaO2 {figure(arterial, 3)} %"
