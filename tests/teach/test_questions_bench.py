"""The bench's answers, found another way."""

import numpy as np
import pytest

from oximetry_workbook.body.calibration import small_pulse_ratio
from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.body.simulate import simulate
from oximetry_workbook.meter.measure import measure
from oximetry_workbook.teach.questions import bench


def test_the_red_pulse_grows_as_saturation_falls():
    """R = red over infrared at a given perfusion index, so red's growth is that of R."""
    growth = small_pulse_ratio(Scenario(), 0.85) / small_pulse_ratio(Scenario(), 0.97)
    question = bench.prediction()
    assert growth > 1.5
    assert question.options[question.answer] == "The red one"
    assert f"{growth:.1f}" in question.why.replace(f"{growth:.2f}", f"{growth:.1f}")


def test_a_weaker_pulse_leaves_the_ratio():
    question = bench.checkpoints()[0]
    ratios = [
        measure(simulate(Scenario(perfusion_index_percent=p), 60.0, seed=5)).ratio
        for p in (3.0, 0.3)
    ]
    assert ratios[0] == pytest.approx(ratios[1], rel=0.05)
    assert question.options[question.answer].startswith("It stays the same")


def test_the_ratio_to_work_out_is_that_of_the_physics():
    question = bench.checkpoints()[1]
    assert question.answer == pytest.approx(small_pulse_ratio(Scenario(), 0.85), abs=0.03)


def test_the_textbook_line_by_hand():
    assert bench.checkpoints()[2].answer == pytest.approx(110 - 25 * 0.8)


def test_a_drowned_pulse_gets_no_number():
    question = bench.checkpoints()[3]
    drowned = Scenario(perfusion_index_percent=0.1, noise_percent=0.5)
    assert all(measure(simulate(drowned, seed=seed)).spo2_percent is None for seed in range(5))
    assert question.options[question.answer] == "Show no number"


def test_light_past_the_finger_draws_a_low_number_up():
    question = bench.checkpoints()[4]
    spilt = Scenario(arterial_saturation=0.7, bypass_percent=50.0)
    shown = [measure(simulate(spilt, seed=seed)).spo2_percent for seed in range(5)]
    assert np.min(shown) > 75.0
    assert question.options[question.answer] == "Too high"
