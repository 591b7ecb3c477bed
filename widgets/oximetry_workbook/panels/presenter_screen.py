"""A scene on the screen: stage, words, poll and sliders, and what was revealed of it."""

from __future__ import annotations

from collections.abc import Callable, Hashable

import ipywidgets as widgets

from oximetry_workbook.body.scenario import SPECS, Scenario
from oximetry_workbook.panels import look
from oximetry_workbook.panels.bench import MAIN_CONTROLS
from oximetry_workbook.panels.controls import controls_for
from oximetry_workbook.panels.model import BenchModel
from oximetry_workbook.panels.moving import Move
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.poll import PollView
from oximetry_workbook.panels.presenter_stage import NUMBERS, Stage, head_html
from oximetry_workbook.panels.prose import html
from oximetry_workbook.teach.poll import Poll
from oximetry_workbook.teach.scene import Lesson, Scene
from oximetry_workbook.teach.words import main_sentence

ANSWER = "answer"
"""The number that an audience guesses: covered like a part of the bench, in the poll."""


class Screen:
    """What the presenter shows of a lesson's scene.

    Attributes:
        widgets: What to put on the page, from top to bottom.
        scene: The scene on the screen.
        bench: The situation on the stage, which the sliders may take away from the scene's.
        stage: The bench's parts.
        move: The way from one scene's situation to the next.
        poll: The poll on the page.
        controls: Sliders to try something with, by field name.
        tries: The row of them, with the button that leads back to the scene.
        covered: What is still to be revealed: parts of the bench, and `ANSWER`.
    """

    def __init__(self, scene: Scene, changed: Callable[[], None], notice: Notice) -> None:
        """Make the screen; it shows nothing before `show`.

        Args:
            scene: The scene to begin with.
            changed: Called when something was revealed.
            notice: Where to tell of a failure.
        """
        self.scene, self._changed = scene, changed
        self._key: Hashable = None
        self._revealed: dict[Hashable, set[str]] = {}
        self._polls: dict[Hashable, Poll] = {}
        self.bench = BenchModel(scene.scenario)
        self.move = Move(self.bench, self._arrived, notice)
        self.poll = PollView(self._polled, notice)
        self.stage = Stage(self.reveal, self.poll, notice)
        self.controls = controls_for(
            {name: SPECS[name] for name in MAIN_CONTROLS}, notice.guard(self._try)
        )
        self._head, self._spoken, self._notes = (
            _words("head-line"),
            _words("spoken"),
            _words("notes"),
        )
        self._says = _words("says")
        self.tries = self._make_tries(notice)
        self.widgets = self._arrange(notice)
        self.bench.observe(self._draw, names="reading")

    @property
    def covered(self) -> tuple[str, ...]:
        """What is still to be revealed."""
        coverable = (*self.scene.covered, *([ANSWER] if self.scene.guess else []))
        revealed = self._revealed.get(self._key, set())
        return tuple(name for name in coverable if name not in revealed)

    def show(self, lesson: Lesson, place: int, at_once: bool) -> None:
        """Put a scene on the screen; its situation is reached on the way or at once."""
        self.scene, self._key = lesson.scenes[place], _key(lesson, place)
        self._cover()
        self._go(self.scene.scenario, at_once)
        self._head.value = head_html(self.scene, place, len(lesson.scenes))
        self._spoken.value = html(self.scene.spoken)
        look.mark(self._spoken, "ow-folded", not self.scene.spoken)
        self._notes.value = html(self.scene.notes or "No notes for this scene.")

    def reveal(self, name: str | None = None) -> None:
        """Take a cover away; all of them if none is named."""
        found = self._revealed.setdefault(self._key, set())
        found.update(self.covered if name is None else [name])
        self._cover()
        self._speak()
        self._changed()

    def cover_again(self) -> None:
        """Put all covers of all scenes back, as for a new audience; their polls stay."""
        self._revealed.clear()

    def _cover(self) -> None:
        self.stage.arrange(self.scene, self.covered)
        self.stage.draw(self.bench.reading)
        self._show_poll()

    def _show_poll(self) -> None:
        if not self.scene.guess:
            return
        poll = self._polls.get(self._key, Poll(self.scene.guess))
        revealed = ANSWER not in self.covered
        self.poll.show(poll, self.scene.truth() if revealed else None, revealed)

    def _polled(self, poll: Poll) -> None:
        self._polls[self._key] = poll
        self._show_poll()

    def _go(self, scenario: Scenario, at_once: bool) -> None:
        if at_once:
            self.move.jump(scenario, self.scene.curve)
            return
        look.mark(self.tries, "ow-moving", True)  # the style sheet lets the sliders' handles glide
        for each in self.controls.values():
            each.show(scenario)
        self.move.begin(scenario, self.scene.curve)

    def _arrived(self) -> None:
        look.mark(self.tries, "ow-moving", False)
        self._draw()

    def _draw(self, _: object = None) -> None:
        self.stage.draw(self.bench.reading)
        if self.move.moving:
            return
        for each in self.controls.values():
            each.show(self.bench.scenario)
        self._speak()

    def _try(self, name: str, value: object) -> None:
        self.move.finish()
        self.bench.set(name, value)

    def _speak(self) -> None:
        """Tell a screen reader what there is to see now."""
        said = [self.scene.title, self.scene.question]
        if self.stage.parts[NUMBERS].seen:
            said.append(main_sentence(self.bench.reading))
        self._says.value = f'<p role="status">{html(" ".join(filter(None, said)))}</p>'

    def _make_tries(self, notice: Notice) -> widgets.Box:
        back = widgets.Button(description="Back to the scene")
        back.on_click(notice.guard(lambda _: self._go(self.scene.scenario, at_once=False)))
        tries = widgets.Box([*(each.widget for each in self.controls.values()), back])
        tries.add_class("ow-tries")
        return tries

    def _arrange(self, notice: Notice) -> tuple[widgets.Widget, ...]:
        return (
            self._head,
            notice,
            self.stage.widget,
            self.tries,
            self._spoken,
            self._notes,
            self._says,
        )


def _words(name: str) -> widgets.HTML:
    line = widgets.HTML()
    line.add_class(f"ow-scene-{name}")
    return line


def _key(lesson: Lesson, place: int) -> Hashable:
    """Name a scene by what it asks: its notes may be changed, and it may be moved."""
    asked = [(s.title, s.question, s.guess, s.scenario, s.curve) for s in lesson.scenes]
    return asked[place], asked[:place].count(asked[place])
