"""Lessons as JSON text: what is written, and what is refused on reading, with the reason."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import MISSING, fields
from functools import cache
from importlib.resources import files
from typing import Any

from oximetry_workbook.body import scenario as scenarios
from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.teach.scene import Lesson, Scene

KIND = "oximetry lesson"
SCHEMA_VERSION = 1
"""Version of the JSON form; raised when a field is renamed, or changes its meaning or default."""

LARGEST_FILE = 4_000_000
"""Most characters of a lesson file: ten times what the most scenes of the longest texts need
as a rule, so that a wrong file is refused before it is taken apart."""


LONGEST_NUMBER = 400
"""Most digits of a whole number; the largest float has 309."""


def lesson_text(lesson: Lesson) -> str:
    """Return a lesson as JSON text; fields that are as usual are left out."""
    content = {
        "kind": KIND,
        "schema": SCHEMA_VERSION,
        **_unusual(lesson, skip=("scenes",)),
        "scenes": [_scene_content(scene) for scene in lesson.scenes],
    }
    return json.dumps(content, indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def read_lesson(text: str) -> Lesson:
    """Read what `lesson_text` wrote.

    Raises:
        ValueError: The message names the scene and the field, says what is wrong, and what is
            allowed.
    """
    content = _json_object(text)
    if content.pop("kind", None) != KIND:
        raise ValueError("the file holds no lesson; open one that “Save lesson” made")
    schema = content.pop("schema", None)
    if isinstance(schema, bool) or schema != SCHEMA_VERSION:
        raise ValueError(
            f"schema is {schema!r}; this version reads {SCHEMA_VERSION}. Update the workbook, or "
            "make the lesson anew"
        )
    _check_names(content, Lesson)
    scenes = content.pop("scenes")
    if not isinstance(scenes, list):
        raise ValueError("scenes must be a list of scenes")
    return Lesson(**content, scenes=tuple(_scene(k, each) for k, each in enumerate(scenes, 1)))


def _scene_content(scene: Scene) -> dict[str, Any]:
    content = _unusual(scene, skip=("scenario",))
    content["scenario"] = {"schema": scenarios.SCHEMA_VERSION, **scene.scenario.changes()}
    return content


def _unusual(instance: Any, skip: tuple[str, ...]) -> dict[str, Any]:
    """Fields of a dataclass instance that have no default, or another value than that."""
    return {
        each.name: getattr(instance, each.name)
        for each in fields(instance)
        if each.name not in skip
        and (each.default is MISSING or getattr(instance, each.name) != each.default)
    }


def _scene(number: int, content: object) -> Scene:
    try:
        if not isinstance(content, dict):
            raise ValueError("it must be a JSON object with named fields")
        _check_names(content, Scene)
        if "scenario" in content:
            content = {**content, "scenario": _scenario(content["scenario"])}
        return Scene(**content)
    except ValueError as error:
        raise ValueError(f"scene {number}: {error}") from None


def _scenario(content: object) -> Scenario:
    try:
        return Scenario.from_mapping(content)
    except ValueError as error:
        raise ValueError(f"scenario: {error}") from None


def _check_names(content: Mapping[str, object], kind: type) -> None:
    described = {each.name: each for each in fields(kind)}
    unknown = sorted(set(content) - set(described))
    if unknown:
        raise ValueError(f"unknown field {unknown[0]!r}; the fields are {', '.join(described)}")
    needed = ("title", "scenes") if kind is Lesson else ("title",)
    for name in needed:
        if name not in content:
            raise ValueError(f"{name} is missing")


def _json_object(text: str) -> dict[str, Any]:
    if len(text) > LARGEST_FILE:
        raise ValueError(
            f"the file has {len(text)} characters; a lesson has at most {LARGEST_FILE}"
        )
    try:
        content = json.loads(text, parse_constant=_refuse_constant, parse_int=_whole)
    except json.JSONDecodeError as error:
        raise ValueError(
            f"the lesson is not readable JSON text, at line {error.lineno}, column {error.colno}"
        ) from None
    except RecursionError:
        raise ValueError("the lesson is not readable JSON text") from None
    if not isinstance(content, dict):
        raise ValueError("the lesson must be a JSON object with named fields")
    return content


def _whole(digits: str) -> int:
    if len(digits) > LONGEST_NUMBER:
        raise ValueError(f"the lesson holds a number of {len(digits)} digits")
    return int(digits)


def _refuse_constant(constant: str) -> None:
    raise ValueError(f"the lesson holds {constant}; every number must be finite")


def own_lesson_texts() -> dict[str, str]:
    """Return the files of the lessons that come along, by name without an ending."""
    folder = files("oximetry_workbook.teach") / "lessons"
    named = {each.name.removesuffix(".json"): each for each in folder.iterdir()}
    return {name: named[name].read_text("utf-8") for name in sorted(named)}


@cache
def own_lessons() -> tuple[Lesson, ...]:
    """Return the lessons that come along, the shortest first."""
    lessons = map(read_lesson, own_lesson_texts().values())
    return tuple(sorted(lessons, key=lambda lesson: lesson.minutes))
