"""Prepare a lesson: set the bench, keep it as a scene, put scenes in order, teach, hand out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import ipywidgets as widgets

from oximetry_workbook.panels import look
from oximetry_workbook.panels.bench import Bench
from oximetry_workbook.panels.browser import KeptText
from oximetry_workbook.panels.controls import labelled
from oximetry_workbook.panels.lesson_files import LessonFiles
from oximetry_workbook.panels.lesson_model import LessonModel
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.presenter import Presenter
from oximetry_workbook.panels.scene_form import SceneForm
from oximetry_workbook.panels.scene_list import SceneList
from oximetry_workbook.teach.bench_state import BenchState
from oximetry_workbook.teach.lesson_json import lesson_text, own_lessons, read_lesson
from oximetry_workbook.teach.scene import Lesson, Scene

EMPTY = Lesson("My lesson", scenes=(Scene("First scene"),))
"""What an empty start looks like."""

NOTHING_CHOSEN = "Choose a lesson"
RESUMED = "This is where you left off in this browser. Choose another above to begin anew."


class LessonPanel:
    """The composer.

    Attributes:
        model: The lesson and the place in it.
        bench: Where a scene's situation is set.
        scenes: The list of scenes.
        form: The words of the scene.
        presenter: What the audience sees.
        kept: The lesson as the browser keeps it.
        widget: What to put on the page.
    """

    def __init__(self, lesson: Lesson | None = None) -> None:
        self.model, self.notice = LessonModel(lesson or EMPTY), Notice()
        self._showing = False
        self._on_bench: tuple[int, Scene] | None = None
        self.bench = Bench()
        self.scenes = SceneList(self.model, self.notice)
        self.form = SceneForm(self._form_changed, self.notice)
        self.presenter = Presenter(self.model, self.notice)
        self.files = LessonFiles(self.model, self.notice)
        self.kept = KeptText(key="ow-lesson")
        self.title = widgets.Text(continuous_update=False)
        self.audience = widgets.Textarea(rows=3, continuous_update=False)
        self.start = widgets.Dropdown(options=self._starts(None))
        self.resumed = widgets.HTML()
        self.resumed.add_class("ow-resumed")
        self.differs = widgets.HTML()
        self.differs.add_class("ow-live")
        self.add = widgets.Button(description="Add as a new scene")
        self.put = widgets.Button(description="Put into this scene")
        self.teach = widgets.Button(description="Teach this lesson", button_style="primary")
        self.teach_here = widgets.Button(description="From this scene")
        self.widget = self._arrange()
        self._show_lesson()
        self._show_scene()
        self._listen()

    def _listen(self) -> None:
        guard = self.notice.guard
        self.model.observe(guard(self._show_lesson), names="lesson")
        self.model.observe(guard(self._show_scene), names=["lesson", "place"])
        self.model.observe(guard(self._opened), names="opened")
        self.bench.model.observe(guard(self._compare), names="reading")
        self.title.observe(guard(self._renamed), names="value")
        self.audience.observe(guard(self._renamed), names="value")
        self.start.observe(guard(self._start_from), names="value")
        self.kept.observe(guard(self._found), names="found")
        self.add.on_click(guard(self._add))
        self.put.on_click(guard(self._put))
        self.teach.on_click(guard(lambda _: self._teach()))
        self.teach_here.on_click(guard(lambda _: self.presenter.open()))

    def _starts(self, kept: Lesson | None) -> list[tuple[str, Lesson | str]]:
        own = [(f"{each.title} ({each.minutes:.0f} min)", each) for each in own_lessons()]
        last = [(f"Where I left off: {kept.title}", kept)] if kept else []
        return [(NOTHING_CHOSEN, ""), *last, *own, ("An empty lesson", EMPTY)]

    def _found(self, change: Mapping[str, str]) -> None:
        """Go on with what the browser kept; what it cannot read any more is left alone.

        A lesson that was begun before it was found stays, and the kept one is offered.
        """
        try:
            kept = read_lesson(change["new"]) if change["new"] else None
        except ValueError:
            return
        if kept in (None, EMPTY):
            return
        self.start.options = self._starts(kept)
        if self.model.lesson == EMPTY:
            self.model.open(kept)
            self.resumed.value = f"<p>{RESUMED}</p>"

    def _start_from(self, change: Mapping[str, Any]) -> None:
        if isinstance(change["new"], Lesson):
            self.model.open(change["new"])
            self.start.index = 0

    def _renamed(self, _: object) -> None:
        lesson = self.model.lesson
        given = {"title": self.title.value, "audience": self.audience.value}
        if self._showing or given == {"title": lesson.title, "audience": lesson.audience}:
            return
        try:
            self.model.lesson = Lesson(**given, scenes=lesson.scenes)
        finally:
            self._show_lesson()

    def _form_changed(self, scene: Scene) -> None:
        self.model.lesson = self.model.lesson.with_changed(self.model.place, scene)

    def _add(self, _: object) -> None:
        place = self.model.place + 1
        number = len(self.model.lesson.scenes) + 1
        scene = Scene(f"Scene {number}", self.bench.model.scenario, self._curve())
        self.model.change(self.model.lesson.with_scene(scene, place), place)

    def _teach(self) -> None:
        self.model.go(0)
        self.presenter.open()

    def _put(self, _: object) -> None:
        self._form_changed(self._with_bench(self.model.scene))

    def _with_bench(self, scene: Scene) -> Scene:
        return replace(scene, scenario=self.bench.model.scenario, curve=self._curve())

    def _curve(self) -> str:
        return BenchState.of(self.bench.model.scenario, self.bench.model.curve).curve

    def _show_lesson(self, _: object = None) -> None:
        lesson = self.model.lesson
        self._showing = True  # the fields change one after the other
        try:
            self.title.value, self.audience.value = lesson.title, lesson.audience
        finally:
            self._showing = False
        if lesson != EMPTY:
            self.kept.text = lesson_text(lesson)
        self.files.forget()

    def _show_scene(self, _: object = None) -> None:
        scene = self.model.scene
        self.form.show(scene)
        if not self._is_on_bench(scene):
            self._bring_to_bench()
        self._on_bench = (self.model.place, scene)
        self._compare()

    def _is_on_bench(self, scene: Scene) -> bool:
        """Whether it was brought there before, and only its words or its place have changed.

        These must not take away what somebody has set on the bench since.
        """
        if self._on_bench is None:
            return False
        place, brought = self._on_bench
        same = (brought.scenario, brought.curve) == (scene.scenario, scene.curve)
        return brought is scene or (place == self.model.place and same)

    def _opened(self, _: object) -> None:
        self.resumed.value = ""
        self._bring_to_bench()

    def _bring_to_bench(self) -> None:
        scene = self.model.scene
        self.bench.open(BenchState.of(scene.scenario, scene.curve))

    def _compare(self, _: object = None) -> None:
        scene = self.model.scene
        same = self._with_bench(scene) == scene
        number = self.model.place + 1
        self.put.disabled = same
        self.differs.value = (
            f"<p>The bench shows scene {number}.</p>"
            if same
            else f"<p><strong>The bench has moved away from scene {number}.</strong> Put it into "
            "this scene, or add it as a new one.</p>"
        )

    def _arrange(self) -> widgets.VBox:
        head = widgets.VBox(
            [
                labelled("Start from", self.start),
                self.resumed,
                labelled("Name of the lesson", self.title),
                labelled("For whom, and what they can do afterwards", self.audience),
            ]
        )
        head.add_class("ow-form")
        buttons = widgets.HBox([self.teach, self.teach_here, *self.files.buttons])
        links = widgets.HBox(self.files.links)
        for row in (buttons, links):
            row.add_class("ow-actions")
        actions = widgets.VBox([buttons, links])
        actions.add_class("ow-lesson-files")
        left = widgets.VBox([head, self.scenes.widget])
        left.add_class("ow-card")
        right = widgets.VBox([self.form.widget])
        right.add_class("ow-card")
        both = widgets.HBox([left, right])
        both.add_class("ow-lesson-body")
        take = widgets.HBox([self.add, self.put, self.differs])
        take.add_class("ow-actions")
        take.add_class("ow-card")
        take.add_class("ow-take")
        panel = widgets.VBox(
            [
                look.style("lesson.css"),
                self.notice,
                actions,
                both,
                take,
                self.bench.widget,
                self.presenter.widget,
                self.kept,
            ]
        )
        panel.add_class("ow-panel")
        panel.add_class("ow-lesson")
        return panel


def lesson(start: Lesson | None = None) -> widgets.VBox:
    """Show the panel that prepares, teaches and hands out a lesson.

    Args:
        start: The lesson to start from; an empty one if left out.
    """
    return LessonPanel(start).widget
