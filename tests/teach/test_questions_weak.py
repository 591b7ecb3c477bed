"""Questions of weak pulse and motion: each answer found another way, every other one refused."""

import re

import numpy as np
import pytest

from oximetry_workbook.body.calibration import diffusion_calibration
from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.body.simulate import simulate
from oximetry_workbook.meter.measure import measure
from oximetry_workbook.teach.questions import weak

ASKED = dict(
    zip(
        ("cold", "halfway", "lean", "mixed", "veins", "quality", "rhythm"),
        weak.checkpoints(),
        strict=True,
    )
)


def chosen(question):
    return question.options[question.answer]


def long_reading(**changes):
    """One reading of two minutes, where the questions average many of ten seconds."""
    return measure(simulate(Scenario(**changes), 120.0, seed=7))


def test_a_shaking_probe_hides_a_low_saturation():
    read = long_reading(arterial_saturation=0.7, coupling_percent=8.0).spo2_percent
    assert read > 80.0
    assert chosen(weak.prediction()) == "A number well above 70 %"
    assert f"It shows {read:.0f} %" in weak.prediction().why


def test_the_strongest_pulse_in_the_cold_as_the_meter_finds_it():
    usual = {"finger": 3.0, "ear": 1.0, "forehead": 1.0, "wrist": 0.3}
    found = {
        place: long_reading(
            site=place, perfusion_index_percent=warm, vasoconstriction=1.0, noise_percent=0.0
        ).perfusion_index_percent
        for place, warm in usual.items()
    }
    assert chosen(ASKED["cold"]) == f"At the {max(found, key=found.get)}"


def test_halfway_from_the_numbers_printed_in_the_question():
    warm, cold = map(float, re.findall(r"([\d.]+) % in", ASKED["halfway"].text))
    assert ASKED["halfway"].check(np.sqrt(warm * cold)).right
    assert not ASKED["halfway"].check((warm + cold) / 2.0).right
    assert not ASKED["halfway"].check(warm / 2.0).right


def test_a_faint_pulse_leans_upward_on_other_seeds_too():
    cold = Scenario(vasoconstriction=1.0, noise_percent=0.1, arterial_saturation=0.8)
    made = [measure(simulate(cold, seed=seed)) for seed in range(500, 580)]
    shown = [each.spo2_percent for each in made if each.spo2_percent is not None]
    assert len(shown) < len(made)
    assert np.mean(shown) - 80.0 > 2.0 * np.std(shown) / np.sqrt(len(shown))
    assert chosen(ASKED["lean"]) == "They are too high"


def test_beats_that_are_kept_have_the_larger_infrared_pulse():
    """What the answer gives as the reason."""
    cold = Scenario(vasoconstriction=1.0, noise_percent=0.1, arterial_saturation=0.8)
    beats = measure(simulate(cold, 1200.0)).beats
    kept = beats["quality"] >= 0.3
    pulse = beats["ac_infrared"] / beats["dc_infrared"]
    assert pulse[kept].mean() > 1.03 * pulse[~kept].mean()
    assert beats["ratio"][kept].median() < beats["ratio"][~kept].median()


def test_swings_in_step_add_up_colour_by_colour():
    """From the numbers printed, and from a longer recording of another heart."""
    arterial, venous = map(float, re.findall(r"R = (\d+\.\d+)", ASKED["mixed"].text))
    assert ASKED["mixed"].check((2.0 * arterial + venous) / 3.0).right
    assert not ASKED["mixed"].check((arterial + venous) / 2.0).right
    assert ASKED["mixed"].check(long_reading(venous_pulse=0.5).ratio).right


def test_one_number_for_each_way_of_telling_venous_motion():
    """Ten seconds, many of them, and venous blood alone: all three are named and differ."""
    why = ASKED["veins"].why
    single = measure(simulate(Scenario(motion_percent=8.0))).spo2_percent
    assert f"ten seconds read {single:.0f} %" in why
    alone = re.search(r"R = ([\d.]+) here, which would read (\d+) %", why)
    by_curve = np.interp(float(alone[1]), *diffusion_calibration("finger"))
    assert by_curve == pytest.approx(float(alone[2]), abs=0.8)


def test_venous_blood_and_the_quality_that_does_not_see_it():
    found = long_reading(motion_percent=8.0)
    assert found.spo2_percent < 67.0
    assert found.quality > 0.7
    assert abs(found.heart_rate_bpm - 72.0) > 10.0
    assert chosen(ASKED["veins"]) == "Well below 72 %"
    assert chosen(ASKED["quality"]).startswith("It is good")


def test_an_uneven_heart_leaves_the_reading():
    even, uneven = (long_reading(irregularity_percent=share) for share in (0.0, 30.0))
    assert uneven.spo2_percent == pytest.approx(even.spo2_percent, abs=0.5)
    scatter = [each.beats["interval_s"].std() for each in (even, uneven)]
    assert scatter[1] > 5.0 * scatter[0]
    assert chosen(ASKED["rhythm"]).startswith("Saturation hardly moves; the rate jumps")
