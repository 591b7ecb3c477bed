"""Questions of wrong light: the key found again by other ways."""

import re

import numpy as np
import pytest

from oximetry_workbook.body.calibration import small_pulse_ratio
from oximetry_workbook.body.probe import Probe
from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.body.simulate import simulate
from oximetry_workbook.meter.measure import measure
from oximetry_workbook.teach.questions import light

PREDICTION = light.prediction()
NAMES = ("folding", "count", "steady", "smaller", "half", "varnish", "long", "warm")
ASKED = dict(zip(NAMES, light.checkpoints(), strict=True))


def chosen(question):
    return question.options[question.answer]


def measured(seed=7, rate_hz=100.0, **fields):
    """Another seed and a longer recording than the key was made from."""
    return measure(simulate(Scenario(**fields), 30.0, rate_hz, seed))


def looked_up(**fields):
    """Saturation of a vanishing pulse by the ordinary finger's curve: no recording, no meter."""
    true = fields.pop("arterial_saturation")
    curve = np.array([small_pulse_ratio(Scenario(), s) for s in np.linspace(1.0, 0.4, 61)])
    ratio = small_pulse_ratio(Scenario(**fields), true)
    return float(np.interp(ratio, curve, np.linspace(100.0, 40.0, 61)))


def test_a_lamp_near_the_sampling_rate_gives_a_number_in_the_eighties():
    found = measured(ambient_light_percent=50.0, mains_frequency_hz=50.4)
    assert 80.0 < found.spo2_percent < 90.0
    assert chosen(PREDICTION) == "A number below 95 %"
    assert f"{found.spo2_percent:.0f} %" in PREDICTION.why


def test_folding_from_the_numbers_printed_in_the_question():
    mains, rate = map(float, re.findall(r"(\d+(?:\.\d+)?)(?= Hz| samples)", ASKED["folding"].text))
    assert ASKED["folding"].check(60.0 * abs(2.0 * mains - rate)).right
    assert not ASKED["folding"].check(60.0 * mains % rate).right  # the flicker not doubled


def test_a_count_that_agrees_by_chance():
    found = measured(ambient_light_percent=50.0, mains_frequency_hz=50.6)
    assert found.heart_rate_bpm == pytest.approx(Scenario().heart_rate_bpm, abs=2.0)
    assert found.spo2_percent < 90.0
    assert chosen(ASKED["count"]).startswith("No")


def test_a_steady_lamp_dilutes_and_divides_out():
    dark, lit = measured(), measured(ambient_light_percent=50.0)
    assert lit.spo2_percent == pytest.approx(dark.spo2_percent, abs=0.5)
    ratio = lit.perfusion_index_percent / dark.perfusion_index_percent
    assert ratio == pytest.approx(1.0 / 1.5, rel=0.15)  # 1 of light, and 1 with a lamp of a half
    assert chosen(ASKED["steady"]) == "The perfusion index falls, the saturation shown stays"


def test_the_share_past_from_the_printed_perfusion_indices():
    before, after = map(float, re.findall(r"([\d.]+) %", ASKED["smaller"].text))
    assert ASKED["smaller"].check(100.0 * (1.0 - after / before)).right
    assert not ASKED["smaller"].check(100.0 * after / before).right
    found = measured(bypass_percent=ASKED["smaller"].answer).perfusion_index_percent
    assert found == pytest.approx(after, abs=0.15)


def test_dark_blood_dims_red_more_and_so_red_is_diluted_more():
    red, infrared = np.exp(Probe(Scenario(arterial_saturation=0.75)).log_light_at_rest())
    assert red < infrared
    # light past is as much as infrared through: shares past by hand
    kept_red, kept_infrared = red / (red + infrared), 0.5
    true_ratio = small_pulse_ratio(Scenario(), 0.75)
    assert true_ratio * kept_red / kept_infrared < true_ratio
    assert measured(arterial_saturation=0.75, bypass_percent=50.0).spo2_percent > 77.0
    assert chosen(ASKED["half"]) == "Too high"
    assert f"{100.0 * (1.0 - kept_red):.0f} %" in ASKED["half"].why


def test_a_filter_of_varnish_cancels():
    found = looked_up(varnish="blue", varnish_coats=2.0, arterial_saturation=0.97)
    assert found == pytest.approx(97.0, abs=2.0)
    assert chosen(ASKED["varnish"]) == "It reads within 2 points of the truth"


def test_a_long_red_led_reads_high():
    assert looked_up(red_peak_nm=670.0, arterial_saturation=0.8) > 82.0
    assert chosen(ASKED["long"]) == "Too high"


def test_warmth_moves_both_and_cancels():
    both = looked_up(led_temperature_c=50.0, arterial_saturation=0.7)
    red = looked_up(red_peak_nm=663.07, arterial_saturation=0.7)
    infrared = looked_up(infrared_peak_nm=946.24, arterial_saturation=0.7)
    assert both == pytest.approx(70.0, abs=2.0)
    assert infrared < both < red
    assert chosen(ASKED["warm"]) == "Within 2 points of the truth"
