"""A form for the words of a scene: what to say, to ask, to show, to cover."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

import ipywidgets as widgets

from oximetry_workbook.panels.controls import labelled
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.teach.scene import (
    GUESSES,
    LONGEST_MINUTES,
    PARTS,
    Scene,
)

TEXTS = {
    "title": "Heading on the screen",
    "spoken": "What you say, as a line on the screen",
    "question": "What you ask",
    "notes": "Notes for yourself: folded away on the screen, not in the handout",
}


class SceneForm:
    """Fields for everything in a scene but the situation, which the bench sets.

    Attributes:
        texts: Text fields by field of the scene.
        guess: What the audience guesses.
        minutes: The time planned.
        shown: A box for each part of the bench: on the screen or not.
        covered: A box for each: covered until revealed or not.
        warning: Says when the answer can be read off before it is revealed.
        widget: What to put on the page.
    """

    def __init__(self, changed: Callable[[Scene], None], notice: Notice) -> None:
        """Make the fields; `changed` is called with the scene as it should become."""
        self._changed, self._scene = changed, Scene("A scene")
        self._showing = False
        self.texts = {name: _text_field(name) for name in TEXTS}
        self.guess = widgets.Dropdown(options=_guess_options())
        self.minutes = widgets.BoundedFloatText(min=0.1, max=LONGEST_MINUTES, step=0.5)
        self.shown = {part: _box(heading) for part, heading in PARTS.items()}
        self.covered = {part: _box("Cover it") for part in PARTS}
        self.warning = widgets.HTML()
        self.warning.add_class("ow-live")
        self.widget = self._arrange()
        for name, field in {**self.texts, "guess": self.guess, "minutes": self.minutes}.items():
            field.observe(notice.guard(self._setter(name)), names="value")
        for box in (*self.shown.values(), *self.covered.values()):
            box.observe(notice.guard(self._ticked), names="value")

    def show(self, scene: Scene) -> None:
        """Write a scene into the fields."""
        self._scene, self._showing = scene, True
        try:
            self._write(scene)
        finally:
            self._showing = False

    def _write(self, scene: Scene) -> None:
        for name, field in {**self.texts, "guess": self.guess, "minutes": self.minutes}.items():
            field.value = getattr(scene, name)
        for part in PARTS:
            self.shown[part].value = part in scene.shown
            self.covered[part].value = part in scene.covered
            self.covered[part].disabled = part not in scene.shown
        self.warning.value = warning_html(scene)

    def _setter(self, name: str) -> Callable[[Mapping[str, Any]], None]:
        def set_field(change: Mapping[str, Any]) -> None:
            if not self._showing and change["new"] != getattr(self._scene, name):
                self._set(**{name: change["new"]})

        return set_field

    def _ticked(self, _: object) -> None:
        if self._showing:  # boxes change one after the other; only a tick of somebody's own counts
            return
        shown = tuple(part for part, box in self.shown.items() if box.value)
        covered = tuple(part for part, box in self.covered.items() if box.value and part in shown)
        if (shown, covered) != (self._scene.shown, self._scene.covered):
            self._set(shown=shown, covered=covered)

    def _set(self, **changes: Any) -> None:
        before = self._scene
        try:
            asked = before.asking(changes.pop("guess")) if "guess" in changes else before
            self._changed(replace(asked, **changes))
        finally:
            self.show(self._scene)  # what was refused must not stay on screen

    def _arrange(self) -> widgets.VBox:
        texts = {name: labelled(words, self.texts[name]) for name, words in TEXTS.items()}
        asked = widgets.HBox(
            [
                labelled("What they guess", self.guess),
                labelled("Minutes planned", self.minutes),
            ]
        )
        asked.add_class("ow-form-row")
        rows = [widgets.HBox([self.shown[part], self.covered[part]]) for part in PARTS]
        parts = widgets.VBox([widgets.Label("On the screen"), *rows, self.warning])
        parts.add_class("ow-parts")
        form = widgets.VBox(
            [texts["title"], texts["spoken"], texts["question"], asked, parts, texts["notes"]]
        )
        form.add_class("ow-form")
        return form


def warning_html(scene: Scene) -> str:
    """Say which parts tell the number to be guessed before it is revealed; nothing for none."""
    parts = scene.given_away_by
    if not parts:
        return ""
    named = " and ".join(f"“{PARTS[part]}”" for part in parts)
    verb, it = ("gives", "it") if len(parts) == 1 else ("give", "them")
    return (
        f"<p><strong>{named} {verb} the answer away</strong>, on the screen and in the handout. "
        f"Cover {it}, or take {it} off the screen.</p>"
    )


def _text_field(name: str) -> widgets.Text | widgets.Textarea:
    if name in ("spoken", "question", "notes"):
        return widgets.Textarea(rows=2 if name == "question" else 3, continuous_update=False)
    return widgets.Text(continuous_update=False)


def _guess_options() -> list[tuple[str, str]]:
    named = [(guess.label[0].upper() + guess.label[1:], key) for key, guess in GUESSES.items()]
    return [("Nothing to count", ""), *named]


def _box(words: str) -> widgets.Checkbox:
    return widgets.Checkbox(description=words, indent=False)
