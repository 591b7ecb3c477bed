"""The answer key of the oxygen chapter, reckoned another way."""

import numpy as np
import pytest

from oximetry_workbook.oxygen.dissociation import po2_mmhg, saturation
from oximetry_workbook.teach.checkpoint import ChoiceQuestion, NumberQuestion
from oximetry_workbook.teach.questions import checkpoints, prediction

QUESTIONS = (prediction("oxygen"), *checkpoints("oxygen"))
CHOICES = [question for question in QUESTIONS if isinstance(question, ChoiceQuestion)]
NUMBERS = [question for question in QUESTIONS if isinstance(question, NumberQuestion)]


def about(words):
    found = [question for question in QUESTIONS if words in question.text]
    assert len(found) == 1, words
    return found[0]


def chosen(question):
    return question.options[question.answer]


@pytest.mark.parametrize("question", CHOICES, ids=lambda question: question.text[:30])
def test_choices_accept_the_right_one_alone(question):
    assert len(set(question.options)) == len(question.options) >= 3
    verdicts = [question.check(index).right for index in range(len(question.options))]
    assert verdicts.count(True) == 1
    assert verdicts[question.answer]


@pytest.mark.parametrize("question", NUMBERS, ids=lambda question: question.text[:30])
def test_numbers_accept_what_is_near(question):
    assert question.check(question.answer).right
    assert not question.check(question.answer + 1.01 * question.tolerance).right
    assert not question.check(question.answer - 1.01 * question.tolerance).right


def test_there_are_both_kinds():
    assert len(checkpoints("oxygen")) >= 5
    assert min(len(CHOICES), len(NUMBERS)) >= 2


def test_lost_haemoglobin():
    """Saturation comes from oxygen pressure alone; that does not change."""
    assert chosen(about("lost half")) == "It hardly moves"


def test_shoulder():
    """Severinghaus 1979, table 1: 89.95 % at 58 mmHg, 90.85 % at 60 mmHg, interpolated."""
    question = about("90 % saturated")
    tabulated = np.interp(90.0, [89.95, 90.85], [58.0, 60.0])
    assert question.answer == pytest.approx(tabulated, abs=0.75)
    assert question.answer == pytest.approx(po2_mmhg(0.9))


def test_two_falls():
    """The same table: 97.25 to 96.42 % from 95 to 85 mmHg, 85.08 to 74.69 % from 50 to 40."""
    question = about("Two patients")
    assert 97.25 - 96.42 < 85.08 - 74.69
    assert chosen(question) == "The second one’s"


def test_working_muscle():
    assert saturation(40.0, ph=7.2, temperature_c=39.0) < saturation(40.0)
    assert "gives off more" in chosen(about("working muscle"))


@pytest.mark.parametrize("huefner", [1.34, 1.36, 1.39])
def test_thin_blood_at_98_holds_as_much_as_full_blood_at(huefner):
    """Whichever of the usual numbers somebody learnt, and with or without what is dissolved."""
    question = about("How low would the saturation")
    thin = huefner * 10 * 0.98 + 0.003 * 100
    assert question.check(100 * (thin - 0.003 * 34) / (huefner * 15)).right
    assert question.check(100 * 0.98 * 10 / 15).right
    assert not question.check(98).right


def test_poisoned_blood_gives_off_less():
    """Penney, figure 9.02 (see tests/published): poisoned blood unloads less than anaemic."""
    assert "poisoned" in chosen(about("Two people"))


def test_only_a_weak_heart_is_silent():
    """By Severinghaus' curve: low pressure and acid show, whatever they do to delivery."""
    question = about("only half as much oxygen")
    assert 100 * (saturation(95.0) - saturation(45.0)) > 10.0
    acid = 100 * (saturation(95.0) - saturation(95.0, ph=7.1))
    assert acid > 2.0
    assert saturation(95.0, ph=7.1) / saturation(95.0) > 0.9
    assert "2.5 instead of 5 litres" in chosen(question)
    assert "97 % and 497 mL/min" in question.why


def test_breathing_more_helps():
    """The alveolar gas equation in its short form: 13 mmHg less carbon dioxide, 16 more oxygen."""
    question = about("At 5000 m")
    before, after = (0.21 * (405.4 - 47.0) - paco2 / 0.8 for paco2 in (40.0, 27.0))
    gain = saturation(after - 5.0) - saturation(before - 5.0)
    assert gain > 0.2
    assert chosen(question) == "It rises"
