"""Questions of a desaturation study: who is judged, what A_rms holds, and what data cannot show."""

from __future__ import annotations

from functools import cache

import numpy as np

from oximetry_workbook.study.accuracy import LIMITS_POINTS
from oximetry_workbook.study.breakdown import accuracy
from oximetry_workbook.study.calibration_fit import calibrate
from oximetry_workbook.study.volunteers import Protocol, desaturation_study, draw_people
from oximetry_workbook.teach.checkpoint import ChoiceQuestion, NumberQuestion, Question
from oximetry_workbook.teach.own_study import SWING_AT_PERCENT, OwnStudy, leave_each_out
from oximetry_workbook.teach.skin_tone import FOUND_DIFFERENCE
from oximetry_workbook.teach.words import signed

SMALL = OwnStudy(subjects=6, form="linear")
"""A study so small that leaving one person out shows."""

BIAS_POINTS, SD_POINTS = -1.8, 2.6
SEEDS = 12
ALIKE = 0.1
"""Widths of intervals that differ by less than this share count as alike."""


def prediction() -> ChoiceQuestion:
    """Ask how a curve does on people it was not fitted to."""
    *_, (_, found) = leave_each_out(SMALL)
    change = found.a_rms_points - found.fitted_points
    return ChoiceQuestion(
        text=f"A straight line is fitted to the pairs of {SMALL.subjects:.0f} invented "
        "volunteers, and A_rms, the size of a typical error, is reckoned on the same pairs. Then "
        "each volunteer in turn is left out of the fit and read with the line of all others. "
        "What becomes of A_rms over all pairs?",
        options=(
            "It falls, since people who fit badly drop out of the fit",
            "It stays the same to 0.05 points, since the pairs are the same",
            "It rises by more than 0.05 points",
        ),
        answer=1 + int(change > 0.05) - int(change < -0.05),
        why=f"It goes from {found.fitted_points:.2f} to {found.a_rms_points:.2f} points. A curve "
        "leans towards the people it was fitted to. Those left out tell how it does on the next "
        "person.",
        link="curve",
        if_wrong=(
            "Each person left out is still read and counted. By whose curve?",
            "The pairs are the same. But is the curve?",
            "To whom does a fitted curve lie closest?",
        ),
    )


def checkpoints() -> tuple[Question, ...]:
    """Ask about A_rms, what mends it, the checked range, numbers, assumptions, and skin."""
    return _a_rms(), _mend(), _checked_from(), _more(), _assumption(), _skin()


def _a_rms() -> NumberQuestion:
    a_rms = float(np.hypot(BIAS_POINTS, SD_POINTS))
    limit = LIMITS_POINTS["FDA, probes that shine through"]
    side = "above" if a_rms > limit else "within"
    return NumberQuestion(
        text=f"In a large study a meter reads {signed(BIAS_POINTS)} points off on average, and "
        f"single errors lie about that with a standard deviation of {SD_POINTS} points. What is "
        "its A_rms?",
        unit="points",
        answer=a_rms,
        tolerance=0.05,
        why=f"Squares add: the root of {BIAS_POINTS**2:.2f} + {SD_POINTS**2:.2f} is {a_rms:.2f}, "
        f"{side} the {limit:.1f} points of FDA’s guidance of 4 March 2013. The standard deviation "
        "alone would be within.",
        link="display",
        hint="Bias and scatter are not added as they are. Their squares are.",
    )


def _mend() -> ChoiceQuestion:
    limit = LIMITS_POINTS["FDA, probes that shine through"]
    before, centred = float(np.hypot(BIAS_POINTS, SD_POINTS)), SD_POINTS
    after = {
        "Twice as many volunteers of the same kind": before,
        f"A curve that says {abs(BIAS_POINTS):g} points more throughout": centred,
        "Limits of agreement in place of A_rms": before,
    }
    return ChoiceQuestion(
        text=f"The same meter, with a bias of {signed(BIAS_POINTS)} points, misses the limit of "
        f"{limit:.1f} points. What can bring its A_rms below it?",
        options=tuple(after),
        answer=[each <= limit for each in after.values()].index(True),
        why=f"Without the bias only the scatter is left: {centred:.1f} points, where it was "
        f"{before:.2f}. More people make the figure surer, not smaller. Another figure leaves the "
        "errors as they are.",
        link="curve",
        if_wrong=(
            "More people tell you better how large A_rms is. Do they change it?",
            "Which of its two parts could be taken out without touching the scatter?",
            "Does a reading err less when its error is told in another way?",
        ),
    )


def _checked_from() -> NumberQuestion:
    lowest = (71.0, 68.0, 74.0, 69.0, 78.0, 67.0)
    sao2 = np.array([[97.0, 88.0, each] for each in lowest]).ravel()
    who = np.repeat([f"S{k}" for k in range(1, len(lowest) + 1)], 3)
    ratio = (110.0 - sao2) / 25.0
    curve = calibrate({"subject": who, "ratio": ratio, "sao2_percent": sao2}).curve
    told = ", ".join(f"{each:.0f}" for each in lowest[:-1])
    start = curve.valid_percent[0]
    return NumberQuestion(
        text=f"The lowest blood values of six subjects were {told} and {lowest[-1]:.0f} %. From "
        "which saturation up does the panel draw the curve as checked?",
        unit="%",
        answer=start,
        tolerance=0.4,
        why=f"Three of them have been at {start:.0f} % or below, so the curve is drawn solid from "
        "there. That it takes three is our choice: one person who went lower must not vouch for "
        "all.",
        link="curve",
        hint="One who went lower must not vouch for all. How many must have been there is told "
        "under “The curve”.",
    )


def _more() -> ChoiceQuestion:
    usual, samples, people = (interval_width(*each) for each in ((12, 2), (12, 4), (24, 2)))
    gap = (samples - people) / usual
    return ChoiceQuestion(
        text="A simulated study has 12 volunteers and 2 samples on each plateau. You may double "
        "the samples from each, or double the volunteers. Which narrows the interval of the bias "
        "more?",
        options=(
            "Twice the samples, since each person is then known better",
            "Twice the volunteers",
            "Both alike, since both double the pairs",
        ),
        answer=1 if gap > ALIKE else (0 if gap < -ALIKE else 2),
        why=f"Over {SEEDS} draws the 95 % interval of the bias is {usual:.1f} points wide; with "
        f"twice the samples {samples:.1f}, with twice the volunteers {people:.1f}. Pairs of one "
        "person resemble each other.",
        link="curve",
        if_wrong=(
            "Each person is then known better. But how far do people differ from each other?",
            "Which differs more: pairs of one person, or one person from the next?",
            "The number of pairs doubles either way. Do all pairs tell equally much that is new?",
        ),
    )


def _assumption() -> ChoiceQuestion:
    table = OwnStudy().swings
    chance = table[table["assumption"] == "chance"].iloc[0]
    offered = ["blood_volume_scale", "chance", "melanin_fraction", "perfusion_index_percent"]
    rows = table[table["assumption"].isin(offered)].set_index("assumption").loc[offered]
    swing = rows["swing"].abs().to_numpy()
    return ChoiceQuestion(
        text="In the model of invented volunteers, one assumption at a time goes from the 5th to "
        f"the 95th of a hundred. Which of these moves a reading at {SWING_AT_PERCENT:.0f} % most?",
        options=tuple(rows["label"]),
        answer=int(np.argmax(swing)),
        why=f"It moves the reading by {swing.max():.1f} points, chance by "
        f"{abs(chance['swing']):.1f}. What differs between people does not average out by "
        "reading the same person again.",
        link="tissue",
        if_wrong=(
            "Look at the lengths of the bars in the last plot.",
            "Chance is drawn anew in every reading. Compare its bar with the longest.",
            "A filter takes its share of steady and pulsing light alike. Look at its bar.",
            "The pulse enters both colours alike. Look at its bar.",
        ),
    )


def _skin() -> ChoiceQuestion:
    table = OwnStudy().swings
    swing = float(table.loc[table["assumption"] == "melanin_fraction", "swing"].iloc[0])
    silent = abs(swing) < FOUND_DIFFERENCE / 2.0
    return ChoiceQuestion(
        text=f"In the model, melanin moves a reading at {SWING_AT_PERCENT:.0f} % by "
        f"{abs(swing):.2f} points. In a study of people, readings at 60 to 70 % were "
        f"{FOUND_DIFFERENCE:.1f} points higher in dark than in light skin (Bickler and others "
        "2005). May the invented volunteers be used to compare skin groups?",
        options=(
            "Yes: they show that skin does not matter",
            "Yes, if enough of them are drawn",
            "No: they do not reproduce the error found in people",
        ),
        answer=2 if silent else 0,
        why="More draws narrow the interval about a wrong answer. Here pigment is only a filter; "
        "whatever else was at work in people was not put in. It takes measurements in people of "
        "many skin tones.",
        link="tissue",
        if_wrong=(
            "The model shows what was put into it. What did people show?",
            "More draws of the same model: can they bring in what the model leaves out?",
            "Compare what the model says with what was measured in people.",
        ),
    )


@cache
def interval_width(subjects: int, samples: int) -> float:
    """Mean width of the 95 % interval of the bias, over draws [points]."""
    protocol = Protocol(samples_per_plateau=samples)
    widths = []
    for seed in range(SEEDS):
        study = desaturation_study(draw_people(subjects, seed=seed), protocol, seed=seed)
        found = accuracy(study.drop(columns="group"), resamples=400)
        widths.append(np.ptp(found.overall.intervals["bias"]))
    return float(np.mean(widths))
