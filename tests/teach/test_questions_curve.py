"""The answer key of the chapter on the curve, worked out another way."""

import math

import numpy as np
import pytest

from oximetry_workbook.body.blood import molar_extinction
from oximetry_workbook.body.calibration import small_pulse_ratio
from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.body.simulate import simulate
from oximetry_workbook.meter.curve import Curve
from oximetry_workbook.meter.measure import measure
from oximetry_workbook.study.small_study import desaturate, draw_volunteers, true_ratios
from oximetry_workbook.teach.checkpoint import ChoiceQuestion, NumberQuestion
from oximetry_workbook.teach.questions import checkpoints, prediction

PREDICTION = prediction("curve")
QUESTIONS = checkpoints("curve")
LOOK_UP, SAME_SHARE, WHICH, SHARE, SPREAD, STEADY, LED = QUESTIONS

every_question = pytest.mark.parametrize("question", [PREDICTION, *QUESTIONS])


def chosen(question):
    return question.options[question.answer]


def fitted(seed, spread=1.0, scatter=2.0, degree=1, n=10):
    pairs = desaturate(draw_volunteers(n, seed, spread), 70.0, scatter, seed)
    coefficients = np.polyfit(pairs["ratio"], pairs["sao2_percent"], degree)
    return pairs, coefficients


def a_rms(seed, **options):
    pairs, coefficients = fitted(seed, **options)
    return np.sqrt(np.mean((np.polyval(coefficients, pairs["ratio"]) - pairs["sao2_percent"]) ** 2))


@every_question
def test_right_answers_are_taken_and_wrong_ones_refused(question):
    assert question.check(question.answer).right
    assert not question.check(None).right
    if isinstance(question, ChoiceQuestion):
        assert len(set(question.options)) == len(question.options)
        wrong = [i for i in range(len(question.options)) if i != question.answer]
        assert not any(question.check(each).right for each in wrong)
    else:
        off = question.answer + np.array([-1.5, 1.5]) * question.tolerance
        assert not any(question.check(each).right for each in off)


@every_question
def test_words_are_plain(question):
    for text in (question.text, question.why, question.solution):
        assert not any(word in text for word in ("nan", "None", "inf ", "{"))


def test_the_plain_law_reads_a_finger_too_low():
    """Read a whole simulated recording with the mixture law written out."""
    red, infrared = (
        np.array([molar_extinction(species, nm) for species in ("HbO2", "HHb")])
        for nm in (660.0, 940.0)
    )
    law = Curve.rational(
        "law",
        100.0 * np.array([red[1], -infrared[1]]),
        [red[1] - red[0], infrared[0] - infrared[1]],
        "Beer and Lambert",
    )
    shown = measure(simulate(Scenario(arterial_saturation=0.97)), law).spo2_percent
    assert shown < 95.0
    assert f"It shows {shown:.0f} %" in PREDICTION.why
    assert chosen(PREDICTION) == "More than 2 points too low"


def test_reading_the_line():
    _, (slope, offset) = fitted(1)
    assert LOOK_UP.answer == pytest.approx(offset + 0.9 * slope)
    rounded = round(offset, 1) + 0.9 * round(slope, 1)
    assert LOOK_UP.check(rounded).right
    assert f"{offset:.1f} − {-slope:.1f} R" in LOOK_UP.text


def test_the_same_share_of_a_larger_ratio_is_worth_more_points():
    _, (slope, _) = fitted(1)
    high, low = (small_pulse_ratio(Scenario(), s) for s in (0.97, 0.70))
    assert f"R is {high:.2f}, near full" in SAME_SHARE.text
    assert f"{-slope * 0.02 * high:.2f} points where" in SAME_SHARE.text
    assert SAME_SHARE.check(-slope * 0.02 * low).right
    assert SAME_SHARE.check(-slope * 0.02 * high * low / high).right  # by proportion
    assert not SAME_SHARE.check(-slope * 0.02 * high).right


def test_a_rms_does_not_tell_bias_from_scatter():
    """Written out: the root of the mean of squares."""
    meters = ([2, 2, 2, 2], [2, -2, 2, -2])
    sizes = [math.sqrt(sum(error**2 for error in errors) / 4) for errors in meters]
    assert sizes[0] == sizes[1]
    assert chosen(WHICH).startswith("Neither")
    assert f"{sizes[0]:.1f} points for A and {sizes[1]:.1f} for B" in WHICH.why
    assert "+2.0 for A, 0.0 for B" in WHICH.why


def test_two_in_three_lie_within_a_rms():
    """Of normal errors 68.3 % do; here of pairs of six other groups of forty."""
    assert chosen(SHARE) == "About two in three"
    for seed in range(60, 66):
        pairs, line = fitted(seed, n=40)
        errors = np.polyval(line, pairs["ratio"]) - pairs["sao2_percent"]
        share = np.mean(np.abs(errors) <= np.sqrt(np.mean(errors**2)))
        assert 0.55 < share < 0.85


def test_people_matter_more_than_scatter():
    before, alike, exact = a_rms(1), a_rms(1, spread=0.0), a_rms(1, scatter=0.0)
    assert chosen(SPREAD) == "All people alike"
    assert alike < exact - 0.1 < before
    for value in (before, alike, exact):
        assert f"{value:.1f}" in SPREAD.why


def test_the_quadratic_strays_more():
    answers = {1: [], 2: []}
    for seed in range(1, 11):
        ratio = true_ratios(draw_volunteers(10, seed), np.array([0.5])).mean()
        for degree, said in answers.items():
            said.append(np.polyval(fitted(seed, degree=degree)[1], ratio))
    assert chosen(STEADY) == "The quadratic’s"
    assert np.ptp(answers[2]) > max(1.0, np.ptp(answers[1]))
    assert f"{min(answers[2]):.1f} to {max(answers[2]):.1f}" in STEADY.why


def test_a_longer_wave_reads_too_low_on_the_old_curve():
    """A whole simulated recording, read with the calibration of the probe model."""
    scenario = Scenario(arterial_saturation=0.8, infrared_peak_nm=950.0, noise_percent=0.0)
    shown = measure(simulate(scenario)).spo2_percent
    assert shown < 78.0
    assert chosen(LED) == "More than 2 points too low"
    assert f"R is {small_pulse_ratio(scenario, 0.8):.2f}" in LED.why


def test_the_mix_of_kinds():
    assert sum(isinstance(each, NumberQuestion) for each in QUESTIONS) >= 2
    assert sum(isinstance(each, ChoiceQuestion) for each in QUESTIONS) >= 2
