"""The present state in five sentences to read out, at the level that fits the listeners."""

from __future__ import annotations

import ipywidgets as widgets

from oximetry_workbook.panels import look
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.prose import html
from oximetry_workbook.teach.explain import LEVELS, explain
from oximetry_workbook.teach.reading import Reading


class Explanation:
    """Five sentences that follow the state while they are unfolded.

    Attributes:
        toggle: The button that unfolds them.
        level: For whom they are.
        text: The sentences.
        widget: Level and sentences; to be put on the page.
    """

    def __init__(self, notice: Notice) -> None:
        self._reading: Reading | None = None
        self.toggle = widgets.ToggleButton(value=False, description="Explain this state")
        self.level = widgets.ToggleButtons(
            options=[(level.capitalize(), level) for level in LEVELS], value=LEVELS[0]
        )
        self.text = widgets.HTML()
        self.widget = widgets.VBox([self.level, self.text])
        for name in ("ow-explanation", "ow-folded"):
            self.widget.add_class(name)
        self.toggle.observe(notice.guard(self._fold), names="value")
        self.level.observe(notice.guard(self._write), names="value")

    def show(self, reading: Reading) -> None:
        """Take note of a reading, and tell of it if somebody listens."""
        self._reading = reading
        self._write()

    def _fold(self, change: dict[str, bool]) -> None:
        self._write()
        look.mark(self.widget, "ow-folded", not change["new"])

    def _write(self, _: object = None) -> None:
        if self.toggle.value and self._reading is not None:
            sentences = "".join(
                f"<li>{html(s)}</li>" for s in explain(self._reading, self.level.value)
            )
            self.text.value = f"<ol>{sentences}</ol>"
