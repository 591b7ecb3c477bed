"""Questions of numbers below 70 %: each answer found another way, every other one refused."""

import re

import numpy as np
import pytest

from oximetry_workbook.body.calibration import diffusion_calibration
from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.body.simulate import simulate
from oximetry_workbook.meter.measure import measure
from oximetry_workbook.study.small_study import desaturate, draw_volunteers
from oximetry_workbook.teach.checkpoint import NumberQuestion
from oximetry_workbook.teach.questions import below

ASKED = dict(
    zip(
        ("other display", "corrected", "finger", "form", "studies", "worth"),
        below.checkpoints(),
        strict=True,
    )
)

AGREEING = ([110.0, -25.0],)
OTHERS = ([114.9, -33.437], [112.69, -34.66, 1.596], [94.845, 30.354, -45.06])
PLACES = ("finger", "ear", "forehead", "wrist")


def chosen(question):
    return question.options[question.answer]


def ratio(saturation, **changes):
    return measure(simulate(Scenario(arterial_saturation=saturation, **changes))).ratio


def polynomial(coefficients, r):
    return sum(c * r**power for power, c in enumerate(coefficients))


@pytest.fixture(scope="module")
def fits():
    """Coefficients of lines and of quadratics through the pairs of twenty studies, by numpy."""
    studies = [desaturate(draw_volunteers(10, draw), seed=draw) for draw in range(1, 21)]
    return {
        degree: [np.polyfit(each["ratio"], each["sao2_percent"], degree) for each in studies]
        for degree in (1, 2)
    }


def apart(fits, saturation, degrees=(1, 2)):
    r = ratio(saturation)
    return np.ptp([np.polyval(fit, r) for degree in degrees for fit in fits[degree]])


def test_curves_that_agree_at_ninety_part_by_four_times_or_more(fits):
    near, far = (apart(fits, saturation) for saturation in (0.9, 0.5))
    assert far / near > 4.0
    said = [np.polyval(fit, ratio(0.5)) for degree in (1, 2) for fit in fits[degree]]
    assert 0.0 < min(said) < max(said) < 100.0  # nothing to clip
    assert chosen(below.prediction()).startswith("Four times")
    assert f"within {near:.1f} points" in below.prediction().text


def test_sums_from_the_numbers_printed_in_the_questions():
    question = ASKED["other display"]
    high, low = map(float, re.search(r"falls from (\d+) to (\d+)", question.text).groups())
    assert question.check((high - low) / 25.0 * 33.437).right
    assert not question.check(high - low).right
    assert not question.check(10.0).right
    assert high == pytest.approx(110.0 - 25.0 * ratio(0.6), abs=0.5)
    assert ASKED["corrected"].check((65.0 - 8.7) / 0.94).right
    assert not ASKED["corrected"].check(0.94 * 65.0 + 8.7).right
    assert not ASKED["corrected"].check(50.0).right


def test_another_finger_errs_more_in_dark_blood():
    table = diffusion_calibration("finger")
    errors = [
        abs(np.interp(ratio(s, blood_volume_scale=2.0), *table) - 100.0 * s) for s in (0.95, 0.5)
    ]
    assert errors[1] > errors[0] + 2.0
    assert chosen(ASKED["finger"]) == "At 50 %"


def test_quadratics_part_more_beyond_their_data(fits):
    edge = [apart(fits, 0.7, (degree,)) for degree in (1, 2)]
    beyond = [apart(fits, 0.5, (degree,)) for degree in (1, 2)]
    assert edge[0] == pytest.approx(edge[1], abs=0.5)
    assert beyond[1] > beyond[0] + 2.0
    assert chosen(ASKED["form"]).startswith("The quadratics")


def test_fits_from_seventy_up_read_high_at_fifty(fits):
    r = ratio(0.5)
    said = [np.polyval(fit, r) for degree in (1, 2) for fit in fits[degree]]
    assert np.mean(np.array(said) > 50.0) > 0.9
    assert chosen(ASKED["studies"]) == "Nearly all above 50"
    assert f"{min(said):.0f} to {max(said):.0f}" in ASKED["studies"].why


def test_all_fall_and_even_those_that_agree_differ_in_size():
    high, low = ratio(0.6), ratio(0.5)
    falls = [polynomial(c, high) - polynomial(c, low) for c in (*AGREEING, *OTHERS)]
    assert min(falls) > 0.0
    by_places = [np.ptp(np.interp([high, low], *diffusion_calibration(place))) for place in PLACES]
    assert np.ptp([falls[0], *by_places]) > 1.0
    assert chosen(ASKED["worth"]).startswith("Saturation is very low and falling")


def test_every_wrong_answer_is_told_what_it_overlooks():
    for question in (below.prediction(), *ASKED.values()):
        if isinstance(question, NumberQuestion):
            assert question.hint
            assert f"{question.answer:.0f}" not in question.hint
        else:
            assert len(question.if_wrong) == len(question.options)
            assert question.options[question.answer] not in " ".join(question.if_wrong)
