"""The answer key of the bench, reckoned another way."""

import re

import numpy as np
import pytest

from oximetry_workbook.body.calibration import diffusion_calibration, small_pulse_ratio
from oximetry_workbook.body.probe import Probe
from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.body.simulate import simulate
from oximetry_workbook.meter.measure import measure
from oximetry_workbook.teach.questions import checkpoints, prediction

PREDICTION = prediction("bench")
WEAK, COOL, TEXTBOOK, WITHHELD, HIDDEN, SPILT = checkpoints("bench")


def chosen(question):
    return question.options[question.answer]


def numbers_in(text):
    return [float(number) for number in re.findall(r"\d+\.\d+|\d+", text)]


def swings(**fields):
    """Amplitude of ln of both colours' light at the heart's own frequency, without noise.

    Twelve even beats fill ten seconds, so that they are line 12 of the spectrum; the window
    keeps the slow breathing out of it.
    """
    even = {"heart_rate_bpm": 72.0, "heart_rate_variability_percent": 0.0}
    recording = simulate(Scenario(noise_percent=0.0, converter_bits=24, **even, **fields))
    light = np.log([recording.red, recording.infrared])
    windowed = (light - light.mean(axis=1, keepdims=True)) * np.hanning(light.shape[1])
    return np.abs(np.fft.rfft(windowed))[:, 12]


def test_the_red_pulse_grows_and_the_infrared_one_hardly():
    red, infrared = swings(arterial_saturation=0.85) / swings(arterial_saturation=0.97)
    assert red > 1.5
    assert infrared == pytest.approx(1.0, abs=0.02)
    assert chosen(PREDICTION) == "The red one"
    assert f"is {red:.2f} times as large" in PREDICTION.why
    ratios = [small_pulse_ratio(Scenario(), saturation) for saturation in (0.97, 0.85)]
    assert numbers_in(PREDICTION.why)[-2:] == pytest.approx(ratios, abs=0.015)


def test_a_weaker_pulse_leaves_r():
    """With a tenth of the pulse R is that of an endlessly small one, and that of a full one too."""
    strong, weak = (swings(perfusion_index_percent=p) for p in (3.0, 0.3))
    ratios = [red / infrared for red, infrared in (strong, weak)]
    np.testing.assert_allclose(weak / strong, 0.1, rtol=0.05)
    np.testing.assert_allclose(ratios, small_pulse_ratio(Scenario(), 0.97), rtol=0.02)
    long = [
        measure(simulate(Scenario(perfusion_index_percent=p), 60.0, seed=5)).ratio
        for p in (3.0, 0.3)
    ]
    assert long[0] == pytest.approx(long[1], rel=0.05)  # by the meter, with the bench's own noise
    assert chosen(WEAK) == "It stays the same within a few percent"


def test_the_red_pulse_of_a_cool_hand_from_the_printed_numbers():
    _, red, infrared, less_infrared = numbers_in(COOL.text)
    assert COOL.check(less_infrared * red / infrared).right
    assert not COOL.check(less_infrared).right
    assert not COOL.check(less_infrared * infrared / red).right
    assert not COOL.check(red - (infrared - less_infrared)).right
    assert COOL.answer == pytest.approx(
        less_infrared * small_pulse_ratio(Scenario(), 0.85), abs=COOL.tolerance
    )


def test_the_printed_thousandths_are_decadic_absorbance():
    """A perfusion index of 3 % is 0.03 in natural logarithms, and 0.03 / ln 10 in powers of ten.

    Perfusion index: infrared peak to trough over the mean, the bench's own start.
    """
    infrared = 1000.0 * 0.03 / np.log(10.0)
    red = infrared * small_pulse_ratio(Scenario(), 0.85)
    assert numbers_in(COOL.text)[1:3] == pytest.approx([red, infrared], rel=0.02)


def test_the_textbook_line_by_hand():
    """SpO2 = 110 − 25 R (Webster 1997, Design of Pulse Oximeters; from memory)."""
    ratio = small_pulse_ratio(Scenario(), 0.97)
    assert TEXTBOOK.answer == pytest.approx(110.0 - 25.0 * ratio - 97.0, abs=0.1)
    printed = numbers_in(TEXTBOOK.text)[0]
    assert printed == pytest.approx(ratio, abs=0.005)
    assert TEXTBOOK.check(110.0 - 25.0 * printed - 97.0).right
    assert not TEXTBOOK.check(0.0).right
    assert not TEXTBOOK.check(-TEXTBOOK.answer).right


def test_one_number_is_wrong_without_a_sign():
    """Barker and Tremper 1987, Anesthesiology 66:677: carbon monoxide is read as oxygen."""
    poisoned = measure(simulate(Scenario(carboxyhaemoglobin=0.3), seed=3))
    assert poisoned.spo2_percent > 90.0
    assert 97.0 * (1.0 - 0.3) < 70.0
    assert poisoned.quality > 0.9
    assert poisoned.heart_rate_bpm == pytest.approx(72.0, abs=2.0)
    assert poisoned.perfusion_index_percent == pytest.approx(3.0, abs=0.3)
    cold = measure(simulate(Scenario(vasoconstriction=1.0, noise_percent=0.08), seed=3))
    assert cold.perfusion_index_percent < 0.5
    shaken = measure(simulate(Scenario(coupling_percent=2.0), seed=3))
    assert abs(shaken.heart_rate_bpm - 72.0) > 5.0
    uneven = measure(simulate(Scenario(irregularity_percent=25.0), seed=3))
    assert uneven.spo2_percent == pytest.approx(97.0, abs=1.0)
    assert chosen(HIDDEN) == "Smoke"


def test_a_meter_that_withholds_would_else_be_wrong():
    """Five times as much noise as pulse: R read off raw light strays by far more than a meter may.

    Over ten seeds, the fit of red against infrared light through the line 110 − 25 R.
    """
    scenario = Scenario(perfusion_index_percent=0.1, noise_percent=0.5)
    errors = []
    for seed in range(10):
        recording = simulate(scenario, seed=seed)
        assert measure(recording).spo2_percent is None
        red, infrared = (c / c.mean() - 1.0 for c in (recording.red, recording.infrared))
        errors.append(110.0 - 25.0 * (red @ infrared) / (infrared @ infrared) - 97.0)
    assert np.sqrt(np.mean(np.square(errors))) > 3.0
    assert chosen(WITHHELD) == "It shows no number"
    assert measure(simulate(scenario)).reason in WITHHELD.why


def test_light_past_the_finger_draws_the_number_up():
    """Mixed by hand: half of the infrared light went past, and as much red light as infrared.

    What goes past does not pulse, so that each AC over DC shrinks by the share that went through;
    the curve is the probe's own, read by linear interpolation.
    """
    scenario = Scenario(arterial_saturation=0.7)
    probe = Probe(scenario)
    red, infrared = 10.0 ** -probe.absorbance_layers(np.zeros(2)).sum(axis=0)
    through = np.array([red / (red + infrared), 0.5])
    mixed = small_pulse_ratio(scenario, 0.7) * through[0] / through[1]
    by_hand = np.interp(mixed, *diffusion_calibration("finger"))
    assert by_hand > 75.0
    spilt = Scenario(arterial_saturation=0.7, bypass_percent=50.0)
    shown = [measure(simulate(spilt, seed=seed)).spo2_percent for seed in range(5)]
    assert np.min(shown) > 75.0  # by the meter, with noise
    assert chosen(SPILT) == "Too high"
    assert numbers_in(SPILT.why)[0] == pytest.approx(by_hand, abs=1.0)
