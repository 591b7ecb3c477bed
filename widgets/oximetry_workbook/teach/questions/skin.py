"""Questions of skin tone: what a filter does, what noise does, and what is left unexplained."""

from __future__ import annotations

from dataclasses import replace
from statistics import NormalDist
from typing import NamedTuple

import numpy as np

from oximetry_workbook.teach.checkpoint import ChoiceQuestion, NumberQuestion, Question
from oximetry_workbook.teach.many_readings import ManyReadings
from oximetry_workbook.teach.skin_tone import (
    DARK_FOUND,
    FOUND_DIFFERENCE,
    LIGHT_FOUND,
    SkinTone,
)
from oximetry_workbook.teach.skin_tone_readings import error_points
from oximetry_workbook.teach.words import figure, signed

DARKEST = SkinTone(melanin_fraction=0.45, arterial_saturation=0.65)
"""The most pigment the panel offers, at a saturation a study went to."""

WEAK = replace(DARKEST, perfusion_index_percent=0.3, noise_percent=0.05)
"""The same with a weak pulse and more noise."""

READINGS = 20
NOTICEABLE_POINTS = 1.0
STILL_OFF_POINTS = 2.0

STUDIED_PERCENT, ASKED_PERCENT = 65.0, 90.0
"""Middle of the range in which the study found its difference, and where it is asked for [%]."""


class Hidden(NamedTuple):
    """How often a reading of 92 % or more went with less than 88 % in the blood.

    Attributes:
        percent: Share of the pairs of reading and sample [%].
        low: Lower end of its 95 % interval [%].
        high: Upper end [%].
    """

    percent: float
    low: float
    high: float


HIDDEN_IN_BLACK, HIDDEN_IN_WHITE = Hidden(19.6, 18.6, 20.6), Hidden(15.6, 15.0, 16.1)
"""In patients recorded as Black and as White. Source: Valbuena and others 2022, BMJ
378:e069775, abstract."""

WITHIN_POINTS, WITHIN_SHARE_PERCENT, BOTH_SIGNS_PERCENT = 4.0, 67.0, 75.0
"""Errors within one stay in hospital ranged over more than so many points in this share of stays,
and had both signs in this one. Source: Chesley and others 2022, Respir Care 67:1499, abstract:
105 467 pairs of 7693 critically ill people."""


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
        if_wrong=(
            "Less red light is not a larger red pulse: ask what happens to pulse over steady "
            "light when both cross the same filter.",
            "Ask what the meter divides by, in each colour, before it compares the colours.",
            "That is the side on which people were found. Here only a filter is simulated: ask "
            "what it does to pulse over steady light.",
        ),
    )


def checkpoints() -> tuple[Question, ...]:
    """Ask about a filter, noise, the weak pulse, the study, and why nobody corrects by it."""
    return (
        _divides_out(),
        _noise(),
        _weak_pulse(),
        _at_ninety(),
        _no_correction(),
        _gap(),
        _cohort(),
    )


def _divides_out() -> NumberQuestion:
    infrared = 100.0 * DARKEST.light_left[1]
    found = DARKEST.reading.measurement.perfusion_index_percent
    if found is None:
        raise RuntimeError("the meter finds no pulse in a question")
    pulse = DARKEST.perfusion_index_percent
    return NumberQuestion(
        text=f"With light skin the infrared pulse is {pulse:g} % of the steady infrared light. "
        f"Much melanin leaves {infrared:.0f} % of the infrared light. What perfusion index, pulse "
        "over steady light, does the meter find then?",
        unit="%",
        answer=found,
        tolerance=0.3,
        why=f"The simulated meter finds {found:.1f} %. Pulse and steady light cross the same "
        f"filter and both shrink to {infrared:.0f} %, so their ratio stays.",
        link="tissue",
        hint="Both the pulse and the steady light cross the pigment. Work out each, then divide.",
    )


def _noise() -> NumberQuestion:
    red, noise = DARKEST.light_left[0], DARKEST.noise_grown[0]
    return NumberQuestion(
        text=f"Of the red light that comes through light skin, {figure(100.0 * red)} % comes "
        "through dark skin, from LEDs as bright as before. How many times as large does the noise "
        "over the red light become, if the noise is that of photons which come by chance?",
        unit="times",
        answer=float(noise),
        tolerance=0.1,
        why=f"Photons counted scatter by the root of their number, so noise over light grows with "
        f"one over the root of the light: one over the root of {red:.2f} is {noise:.2f}. A meter "
        "can drive its LED harder against this, as far as it goes; this simulation does not.",
        link="light",
        hint="Noise shrinks with the light, but less than the light does: chance in a count goes "
        "with the root of the count. The part “Noise does not divide out” has an example.",
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
        if_wrong=(
            "There is less noise, but there is less pulse too. Compare how fast each of them "
            "shrinks.",
            "The filter divides out of pulse and steady light. Noise is made at the detector, "
            "behind the filter.",
            "Compare what the filter does to the pulse with what it does to the noise.",
        ),
    )


def _at_ninety() -> NumberQuestion:
    fall, studied = 100.0 - ASKED_PERCENT, 100.0 - STUDIED_PERCENT
    expected = FOUND_DIFFERENCE * fall / studied
    return NumberQuestion(
        text=f"In volunteers, readings with dark skin lay {FOUND_DIFFERENCE:.1f} points above "
        f"those with light skin at 60 to 70 %, and the difference grew about in proportion to the "
        "fall in saturation (Bickler and others 2005). If that holds, counted from 100 %, how "
        f"large is it at {ASKED_PERCENT:.0f} %?",
        unit="points",
        answer=expected,
        tolerance=0.2,
        why=f"The fall is {fall:.0f} points instead of {studied:.0f}, so {FOUND_DIFFERENCE:.1f} × "
        f"{fall:.0f} / {studied:.0f} = {expected:.1f}. An error found at one saturation is not "
        "that at another. How far the proportion holds for another meter or in patients, the "
        "study does not say.",
        link="curve",
        hint=f"Proportional to the fall, not to the saturation: how far below 100 % is "
        f"{STUDIED_PERCENT:.0f} %, the middle of the study’s range, and how far is "
        f"{ASKED_PERCENT:.0f} %?",
    )


def _no_correction() -> ChoiceQuestion:
    spread = NormalDist(0.0, DARK_FOUND.sd_points)
    off = 200.0 * spread.cdf(-STILL_OFF_POINTS)
    return ChoiceQuestion(
        text=f"Somebody proposes to take {DARK_FOUND.bias_points:.1f} points, the study’s mean "
        "error at 60 to 70 %, off every reading with dark skin. Suppose the best case: the same "
        "three meters, the same range, and single errors that spread about their mean in a bell "
        f"curve, with the study’s standard deviation of {DARK_FOUND.sd_points:.1f} points. How "
        f"many of 100 “corrected” readings are still off by more than {STILL_OFF_POINTS:g} points?",
        options=("Not one: the error is known, and gone", "About 5", "About 40"),
        answer=int(np.argmin([abs(off - each) for each in (0.0, 5.0, 40.0)])),
        why=f"It is {off:.0f}, half of them too low now. The sum moves the middle and leaves the "
        "spread: the mean of a group is not the error of a person. And the best case is nowhere: "
        "at another saturation, with another meter or with another pigment the mean is another. In "
        f"critically ill people errors ranged over more than {WITHIN_POINTS:.0f} points within "
        f"{WITHIN_SHARE_PERCENT:.0f} % of stays, and had both signs within "
        f"{BOTH_SIGNS_PERCENT:.0f} % (Chesley and others 2022). So leave the number "
        "as it is, and doubt it.",
        link="display",
        if_wrong=(
            "What is known is the mean over people. Look at the bars of the diamonds in the plot: "
            "does taking off a mean make them shorter?",
            "That would hold if nearly all single errors lay within 2 points of their mean. "
            "Compare 2 points with the standard deviation.",
            "Compare 2 points with the standard deviation of single errors.",
        ),
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
        if_wrong=(
            "The physics may be exact for a filter. Who says that a filter is all that differs "
            "between two people?",
            "Divide what the simulation finds by the difference that the study found.",
            "Hold the two differences side by side.",
        ),
    )


def _cohort() -> ChoiceQuestion:
    black, white = HIDDEN_IN_BLACK, HIDDEN_IN_WHITE
    return ChoiceQuestion(
        text="In a cohort of inpatients (Valbuena and others 2022) the blood carried less than "
        f"88 % although the display had shown 92 % or more: in {_told(black)} of the pairs of "
        f"patients recorded as Black, in {_told(white)} of those recorded as White (the study’s "
        "terms; 95 % intervals). Which sentence do these figures bear?",
        options=(
            "A reading of 92 % or more missed it often in both, and more often in the first",
            "The two do not differ by more than chance",
            f"Of all people with dark skin whose meter shows 94 %, {black.percent:.0f} % have less "
            "than 88 %",
        ),
        answer=0 if black.low > white.high else 1,
        why=f"The intervals do not meet: {black.low} % is above {white.high} %. That is as far as "
        "it goes. Samples are drawn from people about whom someone was worried, a reading of 92 % "
        "or more may be 92 or 100, up to ten minutes lie between reading and sample, and the "
        "record says how people were registered, not how much pigment was in their skin.",
        link="display",
        if_wrong=(
            "Hold the ends of the two intervals against each other.",
            "Look where the first interval ends and where the second begins.",
            "Who has a blood sample drawn? And what does a word in a record say of the skin?",
        ),
    )


def _told(hidden: Hidden) -> str:
    return f"{hidden.percent} % ({hidden.low} to {hidden.high})"


def _errors(state: SkinTone) -> ManyReadings:
    """Errors of some readings of a state."""
    return ManyReadings(np.array([error_points(state, seed) for seed in range(READINGS)]))
