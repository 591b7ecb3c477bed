"""The handout of a chapter: its text, its plots as they start, its questions, answers last."""

from __future__ import annotations

import ast
import json
from collections.abc import Iterator
from typing import Any

from oximetry_workbook import panels
from oximetry_workbook.panels.prose import html
from oximetry_workbook.panels.report import figures_of
from oximetry_workbook.teach import questions as bank
from oximetry_workbook.teach.checkpoint import Question
from oximetry_workbook.teach.page import Block, Page, Section
from oximetry_workbook.teach.page_lesson import CAUTION
from oximetry_workbook.teach.page_made import made_with
from oximetry_workbook.teach.page_prose import (
    Printed,
    Prose,
    answer_blocks,
    question_blocks,
    sections_of,
)

START = "In short"

WAITING = "Press the button"
"""So begins what a plot says that is empty until somebody presses: nothing for paper."""


class Gathering:
    """What has been gathered of a chapter, in the order of its cells."""

    def __init__(self) -> None:
        self.sections: list[tuple[str, list[Block]]] = [(START, [])]
        self.questions: list[tuple[str, Question]] = []

    def text(self, markdown: str) -> None:
        """Take a cell of text."""
        for heading, body in sections_of(markdown):
            if heading:
                self.sections.append((heading, []))
            if body.strip():
                self._here.append(Prose(body))

    def ask(self, asked: tuple[Question, ...]) -> None:
        """Take questions; they are counted through the chapter."""
        for question in asked:
            number = str(len(self.questions) + 1)
            self.questions.append((number, question))
            self._here.extend(question_blocks(number, question))

    def add(self, block: Block) -> None:
        """Take anything else."""
        self._here.append(block)

    @property
    def _here(self) -> list[Block]:
        return self.sections[-1][1]


def chapter_handout(notebook: str) -> Iterator[tuple[float, str | None]]:
    """Make the handout of a chapter.

    Args:
        notebook: The notebook's JSON text.

    Yields:
        Share done, and the page as HTML; None before it is ready.
    """
    content = json.loads(notebook)
    title, gathered = content["metadata"]["title"], Gathering()
    for number, cell in enumerate(content["cells"], 1):
        _take(gathered, cell, title)
        yield number / (len(content["cells"]) + 1), None
    yield 1.0, _page(title, gathered).html(html)


def _take(gathered: Gathering, cell: dict[str, Any], title: str) -> None:
    source = "".join(cell["source"])
    if cell["cell_type"] == "markdown":
        gathered.text(source.removeprefix(f"# {title}"))
        return
    for output in cell["outputs"]:
        gathered.add(Printed("".join(output.get("text", ""))))
    called = _called(source)
    if called is None:
        return
    name, argument = called
    if name == "predict":
        gathered.ask((bank.prediction(argument),))
    elif name == "checkpoints":
        gathered.ask(bank.checkpoints(argument))
    else:
        for figure in figures_of([getattr(panels, name)()]):
            if not figure.caption.startswith(WAITING):
                gathered.add(figure)


def _called(source: str) -> tuple[str, str] | None:
    """The panel that a cell shows and the text it is given, if it shows one."""
    last = ast.parse(source).body[-1]
    if not (isinstance(last, ast.Expr) and isinstance(last.value, ast.Call)):
        return None
    call = last.value
    if not (isinstance(call.func, ast.Name) and call.func.id in panels.__all__):
        return None
    return call.func.id, "".join(str(ast.literal_eval(each)) for each in call.args)


def _page(title: str, gathered: Gathering) -> Page:
    sections = [Section(heading, tuple(blocks)) for heading, blocks in gathered.sections if blocks]
    answers = [
        b for number, question in gathered.questions for b in answer_blocks(number, question)
    ]
    if answers:
        sections.append(Section("Answers", tuple(answers), new_page=True))
    return Page(title, "A chapter of the Oximetry Workbook", tuple(sections), CAUTION, made_with())
