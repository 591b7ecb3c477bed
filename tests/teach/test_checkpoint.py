"""Questions: verdicts, hints, tolerance, and the bank of every chapter."""

import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from oximetry_workbook.teach.checkpoint import LINKS, ChoiceQuestion, NumberQuestion
from oximetry_workbook.teach.questions import CHAPTERS, checkpoints, prediction

COLOURS = ChoiceQuestion("Which?", ("red", "green", "blue"), 1, "Grass is.", "blood")
SHARE = NumberQuestion("How much?", "%", 90.0, 0.5, "It says 90.", "curve")
RATIO = NumberQuestion("Which R?", "", 0.75, 0.125, "Three quarters.", "ratio")

PREDICTIONS = {chapter: prediction(chapter) for chapter in CHAPTERS}
CHECKPOINTS = {chapter: checkpoints(chapter) for chapter in CHAPTERS}
BANK = [
    pytest.param(question, id=f"{chapter}-{number}")
    for chapter in CHAPTERS
    for number, question in enumerate((PREDICTIONS[chapter], *CHECKPOINTS[chapter]))
]

every_question = pytest.mark.parametrize("question", BANK)
every_chapter = pytest.mark.parametrize("chapter", CHAPTERS)


def wrong_answers(question):
    if isinstance(question, ChoiceQuestion):
        return [k for k in range(len(question.options)) if k != question.answer]
    shares = (-3.0, -1.1, -1.01, 1.01, 1.1, 3.0)
    return [question.answer + share * question.tolerance for share in shares]


def test_the_right_option_is_told_why():
    verdict = COLOURS.check(1)
    assert verdict.right
    assert verdict.feedback == "Yes. Grass is."


@pytest.mark.parametrize("chosen", [0, 2])
def test_a_wrong_option_is_sent_to_the_link(chosen):
    verdict = COLOURS.check(chosen)
    assert not verdict.right
    assert verdict.feedback == "No. Look again at what haemoglobin does to each colour."


@pytest.mark.parametrize(("question", "asked"), [(COLOURS, "Choose"), (SHARE, "Type")])
def test_without_an_answer_one_is_asked_for(question, asked):
    verdict = question.check(None)
    assert not verdict.right
    assert verdict.feedback.startswith(asked)


def test_solutions_name_the_answer_and_why():
    assert COLOURS.solution == "The answer is “green”. Grass is."
    assert SHARE.solution == "The answer is 90 %. It says 90."
    assert RATIO.solution == "The answer is 0.75. Three quarters."


@pytest.mark.parametrize(
    ("given", "way"), [(0.5, "too low"), (1.0, "too high"), (-0.75, "too low")]
)
def test_a_wrong_number_is_told_its_way_and_sent_to_the_link(given, way):
    verdict = RATIO.check(given)
    assert not verdict.right
    assert verdict.feedback == f"That is {way}. Look again at the ratio of ratios R."


@pytest.mark.parametrize("edge", [0.625, 0.875])
def test_the_edges_of_the_tolerance_count_and_the_next_number_does_not(edge):
    """Eighths are exact in binary, so that the edge is where it is written."""
    beyond = math.nextafter(edge, edge + (edge - RATIO.answer))
    assert RATIO.check(edge).right
    assert not RATIO.check(beyond).right


@given(st.floats(-1e6, 1e6), st.floats(1e-3, 1e3), st.floats(-5.0, 5.0))
def test_a_number_is_right_within_the_tolerance_and_only_there(answer, tolerance, share):
    question = NumberQuestion("?", "nm", answer, tolerance, "So.", "light")
    verdict = question.check(answer + share * tolerance)
    if abs(abs(share) - 1.0) > 1e-3:
        assert verdict.right == (abs(share) < 1.0)
    if not verdict.right:
        assert ("too high" in verdict.feedback) == (share > 0.0)


@pytest.mark.parametrize("given", [0.9, 0.896, 0.904])
def test_a_fraction_given_for_a_percentage_is_pointed_out(given):
    verdict = SHARE.check(given)
    assert not verdict.right
    assert "percent" in verdict.feedback
    assert f"{100 * given:g}, not {given:g}" in verdict.feedback


def test_a_wrong_fraction_gets_no_such_hint():
    assert "percent" not in SHARE.check(0.8).feedback


def test_only_percentages_get_that_hint():
    question = NumberQuestion("How long?", "nm", 90.0, 0.5, "So.", "light")
    assert "percent" not in question.check(0.9).feedback


@pytest.mark.parametrize("answer", [-1, 3])
def test_an_answer_that_is_no_option_is_refused(answer):
    with pytest.raises(ValueError, match=f"answer is {answer}; there are 3 options"):
        ChoiceQuestion("Which?", ("a", "b", "c"), answer, "So.", "blood")


@pytest.mark.parametrize("tolerance", [0.0, -1.0, math.nan])
def test_a_tolerance_not_above_nothing_is_refused(tolerance):
    with pytest.raises(ValueError, match=r"tolerance is .*; it must be above 0"):
        NumberQuestion("How much?", "%", 1.0, tolerance, "So.", "curve")


def test_an_unknown_link_is_refused_with_the_known_ones():
    with pytest.raises(ValueError, match="link is 'liver'; choose one of oxygen, blood"):
        ChoiceQuestion("Which?", ("a", "b"), 0, "So.", "liver")
    with pytest.raises(ValueError, match="link is 'liver'"):
        NumberQuestion("How much?", "%", 1.0, 0.1, "So.", "liver")


@every_chapter
def test_a_chapter_has_a_prediction_and_at_least_four_checkpoints_of_both_kinds(chapter):
    assert isinstance(PREDICTIONS[chapter], ChoiceQuestion)
    assert len(CHECKPOINTS[chapter]) >= 4
    assert {type(each) for each in CHECKPOINTS[chapter]} == {ChoiceQuestion, NumberQuestion}


@every_chapter
def test_no_question_is_asked_twice(chapter):
    texts = [each.text for each in (PREDICTIONS[chapter], *CHECKPOINTS[chapter])]
    assert len(set(texts)) == len(texts)


@pytest.mark.parametrize("ask", [prediction, checkpoints])
@pytest.mark.parametrize("chapter", ["liver", "", "..checkpoint", "Oxygen"])
def test_an_unknown_chapter_is_refused_with_the_known_ones(ask, chapter):
    known = ", ".join(CHAPTERS)
    with pytest.raises(ValueError, match=f"chapter is {re.escape(repr(chapter))}.*{known}"):
        ask(chapter)


@every_question
def test_right_answers_are_accepted_and_wrong_ones_refused(question):
    assert math.isfinite(question.answer)
    assert question.check(question.answer).right
    if isinstance(question, NumberQuestion):
        close = (question.answer + share * question.tolerance for share in (-0.9, 0.9))
        assert all(question.check(each).right for each in close)
    assert not any(question.check(each).right for each in wrong_answers(question))


@every_question
def test_options_differ_and_the_link_is_known(question):
    assert question.link in LINKS
    if isinstance(question, ChoiceQuestion):
        told = {option.strip().lower() for option in question.options}
        assert len(told) == len(question.options) >= 2


@every_question
def test_a_first_wrong_try_does_not_give_the_answer_away(question):
    """It says the way, what was overlooked and the link, but neither option nor number."""
    for wrong in wrong_answers(question):
        feedback = question.check(wrong).feedback
        assert feedback.startswith(("No. ", "That is too high. ", "That is too low. "))
        assert feedback.endswith(f" Look again at {LINKS[question.link]}.")
        assert answer_in_words(question) not in re.findall(r"[^\s:;,()]+", feedback)
        if isinstance(question, ChoiceQuestion):
            assert question.options[question.answer] not in feedback


def answer_in_words(question):
    """The number that the solution prints; None for a choice."""
    if isinstance(question, ChoiceQuestion):
        return None
    return re.match(r"The answer is (-?[\d.]*\d)", question.solution)[1]


@every_question
def test_the_answer_as_the_solution_prints_it_is_itself_accepted(question):
    """A learner who types what the solution says must be told that it is right."""
    if isinstance(question, NumberQuestion):
        printed = re.match(r"The answer is (-?[\d.]*\d)", question.solution)
        assert question.check(float(printed[1])).right
    else:
        assert f"“{question.options[question.answer]}”" in question.solution


@every_question
def test_words_are_plain(question):
    words = [question.text, question.why, question.solution, *getattr(question, "options", ())]
    for text in words:
        assert text == text.strip() != ""
        assert not re.search(r"\b(None|nan|inf|array)\b|\d[eE][-+]?\d|[<>{}]|  ", text)
    assert question.text.endswith(("?", "."))
    assert question.why.endswith(".")


def test_a_wrong_option_is_told_what_was_overlooked_and_the_right_one_is_not():
    question = ChoiceQuestion(
        "Which?", ("red", "green"), 1, "Grass is.", "blood", ("Poppies are no grass.", "Hidden.")
    )
    assert question.check(0).feedback.startswith("No. Poppies are no grass. Look again at ")
    assert question.overlooked(0) == "Poppies are no grass."
    assert question.overlooked(1) == ""
    assert "Hidden" not in question.check(1).feedback
    with pytest.raises(ValueError, match="if_wrong has 1 entries; there are 2 options"):
        ChoiceQuestion("Which?", ("red", "green"), 1, "Grass is.", "blood", ("One.",))


def test_a_wrong_number_gets_the_hint():
    question = NumberQuestion("Which R?", "", 0.75, 0.125, "So.", "ratio", "Divide twice.")
    assert question.check(2.0).feedback.startswith("That is too high. Divide twice. Look again")
    assert "Divide" not in question.check(0.75).feedback


@every_question
def test_every_wrong_answer_gets_more_than_the_name_of_a_link(question):
    hints = question.if_wrong if isinstance(question, ChoiceQuestion) else (question.hint,)
    assert hints
    for hint in hints:
        assert len(hint) > 20
        assert hint.endswith((".", "?"))
