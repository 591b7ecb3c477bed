"""The presenter: a lesson over the whole window, for a lecturer in front of a class."""

from __future__ import annotations

import ipywidgets as widgets
import traitlets

from oximetry_workbook.panels import look
from oximetry_workbook.panels.keys import COMMANDS, Keys
from oximetry_workbook.panels.lesson_model import LessonModel
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.presenter_screen import Screen


class Presenter(traitlets.HasTraits):
    """Walks through a lesson on the whole window.

    Plots are made at the first opening: a page that is never presented does not wait for them.

    Attributes:
        open_now: Whether it covers the page.
        model: The lesson and the place in it.
        keys: Buttons, keys and clock.
        screen: What is shown; None before the first opening.
        widget: What to put on the page.
    """

    open_now = traitlets.Bool(False)

    def __init__(self, model: LessonModel, notice: Notice) -> None:
        super().__init__()
        self.model, self.notice = model, notice
        self.keys = Keys()
        self.screen: Screen | None = None
        self.widget = self._arrange()
        traitlets.link((self, "open_now"), (self.keys, "open_now"))
        self.keys.on_msg(notice.guard(self._commanded))
        self.observe(self._closed, names="open_now")
        model.observe(notice.guard(self._changed), names=["lesson", "place"])

    def open(self) -> None:
        """Cover the page with the present scene; what it hides is covered again."""
        if self.open_now:
            return
        first_time = self.screen is None
        if self.screen is None:
            self.screen = Screen(self.model.scene, self._tell_keys, self.notice)
        self.screen.cover_again()
        self._show(at_once=True)
        look.mark(self.widget, "ow-folded", False)
        if first_time:  # after the above: a plot cannot be drawn where it has no room
            sheets, bar = self.widget.children[:-1], self.widget.children[-1]
            self.widget.children = (*sheets, *self.screen.widgets, bar)
        self.open_now = True

    def close(self) -> None:
        """Give the page back."""
        self.open_now = False

    def on(self) -> None:
        """Reveal what is covered; if nothing is, go on to the next scene."""
        if self.screen is not None and self.screen.covered:
            self.reveal()
        else:
            self.next()

    def next(self) -> None:
        """Go on to the next scene."""
        self.model.go(self.model.place + 1)

    def back(self) -> None:
        """Go back to the scene before."""
        self.model.go(self.model.place - 1)

    def first(self) -> None:
        """Go to the first scene."""
        self.model.go(0)

    def last(self) -> None:
        """Go to the last scene."""
        self.model.go(len(self.model.lesson.scenes) - 1)

    def reveal(self) -> None:
        """Take all covers away."""
        if self.screen is not None:
            self.screen.reveal()

    def do(self, command: str) -> None:
        """Do what a key asks for, one of `keys.COMMANDS`.

        While the sliders move, a key brings them to their end; those that lead on do no more
        than that, so that nobody skips a scene by impatience.
        """
        assert self.screen is not None  # it is open
        moving = self.screen.move.moving
        self.screen.move.finish()
        if not (moving and command in ("on", "next")):
            getattr(self, command)()

    def _commanded(self, _: object, content: object, __: object) -> None:
        command = content.get("command") if isinstance(content, dict) else None
        if self.open_now and command in COMMANDS:
            self.do(command)

    def _changed(self, change: dict[str, object]) -> None:
        if self.open_now:
            self._show(at_once=self.keys.still or change["name"] == "lesson")

    def _show(self, at_once: bool) -> None:
        assert self.screen is not None  # it is open
        self.screen.show(self.model.lesson, self.model.place, at_once)
        self._tell_keys()

    def _tell_keys(self) -> None:
        assert self.screen is not None  # it is open
        lesson, scene = self.model.lesson, self.screen.scene
        with self.keys.hold_sync():
            self.keys.name = f"Presenter: {lesson.title}"
            self.keys.place, self.keys.count = self.model.place, len(lesson.scenes)
            self.keys.covered = bool(self.screen.covered)
            self.keys.polled = bool(scene.guess)
            self.keys.scene_minutes, self.keys.lesson_minutes = scene.minutes, lesson.minutes

    def _closed(self, change: dict[str, bool]) -> None:
        if change["new"] or self.screen is None:
            return
        self.screen.move.finish()
        look.mark(self.widget, "ow-folded", True)

    def _arrange(self) -> widgets.VBox:
        bar = widgets.VBox([self.keys])
        bar.add_class("ow-bar")
        covering = widgets.VBox([look.style("presenter.css"), bar])
        for name in ("ow-panel", "ow-presenter", "ow-folded"):
            covering.add_class(name)
        return covering
