"""Questions of numbers below 70 %: each answer found another way, every other one refused."""

import re

import numpy as np

from oximetry_workbook.body.calibration import diffusion_calibration
from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.body.simulate import simulate
from oximetry_workbook.meter.measure import measure
from oximetry_workbook.study.small_study import desaturate, draw_volunteers
from oximetry_workbook.teach.questions import below

ASKED = dict(
    zip(
        ("look up", "fall", "continued", "finger", "studies", "worth"),
        below.checkpoints(),
        strict=True,
    )
)

PUBLISHED = ([110.0, -25.0], [114.9, -33.437], [112.69, -34.66, 1.596], [94.845, 30.354, -45.06])


def chosen(question):
    return question.options[question.answer]


def ratio(saturation, **changes):
    return measure(simulate(Scenario(arterial_saturation=saturation, **changes))).ratio


def polynomial(coefficients, r):
    return sum(c * r**power for power, c in enumerate(coefficients))


def test_published_curves_part_by_ten_times_or_more():
    apart = []
    for saturation in (0.9, 0.5):
        said = np.clip([polynomial(c, ratio(saturation)) for c in PUBLISHED], 0.0, 100.0)
        apart.append(np.ptp(said))
    assert apart[1] / apart[0] > 11.0
    assert chosen(below.prediction()).startswith("Ten times")
    assert f"{apart[0]:.1f} points apart" in below.prediction().text


def test_sums_from_the_numbers_printed_in_the_questions():
    r = float(re.search(r"R = (\d\.\d+)", ASKED["look up"].text)[1])
    assert ASKED["look up"].check(110.0 - 25.0 * r).right
    assert not ASKED["look up"].check(50.0).right
    first, second = re.search(r"from (\d\.\d+) to (\d\.\d+)", ASKED["fall"].text).groups()
    assert ASKED["fall"].check(33.437 * (float(second) - float(first))).right
    assert not ASKED["fall"].check(25.0 * (float(second) - float(first))).right
    slope, offset = 0.94, 8.7
    assert ASKED["continued"].check(slope * 50.0 + offset).right
    assert not ASKED["continued"].check(65.0).right


def test_another_finger_errs_more_in_dark_blood():
    table = diffusion_calibration("finger")
    errors = [
        abs(np.interp(ratio(s, blood_volume_scale=2.0), *table) - 100.0 * s) for s in (0.95, 0.5)
    ]
    assert errors[1] > errors[0] + 2.0
    assert chosen(ASKED["finger"]) == "At 50 %"


def test_fits_from_seventy_up_read_high_at_fifty():
    r, said = ratio(0.5), []
    for draw in range(1, 21):
        pairs = desaturate(draw_volunteers(10, draw), seed=draw)
        for degree in (1, 2):
            said.append(np.polyval(np.polyfit(pairs["ratio"], pairs["sao2_percent"], degree), r))
    assert np.mean(np.array(said) > 50.0) > 0.9
    assert chosen(ASKED["studies"]) == "Nearly all above 50"
    assert f"{min(said):.0f} to {max(said):.0f}" in ASKED["studies"].why


def test_all_fall_and_none_agrees_on_the_size():
    high, low = ratio(0.6), ratio(0.5)
    falls = [polynomial(c, high) - polynomial(c, low) for c in PUBLISHED]
    assert min(falls) > 0.0
    assert np.ptp(falls) > 1.0
    assert chosen(ASKED["worth"]).startswith("Saturation is very low and falling")
