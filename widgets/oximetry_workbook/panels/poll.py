"""A poll on the page: guesses typed or tapped in, bars, and the number among them."""

from __future__ import annotations

from collections.abc import Callable

import ipywidgets as widgets

from oximetry_workbook.panels import look
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.prose import html
from oximetry_workbook.teach.poll import SCALES, Poll, count_sentence, truth_sentence
from oximetry_workbook.teach.scene import GUESSES

MOST_RANGES = max(len(scale.firsts) for scale in SCALES.values())


class PollView:
    """Bars of what an audience guessed, and the means to enter it.

    Attributes:
        widget: What to put on the page.
        field: Where guesses are typed.
        more: Buttons that count one guess more, by range.
        fewer: Buttons that count one less.
    """

    def __init__(self, changed: Callable[[Poll], None], notice: Notice) -> None:
        """Make the parts.

        Args:
            changed: Called with the poll that a guess or Clear makes.
            notice: Where to tell of guesses that cannot be taken.
        """
        self._changed, self._poll = changed, Poll(next(iter(GUESSES)))
        self._heading, self._bars = widgets.HTML(), widgets.HTML()
        self.says = widgets.HTML()
        self.says.add_class("ow-poll-says")
        self.field = widgets.Text(continuous_update=False)
        self.field.observe(notice.guard(self._typed), names="value")  # Enter, or leaving the field
        self.more = self._tap_buttons("+", 1, notice)
        self.fewer = self._tap_buttons("−", -1, notice)
        self.widget = self._arrange(notice)

    def show(self, poll: Poll, truth: float | None, revealed: bool) -> None:
        """Draw a poll.

        Args:
            poll: The guesses.
            truth: The number guessed at; None where the meter withholds it.
            revealed: Whether the number is to be seen.
        """
        if self._poll.guess != poll.guess and self.field.value:
            self.field.value = ""  # what was half typed there belongs to another number
        self._poll = poll
        self.field.placeholder = poll.scale.example()
        self._heading.value = f"<h3>Your guess: {html(GUESSES[poll.guess].label)}</h3>"
        sentence = truth_sentence(poll, truth) if revealed else count_sentence(poll)
        self.says.value = html(sentence)
        self._bars.value = bars_html(poll, truth if revealed else None)
        for buttons, words in ((self.more, "One more"), (self.fewer, "One fewer")):
            self._name(buttons, words)

    def _name(self, buttons: list[widgets.Button], words: str) -> None:
        names = self._poll.scale.names()
        for place, button in enumerate(buttons):
            look.mark(button, "ow-folded", place >= len(names))
            button.tooltip = f"{words}: {names[place]}" if place < len(names) else ""

    def _typed(self, change: dict[str, str]) -> None:
        if change["new"].strip():
            self._changed(self._poll.with_typed(change["new"]))
            self.field.value = ""

    def _tap(self, place: int, by: int) -> None:
        self._changed(self._poll.with_tapped(place, by))

    def _tap_buttons(self, sign: str, by: int, notice: Notice) -> list[widgets.Button]:
        buttons = [widgets.Button(description=sign) for _ in range(MOST_RANGES)]
        for place, button in enumerate(buttons):
            button.on_click(notice.guard(lambda _, place=place: self._tap(place, by)))
        return buttons

    def _arrange(self, notice: Notice) -> widgets.VBox:
        label = widgets.Label("Guesses")
        clear = widgets.Button(description="Clear", tooltip="Clear: take all guesses away")
        clear.on_click(notice.guard(lambda _: self._changed(Poll(self._poll.guess))))
        entry = widgets.HBox([label, self.field, clear])
        entry.add_class("ow-control")
        top = widgets.HBox([self._heading, entry])
        top.add_class("ow-poll-top")
        taps = [widgets.HBox(row) for row in (self.more, self.fewer)]
        for row in taps:
            row.add_class("ow-poll-taps")
        self._bars.add_class("ow-poll-chart")
        hint = widgets.HTML("<p>The plots are behind this poll: press p, or <b>Poll</b>.</p>")
        hint.add_class("ow-poll-hint")
        card = widgets.VBox([top, self._bars, *taps, self.says, hint])
        card.add_class("ow-card")
        card.add_class("ow-poll")
        return card


def bars_html(poll: Poll, truth: float | None) -> str:
    """Draw the guesses as bars side by side, and a line where the number lies, as HTML."""
    counts, names = poll.counts, poll.scale.names()
    tallest = max(1, *counts)
    bars = "".join(
        f'<div><span><i style="height:{100.0 * count / tallest:.1f}%"><b>{count or ""}</b></i>'
        f"</span><small>{html(name)}</small></div>"
        for count, name in zip(counts, names, strict=True)
    )
    line = "" if truth is None else _truth_line(poll, truth)
    told = "; ".join(f"{n}: {c}" for n, c in zip(names, counts, strict=True) if c)
    label = html(f"Guesses by range. {told or 'None yet'}.")
    return f'<div class="ow-poll-bars" role="img" aria-label="{label}">{bars}{line}</div>'


def _truth_line(poll: Poll, truth: float) -> str:
    scale = poll.scale
    shown = scale.shown(truth)
    along = scale.position(shown, GUESSES[poll.guess].high)
    words = html(scale.told(shown))
    side = "ow-poll-left" if along > 0.5 else "ow-poll-right"
    return f'<p class="ow-poll-truth {side}" style="left:{100.0 * along:.2f}%"><b>{words}</b></p>'
