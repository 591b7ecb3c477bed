"""Questions on the page, driven without a browser."""

import pytest

from oximetry_workbook.panels.questions import Checkpoints, Prediction, _number
from oximetry_workbook.teach.checkpoint import NumberQuestion
from oximetry_workbook.teach.questions import CHAPTERS


def right_answer(card):
    if isinstance(card.question, NumberQuestion):
        return {"value": repr(card.question.answer)}
    return {"index": card.question.answer}


def give(card, **answer):
    for trait, value in answer.items():
        setattr(card.field, trait, value)
    card.check()


@pytest.mark.parametrize("chapter", CHAPTERS)
def test_right_answers_are_counted_once(chapter):
    shown = Checkpoints(chapter)
    for solved, card in enumerate(shown.cards):
        assert f'data-ow-solved="{solved}"' in shown._progress.value
        give(card, **right_answer(card))
        card.check()
        assert "ow-right" in card.feedback.value
    total = len(shown.cards)
    assert f"{total} of {total} answered" in shown._progress.value


def test_the_solution_comes_after_two_tries():
    card = next(c for c in Checkpoints("bench").cards if isinstance(c.question, NumberQuestion))
    give(card, value="1000")
    assert "too high" in card.feedback.value
    assert "The answer is" not in card.feedback.value
    give(card, value="2000")
    assert "The answer is" in card.feedback.value
    assert not card.solved


def test_nothing_given_is_no_try():
    for card in Checkpoints("bench").cards:
        for _ in range(3):
            card.check()
        assert "first." in card.feedback.value
        assert "The answer is" not in card.feedback.value


@pytest.mark.parametrize(
    ("text", "number"),
    [("0,61", 0.61), (" 97 % ", 97.0), ("−3.5", -3.5), ("", None), ("1e2", 100.0)],
)
def test_numbers_as_people_type_them(text, number):
    assert _number(text) == number


def test_text_is_refused_in_its_place_and_the_old_verdict_goes():
    card = Checkpoints("bench").cards[1]
    give(card, value="1000")
    give(card, value="soup")
    assert "“soup” is not a number" in card.feedback.value
    assert "too high" not in card.feedback.value
    give(card, value="0.5")
    assert "too low" in card.feedback.value


def test_the_enter_key_checks():
    card = Checkpoints("bench").cards[1]
    card.field.value = repr(card.question.answer)  # sent when Enter is pressed or the field left
    assert card.solved


def test_the_enter_key_and_the_button_are_one_try():
    card = Checkpoints("bench").cards[1]
    for _ in range(3):
        give(card, value="1000")
    assert "The answer is" not in card.feedback.value


def test_a_guess_is_asked_for_before_the_reveal():
    shown = Prediction("bench")
    shown.reveal()
    assert "Make a guess first." in shown.answer.value
    shown.field.index = (shown._question.answer + 1) % len(shown._question.options)
    shown.reveal()
    assert "ow-wrong" in shown.answer.value
    assert "The answer is" in shown.answer.value
    shown.field.index = shown._question.answer
    shown.reveal()
    assert "ow-right" in shown.answer.value
