"""The lesson on the page: the composer writes it, the presenter walks through it."""

from __future__ import annotations

import traitlets

from oximetry_workbook.teach.scene import Lesson, Scene


class LessonModel(traitlets.HasTraits):
    """A lesson and the place in it.

    Attributes:
        lesson: The lesson.
        place: Number of the scene on the screen, from 0.
    """

    lesson = traitlets.Instance(Lesson)
    place = traitlets.Int(0, min=0)

    def __init__(self, lesson: Lesson) -> None:
        super().__init__(lesson=lesson)
        self.observe(self._stay_inside, names="lesson")

    @property
    def scene(self) -> Scene:
        """The scene at the present place."""
        return self.lesson.scenes[self.place]

    def go(self, place: int) -> None:
        """Go to a scene; before the first and after the last there is none, so stay."""
        self.place = min(max(place, 0), len(self.lesson.scenes) - 1)

    def _stay_inside(self, _: object) -> None:
        self.go(self.place)
