"""The strip of plain-language numbers and the sentence that says what is going on."""

from __future__ import annotations

from collections.abc import Mapping

import ipywidgets as widgets

from oximetry_workbook.panels.prose import html
from oximetry_workbook.teach.reading import Reading
from oximetry_workbook.teach.words import main_sentence, reading_numbers


class NumbersStrip:
    """What the meter shows, the truth, the error, and what stands behind them."""

    def __init__(self) -> None:
        self._numbers = widgets.HTML()
        self._sentence = widgets.HTML()
        self._sentence.add_class("ow-live")
        self._reference: Reading | None = None
        self.widget = widgets.VBox([self._numbers, self._sentence])
        self.widget.add_class("ow-strip")

    def show(self, reading: Reading) -> None:
        """Write a reading."""
        kept = self._reference
        self._numbers.value = numbers_html(
            reading_numbers(reading), None if kept is None else reading_numbers(kept)
        )
        self._sentence.value = html(main_sentence(reading))

    def show_reference(self, reference: Reading | None) -> None:
        """Write the reference's numbers beside the next ones shown, or no longer."""
        self._reference = reference


def numbers_html(values: Mapping[str, str], before: Mapping[str, str] | None = None) -> str:
    """Write numbers by name as HTML, each with the one kept from before where there is one."""
    cells = [
        _cell(words, value, None if before is None else before[words])
        for words, value in values.items()
    ]
    return f'<div class="ow-numbers">{"".join(cells)}</div>'


def _cell(words: str, value: str, before: str | None) -> str:
    then = "" if before is None else f'<div class="ow-before">kept: {html(before)}</div>'
    return (
        f'<div class="ow-cell"><div class="ow-words">{html(words)}</div>'
        f'<div class="ow-value">{html(value)}</div>{then}</div>'
    )
