"""Questions on the page: one to guess at before a panel, and checkpoints after it."""

from __future__ import annotations

import math
from collections.abc import Callable

import ipywidgets as widgets

from oximetry_workbook.panels import look
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.prose import html, together
from oximetry_workbook.teach import questions as bank
from oximetry_workbook.teach.checkpoint import ChoiceQuestion, NumberQuestion, Question, Verdict

TRIES_BEFORE_SOLUTION = 2


class QuestionCard:
    """One question with its answer field, a button and feedback.

    Attributes:
        widget: What to put on the page.
        field: Where the answer goes.
        solved: Whether a right answer was given.
    """

    def __init__(self, question: Question, answered: Callable[[], None], notice: Notice) -> None:
        self.question, self._answered = question, answered
        self.solved, self._tried = False, set[float | int]()
        self.field = _answer_field(question)
        self.feedback = widgets.HTML()
        self.feedback.add_class("ow-feedback")
        button = widgets.Button(description="Check")
        check = notice.guard(lambda _: self.check())
        button.on_click(check)
        if isinstance(question, NumberQuestion):
            self.field.observe(check, names="value")  # the Enter key
        text = widgets.HTML(f"<p>{html(question.text)}</p>")
        self.widget = widgets.VBox([text, self._row(), button, self.feedback])
        self.widget.add_class("ow-question")

    def check(self) -> None:
        """Judge the answer in the field and say so."""
        given = self._given()
        if isinstance(given, Verdict):
            verdict, tried = given, False
        else:
            verdict, tried = self.question.check(given), given is not None
        if tried:
            self._tried.add(given)  # the Enter key and the button may both bring the same answer
        words = verdict.feedback
        if not verdict.right and tried and len(self._tried) >= TRIES_BEFORE_SOLUTION:
            words += f" {self.question.solution}"
        mark = "right" if verdict.right else "wrong"
        self.feedback.value = f'<p class="ow-{mark}" role="status">{html(words)}</p>'
        if verdict.right and not self.solved:
            self.solved = True
            self._answered()

    def _given(self) -> float | int | Verdict | None:
        """Return the answer in the field, None for none, or a verdict on what is no number."""
        if not isinstance(self.question, NumberQuestion):
            return self.field.index
        try:
            return _number(self.field.value)
        except ValueError as error:
            return Verdict(False, f"{error}.")

    def _row(self) -> widgets.Widget:
        label = widgets.Label("Your answer")
        parts = [label, self.field]
        if isinstance(self.question, NumberQuestion):
            parts.append(widgets.Label(self.question.unit))
        row = widgets.HBox(parts)
        row.add_class("ow-control")
        return row


class Checkpoints:
    """A chapter's checkpoints and how many are solved.

    Attributes:
        cards: The questions.
        widget: What to put on the page.
    """

    def __init__(self, chapter: str) -> None:
        self._chapter, notice = chapter, Notice()
        self.cards = [QuestionCard(q, self._show, notice) for q in bank.checkpoints(chapter)]
        self._progress = widgets.HTML()
        cards = [card.widget for card in self.cards]
        self.widget = widgets.VBox([look.style(), notice, *cards, self._progress])
        self.widget.add_class("ow-panel")
        self.widget.add_class("ow-questions")
        self._show()

    def _show(self) -> None:
        solved, all_of_them = sum(card.solved for card in self.cards), len(self.cards)
        self._progress.value = (
            f'<p class="ow-progress" role="status" data-ow-progress="{self._chapter}" '
            f'data-ow-solved="{solved}" data-ow-questions="{all_of_them}">'
            f"{solved} of {all_of_them} answered<span data-ow-earlier></span></p>"
        )


class Prediction:
    """A guess to commit to before the panel, with the answer behind a second button.

    Attributes:
        widget: What to put on the page.
        field: Where the guess goes.
        answer: Where the reveal appears.
    """

    def __init__(self, chapter: str) -> None:
        self._question, notice = bank.prediction(chapter), Notice()
        self.field = _answer_field(self._question)
        self.answer = widgets.HTML()
        self.answer.add_class("ow-feedback")
        button = widgets.Button(description="Reveal")
        button.on_click(notice.guard(lambda _: self.reveal()))
        text = widgets.HTML(f"<p><strong>Predict.</strong> {html(self._question.text)}</p>")
        row = widgets.HBox([widgets.Label("Your guess"), self.field])
        row.add_class("ow-control")
        self.widget = widgets.VBox([look.style(), notice, text, row, button, self.answer])
        for name in ("ow-panel", "ow-questions", "ow-predict"):
            self.widget.add_class(name)

    def reveal(self) -> None:
        """Hold the guess against the answer; without a guess, ask for one first."""
        if self.field.index is None:
            self.answer.value = '<p class="ow-wrong" role="status">Make a guess first.</p>'
            return
        verdict = self._question.check(self.field.index)
        overlooked = self._question.overlooked(self.field.index)
        told = f"{overlooked} {self._question.solution}".strip()
        words = verdict.feedback if verdict.right else told
        mark = "right" if verdict.right else "wrong"
        self.answer.value = f'<p class="ow-{mark}" role="status">{html(words)}</p>'


def _answer_field(question: Question) -> widgets.Widget:
    if isinstance(question, ChoiceQuestion):
        return widgets.RadioButtons(
            options=[together(option) for option in question.options], index=None
        )
    field = widgets.Text(placeholder="a number", continuous_update=False)
    field.layout.width = "8rem"
    return field


def _number(given: str) -> float | None:
    """Read what was typed, with a decimal point or comma; None for nothing.

    Raises:
        ValueError: When the text is no number.
    """
    text = given.strip().rstrip("%").strip().replace("−", "-").replace(",", ".")
    if not text:
        return None
    try:
        number = float(text)
    except ValueError:
        number = math.nan
    if not math.isfinite(number):  # float() takes the words nan and inf, too
        raise ValueError(f"“{given}” is not a number; write something like 97 or 0.61")
    return number


def checkpoints(chapter: str) -> widgets.VBox:
    """Show a chapter's checkpoints.

    Raises:
        ValueError: For an unknown chapter.
    """
    return Checkpoints(chapter).widget


def predict(chapter: str) -> widgets.VBox:
    """Show a chapter's question to guess at before its panel.

    Raises:
        ValueError: For an unknown chapter.
    """
    return Prediction(chapter).widget
