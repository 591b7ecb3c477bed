"""Questions of other blood: each answer found another way, every other one refused."""

import re

import numpy as np
import pytest

from oximetry_workbook.body.blood import molar_extinction
from oximetry_workbook.body.calibration import diffusion_calibration, small_pulse_ratio
from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.teach.checkpoint import NumberQuestion
from oximetry_workbook.teach.questions import other_blood

ASKED = dict(
    zip(
        ("fractional", "least", "as_little", "smoker", "drift", "met", "thin"),
        other_blood.checkpoints(),
        strict=True,
    )
)


def chosen(question):
    return question.options[question.answer]


def read_percent(saturation, **changes):
    """Reading of a vanishing pulse on the probe's own curve: no pulse, no noise, no meter."""
    ratio = small_pulse_ratio(Scenario(**changes), saturation)
    return float(np.interp(ratio, *diffusion_calibration("finger")))


def test_carbon_monoxide_hides():
    assert read_percent(0.97, carboxyhaemoglobin=0.4) > 89.5
    assert chosen(other_blood.prediction()) == "About 90 % or more"


def test_the_fractional_saturation_from_the_shares():
    question = ASKED["fractional"]
    assert question.check(97.0 * (100.0 - 20.0 - 5.0) / 100.0).right
    assert not question.check(97.0 - 25.0).right
    assert not question.check(75.0).right


def test_the_least_oxygen_by_haemoglobin_that_can_carry():
    able_g_per_l = [70.0, 150.0 * 0.6, 150.0 * 0.65, 150.0]
    assert ASKED["least"].answer == int(np.argmin(able_g_per_l))
    numbers = [int(each) for each in re.findall(r"meter (\d+) %", " ".join(ASKED["least"].options))]
    assert int(np.argmax(numbers)) == ASKED["least"].answer  # the calmest number, the least oxygen
    contents = [float(each) for each in re.findall(r"\d+\.\d", ASKED["least"].why)]
    assert contents == sorted(contents)


def test_as_little_oxygen_by_the_product_of_haemoglobin_and_saturation():
    question = ASKED["as_little"]
    assert question.check(97.0 * 70.0 / 150.0).right
    assert not question.check(97.0).right  # a share is not an amount
    assert not question.check(97.0 - 100.0 * 80.0 / 150.0).right  # taken off, not multiplied
    # with what is dissolved: pressures of 90.9 and 25.4 mmHg by Severinghaus 1979, J Appl Physiol
    # 46:599, for 97 and 46.3 %; 0.003 mL/dL per mmHg (textbooks)
    thin = 1.34 * 7.0 * 0.97 + 0.003 * 90.9
    assert 1.34 * 15.0 * question.answer / 100.0 + 0.003 * 25.4 == pytest.approx(thin, abs=0.05)


def test_the_smoker_by_hand():
    question = ASKED["smoker"]
    assert question.check(0.98 * 92.0 + 1.06 * 8.0 - 2.49).right
    assert not question.check(98.0 + 1.06 * 8.0 - 2.49).right  # COHb not taken off
    assert not question.check(1.06 * 8.0 - 2.49).right
    assert not question.check(0.98 * 92.0 + 1.06 * 8.0).right


def test_why_carbon_monoxide_drifts_by_the_extinctions():
    at = {nm: [molar_extinction(each, nm) for each in ("COHb", "HbO2")] for nm in (660.0, 940.0)}
    assert at[660.0][0] < at[660.0][1]
    assert at[940.0][0] < 0.01 * at[940.0][1]
    assert "hardly any infrared" in chosen(ASKED["drift"])


def test_methaemoglobin_lifts_a_low_reading():
    assert read_percent(0.6, methaemoglobin=0.35) > read_percent(0.6) + 5.0
    assert chosen(ASKED["met"]) == "It rises"


def test_thin_blood_errs_more_at_low_saturation():
    high, low = (
        abs(read_percent(each, haemoglobin_g_per_l=80.0) - read_percent(each))
        for each in (0.97, 0.75)
    )
    assert low > 3.0 * high > 0.5
    assert chosen(ASKED["thin"]) == "At a saturation of 75 %"


def test_every_wrong_answer_is_told_what_it_overlooks_and_not_the_answer():
    for question in (other_blood.prediction(), *other_blood.checkpoints()):
        if isinstance(question, NumberQuestion):
            numbers = re.findall(r"\d+(?:\.\d+)?", question.hint)
            assert question.hint
            assert not any(question.check(float(each)).right for each in numbers)
        else:
            assert len(set(question.if_wrong)) == len(question.options)
            assert not any(chosen(question) in each for each in question.if_wrong)
