"""Questions of numbers below 70 %: what curves make of them, and what they are worth."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from oximetry_workbook.meter.curve import TEXTBOOK, published_curves
from oximetry_workbook.teach.below_seventy import (
    DRAWS,
    FORMS,
    OWN,
    READ_HIGH_FROM,
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
    """Ask how far curves part below their data that agree well within it."""
    near, far = (_apart(percent, "fitted") for percent in (90.0, 50.0))
    growth = far / near
    return ChoiceQuestion(
        text=f"Take {DRAWS} studies, each with ten other volunteers between 70 and 100 %. A line "
        f"and a quadratic are fitted to each: {2 * DRAWS} curves. They are asked about one finger. "
        f"When its blood carries 90 %, their answers lie within {near:.1f} points. How far apart "
        "do they lie when it carries 50 %?",
        options=("About as far", "About twice as far", "Four times as far or more"),
        answer=0 if growth < 1.5 else (1 if growth < 3.0 else 2),
        why=f"They lie {far:.1f} points apart, {figure(growth)} times as far. Nothing is clipped, "
        "and no curve is a bad one: all agree where they have data. No volunteers hold them at "
        "50 %, and each goes where its form takes it.",
        link="curve",
        if_wrong=(
            "That the curves agree where the volunteers are binds them there and nowhere else.",
            "Think of what each curve is free to do once no sample holds it. A small "
            "difference in slope or bend has a long way to grow.",
            "All these curves come from the same kind of people and the same kind of probe. Ask "
            "how much their slopes and bends can differ.",
        ),
    )


def checkpoints() -> tuple[Question, ...]:
    """Ask about another display, a correction, another finger, form, studies and worth."""
    return (
        _other_display(),
        _corrected(),
        _other_finger(),
        _form(),
        _studies(),
        _worth(),
    )


def _apart(true_percent: float, group: str) -> float:
    """Distance of a group's lowest and highest answer, not clipped [points]."""
    low, high = BelowSeventy().spread(np.array([true_percent]))[group][:, 0]
    return float(high - low)


def _ratio(share: float) -> float:
    return BelowSeventy(arterial_saturation=share).ratio


def _other_display() -> NumberQuestion:
    high, low = (round(TEXTBOOK(_ratio(share))) for share in (0.6, 0.5))
    steep = published_curves[STEEP]
    answer = float(steep(TEXTBOOK.ratio_at(high)) - steep(TEXTBOOK.ratio_at(low)))
    return NumberQuestion(
        text=f"A display that holds the textbook line 110 − 25 R falls from {high} to {low}. A "
        f"second meter sees the same light, and holds the {STEEP}. By how many points does its "
        "display fall?",
        unit="points",
        answer=answer,
        tolerance=0.3,
        why=f"R rises by {high - low}/25 = {(high - low) / 25:.2f}, and 33.437 times that is "
        f"{answer:.1f}. The blood, by the way, lost 10 points. Both displays fall: "
        "the direction holds, the size does not.",
        link="curve",
        hint="Both meters see the same R. Go back from the first display to the change in R, then "
        "forward with the slope of the second line.",
    )


def _corrected() -> NumberQuestion:
    answer = (READ_HIGH_SHOWN - READ_HIGH_OFFSET) / READ_HIGH_SLOPE
    return NumberQuestion(
        text=f"A meter was held against blood samples. Above {READ_HIGH_FROM:.0f} % it showed "
        f"{READ_HIGH_SLOPE:g} × saturation + {READ_HIGH_OFFSET:g} (Chapman and others 1986). It "
        f"now shows {READ_HIGH_SHOWN:.0f}. Somebody takes that line to hold down there as well "
        "and corrects the reading with it. Which saturation do they arrive at?",
        unit="%",
        answer=answer,
        tolerance=0.5,
        why=f"({READ_HIGH_SHOWN:.0f} − {READ_HIGH_OFFSET:g})/{READ_HIGH_SLOPE:g} = {answer:.1f}. "
        f"The blood carried about {READ_HIGH_TRUE:.0f} % in that study. Even a line of measured "
        "errors does not tell what happens beyond its data.",
        link="curve",
        hint="The line goes from saturation to display. Here the display is known, so turn it "
        "round.",
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
        if_wrong=(
            "Set Blood volume to 2 in the panel and move the saturation: watch the probe’s own "
            "curve leave the diagonal.",
            "The amount of blood changes how far red light gets. Ask at which saturation blood "
            "takes most of it.",
            "Compare the two ends of the thick line in the panel with Blood volume at 2.",
        ),
    )


def _own(state: BelowSeventy) -> float:
    return state.answers[OWN]


def _form() -> ChoiceQuestion:
    """Ask which form parts more beyond the data, when both spread alike at their edge."""
    edge, beyond = ({form: _apart(p, form) for form in FORMS} for p in (70.0, 50.0))
    line, quadratic = (beyond[form] for form in FORMS)
    return ChoiceQuestion(
        text=f"At 70 %, where the volunteers end, the {DRAWS} studies’ lines lie within "
        f"{edge['line']:.1f} points and their quadratics within {edge['quadratic']:.1f}. Which "
        "lie further apart at 50 %?",
        options=(
            "The lines, since a straight line cannot follow the bend",
            f"Neither, within {ALIKE_POINTS:g} point, since both agree at 70 %",
            "The quadratics, since each bends in its own way",
        ),
        answer=1 if abs(quadratic - line) <= ALIKE_POINTS else (2 if quadratic > line else 0),
        why=f"At 50 % the lines lie within {line:.1f} points and the quadratics within "
        f"{quadratic:.1f}. A freer form follows the data better and goes further astray "
        "without them. That lines agree does not make them right: they miss the bend together.",
        link="curve",
        if_wrong=(
            "Missing the bend puts curves of one form off to the same side. The question is how "
            "they differ from each other.",
            "How far curves agree at the edge says nothing of how their slopes and bends differ.",
            "Think of how many things each form has to settle from the same samples.",
        ),
    )


def _studies() -> ChoiceQuestion:
    """Ask on which side of the truth studies extrapolate."""
    ratio = _ratio(0.5)
    said = np.array([curve(ratio) for curve in curves_of_studies()])
    above = float(np.mean(said > 50.0))
    return ChoiceQuestion(
        text=f"The {2 * DRAWS} curves of the {DRAWS} studies are asked about the reference finger "
        "at a true 50 %. Where do their answers lie?",
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
        if_wrong=(
            "Other people make answers scatter. They do not put in what every study lacks: "
            "samples down there.",
            "Look at the band in the first plot, and on which side of the thin diagonal it runs.",
            "Look at the band in the first plot, and on which side of the thin diagonal it runs.",
        ),
    )


def _worth() -> ChoiceQuestion:
    state = BelowSeventy(arterial_saturation=0.5)
    ratios = np.array([_ratio(share) for share in (0.6, 0.5)])
    agreeing, others = (
        np.array([-np.diff(curve(ratios))[0] for curve in curves.values()])
        for curves in (state.agreeing, state.others)
    )
    follow = bool(min(agreeing.min(), others.min()) > 0.0)
    sized = bool(np.ptp(agreeing) < ALIKE_POINTS)
    return ChoiceQuestion(
        text="A display goes from 60 to 50 within a minute, with a good signal. Nobody knows the "
        "curve in it. What can be said?",
        options=(
            "The blood has lost ten points of saturation",
            "Saturation is very low and falling; by how much is not known",
            "Nothing, since the meter is not held against blood there",
        ),
        answer=(0 if sized else 1) if follow else 2,
        why=f"When the blood goes from 60 to 50 %, the {agreeing.size} curves that agree from 70 "
        f"% up fall by {agreeing.min():.1f} to {agreeing.max():.1f} points, on one finger whose "
        f"blood is known. The {others.size} others fall as well. The direction is common to all, "
        "the size to none.",
        link="display",
        if_wrong=(
            "That would need a curve that is known to be right there. Set the fall in the panel "
            "and compare the sizes.",
            "Compare in the last plot what all lines share, and what they do not.",
            "Look at the last plot: there is something that every line does, whatever its curve.",
        ),
    )
