"""A chapter's own text and questions as parts of a page to take away."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

from oximetry_workbook.teach.checkpoint import ChoiceQuestion, NumberQuestion, Question
from oximetry_workbook.teach.page import Block, Bullets, Paragraph, Subheading, Writer

if TYPE_CHECKING:
    from mistune import Markdown

LETTERS = "abcdefghij"


@dataclass(frozen=True)
class Prose:
    """Text in Markdown.

    Raw HTML in it is shown as text, and links and pictures keep only their words: a page on
    paper leads nowhere.
    """

    markdown: str

    def html(self, write: Writer) -> str:
        """Write the text as HTML; `write` has the last word on every piece of text."""
        return str(_markdown(write)(self.markdown))


@dataclass(frozen=True)
class Printed:
    """What a worked number printed, line by line."""

    text: str

    def html(self, write: Writer) -> str:
        """Write the lines as HTML."""
        return f"<pre>{write(self.text.rstrip())}</pre>"


@cache
def _markdown(write: Writer) -> Markdown:
    import mistune

    class Renderer(mistune.HTMLRenderer):
        def text(self, text: str) -> str:
            return write(text)

        def codespan(self, text: str) -> str:
            return f"<code>{write(text)}</code>"

        def block_code(self, code: str, **_: object) -> str:
            return f"<pre>{write(code)}</pre>"

        def link(self, text: str, **_: object) -> str:
            return text

        def image(self, text: str, **_: object) -> str:
            return text

        def inline_html(self, html: str) -> str:
            return write(html)

        def block_html(self, html: str) -> str:
            return f"<p>{write(html)}</p>"

        def heading(self, text: str, **_: object) -> str:
            return f"<h3>{text}</h3>"  # h1 and h2 are the page's and its sections'

    return mistune.create_markdown(renderer=Renderer(), plugins=["table"])


def sections_of(markdown: str) -> list[tuple[str, str]]:
    """Split text at its second-level headings: (heading, text) pairs, the first without one."""
    parts = re.split(r"^##\s+(.*?)\s*$", markdown, flags=re.MULTILINE)
    return [("", parts[0]), *zip(parts[1::2], parts[2::2], strict=True)]


def question_blocks(number: str, question: Question) -> list[Block]:
    """Return a question with its options, or with room for a number."""
    blocks: list[Block] = [Subheading(f"Question {number}"), Paragraph(question.text)]
    if isinstance(question, ChoiceQuestion):
        options = zip(LETTERS, question.options, strict=False)
        return [*blocks, Bullets(tuple(f"{letter}) {option}" for letter, option in options))]
    return [*blocks, Paragraph(f"My answer: ________ {question.unit}".rstrip())]


def answer_blocks(number: str, question: ChoiceQuestion | NumberQuestion) -> list[Block]:
    """Return a question's answer and the reason for it."""
    return [Subheading(f"Question {number}"), Paragraph(question.solution)]
