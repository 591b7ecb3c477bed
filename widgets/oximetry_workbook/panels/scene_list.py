"""The scenes of a lesson in their order: choose one, move it, take it out."""

from __future__ import annotations

from typing import Any

import ipywidgets as widgets

from oximetry_workbook.panels.controls import labelled
from oximetry_workbook.panels.lesson_model import LessonModel
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.teach.scene import Lesson
from oximetry_workbook.teach.words import figure

SHOWN_ROWS = 12


class SceneList:
    """A list of scenes, and buttons for the one chosen.

    Attributes:
        choice: The list.
        buttons: Buttons by what they do: up, down, copy, remove, undo.
        widget: What to put on the page.
    """

    def __init__(self, model: LessonModel, notice: Notice) -> None:
        self._model, self._place = model, model.place
        self._before: list[tuple[Lesson, int]] = []
        self._undoing = self._showing = False
        self.choice = widgets.Select(rows=SHOWN_ROWS)
        self.says = widgets.HTML()
        self.says.add_class("ow-live")
        does = {
            "up": ("Move up", lambda _: self._move(-1)),
            "down": ("Move down", lambda _: self._move(1)),
            "copy": ("Copy", self._copy),
            "remove": ("Remove", self._remove),
            "undo": ("Undo", self._undo),
        }
        self.buttons = {}
        for name, (words, handler) in does.items():
            self.buttons[name] = widgets.Button(description=words)
            self.buttons[name].on_click(notice.guard(handler))
        row = widgets.HBox(list(self.buttons.values()))
        row.add_class("ow-actions")
        self.widget = widgets.VBox([labelled("Scenes", self.choice), self.says, row])
        self.widget.add_class("ow-scene-list")
        self.show()
        self.choice.observe(notice.guard(self._chosen), names="index")
        model.observe(self._changed, names="lesson")
        model.observe(self._changed, names="place")

    def show(self, _: object = None) -> None:
        """Write the scenes, the time they take, and what the buttons can do."""
        lesson, place = self._model.lesson, self._model.place
        rows = [f"{k}  {scene.title}" for k, scene in enumerate(lesson.scenes, 1)]
        self._showing = True  # new options choose the first of them by themselves
        try:
            if list(self.choice.options) != rows:
                self.choice.options = rows
            self.choice.index = self._place = place
        finally:
            self._showing = False
        count = len(lesson.scenes)
        scenes = "1 scene" if count == 1 else f"{count} scenes"
        self.says.value = f"<p>{scenes}, {figure(lesson.minutes, 3)} minutes planned.</p>"
        self.buttons["up"].disabled = place == 0
        self.buttons["down"].disabled = place == count - 1
        self.buttons["remove"].disabled = count == 1
        self.buttons["undo"].disabled = not self._before

    def _changed(self, change: dict[str, Any]) -> None:
        if change["name"] == "lesson" and not self._undoing:
            self._before.append((change["old"], self._place))
        self.show()

    def _chosen(self, change: dict[str, int | None]) -> None:
        if change["new"] is not None and not self._showing:
            self._model.go(change["new"])

    def _move(self, step: int) -> None:
        place = self._model.place
        self._model.change(self._model.lesson.moved(place, place + step), place + step)

    def _copy(self, _: object) -> None:
        place = self._model.place
        self._model.change(self._model.lesson.with_scene(self._model.scene, place + 1), place + 1)

    def _remove(self, _: object) -> None:
        self._model.lesson = self._model.lesson.without(self._model.place)

    def _undo(self, _: object) -> None:
        if not self._before:
            return
        lesson, place = self._before.pop()
        self._undoing = True
        try:
            self._model.change(lesson, place)
        finally:
            self._undoing = False
