"""The place in a lesson stays inside it."""

from oximetry_workbook.panels.lesson_model import LessonModel
from oximetry_workbook.teach.scene import Lesson, Scene

LESSON = Lesson("Three", "", tuple(Scene(word) for word in ("one", "two", "three")))


def test_walking_stops_at_both_ends():
    model = LessonModel(LESSON)
    model.go(-1)
    assert model.place == 0
    model.go(2)
    assert model.scene.title == "three"
    model.go(3)
    assert model.place == 2


def test_a_shorter_lesson_takes_the_place_along():
    model = LessonModel(LESSON)
    model.go(2)
    model.lesson = LESSON.without(2)
    assert model.scene.title == "two"
