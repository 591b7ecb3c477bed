"""What a wrong answer is told: something of its own for each option, and never the answer."""

import re

import pytest

from oximetry_workbook.teach.checkpoint import LINKS, ChoiceQuestion, NumberQuestion
from oximetry_workbook.teach.questions import checkpoints, prediction

CHAPTERS = ("oxygen", "colour", "pulse", "ratio", "curve", "recording", "study")
BANK = [
    pytest.param(question, id=f"{chapter}-{number}")
    for chapter in CHAPTERS
    for number, question in enumerate((prediction(chapter), *checkpoints(chapter)))
]

every_question = pytest.mark.parametrize("question", BANK)


def hints(question):
    return question.if_wrong if isinstance(question, ChoiceQuestion) else (question.hint,)


def told_hints(question):
    if isinstance(question, ChoiceQuestion):
        return [hint for k, hint in enumerate(question.if_wrong) if k != question.answer]
    return [question.hint]


def wrong_answers(question):
    if isinstance(question, NumberQuestion):
        return [question.answer + share * question.tolerance for share in (-3.0, 3.0)]
    return [k for k in range(len(question.options)) if k != question.answer]


@every_question
def test_every_option_and_every_number_has_a_hint(question):
    assert len(hints(question)) == len(getattr(question, "options", ("number",)))
    for hint in hints(question):
        assert 20 <= len(hint) <= 160
        assert hint.endswith((".", "?"))
        assert hint[0].isupper()


@every_question
def test_a_hint_is_told_and_the_chapter_of_the_chain_after_it(question):
    for wrong in wrong_answers(question):
        feedback = question.check(wrong).feedback
        mine = question.if_wrong[wrong] if isinstance(question, ChoiceQuestion) else question.hint
        assert feedback.endswith(f"{mine} Look again at {LINKS[question.link]}.")


@every_question
def test_no_hint_gives_the_answer_away(question):
    """The hint of the right option is never told, and may name it."""
    for hint in told_hints(question):
        if isinstance(question, ChoiceQuestion):
            words = question.options[question.answer].lower()
            assert not re.search(rf"\b{re.escape(words)}\b", hint.lower())
        else:
            numbers = [float(number) for number in re.findall(r"\d+(?:\.\d+)?", hint)]
            assert not any(question.check(number).right for number in numbers)
