"""The answer key of the ratio of ratios, reckoned another way."""

import re
from dataclasses import replace

import numpy as np
import pytest

from oximetry_workbook.body.calibration import small_pulse_ratio
from oximetry_workbook.body.probe import Probe
from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.body.simulate import simulate
from oximetry_workbook.meter.measure import measure
from oximetry_workbook.teach.checkpoint import ChoiceQuestion, NumberQuestion
from oximetry_workbook.teach.questions import checkpoints, prediction

CHAPTER = "ratio"


@pytest.fixture(scope="module")
def questions():
    return checkpoints(CHAPTER)


def every_question():
    return (prediction(CHAPTER), *checkpoints(CHAPTER))


def about(words):
    [found] = [q for q in every_question() if words in q.text]
    return found


def numbers_in(text):
    return [float(number) for number in re.findall(r"\d+\.\d+|\d+", text)]


def test_there_are_enough_and_both_kinds(questions):
    assert len(questions) >= 5
    assert {type(q) for q in questions} == {ChoiceQuestion, NumberQuestion}


@pytest.mark.parametrize("question", every_question(), ids=lambda q: q.text[:40])
def test_the_right_answer_is_accepted_and_all_wrong_ones_refused(question):
    if isinstance(question, ChoiceQuestion):
        assert len(set(question.options)) == len(question.options) >= 3
        verdicts = [question.check(k).right for k in range(len(question.options))]
        assert verdicts == [k == question.answer for k in range(len(question.options))]
    else:
        assert question.check(question.answer).right
        for wrong in (-1.1, 1.1):
            assert not question.check(question.answer + wrong * question.tolerance).right
    assert not re.search(r"None|nan|inf\b", question.text + question.why)


def test_a_brighter_led_leaves_r_alone():
    """A meter's input is light of any scale: R of a recording ten times as bright in red."""
    recording = simulate(Scenario(noise_percent=0.0, converter_bits=24))
    red, infrared = recording.red, recording.infrared
    modulation = [np.ptp(light) / light.mean() for light in (red, 10.0 * red, infrared)]
    assert modulation[1] == pytest.approx(modulation[0])
    question = about("ten times as bright, the infrared one")
    assert question.options[question.answer] == "It stays the same"


def test_half_the_light_is_half_the_dc():
    question = about("With age")
    assert question.options[question.answer] == "The steady red light, DC"


def test_a_weak_pulse_leaves_only_r():
    """By the meter, on recordings: perfusion index 3 against 0.3 %."""
    found = [
        measure(simulate(Scenario(perfusion_index_percent=p, noise_percent=0.0)))
        for p in (3.0, 0.3)
    ]
    assert found[1].ratio / found[0].ratio == pytest.approx(1.0, abs=0.01)
    assert found[1].perfusion_index_percent / found[0].perfusion_index_percent < 0.2
    question = about("A cold hand")
    assert question.options[question.answer] == "R"


def test_both_divisions_follow_from_the_printed_numbers():
    question = about("At the detector, in thousandths")
    red_dc, red_ac, infrared_dc, infrared_ac = numbers_in(question.text)
    by_hand = (red_ac / red_dc) / (infrared_ac / infrared_dc)
    assert question.check(by_hand).right
    assert question.check(round(by_hand, 2)).right
    assert not question.check(1.0 / by_hand).right
    assert not question.check(red_ac / infrared_ac).right
    assert question.answer == pytest.approx(small_pulse_ratio(Scenario(), 0.85), rel=0.01)


def test_both_colours_swing_alike_where_r_is_one():
    """By bisection of recordings, through the meter."""
    low, high = 0.75, 0.97
    for _ in range(6):
        middle = (low + high) / 2.0
        recording = simulate(Scenario(arterial_saturation=middle, noise_percent=0.0))
        low, high = (middle, high) if measure(recording).ratio > 1.0 else (low, middle)
    question = about("swing by the same share")
    assert question.check(50.0 * (low + high)).right
    assert not question.check(97.0).right


def test_light_that_is_added_does_not_drop_out():
    """A recording with its own mean of red added to red, through the meter."""
    recording = simulate(Scenario(arterial_saturation=0.85, noise_percent=0.0))
    lit = replace(recording, red=recording.red + recording.red.mean())
    before, after = measure(recording), measure(lit)
    assert after.ratio == pytest.approx(before.ratio / 2.0, rel=0.01)
    assert after.spo2_percent > before.spo2_percent + 10.0
    question = about("Steady light of the room")
    assert question.options[question.answer] == "R falls, and it reads too high"
    assert f"R was {before.ratio:.2f} and is {after.ratio:.2f}" in question.why


def test_saturation_moves_r_most():
    start = small_pulse_ratio(Scenario(), 0.97)
    moves = [
        abs(ratio - start)
        for ratio in (
            small_pulse_ratio(Scenario(), 0.85),
            small_pulse_ratio(Scenario(thickness_scale=1.5), 0.97),
            small_pulse_ratio(Scenario(melanin_fraction=0.45), 0.97),
            start,  # light of any brightness: see the test of the brighter LED
        )
    ]
    question = about("Which single change moves R most")
    assert question.answer == int(np.argmax(moves))
    assert moves[0] > 10.0 * max(moves[1:])


def test_few_red_cells_raise_r_because_red_travels_further():
    ordinary, anaemic = (
        Probe(Scenario(arterial_saturation=0.7, haemoglobin_g_per_l=h)).path_length_cm()
        for h in (150.0, 80.0)
    )
    growth = anaemic / ordinary
    assert growth[0] > growth[1] > 1.0
    change = small_pulse_ratio(Scenario(haemoglobin_g_per_l=80.0), 0.7) / small_pulse_ratio(
        Scenario(), 0.7
    )
    assert change > 1.05
    question = about("haemoglobin falls from 150 to 80")
    assert question.options[question.answer] == "It rises by more than 5 %"


def test_pigment_dims_red_and_leaves_r():
    """Jacques' melanosome, 1.70e12 λ^-3.48 per cm (Jacques 2013, Phys Med Biol 58:R37), at
    660 nm through 0.012 cm of epidermis, in and out."""
    left = np.exp(-(0.45 - 0.03) * 0.012 * 1.70e12 * 660.0**-3.48)
    assert left < 0.5
    dark = small_pulse_ratio(Scenario(melanin_fraction=0.45), 0.7)
    assert dark / small_pulse_ratio(Scenario(), 0.7) == pytest.approx(1.0, abs=0.02)
    question = about("In this model melanin")
    chosen = question.options[question.answer]
    assert chosen == "Less than half of the red light is left; R stays within 2 %"
    assert numbers_in(question.why)[0] == pytest.approx(left, rel=0.05)
    assert "Bickler 2005" in question.why
