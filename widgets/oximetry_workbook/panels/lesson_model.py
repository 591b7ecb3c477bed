"""The lesson on the page: the composer writes it, the presenter walks through it."""

from __future__ import annotations

import traitlets

from oximetry_workbook.teach.scene import Lesson, Scene


class LessonModel(traitlets.HasTraits):
    """A lesson and the place in it.

    Attributes:
        lesson: The lesson.
        place: Number of the scene on the screen, from 0.
        opened: Counts how often another lesson took the place of this one.
    """

    lesson = traitlets.Instance(Lesson)
    place = traitlets.Int(0, min=0)
    opened = traitlets.Int(0)

    def __init__(self, lesson: Lesson) -> None:
        super().__init__(lesson=lesson)
        self.observe(self._stay_inside, names="lesson")

    @property
    def scene(self) -> Scene:
        """The scene at the present place."""
        return self.lesson.scenes[self.place]

    def open(self, lesson: Lesson) -> None:
        """Take another lesson instead, at its first scene."""
        self.change(lesson, 0)
        self.opened += 1

    def change(self, lesson: Lesson, place: int) -> None:
        """Change the lesson and the place in it at once, so that no other scene comes between."""
        with self.hold_trait_notifications():
            self.lesson, self.place = lesson, place

    def go(self, place: int) -> None:
        """Go to a scene; before the first and after the last there is none, so stay."""
        self.place = min(max(place, 0), len(self.lesson.scenes) - 1)

    def _stay_inside(self, _: object) -> None:
        self.go(self.place)
