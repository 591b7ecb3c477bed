"""Questions of the pulse: each answer found another way, every other one refused."""

import re

import numpy as np
import pytest

from oximetry_workbook.body.calibration import diffusion_calibration
from oximetry_workbook.body.probe import Probe
from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.body.simulate import pulse_optics, simulate
from oximetry_workbook.meter.measure import measure
from oximetry_workbook.meter.recording import Recording
from oximetry_workbook.teach.questions import pulse

ASKED = dict(
    zip(
        ("perfusion", "weakened", "pigment", "silence", "veins", "still or moving"),
        pulse.checkpoints(),
        strict=True,
    )
)


def chosen(question):
    return question.options[question.answer]


def swings_percent(**changes):
    """Red and infrared swing over mean [%], as the meter finds them in a recording."""
    recording = simulate(Scenario(noise_percent=0.0, **changes), duration_s=20.0)
    beats = measure(recording).beats
    return [100.0 * float((beats[f"ac_{c}"] / beats[f"dc_{c}"]).median()) for c in COLOURS]


COLOURS = ("red", "infrared")


def test_a_few_parts_in_a_hundred_move():
    for swing in swings_percent():
        assert 1.0 < swing < 6.0
    assert chosen(pulse.prediction()) == "By a few parts in 100, or less"


def test_only_a_smaller_beat_lowers_the_index_and_leaves_the_number():
    """By the meter, on recordings; veins that move are swings of their own."""
    index = {
        "Ten times as much pigment": swings_percent(melanin_fraction=0.3)[1],
        "A faster heart": swings_percent(heart_rate_bpm=140.0)[1],
        "Less blood comes with each beat": swings_percent(perfusion_index_percent=1.0)[1],
    }
    usual = swings_percent()[1]
    lowered = [words for words, swing in index.items() if swing < 0.5 * usual]
    assert lowered == [chosen(ASKED["weakened"])]
    shown = [
        measure(simulate(Scenario(noise_percent=0.0, perfusion_index_percent=p))).spo2_percent
        for p in (3.0, 1.0)
    ]
    assert shown[1] == pytest.approx(shown[0], abs=1.0)


def test_the_perfusion_index_from_the_numbers_printed_in_the_question():
    question = ASKED["perfusion"]
    high, low, mean = map(float, re.findall(r"\d+\.\d", question.text))
    assert question.check(100.0 * (high - low) / mean).right
    assert question.answer == pytest.approx(swings_percent(perfusion_index_percent=6.0)[1], rel=0.1)
    assert not question.check((high - low) / mean).right


def test_pigment_leaves_the_swing_as_the_meter_finds_it():
    light, dark = (swings_percent(melanin_fraction=share)[0] for share in (0.03, 0.3))
    assert dark == pytest.approx(light, rel=0.02)
    assert chosen(ASKED["pigment"]) == "It stays the same"


def test_the_meter_withholds_a_number_when_nothing_moves():
    time_s = np.arange(1000) / 100.0
    flat = np.full(1000, 0.5)
    recording = Recording(time_s, flat, flat, None, diffusion_calibration("finger"))
    assert measure(recording).spo2_percent is None
    assert chosen(ASKED["silence"]) == "Nothing"


def read_percent(probe, arterial, venous, resting_venous):
    """Look up the saturation of a movement of blood, from light before and after."""
    resting = probe.resting_arterial_fraction
    light = probe.log_light(
        resting + np.array([0.0, arterial]), resting_venous + np.array([0.0, venous])
    )
    red, infrared = light[:, 0] - light[:, 1]
    return float(np.interp(red / infrared, *diffusion_calibration("finger")))


def test_what_still_and_moving_veins_do_to_the_reading():
    scenario = Scenario()
    probe, resting = Probe(scenario), Probe(scenario).resting_venous_fraction
    # an infrared depth of some 3 %, found by bisection
    wanted, low, high = pulse_optics(scenario).depth[1], 0.0, 0.01
    for _ in range(40):
        beat = (low + high) / 2.0
        light = probe.log_light(
            probe.resting_arterial_fraction + np.array([0.0, beat]), np.full(2, resting)
        )[1]
        low, high = (beat, high) if light[0] - light[1] < wanted else (low, beat)
    before = read_percent(probe, beat, 0.0, resting)
    moved = read_percent(probe, beat, 0.5 * beat, resting)
    gone = read_percent(probe, beat, 0.0, 0.0)
    assert before == pytest.approx(97.0, abs=0.5)
    assert moved < before - 2.0
    assert chosen(ASKED["veins"]) == "It reads too low"
    assert abs(moved - before) > 2.0 * abs(gone - before)
    assert chosen(ASKED["still or moving"]) == "Letting a little of it move"
    assert f"{abs(moved - before):.2g}" in ASKED["still or moving"].why
