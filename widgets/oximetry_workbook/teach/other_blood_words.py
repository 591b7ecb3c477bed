"""Sentences about blood that is not as the curve expects, good enough to read out."""

from __future__ import annotations

from dataclasses import replace

from oximetry_workbook.meter.curve import VALIDATED_PERCENT
from oximetry_workbook.meter.display import rounded
from oximetry_workbook.teach.other_blood import (
    COMPARED_PERCENT,
    ORDINARY,
    RULE_WEIGHT,
    OtherBlood,
    beside_oxyhaemoglobin,
)
from oximetry_workbook.teach.published_dyes import PUBLISHED_DYES
from oximetry_workbook.teach.words import LEAST_LOST, figure, percent

SAME_CONTENT = 0.01
"""Contents this near to each other, in parts of the ordinary one, count as the same."""


def numbers(blood: OtherBlood) -> dict[str, str]:
    """Write the panel's numbers, by what they are."""
    ratio = blood.reading.measurement.ratio
    return {
        "Meter shows": percent(blood.shown_percent),
        "Functional": f"{figure(blood.functional_percent, 3)} %",
        "Fractional": f"{figure(blood.fractional_percent, 3)} %",
        "Oxygen, mL/dL": f"{blood.content_ml_per_dl:.1f}",
        "Ratio R": "–" if ratio is None else f"{ratio:.2f}",
    }


def main_sentence(blood: OtherBlood) -> str:
    """Say what the meter shows, what the blood carries, and what to make of it."""
    shown, measurement = blood.shown_percent, blood.reading.measurement
    if shown is None:
        return f"No number is shown. {measurement.reason}"
    words = (
        f"The meter shows {percent(shown)}. Of the haemoglobin that can carry oxygen, "
        f"{figure(blood.functional_percent, 3)} % does (functional); of all haemoglobin, "
        f"{figure(blood.fractional_percent, 3)} % (fractional). {_content(blood)}"
    )
    if rounded(shown) < VALIDATED_PERCENT[0]:
        words += " Below 70 % any curve is a guess: volunteers are not taken there."
    return words


def _content(blood: OtherBlood) -> str:
    share = blood.content_ml_per_dl / ORDINARY.content_ml_per_dl
    held = f"A decilitre holds {blood.content_ml_per_dl:.1f} mL of oxygen"
    if abs(share - 1.0) <= SAME_CONTENT:
        return f"{held}, as ordinary blood does."
    return f"{held}, {100.0 * share:.0f} % of what ordinary blood holds."


def shares_sentence(blood: OtherBlood) -> str:
    """Say what all the haemoglobin is, and which of the two saturations is which column."""
    with_oxygen, without, monoxide, met = (figure(share, 3) for share in blood.shares_percent)
    words = f"Of all haemoglobin, {with_oxygen} % is HbO₂ and {without} % HHb"
    if blood.carboxyhaemoglobin + blood.methaemoglobin < LEAST_LOST:
        return f"{words}. All of it can carry oxygen, so both saturations are the same."
    return (
        f"{words}, {monoxide} % COHb, {met} % MetHb. In the left column HbO₂ is the fractional "
        "saturation, in the middle one the functional."
    )


def content_sentence(blood: OtherBlood) -> str:
    """Set oxygen content and reading against those of ordinary blood."""
    return (
        f"Ordinary blood: {ORDINARY.content_ml_per_dl:.1f} mL, and the meter shows "
        f"{percent(ORDINARY.shown_percent)}. This blood: {blood.content_ml_per_dl:.1f} mL, and it "
        f"shows {percent(blood.shown_percent)}."
    )


def monoxide_sentence(blood: OtherBlood) -> str:
    """Say what the chain reads at this COHb, and what is published."""
    taken = 100.0 * blood.carboxyhaemoglobin
    rule, whole = (blood.counted_as_oxygen(taken, weight) for weight in (RULE_WEIGHT, 1.0))
    return (
        f"At COHb {figure(taken, 3)} % this physics reads {percent(blood.shown_percent)}, and "
        f"{percent(blood.fractional_percent)} of all haemoglobin carries oxygen (fractional). "
        "The rule of thumb "
        f"says {percent(float(rule))}, the dogs’ line {percent(float(whole))}."
    )


def methaemoglobin_sentence(blood: OtherBlood) -> str:
    """Say where the reading drifts at this MetHb, from here and from a low saturation."""
    met = figure(100.0 * blood.methaemoglobin, 3)
    here = (
        f"At MetHb {met} % the meter reads {percent(blood.shown_percent)} at a functional "
        f"saturation of {figure(blood.functional_percent, 3)} %"
    )
    low = blood.at(COMPARED_PERCENT)
    if low == blood:
        return f"{here}."
    return (
        f"{here}, and {percent(low.shown_percent)} at one of {COMPARED_PERCENT:.0f} %. "
        "The more there is of it, the less the two differ."
    )


def dye_sentence(blood: OtherBlood) -> str:
    """Say what the dye does to the reading, and what was found in people."""
    found = PUBLISHED_DYES.get(blood.dye)
    if found is None:
        return "No dye is chosen, so its amount changes nothing. Choose one at the side."
    before = replace(blood, dye="none").shown_percent
    fell = (
        f"to {found.lowest_percent:.0f} % at worst"
        if found.lowest_percent is not None
        else f"by {found.fall_points} points"
    )
    return (
        f"With {figure(blood.dye_mg_per_l, 3)} mg/L {blood.dye} the meter reads "
        f"{percent(blood.shown_percent)}, without it {percent(before)}. In people with ordinary "
        f"blood it fell {fell} ({found.source}). The oxygen is unchanged."
    )


def spectra_sentence() -> str:
    """Say what sets the other two haemoglobins apart at the two LEDs."""
    (monoxide_red, monoxide_infrared), (met_red, met_infrared) = (
        beside_oxyhaemoglobin(species) for species in ("COHb", "MetHb")
    )
    return (
        f"In red, COHb takes {figure(monoxide_red)} times what HbO₂ takes, in infrared next to "
        f"nothing ({figure(100.0 * monoxide_infrared, 1)} % of it): its line leaves the plot. "
        f"MetHb takes {figure(met_red)} times as much in red and {figure(met_infrared)} times in "
        "infrared."
    )
