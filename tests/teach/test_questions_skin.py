"""Questions of skin tone: each answer found another way, every other one refused."""

import re

import numpy as np
import pytest
from scipy import stats

from oximetry_workbook.body.probe import Probe
from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.body.simulate import simulate
from oximetry_workbook.meter.measure import measure
from oximetry_workbook.teach.checkpoint import NumberQuestion
from oximetry_workbook.teach.questions import skin

ASKED = dict(
    zip(
        ("divides", "noise", "weak", "ninety", "correction", "gap", "cohort"),
        skin.checkpoints(),
        strict=True,
    )
)


def chosen(question):
    return question.options[question.answer]


def readings(seeds=20, **changes):
    scenario = Scenario(arterial_saturation=0.65, **changes)
    return np.array([measure(simulate(scenario, seed=s)).spo2_percent for s in range(seeds)], float)


def test_a_filter_hardly_moves_the_reading():
    light, dark = (readings(melanin_fraction=m) for m in (0.03, 0.45))
    assert abs(dark.mean() - light.mean()) < 0.5
    assert chosen(skin.prediction()).startswith("Within 1 point")
    assert "leaves out" in chosen(ASKED["gap"])


def test_a_filter_leaves_pulse_over_steady_light():
    question = ASKED["divides"]
    pulse, left = (float(n) for n in re.findall(r"(\d+) %", question.text))
    light, dark = (
        np.exp(Probe(Scenario(melanin_fraction=m)).log_light_at_rest()[1]) for m in (0.03, 0.45)
    )
    assert left == pytest.approx(100.0 * dark / light, abs=0.5)
    assert question.check(pulse).right
    assert not question.check(pulse * left / 100.0).right  # only the pulse behind the filter
    assert not question.check(pulse / left * 100.0).right  # only the steady light


def test_noise_from_the_share_printed_in_the_question():
    share = float(re.search(r"(\d+) %", ASKED["noise"].text)[1]) / 100.0
    assert ASKED["noise"].check(share**-0.5).right
    assert not ASKED["noise"].check(1.0 / share).right
    assert not ASKED["noise"].check(share**0.5).right


def test_a_weak_pulse_scatters_more_with_much_melanin():
    weak = {"perfusion_index_percent": 0.3, "noise_percent": 0.05}
    light, dark = (readings(melanin_fraction=m, **weak).std(ddof=1) for m in (0.03, 0.45))
    assert dark > 1.2 * light
    assert chosen(ASKED["weak"]).startswith("By more")
    assert f"{dark:.1f} points instead of {light:.1f}" in ASKED["weak"].why


def test_in_proportion_to_the_fall():
    question = ASKED["ninety"]
    assert question.check((3.56 - 0.37) * (100.0 - 90.0) / (100.0 - 65.0)).right
    assert not question.check(3.56 - 0.37).right  # the same at every saturation
    assert not question.check((3.56 - 0.37) * 90.0 / 65.0).right  # of the saturation, not the fall


def test_a_mean_taken_off_leaves_the_spread():
    # Reference: scipy's normal distribution, and numbers drawn from one.
    off = 2.0 * stats.norm.sf(2.0, scale=2.45)
    drawn = np.random.default_rng(3).normal(3.56, 2.45, 100_000) - 3.56
    assert np.mean(np.abs(drawn) > 2.0) == pytest.approx(off, abs=0.01)
    assert f"It is {100.0 * off:.0f}, half of them too low" in ASKED["correction"].why
    assert chosen(ASKED["correction"]) == "About 40"


def test_the_cohorts_intervals_do_not_meet():
    lows_and_highs = re.findall(r"\((\d+\.\d) to (\d+\.\d)\)", ASKED["cohort"].text)
    (black_low, _), (_, white_high) = lows_and_highs
    assert float(black_low) > float(white_high)
    assert chosen(ASKED["cohort"]).startswith("A reading of 92 % or more missed it often in both")


def test_nobody_is_asked_for_a_corrected_reading():
    for question in skin.checkpoints():
        if isinstance(question, NumberQuestion):
            assert not 60.0 <= question.answer <= 100.0


def test_every_wrong_answer_is_told_what_it_overlooks_and_not_the_answer():
    for question in (skin.prediction(), *skin.checkpoints()):
        if isinstance(question, NumberQuestion):
            numbers = re.findall(r"\d+(?:\.\d+)?", question.hint)
            assert question.hint
            assert not any(question.check(float(each)).right for each in numbers)
        else:
            assert len(set(question.if_wrong)) == len(question.options)
            assert not any(chosen(question) in each for each in question.if_wrong)
