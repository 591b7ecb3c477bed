"""Sentences about melanin as a filter, and about what it leaves unexplained."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from oximetry_workbook.teach.many_readings import ManyReadings
from oximetry_workbook.teach.skin_tone import (
    DARK_FOUND,
    FOUND_DIFFERENCE,
    FOUND_FROM_PERCENT,
    FOUND_TO_PERCENT,
    LIGHT_FOUND,
    LIGHT_SKIN,
    Finding,
    SkinTone,
)
from oximetry_workbook.teach.skin_tone_readings import (
    SEEDS,
    STUDY_PERCENT,
    SWEPT_PERCENT,
    BothSkins,
    error_points,
)
from oximetry_workbook.teach.words import figure, signed

PRESS = "Press the button to add readings with noise."
SAME_SKIN = "This is the skin of the reference person: there is nothing to compare."
FAINT_QUALITY = 0.9
"""Signal quality below which the summary speaks of it (our own choice)."""


def numbers(state: SkinTone) -> dict[str, str]:
    """Write the panel's numbers, by what they are."""
    (red, infrared), (red_noise, infrared_noise) = state.light_left, state.noise_grown
    measurement = state.reading.measurement
    shown, found = measurement.spo2_percent, measurement.perfusion_index_percent
    return {
        "Red light left": f"{100.0 * red:.0f} %",
        "Infrared left": f"{100.0 * infrared:.0f} %",
        "Red noise": f"× {red_noise:.2f}",
        "Infrared noise": f"× {infrared_noise:.2f}",
        "1000 × R shift": signed(1000.0 * state.ratio_shift),
        "One reading": "–" if shown is None else f"{shown:.1f} %",
        "Blood carries": f"{figure(100.0 * state.arterial_saturation, 3)} %",
        "Pulse found": "–" if found is None else f"{figure(found)} %",
        "Signal quality": f"{round(100.0 * measurement.quality)} %",
    }


def filter_sentence(state: SkinTone) -> str:
    """Say what the pigment takes, and how little it moves the wavelengths."""
    if state.melanin_fraction == LIGHT_SKIN:
        return SAME_SKIN
    red, infrared = 100.0 * state.light_left
    red_nm, infrared_nm = np.abs(state.shift_nm)
    return (
        f"Of the light that comes through with light skin, {red:.0f} % is there in red and "
        f"{infrared:.0f} % in infrared. Within each LED’s own spectrum the short waves change "
        f"most: the mean wavelength moves by {figure(red_nm, 1)} nm in red and "
        f"{figure(infrared_nm, 1)} nm in infrared."
    )


def verdict(state: SkinTone) -> str:
    """Say what simple optics makes of this skin, and that it is not the whole story."""
    if state.melanin_fraction == LIGHT_SKIN:
        return SAME_SKIN
    here = 100.0 * state.arterial_saturation
    at = np.array([here])
    change = float((state.quiet_errors(at) - state.light_skin.quiet_errors(at))[0])
    return (
        f"Without noise the reading moves by {figure(abs(change), 1)} points at {figure(here, 3)} "
        f"%. A filter takes the same share of the steady and of the pulsing light. "
        f"{_noise(state)} Studies in people found more than this; see the plot of errors."
    )


def _noise(state: SkinTone) -> str:
    red, quality = state.noise_grown[0], state.reading.measurement.quality
    sentence = (
        f"What changes is the noise: over the red light it is {figure(red, 3)} times as large."
    )
    if state.reading.measurement.spo2_percent is None:
        return f"{sentence} On so weak a pulse the meter shows no number."
    if quality < FAINT_QUALITY:
        return f"{sentence} Signal quality is {round(100.0 * quality)} %."
    return sentence


def found_sentence() -> str:
    """Say what the study drawn found."""
    where = f"{FOUND_FROM_PERCENT:.0f} to {FOUND_TO_PERCENT:.0f} %"
    return (
        f"The diamonds are a study of 21 people: at {where} readings were off by "
        f"{_found(DARK_FOUND)} with dark skin and {_found(LIGHT_FOUND)} with light skin (mean ± "
        "standard deviation; Bickler and others 2005)."
    )


def _found(finding: Finding) -> str:
    return f"{finding.bias_points:+.1f} ± {finding.sd_points:.1f} points"


def errors_sentence(many: BothSkins | None) -> str:
    """Say what the readings made so far show, beside the study."""
    if many is None:
        return PRESS
    if not np.isfinite(many.difference.mean).any():
        return "The meter withholds nearly all of these readings: the pulse drowns in noise."
    near = int(np.argmin(np.abs(STUDY_PERCENT - (FOUND_FROM_PERCENT + FOUND_TO_PERCENT) / 2.0)))
    mean, half = many.difference.mean[near], many.difference.half_width[near]
    if not np.isfinite(mean):
        return f"At {STUDY_PERCENT[near]:.0f} % the meter withholds too many readings to compare."
    other_way = " That is the other direction." if mean + half < 0.0 else ""
    return (
        f"At {STUDY_PERCENT[near]:.0f} % this skin less light skin gives {hundredths(mean)} points "
        f"(95 % interval {hundredths(mean - half)} to {hundredths(mean + half)}, {many.seeds} "
        f"readings each); in the study the two means lie {signed(FOUND_DIFFERENCE)} apart."
        f"{other_way} Single readings scatter by {many.dark.sd[near]:.1f} with this skin, "
        f"{many.light.sd[near]:.1f} with light skin.{_withheld(many)}"
    )


def _withheld(many: BothSkins) -> str:
    shares = [np.mean(each.withheld_percent) for each in (many.dark, many.light)]
    if max(shares) == 0.0:
        return ""
    dark, light = (f"{round(float(share))} %" for share in shares)
    return f" Withheld: {dark} with this skin, {light} with light skin."


def melanin_sentence(many: BothSkins | None) -> str:
    """Say how far the mean error goes from no pigment to the most."""
    if many is None:
        return f"The dotted line is the error at {SWEPT_PERCENT[-1]:.0f} % without noise. {PRESS}"
    ends = many.swept.mean[:, -1] - many.swept.mean[:, 0]
    if not np.isfinite(ends[[0, -1]]).all():
        return "With so faint a pulse the meter gives too few readings to compare."
    return (
        f"From no melanin to the most, the mean error moves by {hundredths(ends[0])} points at "
        f"{SWEPT_PERCENT[0]:.0f} % and by {hundredths(ends[-1])} at {SWEPT_PERCENT[-1]:.0f} %. "
        "Studies found a rise that grows as the blood darkens."
    )


def hundredths(value: float) -> str:
    """Write a difference to two decimals with its sign, and plain 0.00 for none."""
    shown = f"{value:+.2f}".replace("-", "−")
    return "0.00" if shown[1:] == "0.00" else shown


def at_65_percent(state: SkinTone) -> str:
    """Say what forty readings of a state with each skin show at 65 %, in one line."""
    here = replace(state, arterial_saturation=0.65)
    skins = (here, here.light_skin)
    dark, light = ([error_points(skin, seed) for seed in range(SEEDS)] for skin in skins)
    found = ManyReadings(np.array(dark) - np.array(light))
    return (
        f"perfusion index {state.perfusion_index_percent:g} %, noise {state.noise_percent:g} %: "
        f"{hundredths(float(found.mean))} ± {found.half_width:.2f} points (95 % interval)"
    )
