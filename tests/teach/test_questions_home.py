"""Questions of home and wrist: each answer found another way, every other one refused."""

import re

import numpy as np
import pytest

from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.body.simulate import simulate
from oximetry_workbook.meter.measure import measure
from oximetry_workbook.teach.checkpoint import NumberQuestion
from oximetry_workbook.teach.questions import home

ASKED = dict(
    zip(
        ("counting", "where", "who", "checks", "five days", "worse", "wrist"),
        home.checkpoints(),
        strict=True,
    )
)
PERSONS = 400_000


def chosen(question):
    return question.options[question.answer]


def drawn(prevalence, readings, other_days, seed, a_rms=2.0):
    """True saturation and readings [%] of many people, one by one; error split 1/4, 3/8, 3/8."""
    rng = np.random.default_rng(seed)
    low = rng.random(PERSONS) < prevalence
    true = np.where(low, rng.normal(88.0, 3.0, PERSONS), rng.normal(96.5, 1.0, PERSONS))
    person = rng.normal(0.0, a_rms * 0.25**0.5, (PERSONS, 1))
    sitting = rng.normal(0.0, a_rms * 0.375**0.5, (PERSONS, readings if other_days else 1))
    moment = rng.normal(0.0, a_rms * 0.375**0.5, (PERSONS, readings))
    return low, true, np.floor(true[:, None] + person + sitting + moment + 0.5)


def test_few_of_those_who_saw_it_are_low():
    _, true, shown = drawn(0.02, 1, False, 1)
    assert np.mean(true[shown[:, 0] == 92] < 94.0) < 0.15
    assert chosen(home.prediction()) == "Fewer than 20"


def test_counting_from_the_numbers_printed_and_from_people_drawn():
    question = ASKED["counting"]
    threshold, of_low, _, of_healthy, _, low, _ = map(
        int, re.findall(r"\d+", question.text.rpartition(" Of the")[0])
    )
    seen_low, seen_healthy = low * of_low, (100 - low) * of_healthy
    assert question.check(100.0 * seen_low / (seen_low + seen_healthy)).right
    is_low, _, shown = drawn(low / 100.0, 1, False, 2)
    seen = shown[:, 0] <= threshold
    assert np.mean(is_low[seen]) == pytest.approx(question.answer / 100.0, abs=0.02)
    # the usual mistakes: what of the low are shown it; one rate over both
    assert not question.check(of_low / 10.0).right
    assert not question.check(100.0 * of_low / (of_low + of_healthy)).right


def test_repeats_on_other_days_come_nearer():
    spread = []
    for other_days in (False, True):
        _, true, shown = drawn(0.02, 3, other_days, 3)
        spread.append(np.std(shown.mean(axis=1) - true))
    assert spread[1] < spread[0] - 0.1
    assert "different days" in chosen(ASKED["where"])


def test_more_low_people_make_the_same_number_mean_more():
    chances = []
    for prevalence in (0.02, 0.3):
        _, true, shown = drawn(prevalence, 1, False, 4)
        chances.append(np.mean(true[shown[:, 0] == 92] < 94.0))
    assert chances[1] > 3.0 * chances[0]
    assert chosen(ASKED["who"]) == "It rises several times over"


def test_four_times_the_checks_are_less_than_four_times_the_chance():
    rng = np.random.default_rng(5)
    usual = rng.normal(96.5, 1.0, 20_000) + rng.normal(0.0, 1.0, 20_000)
    shown = np.floor(usual[:, None] + rng.normal(0.0, 3.0**0.5, (20_000, 120)) + 0.5)
    seen = np.cumsum(shown <= 90, axis=1) > 0
    once, often = seen[:, 29].mean(), seen[:, 119].mean()
    assert once * 1.2 < often < once * 3.5
    assert chosen(ASKED["checks"]) == "It grows, but less than fourfold"


def test_five_days_are_neither_chance_nor_proof():
    _, true, shown = drawn(0.02, 5, True, 6)
    healthy = true > 94.0
    once = np.mean(shown[healthy, 0] <= 92)
    assert once**5 < 1e-5
    chances = []
    for days in (1, 5):
        seen = np.all(shown[:, :days] <= 92, axis=1) & np.all(shown[:, :days] >= 91, axis=1)
        chances.append(np.mean(true[seen] < 94.0))
    assert 2.0 * chances[0] < chances[1] < 0.95
    assert chosen(ASKED["five days"]).startswith("Either a low saturation or a meter")


def test_a_worse_meter_misses_more_and_alarms_more():
    missed, alarmed, under = [], [], []
    for a_rms in (2.0, 4.0):
        low, true, shown = drawn(0.02, 1, False, 7, a_rms)
        missed.append(np.mean(shown[low] >= 94))
        alarmed.append(np.mean(shown[~low] <= 90))
        under.append(np.mean(true[shown[:, 0] == 90] < 94.0))
    assert missed[1] > missed[0] + 0.03
    assert alarmed[1] > 5.0 * alarmed[0]
    assert under[0] > under[1] > 0.02
    assert chosen(ASKED["worse"]).startswith("Nothing: the meter can tell less")


def test_every_wrong_answer_is_told_what_it_overlooks():
    for question in (home.prediction(), *ASKED.values()):
        if isinstance(question, NumberQuestion):
            assert question.hint
            assert f"{question.answer:.1f}" not in question.hint
        else:
            assert len(question.if_wrong) == len(question.options)
            assert question.options[question.answer] not in " ".join(question.if_wrong)


def test_whoever_counts_wrongly_is_not_sent_to_the_display():
    counted = {name: each.link for name, each in ASKED.items() if name != "wrist"}
    assert {home.prediction().link, *counted.values()} == {"chance"}
    assert ASKED["wrist"].link == "ratio"
    told = ASKED["who"].check(0).feedback
    assert told.endswith("Look again at how much one reading can say about one person.")


def test_a_shifting_probe_makes_the_wrist_read_low():
    finger, wrist = (
        Scenario(site=site, perfusion_index_percent=perfusion, coupling_percent=0.1)
        for site, perfusion in (("finger", 3.0), ("wrist", 0.3))
    )
    assert measure(simulate(finger, seed=99)).spo2_percent > 96.0
    assert measure(simulate(wrist, seed=99)).spo2_percent < 94.0
    assert chosen(ASKED["wrist"]) == "It reads too low"
