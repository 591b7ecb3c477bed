"""The words of the workbook, to look up."""

from __future__ import annotations

from typing import Any

import ipywidgets as widgets

from oximetry_workbook.panels import look
from oximetry_workbook.panels.chapters import CHAPTERS, link
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.prose import html
from oximetry_workbook.panels.tables import table
from oximetry_workbook.teach.glossary import GLOSSARY, Term, matching

HEADS = ("Word", "Meaning", "Unit", "Met in")
_CHAPTER_BY_NUMBER = {chapter.number: chapter for chapter in CHAPTERS}


class Glossary:
    """A table of words that shows those with a text in them.

    Attributes:
        field: Where to type what to look for.
        count: How many words are shown.
        table: The words.
        widget: What to put on the page.
    """

    def __init__(self) -> None:
        notice = Notice()
        self.field = widgets.Text(placeholder="a word, or part of one", continuous_update=True)
        self.count, self.table = widgets.HTML(), widgets.HTML()
        label = widgets.Label("Look up", layout=widgets.Layout(flex="0 0 auto"))
        row = widgets.HBox([label, self.field, self.count])
        row.layout = widgets.Layout(align_items="center", margin="0 0 0.8rem 0")
        row.add_class("ow-actions")
        self.widget = widgets.VBox([look.style(), notice, row, self.table])
        self.widget.add_class("ow-panel")
        self._show("")
        self.field.observe(notice.guard(self._typed), names="value")

    def _typed(self, change: dict[str, Any]) -> None:
        self._show(change["new"])

    def _show(self, wanted: str) -> None:
        found = matching(wanted)
        self.count.value = (
            f'<span role="status">{html(f"{len(found)} of {len(GLOSSARY)} words")}</span>'
        )
        self.table.value = table(HEADS, map(_row, found)) if found else _nothing(wanted)


def words() -> widgets.VBox:
    """Show the words of the workbook, with a field to look one up."""
    return Glossary().widget


def _row(term: Term) -> tuple[str, ...]:
    met_in = link(_CHAPTER_BY_NUMBER[term.chapter])
    return html(term.word), html(term.meaning), html(term.unit or "–"), met_in


def _nothing(wanted: str) -> str:
    return (
        f"<p>No word here has “{html(wanted.strip())}” in it. Try a shorter part of the word, or "
        "clear the field to see all.</p>"
    )
