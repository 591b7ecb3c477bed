"""The schema of lesson files says what reading accepts, held against the jsonschema package."""

import copy
import json
from importlib.resources import files

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from oximetry_workbook.teach.lesson_json import lesson_text, own_lessons, read_lesson
from oximetry_workbook.teach.lesson_schema import lesson_schema

VALIDATOR = Draft202012Validator(lesson_schema())
CONTENT = json.loads(lesson_text(own_lessons()[0]))


def is_read(content):
    try:
        read_lesson(json.dumps(content))
    except ValueError:
        return False
    return True


def test_the_schema_is_one_and_its_file_is_of_this_version():
    Draft202012Validator.check_schema(lesson_schema())
    kept = files("oximetry_workbook.teach") / "lesson.schema.json"
    assert json.loads(kept.read_text("utf-8")) == lesson_schema()


@pytest.mark.parametrize("lesson", own_lessons(), ids=lambda lesson: lesson.title)
def test_the_lessons_that_come_along_fit_the_schema(lesson):
    VALIDATOR.validate(json.loads(lesson_text(lesson)))


def paths(content, path=()):
    """Every place in nested JSON content."""
    yield path
    items = content.items() if isinstance(content, dict) else enumerate(content)
    if isinstance(content, dict | list):
        for key, value in items:
            yield from (
                paths(value, (*path, key)) if isinstance(value, dict | list) else [(*path, key)]
            )


values = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(-3, 300),
    st.floats(-1.0, 300.0),
    st.sampled_from(["", " ", "ear", "shown", "numbers", "x" * 121, "x" * 2001, [], {}, ["curve"]]),
)


@settings(max_examples=500)
@given(st.sampled_from(sorted(filter(None, paths(CONTENT)), key=str)), values)
def test_what_the_schema_refuses_is_not_read_and_the_other_way_round(path, value):
    """One place changed; a cover on what is not shown is the one thing a schema cannot see."""
    content = copy.deepcopy(CONTENT)
    place = content
    for key in path[:-1]:
        place = place[key]
    place[path[-1]] = value
    fits = VALIDATOR.is_valid(content)
    if "covered" in path or "shown" in path:
        assert fits or not is_read(content)
    else:
        assert fits == is_read(content)
