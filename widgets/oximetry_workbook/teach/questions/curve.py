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
    CalibrationStudy,
    formula,
    said_over_draws,
)
from oximetry_workbook.teach.reading import beer_lambert_curve

REPEATS = 10
TWO_THIRDS = 2.0 / 3.0
SCATTER = 0.02
"""Error of a single R, as a share of it."""
OFF_ALIKE, OFF_BOTH_WAYS = (2.0, 2.0, 2.0, 2.0), (2.0, -2.0, 2.0, -2.0)
"""Errors of two meters [points]."""


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
        if_wrong=(
            "Scattering changes how far each colour travels. Does R come out larger or smaller "
            "than the plain law says?",
            "The law holds for a clear solution. What does a finger do to light besides taking it?",
            "A larger R means a lower number. Which colour does scattering send further round?",
        ),
    )


def checkpoints() -> tuple[Question, ...]:
    """Ask about reading a curve, its errors, its people and its end."""
    return (
        _look_up(),
        _same_share_of_r(),
        _which_errs_more(),
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
        hint="Put R into the line: multiply first, then subtract.",
    )


def _same_share_of_r() -> NumberQuestion:
    study = CalibrationStudy()
    high, low = (round(_ratio(Scenario(), percent), 2) for percent in (97.0, 70.0))
    cost_high, cost_low = (
        float(study.curve(r) - study.curve(r * (1.0 + SCATTER))) for r in (high, low)
    )
    return NumberQuestion(
        text=f"A probe measures R to within {100 * SCATTER:.0f} % of itself. On a study’s line, "
        f"SaO₂ = {formula(study.curve)}, this is worth {cost_high:.2f} points where R is {high}, "
        f"near full saturation. How many points is it worth where R is {low}, near 70 %?",
        unit="points",
        answer=cost_low,
        tolerance=0.1,
        why=f"The same share of a larger R is a larger piece of R: {cost_low:.2f} points. Even on "
        "a straight line a meter is surer near full saturation than near 70 %.",
        link="curve",
        hint="The line is equally steep everywhere. How large is that share of either R?",
    )


def _which_errs_more() -> ChoiceQuestion:
    alike, both_ways = (
        difference_statistics(errors, "AABB", resamples=100)
        for errors in (OFF_ALIKE, OFF_BOTH_WAYS)
    )
    apart = alike.a_rms - both_ways.a_rms
    return ChoiceQuestion(
        text="In four readings meter A is off by +2, +2, +2 and +2 points, meter B by +2, −2, +2 "
        "and −2. Which one has the larger A_rms?",
        options=("Meter A", "Meter B", "Neither: they have the same"),
        answer=2 if abs(apart) < 0.05 else int(apart < 0.0),
        why=f"A_rms is {alike.a_rms:.1f} points for A and {both_ways.a_rms:.1f} for B. It does not "
        f"tell bias from scatter. Bias does: {alike.bias:+.1f} for A, {both_ways.bias:.1f} for B. "
        "Another curve would mend A. Nothing of the kind would mend B.",
        link="curve",
        if_wrong=(
            "A is always off the same way. Does a square know which way?",
            "B scatters. But what is each of its errors, once it is squared?",
            "Square each error, take the mean, and then the root, for A and for B.",
        ),
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
        if_wrong=(
            "Is a kind of average ever a bound?",
            "Think of a bell of errors whose standard deviation is A_rms. How much of it lies "
            "within?",
            "Most errors are smaller than a mean of squares suggests, not larger.",
        ),
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
        if_wrong=(
            "Set Spread between people to nothing in the panel, and read A_rms.",
            "Take the scatter of R away in the panel and read A_rms. Then do the same with people.",
            "Try both in the panel, with Reset in between, and read A_rms each time.",
        ),
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
        if_wrong=(
            "A line has one way to lean. How many ways has a quadratic to bend?",
            "Beyond the samples only the form of the curve speaks. Which form is the stiffer one?",
            "Step through Another draw of people, and watch the dashed part of the curve.",
        ),
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
        if_wrong=(
            "Does blood at this wavelength take more infrared than before, or less? Follow R.",
            "Ten nanometres look like little. The bench has a slider for it.",
            "A larger R means a lower number. Does R grow or shrink with this LED?",
        ),
    )


def _ratio(scenario: Scenario, true_percent: float) -> float:
    return small_pulse_ratio(scenario, true_percent / 100.0)


def _direction(error_points: float, noticeable: float = 2.0) -> int:
    """Index of too low, right, too high."""
    return 1 + int(error_points > noticeable) - int(error_points < -noticeable)
