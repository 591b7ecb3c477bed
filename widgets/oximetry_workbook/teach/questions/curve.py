"""Questions about the calibration curve and the volunteers behind it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from oximetry_workbook.body.calibration import small_pulse_ratio
from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.study.agreement import difference_statistics
from oximetry_workbook.teach.checkpoint import ChoiceQuestion, NumberQuestion, Question
from oximetry_workbook.teach.curves_together import site_curve
from oximetry_workbook.teach.ratio_to_number import (
    EXAMPLE_PERCENT,
    FDA_PAIRS,
    FDA_VOLUNTEERS,
    CalibrationStudy,
    formula,
    said_over_draws,
)
from oximetry_workbook.teach.reading import beer_lambert_curve

REPEATS = 10
TWO_THIRDS = 2.0 / 3.0


def prediction() -> ChoiceQuestion:
    """Ask what a meter without volunteers would show."""
    true_percent = 97.0
    ratio = _ratio(Scenario(), true_percent)
    shown = beer_lambert_curve(Scenario())(ratio)
    return ChoiceQuestion(
        text="A meter’s curve is calculated from the spectra of haemoglobin alone, by the law "
        "of Beer and Lambert, without any volunteers. The blood in the finger carries "
        f"{true_percent:.0f} %. What does this meter show?",
        options=("More than 2 points too low", "Right within 2 points", "More than 2 too high"),
        answer=_direction(shown - true_percent),
        why=f"It shows {shown:.0f} %. Scattering lengthens the path of red light more than that "
        f"of infrared, so R is {ratio:.2f} where the plain law would have "
        f"{beer_lambert_curve(Scenario()).ratio_at(true_percent):.2f}. This is why curves are "
        "measured on people.",
        link="curve",
    )


def checkpoints() -> tuple[Question, ...]:
    """Ask about reading a curve, its errors, its people and its end."""
    return (
        _look_up(),
        _pairs_each(),
        _root_mean_square(),
        _share_within(),
        _source_of_spread(),
        _steady_or_right(),
        _other_led(),
    )


def _look_up() -> NumberQuestion:
    curve, ratio = CalibrationStudy().curve, 0.9
    return NumberQuestion(
        text=f"A study’s line is SaO₂ = {formula(curve)}. The meter finds R = {ratio:g}. "
        "What does it show?",
        unit="%",
        answer=curve(ratio),
        tolerance=0.6,
        why=f"{formula(curve)} at R = {ratio:g} is {curve(ratio):.1f}.",
        link="curve",
    )


def _pairs_each() -> NumberQuestion:
    each = FDA_PAIRS / FDA_VOLUNTEERS
    return NumberQuestion(
        text=f"The guidance of 2013 asks for at least {FDA_PAIRS} pairs of reading and blood "
        f"sample, from at least {FDA_VOLUNTEERS} people. With just {FDA_VOLUNTEERS} people, how "
        "many blood samples must each of them give at least?",
        unit="",
        answer=each,
        tolerance=0.4,
        why=f"{FDA_PAIRS} divided by {FDA_VOLUNTEERS} is {each:.0f}. They come from a line in "
        "the artery, at saturations from 70 to 100 %.",
        link="curve",
    )


def _root_mean_square() -> NumberQuestion:
    errors = (2.0, -1.0, 3.0, -2.0)
    a_rms = difference_statistics(errors, "AABB", resamples=100).a_rms
    squares = sum(error**2 for error in errors)
    return NumberQuestion(
        text="Four readings are off by +2, −1, +3 and −2 points. What is A_rms, the root of the "
        "mean of their squares?",
        unit="points",
        answer=a_rms,
        tolerance=0.06,
        why=f"The squares add up to {squares:.0f}, their mean is {squares / 4:.1f}, and its root "
        f"{a_rms:.2f}. The mean error is only {np.mean(errors):+.1f}: highs and lows cancel in "
        "it, but not in A_rms.",
        link="curve",
    )


def _share_within() -> ChoiceQuestion:
    study = CalibrationStudy(volunteers=40)
    a_rms = study.agreement.a_rms
    share = float(np.mean(np.abs(study.errors) <= a_rms))
    return ChoiceQuestion(
        text="A data sheet says A_rms 2 %, and no bias. Roughly how many readings lie within "
        "2 points of the blood?",
        options=("Every one", "About two in three", "About one in ten"),
        answer=int(np.argmin(np.abs(np.array([1.0, TWO_THIRDS, 0.1]) - share))),
        why=f"A_rms is a kind of average of the errors, not a bound. In a study of forty, "
        f"{100 * share:.0f} % of the pairs lie within A_rms ({a_rms:.1f} points there), and the "
        f"worst is off by {np.abs(study.errors).max():.0f}.",
        link="curve",
    )


def _source_of_spread() -> ChoiceQuestion:
    study = CalibrationStudy()
    before, alike, exact = (
        each.agreement.a_rms
        for each in (study, replace(study, spread=0.0), replace(study, scatter_percent=0.0))
    )
    return ChoiceQuestion(
        text="Ten volunteers as the panel first shows them, R scattering by 2 %. Which would "
        "lower A_rms more: if all people were alike, or if R were measured without scatter?",
        options=("All people alike", "R without scatter", "Both the same, within a tenth"),
        answer=2 if abs(alike - exact) <= 0.1 else int(exact < alike),
        why=f"A_rms is {before:.1f} points. With people alike it falls to {alike:.1f}, without "
        f"scatter to {exact:.1f}. Most of the spread is the people: their blood volume, their "
        "fingers, their LEDs.",
        link="tissue",
    )


def _steady_or_right() -> ChoiceQuestion:
    said = said_over_draws(CalibrationStudy(), REPEATS)
    line, quadratic = said["line"], said["quadratic"]
    steadier = int(np.ptp(quadratic) < np.ptp(line))
    return ChoiceQuestion(
        text=f"Ten volunteers, taken to 70 %. The study is repeated {REPEATS} times with other "
        "people. Which curve’s answer at a true 50 % changes more from study to study?",
        options=("The line’s", "The quadratic’s", "Neither changes by as much as a point"),
        answer=2 if max(np.ptp(line), np.ptp(quadratic)) < 1.0 else 1 - steadier,
        why=f"The line says {_range(line)} and the quadratic {_range(quadratic)}. A form that "
        "bends more strays more where no samples hold it. But steady is not right: the truth "
        f"is {EXAMPLE_PERCENT:.0f}.",
        link="curve",
    )


def _range(values: np.ndarray) -> str:
    return f"{values.min():.1f} to {values.max():.1f}"


def _other_led() -> ChoiceQuestion:
    true_percent, peak_nm = 80.0, 950.0
    ratio = _ratio(Scenario(infrared_peak_nm=peak_nm), true_percent)
    shown = site_curve("finger")(ratio)
    return ChoiceQuestion(
        text="The infrared LED is part of the probe that a curve was measured with. A probe is "
        "repaired with an infrared LED that peaks at 950 instead of 940 nm. The "
        f"curve stays the old one. Blood carries {true_percent:.0f} %. What does the meter show?",
        options=("More than 2 points too low", "Right within 2 points", "More than 2 too high"),
        answer=_direction(shown - true_percent),
        why=f"R is {ratio:.2f} instead of {_ratio(Scenario(), true_percent):.2f}, and the old "
        f"curve says {shown:.0f} %. A curve belongs to its probe, LEDs included.",
        link="light",
    )


def _ratio(scenario: Scenario, true_percent: float) -> float:
    return small_pulse_ratio(scenario, true_percent / 100.0)


def _direction(error_points: float, noticeable: float = 2.0) -> int:
    """Index of too low, right, too high."""
    return 1 + int(error_points > noticeable) - int(error_points < -noticeable)
