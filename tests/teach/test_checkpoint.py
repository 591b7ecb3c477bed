"""Questions: what is right, what is told, and every chapter's set of them."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from oximetry_workbook.teach import questions
from oximetry_workbook.teach.checkpoint import LINKS, ChoiceQuestion, NumberQuestion


def choice(answer=1, link="ratio"):
    return ChoiceQuestion("Which?", ("first", "second", "third"), answer, "So it is.", link)


def number(answer=97.0, tolerance=0.5, unit="%", link="curve"):
    return NumberQuestion("How much?", unit, answer, tolerance, "So it is.", link)


def test_a_choice_is_right_or_says_where_to_look():
    assert choice().check(1).right
    assert choice().check(1).feedback == "Yes. So it is."
    wrong = choice().check(0)
    assert not wrong.right
    assert LINKS["ratio"] in wrong.feedback
    assert "second" not in wrong.feedback
    assert choice().check(None).feedback == "Choose an answer first."
    assert "second" in choice().solution


@given(st.floats(-1000.0, 1000.0), st.floats(0.01, 10.0), st.floats(-3.0, 3.0))
def test_a_number_is_right_within_its_tolerance_only(answer, tolerance, off):
    given_number = answer + off * tolerance
    verdict = number(answer, tolerance, unit="").check(given_number)
    assert verdict.right == (abs(given_number - answer) <= tolerance)
    if not verdict.right:
        assert ("too high" if given_number > answer else "too low") in verdict.feedback
        assert LINKS["curve"] in verdict.feedback


def test_a_fraction_for_a_percentage_is_told():
    verdict = number().check(0.97)
    assert not verdict.right
    assert "asked in percent: 97, not 0.97" in verdict.feedback
    assert "percent" not in number(unit="nm").check(0.97).feedback
    assert number().check(None).feedback == "Type a number first."
    assert number().solution == "The answer is 97 %. So it is."


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: choice(answer=3), "answer is 3; there are 3 options"),
        (lambda: choice(answer=-1), "answer is -1"),
        (lambda: choice(link="nose"), "link is 'nose'"),
        (lambda: number(tolerance=0.0), "tolerance is 0; it must be above 0"),
        (lambda: number(tolerance=math.nan), "tolerance is nan"),
        (lambda: number(link="nose"), "link is 'nose'"),
    ],
)
def test_a_question_that_cannot_be_asked_is_refused(make, message):
    with pytest.raises(ValueError, match=message):
        make()


@pytest.mark.parametrize("chapter", questions.CHAPTERS)
def test_every_chapter_has_its_questions(chapter):
    guess, asked = questions.prediction(chapter), questions.checkpoints(chapter)
    assert isinstance(guess, ChoiceQuestion)
    assert len(asked) >= 4
    kinds = {type(question) for question in asked}
    assert kinds == {ChoiceQuestion, NumberQuestion}
    assert len({question.text for question in (guess, *asked)}) == len(asked) + 1
    for question in (guess, *asked):
        if isinstance(question, ChoiceQuestion):
            assert len(set(question.options)) == len(question.options) >= 2
            verdicts = [question.check(k).right for k in range(len(question.options))]
            assert verdicts.count(True) == 1
        else:
            assert math.isfinite(question.answer)
            assert question.check(question.answer).right
            assert not question.check(question.answer + 3.0 * question.tolerance).right
        assert question.text.rstrip().endswith(("?", "."))
        assert not {"nan", "None", "inf"} & set(question.solution.replace(".", " ").split())


def test_an_unknown_chapter_is_refused():
    with pytest.raises(ValueError, match="chapter is 'soup'; choose one of oxygen"):
        questions.checkpoints("soup")
