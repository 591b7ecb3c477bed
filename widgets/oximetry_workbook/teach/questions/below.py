"""Questions of numbers below 70 %: what curves make of them, and what they are worth."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from oximetry_workbook.meter.curve import TEXTBOOK, published_curves
from oximetry_workbook.teach.below_seventy import (
    OWN,
    READ_HIGH_OFFSET,
    READ_HIGH_SHOWN,
    READ_HIGH_SLOPE,
    READ_HIGH_TRUE,
    BelowSeventy,
    curves_of_studies,
)
from oximetry_workbook.teach.checkpoint import ChoiceQuestion, NumberQuestion, Question
from oximetry_workbook.teach.words import figure

STEEP = "line 114.9 − 33.437 R"
ALIKE_POINTS = 1.0


def prediction() -> ChoiceQuestion:
    """Ask how far published curves part below the range they are held against."""
    near, far = (_published(percent) for percent in (90.0, 50.0))
    growth = far / near
    return ChoiceQuestion(
        text="One finger, one meter. The ratio R it finds is looked up in four published curves. "
        f"When the blood carries 90 %, their answers lie {near:.1f} points apart. How far apart "
        "are they when the blood carries 50 %?",
        options=("About as far", "Two to four times as far", "Ten times as far or more"),
        answer=2 if growth >= 10.0 else (0 if growth < 1.5 else 1),
        why=f"They lie {figure(far)} points apart, on a display from 0 to 100 %: one of the four "
        "has left the scale. No volunteers hold the curves there, and each goes where its form "
        "takes it.",
        link="curve",
    )


def checkpoints() -> tuple[Question, ...]:
    """Ask about looking up, falling, a meter in print, another finger, studies and worth."""
    return _look_up(), _fall(), _continued(), _other_finger(), _studies(), _worth()


def _published(true_percent: float) -> float:
    """Distance of the published curves' answers on a display from 0 to 100 % [points]."""
    low, high = BelowSeventy().spread(np.array([true_percent]))["published"][:, 0]
    return float(np.clip(high, 0.0, 100.0) - np.clip(low, 0.0, 100.0))


def _look_up() -> NumberQuestion:
    ratio = round(BelowSeventy(arterial_saturation=0.5).ratio, 2)
    answer = TEXTBOOK(ratio)
    return NumberQuestion(
        text=f"The blood carries 50 %, and the meter finds R = {ratio:.2f}. What does the "
        "textbook line 110 − 25 R make of it?",
        unit="%",
        answer=answer,
        tolerance=0.6,
        why=f"110 − 25 × {ratio:.2f} = {answer:.0f}. A convincing number, and {answer - 50:.0f} "
        "points too high: low saturation is where that helps least.",
        link="curve",
    )


def _fall() -> NumberQuestion:
    before, after = (
        round(BelowSeventy(arterial_saturation=share).ratio, 2) for share in (0.6, 0.5)
    )
    steep, textbook = (
        curve(before) - curve(after) for curve in (published_curves[STEEP], TEXTBOOK)
    )
    return NumberQuestion(
        text=f"The blood falls from 60 to 50 %, and R rises from {before:.2f} to {after:.2f}. By "
        f"how many points does a display with the {STEEP} fall?",
        unit="points",
        answer=steep,
        tolerance=0.4,
        why=f"33.437 times {after - before:.2f} is {steep:.1f}. The textbook line falls by "
        f"{textbook:.1f}, for the same ten points of blood. Both fall: the direction holds, the "
        "size does not.",
        link="curve",
    )


def _continued() -> NumberQuestion:
    continued = READ_HIGH_SLOPE * READ_HIGH_TRUE + READ_HIGH_OFFSET
    return NumberQuestion(
        text="A meter was held against blood samples. Above 75 % its readings lay on the line "
        f"{READ_HIGH_SLOPE:g} × saturation + {READ_HIGH_OFFSET:g} (Chapman and others 1986). If "
        f"that line went on downwards, what would the meter show at {READ_HIGH_TRUE:.0f} %?",
        unit="%",
        answer=continued,
        tolerance=0.6,
        why=f"{READ_HIGH_SLOPE:g} × {READ_HIGH_TRUE:.0f} + {READ_HIGH_OFFSET:g} = "
        f"{continued:.1f}. The meter in fact read about {READ_HIGH_SHOWN:.0f}: even a line of "
        "measured errors does not tell what happens beyond its data.",
        link="curve",
    )


def _other_finger() -> ChoiceQuestion:
    plain = BelowSeventy(blood_volume_scale=2.0)
    high, low = (
        abs(_own(replace(plain, arterial_saturation=share)) - 100.0 * share)
        for share in (0.95, 0.5)
    )
    return ChoiceQuestion(
        text="A finger holds twice as much blood as that of the reference person. It is read with "
        "the probe’s own curve. Where is the error of the reading larger?",
        options=("At 95 %", f"Alike at both, within {ALIKE_POINTS:g} point", "At 50 %"),
        answer=1 if abs(high - low) <= ALIKE_POINTS else (2 if low > high else 0),
        why=f"It is {figure(high)} points at 95 % and {figure(low)} points at 50 %. Dark blood "
        "takes much red light, and then it matters how much of it there is. So people part most "
        "where no volunteers are.",
        link="tissue",
    )


def _own(state: BelowSeventy) -> float:
    return state.answers[OWN]


def _studies() -> ChoiceQuestion:
    """Ask on which side of the truth studies extrapolate."""
    ratio = BelowSeventy(arterial_saturation=0.5).ratio
    said = np.array([curve(ratio) for curve in curves_of_studies()])
    above = float(np.mean(said > 50.0))
    return ChoiceQuestion(
        text="Curves are fitted to twenty simulated studies, all with volunteers between 70 and "
        "100 %. They are asked about the reference finger at a true 50 %. Where do their answers "
        "lie?",
        options=(
            "About as many above 50 as below, so that they are right on average",
            "Nearly all above 50",
            "Nearly all below 50",
        ),
        answer=1 if above > 0.9 else (2 if above < 0.1 else 0),
        why=f"They say {said.min():.0f} to {said.max():.0f}, on average {said.mean():.0f}. What "
        "the relation does below its data no fit can see. The mean of many studies is "
        "as wrong as each.",
        link="curve",
    )


def _worth() -> ChoiceQuestion:
    state = BelowSeventy(arterial_saturation=0.5)
    ratios = [BelowSeventy(arterial_saturation=share).ratio for share in (0.6, 0.5)]
    falls = np.array([-np.diff(curve(np.array(ratios)))[0] for curve in state.curves.values()])
    follow, sized = bool(np.all(falls > 0.0)), bool(np.ptp(falls) < ALIKE_POINTS)
    return ChoiceQuestion(
        text="A display goes from 60 to 50 within a minute, with a good signal. Nobody knows the "
        "curve in it. What can be said?",
        options=(
            "The blood has lost ten points of saturation",
            "Saturation is very low and falling; by how much is not known",
            "Nothing, since the meter is not held against blood there",
        ),
        answer=(0 if sized else 1) if follow else 2,
        why=f"All ten curves of the panel fall when the blood goes from 60 to 50 %, by "
        f"{falls.min():.0f} to {falls.max():.0f} points. The direction is common to all, the "
        "size to none.",
        link="display",
    )
