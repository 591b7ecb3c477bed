"""Questions on the page, driven without a browser: what is typed, told, counted and shown."""

import re
from html import unescape

import ipywidgets as widgets
import pytest
from hypothesis import given
from hypothesis import strategies as st

from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.prose import NO_BREAK_SPACE
from oximetry_workbook.panels.questions import (
    Checkpoints,
    Prediction,
    QuestionCard,
    _number,
    checkpoints,
    predict,
)
from oximetry_workbook.teach import questions as bank
from oximetry_workbook.teach.checkpoint import LINKS, ChoiceQuestion, NumberQuestion

CHOICE = ChoiceQuestion("Which <one>?", ("red", "green", "blue"), 1, "Grass is.", "blood")
SHARE = NumberQuestion("How much?", "%", 90.0, 0.5, "It says 90.", "curve")
BELOW = NumberQuestion("How far?", "points", -2.5, 0.1, "Down.", "curve")
LOOK_AGAIN = f"Look again at {LINKS['curve']}."

every_chapter = pytest.mark.parametrize("chapter", bank.CHAPTERS)


class Page:
    """A card on a page, and how often it was solved."""

    def __init__(self, question):
        self.solved, self.notice = 0, Notice()
        self.card = QuestionCard(question, self._answered, self.notice)

    def _answered(self):
        self.solved += 1

    def type(self, text):
        self.card.field.value = text  # the Enter key: the field hands over its text
        return told(self.card.feedback)

    def choose(self, index):
        self.card.field.index = index
        self.press()
        return told(self.card.feedback)

    def press(self):
        button_of(self.card.widget).click()


def told(html):
    return unescape(re.sub("<[^>]+>", "", html.value)).replace(NO_BREAK_SPACE, " ")


def all_in(widget):
    yield widget
    for child in getattr(widget, "children", ()):
        yield from all_in(child)


def button_of(widget):
    [button] = [each for each in all_in(widget) if isinstance(each, widgets.Button)]
    return button


def texts_in(widget):
    return [each.value for each in all_in(widget) if isinstance(each, widgets.HTML | widgets.Label)]


def answer(card, right=True):
    question = card.question
    if isinstance(question, NumberQuestion):
        card.field.value = f"{question.answer + (0 if right else 3 * question.tolerance):.6f}"
    else:
        card.field.index = (question.answer + (not right)) % len(question.options)
    card.check()


@pytest.fixture(autouse=True)
def _closed():
    yield
    widgets.Widget.close_all()


@pytest.mark.parametrize("typed", ["90", "90.4", "90,4", " 89,6 ", "90 %", "90%", "+90", "9e1"])
def test_a_number_is_read_however_people_write_it(typed):
    page = Page(SHARE)
    assert page.type(typed) == "Yes. It says 90."
    assert page.card.solved
    assert page.solved == 1


@pytest.mark.parametrize("typed", ["-2.5", "−2.5", "−2,5", "−2.45"])
def test_a_minus_sign_of_either_kind_is_read(typed):
    assert Page(BELOW).type(typed) == "Yes. Down."
    assert Page(BELOW).type("2.5").startswith("That is too high.")


@given(st.floats(-1e4, 1e4), st.sampled_from([".", ","]), st.sampled_from(["", "%", " %"]))
def test_a_number_written_with_point_or_comma_is_the_same_number(value, point, unit):
    typed = f"{value:.3f}".replace(".", point).replace("-", "−") + unit
    assert _number(typed) == pytest.approx(value, abs=0.0005001)


@pytest.mark.parametrize(
    "typed", ["ninety", "90 mmHg", "1.000,5", "9 0", "nan", "inf", "-inf", "1e999", "--3", "."]
)
def test_text_is_refused_with_a_message_and_counts_as_no_try(typed):
    page = Page(SHARE)
    for _ in range(3):
        said = page.type(typed)
        page.press()
        assert said == f"“{typed}” is not a number; write something like 97 or 0.61."
    assert page.notice.value == ""
    assert not page.card.solved
    assert page.type("80") == f"That is too low. {LOOK_AGAIN}"  # a first try, without a solution


@given(st.text(max_size=12))
def test_whatever_is_typed_is_judged_in_a_sentence(typed):
    page = Page(SHARE)
    page.type(typed)
    page.press()
    assert page.notice.value == ""
    assert told(page.card.feedback).endswith((".", "?"))
    assert "<script" not in page.card.feedback.value


@pytest.mark.parametrize("typed", ["", "   ", "%", " % "])
def test_an_empty_field_is_asked_for_a_number(typed):
    page = Page(SHARE)
    page.card.field.value = typed
    page.press()
    assert told(page.card.feedback) == "Type a number first."


def test_a_choice_not_made_is_asked_for():
    page = Page(CHOICE)
    page.press()
    page.press()
    assert told(page.card.feedback) == "Choose an answer first."
    assert page.choose(0) == f"No. Look again at {LINKS['blood']}."


def test_a_choice_is_judged_by_the_button_only():
    page = Page(CHOICE)
    page.card.field.index = 1
    assert page.card.feedback.value == ""
    page.press()
    assert told(page.card.feedback) == "Yes. Grass is."


def test_the_solution_of_a_choice_comes_with_the_second_wrong_try():
    page = Page(CHOICE)
    assert CHOICE.solution not in page.choose(0)
    assert page.choose(2) == f"No. Look again at {LINKS['blood']}. {CHOICE.solution}"
    assert not page.card.solved


def test_the_solution_of_a_number_comes_with_the_second_wrong_try():
    page = Page(SHARE)
    assert page.type("80") == f"That is too low. {LOOK_AGAIN}"
    assert page.type("95") == f"That is too high. {LOOK_AGAIN} {SHARE.solution}"
    assert page.type("70").endswith(SHARE.solution)


def test_the_same_answer_again_is_not_another_try():
    """The Enter key and the button may both bring it."""
    page = Page(SHARE)
    page.type("80")
    for _ in range(3):
        page.press()
    assert SHARE.solution not in told(page.card.feedback)
    page.type("80,0")
    assert SHARE.solution not in told(page.card.feedback)


def test_a_fraction_for_a_percentage_is_pointed_out_and_can_be_mended():
    page = Page(SHARE)
    assert page.type("0.9") == "Right idea, but it is asked in percent: 90, not 0.9."
    assert page.type("90") == "Yes. It says 90."


def test_a_right_answer_after_the_solution_is_right_and_brings_no_solution():
    page = Page(SHARE)
    for typed in ("70", "80"):
        page.type(typed)
    assert page.type("90") == "Yes. It says 90."


def test_solved_is_told_once_and_stays():
    page = Page(SHARE)
    for typed in ("90", "90.1", "80", "90"):
        page.type(typed)
    assert page.solved == 1
    assert page.card.solved


def test_right_and_wrong_are_marked_and_read_out():
    page = Page(SHARE)
    page.type("80")
    assert '<p class="ow-wrong" role="status">' in page.card.feedback.value
    page.type("90")
    assert '<p class="ow-right" role="status">' in page.card.feedback.value


def test_markup_in_a_question_or_an_answer_is_shown_as_text():
    shown = " ".join(texts_in(Page(CHOICE).card.widget))
    assert "Which &lt;one&gt;?" in shown
    page = Page(SHARE)
    page.type("<b>90</b>")
    assert "<b>" not in page.card.feedback.value


def test_a_number_field_names_its_unit_and_a_choice_offers_its_options():
    assert "points" in texts_in(Page(BELOW).card.widget)
    field = Page(CHOICE).card.field
    assert tuple(field.options) == CHOICE.options
    assert field.index is None


def test_a_failure_inside_is_told_in_the_notice():
    def fail():
        raise RuntimeError("deep inside")

    notice = Notice()
    card = QuestionCard(SHARE, fail, notice)
    card.field.value = "90"
    assert "Something went wrong" in notice.value
    assert "deep inside" not in notice.value


@every_chapter
def test_progress_counts_what_is_solved(chapter):
    page = Checkpoints(chapter)
    progress, count = page.widget.children[-1], len(page.cards)
    assert [card.question for card in page.cards] == list(bank.checkpoints(chapter))
    assert told(progress) == f"0 of {count} answered"
    for k, card in enumerate(page.cards):
        answer(card, right=False)
        assert told(progress) == f"{k} of {count} answered"
        answer(card)
        assert told(progress) == f"{k + 1} of {count} answered"
        assert f'data-ow-solved="{k + 1}" data-ow-questions="{count}"' in progress.value
    assert f'data-ow-progress="{chapter}"' in progress.value
    answer(page.cards[0], right=False)
    assert told(progress) == f"{count} of {count} answered"


@every_chapter
def test_a_right_guess_is_told_why(chapter):
    page, question = Prediction(chapter), bank.prediction(chapter)
    page.field.index = question.answer
    assert page.answer.value == ""
    button_of(page.widget).click()
    assert told(page.answer) == f"Yes. {question.why}"
    assert "ow-right" in page.answer.value


@every_chapter
def test_a_wrong_guess_gets_the_solution_at_once(chapter):
    page, question = Prediction(chapter), bank.prediction(chapter)
    chosen = (question.answer + 1) % len(question.options)
    page.field.index = chosen
    button_of(page.widget).click()
    assert told(page.answer) == f"{question.overlooked(chosen)} {question.solution}".strip()
    assert "ow-wrong" in page.answer.value


def test_a_guess_can_be_mended_after_the_reveal():
    page, question = Prediction("bench"), bank.prediction("bench")
    page.field.index = (question.answer + 1) % len(question.options)
    page.reveal()
    page.field.index = question.answer
    page.reveal()
    assert told(page.answer) == f"Yes. {question.why}"


@every_chapter
def test_nothing_given_is_no_try(chapter):
    for card in Checkpoints(chapter).cards:
        for _ in range(3):
            card.check()
        assert told(card.feedback) in ("Choose an answer first.", "Type a number first.")


def test_nothing_is_revealed_without_a_guess():
    page = Prediction("ratio")
    button_of(page.widget).click()
    assert told(page.answer) == "Make a guess first."


@pytest.mark.parametrize("show", [checkpoints, predict])
def test_what_is_shown_belongs_to_the_workbook_and_unknown_chapters_are_refused(show):
    assert {"ow-panel", "ow-questions"} <= set(show("bench")._dom_classes)
    with pytest.raises(ValueError, match="chapter is 'liver'"):
        show("liver")


def test_an_answer_from_the_browser_is_answered_in_one_message_a_widget(wire):
    page = Checkpoints("bench")
    card = next(card for card in page.cards if isinstance(card.question, NumberQuestion))
    sent = wire.hear(card.field, value=f"{card.question.answer:.4f}")
    updates = [each.comm_id for each in sent if each.method == "update"]
    assert sorted(updates) == sorted([card.feedback.model_id, page.widget.children[-1].model_id])
