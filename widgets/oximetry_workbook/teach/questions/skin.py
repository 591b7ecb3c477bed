"""Questions of skin tone: what a filter does, what noise does, and what is left unexplained."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from oximetry_workbook.teach.checkpoint import ChoiceQuestion, NumberQuestion, Question
from oximetry_workbook.teach.skin_tone import (
    DARK_FOUND,
    FOUND_DIFFERENCE,
    LIGHT_FOUND,
    LIGHT_SKIN,
    SkinTone,
    filter_passes,
)
from oximetry_workbook.teach.skin_tone_readings import Repeated, error_points
from oximetry_workbook.teach.words import figure, signed

DARKEST = SkinTone(melanin_fraction=0.45, arterial_saturation=0.65)
"""The most pigment the panel offers, at a saturation a study went to."""

WEAK = replace(DARKEST, perfusion_index_percent=0.3, noise_percent=0.05)
"""The same with a weak pulse and more noise."""

READINGS = 20
NOTICEABLE_POINTS = 1.0

COHORT_OF = 1000
MISSED_IN_BLACK, MISSED_IN_WHITE = 19.6, 15.6
"""Readings of 92 % or more while the blood carried less than 88 % [%], in patients recorded as
Black and as White. Source: Valbuena and others 2022, BMJ 378:e069775, abstract."""


def prediction() -> ChoiceQuestion:
    """Ask what a filter alone does to the reading."""
    red = 100.0 * DARKEST.light_left[0]
    change = _errors(DARKEST).mean - _errors(DARKEST.light_skin).mean
    return ChoiceQuestion(
        text=f"Much melanin leaves {figure(red)} % of the red light that comes through light "
        "skin, and more of the infrared. Nothing else differs. The blood carries 65 %, the pulse "
        "is strong. What does a simulation of melanin as a filter say about the reading?",
        options=(
            "More than 1 point lower than in light skin",
            "Within 1 point of that in light skin",
            "More than 1 point higher than in light skin",
        ),
        answer=1 + int(change > NOTICEABLE_POINTS) - int(change < -NOTICEABLE_POINTS),
        why=f"It moves by {figure(abs(change), 1)} points. A filter takes the same share of the "
        "steady and of the pulsing light, colour by colour. Studies in people found more than "
        f"that: readings {FOUND_DIFFERENCE:.1f} points higher in dark than in light skin at 60 to "
        "70 % (Bickler and others 2005). That gap is what this chapter is about.",
        link="tissue",
    )


def checkpoints() -> tuple[Question, ...]:
    """Ask about light, noise, the weak pulse, the study, and what a simulation can tell."""
    return _passes(), _noise(), _weak_pulse(), _found(), _gap(), _missed()


def _passes() -> NumberQuestion:
    melanin = 0.3
    light, dark = (float(filter_passes(m, np.array([660.0]))[0]) for m in (LIGHT_SKIN, melanin))
    light, dark = round(100.0 * light), round(100.0 * dark)  # as the question shows them
    return NumberQuestion(
        text=f"At 660 nm the epidermis of light skin lets {light} % of the light through, in and "
        f"out together, that of dark skin {dark} %. How much of the red light that comes through "
        "light skin is there with dark skin?",
        unit="%",
        answer=100.0 * dark / light,
        tolerance=2.0,
        why=f"{dark} divided by {light} is {100.0 * dark / light:.0f} %. The tissue behind the "
        "filter is the same and divides out.",
        link="tissue",
    )


def _noise() -> NumberQuestion:
    red, noise = DARKEST.light_left[0], DARKEST.noise_grown[0]
    return NumberQuestion(
        text=f"Of the red light that comes through light skin, {figure(100.0 * red)} % comes "
        "through dark skin. Photons come by chance, so that noise over the light goes with one "
        "over the root of the light. How many times as large does it become?",
        unit="times",
        answer=float(noise),
        tolerance=0.1,
        why=f"One over the root of {red:.2f} is {noise:.2f}. A meter can drive its LED harder "
        "against this, as far as it goes; this simulation does not.",
        link="light",
    )


def _weak_pulse() -> ChoiceQuestion:
    light, dark = _errors(WEAK.light_skin), _errors(WEAK)
    grew = dark.sd / light.sd
    return ChoiceQuestion(
        text=f"Now the pulse is weak, {WEAK.perfusion_index_percent:g} %, and noise is "
        f"{WEAK.noise_percent:g} % of the light in ordinary tissue. In the simulation, how do "
        "single readings with much melanin scatter, compared with light skin?",
        options=(
            "By less, since less light brings less noise",
            "Alike, within a fifth, since a filter divides out",
            "By more, since the pulse comes nearer to the noise",
        ),
        answer=2 if grew > 1.2 else (1 if grew > 1.0 / 1.2 else 0),
        why=f"Their standard deviation is {dark.sd:.1f} points instead of {light.sd:.1f}. "
        "Pulse and steady light shrink together, but noise shrinks less than they do.",
        link="pulse",
    )


def _found() -> NumberQuestion:
    true_percent = 65.0
    shown = true_percent + DARK_FOUND.bias_points
    return NumberQuestion(
        text=f"In a study of volunteers, readings at a saturation of 60 to 70 % were "
        f"{signed(DARK_FOUND.bias_points)} points off on average in people with dark skin. The "
        f"blood of one of them carries {true_percent:.0f} %. What would the average meter of "
        "that study show?",
        unit="%",
        answer=shown,
        tolerance=0.6,
        why=f"{true_percent:.0f} + {DARK_FOUND.bias_points:.1f} is {shown:.1f}: too high, the "
        f"side that misleads. Single readings lay some {DARK_FOUND.sd_points:.1f} points about "
        "that, and meters differed. Nobody can take this sum back at the bedside.",
        link="display",
    )


def _gap() -> ChoiceQuestion:
    found = FOUND_DIFFERENCE
    engine = _errors(DARKEST).mean - _errors(DARKEST.light_skin).mean
    explained = engine / found
    return ChoiceQuestion(
        text=f"At 60 to 70 % a study found {signed(DARK_FOUND.bias_points)} points with dark and "
        f"{signed(LIGHT_FOUND.bias_points)} with light skin. The simulation finds a difference of "
        f"{signed(engine)} at 65 % when the pulse is strong. What follows?",
        options=(
            "The study must be wrong, since physics is exact",
            "The filter explains most of what the study found",
            "Something that this simulation leaves out is at work",
        ),
        answer=2 if explained < 0.5 else 1,
        why=f"The study’s difference is {found:.1f} points. A simulation shows only what was put "
        "into it: here a filter, and noise. It cannot speak against measurements in people.",
        link="curve",
    )


def _missed() -> NumberQuestion:
    more = COHORT_OF * (MISSED_IN_BLACK - MISSED_IN_WHITE) / 100.0
    return NumberQuestion(
        text="In a cohort of inpatients (Valbuena and others 2022) the blood carried less than "
        f"88 % although the display had shown 92 % or more: in {MISSED_IN_BLACK} % of the pairs of "
        f"patients recorded as Black and in {MISSED_IN_WHITE} % of those recorded as White (the "
        f"study’s terms). How many more is that in {COHORT_OF} pairs?",
        unit="",
        answer=more,
        tolerance=1.0,
        why=f"{MISSED_IN_BLACK} − {MISSED_IN_WHITE} = {MISSED_IN_BLACK - MISSED_IN_WHITE:.0f} in a "
        f"hundred, {more:.0f} in {COHORT_OF}. The record says how people were registered, not how "
        "much pigment was in their skin.",
        link="display",
    )


def _errors(state: SkinTone) -> Repeated:
    """Errors of some readings of a state."""
    return Repeated(np.array([error_points(state, seed) for seed in range(READINGS)]))
