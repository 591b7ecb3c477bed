"""The form of a lesson file as a JSON Schema (draft 2020-12), made from the fields themselves."""

from __future__ import annotations

from typing import Any

from oximetry_workbook.body import scenario as scenarios
from oximetry_workbook.body.quantities import Choice, Quantity
from oximetry_workbook.teach.lesson_json import KIND, SCHEMA_VERSION
from oximetry_workbook.teach.reading import CURVE_NAMES
from oximetry_workbook.teach.scene import (
    GUESSES,
    LONGEST_MINUTES,
    LONGEST_TEXT,
    LONGEST_TITLE,
    MOST_SCENES,
    PARTS,
)

_TEXT = {"type": "string", "maxLength": LONGEST_TEXT}
_TITLE = {"type": "string", "maxLength": LONGEST_TITLE, "pattern": r"\S"}
_PARTS = {"type": "array", "items": {"enum": list(PARTS)}}


def lesson_schema() -> dict[str, Any]:
    """Return the schema; what it cannot say is said in the descriptions, and checked on reading."""
    lesson = {
        "kind": {"const": KIND},
        "schema": {"const": SCHEMA_VERSION},
        "title": _TITLE,
        "audience": _TEXT,
        "scenes": {"type": "array", "items": _scene(), "minItems": 1, "maxItems": MOST_SCENES},
    }
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "A lesson of the oximetry workbook",
        **_object(lesson, required=["kind", "schema", "title", "scenes"]),
    }


def _scene() -> dict[str, Any]:
    scene = {
        "title": _TITLE,
        "scenario": _scenario(),
        "curve": {"enum": list(CURVE_NAMES)},
        "spoken": _TEXT,
        "question": _TEXT,
        "guess": {"enum": ["", *GUESSES]},
        "shown": _PARTS,
        "covered": _PARTS | {"description": "Only parts that are among those shown."},
        "notes": _TEXT,
        "minutes": {"type": "number", "exclusiveMinimum": 0, "maximum": LONGEST_MINUTES},
    }
    return _object(scene, required=["title"])


def _scenario() -> dict[str, Any]:
    described = {name: _field(spec) for name, spec in scenarios.SPECS.items()}
    words = "Fields left out are ordinary. Bound haemoglobins may add up to 0.9 at most."
    form = {"schema": {"const": scenarios.SCHEMA_VERSION}, **described}
    return _object(form, required=["schema"]) | {"description": words}


def _field(spec: Quantity | Choice) -> dict[str, Any]:
    if isinstance(spec, Choice):
        return {"enum": list(spec.options), "title": spec.label}
    unit = "as a fraction" if spec.fraction else spec.unit
    return {
        "type": "integer" if spec.whole else "number",
        "minimum": spec.low,
        "maximum": spec.high,
        "title": f"{spec.label}, {unit}" if unit else spec.label,
    }


def _object(properties: dict[str, Any], required: list[str]) -> dict[str, Any]:
    return {
        "type": "object",
        "properties": properties,
        "required": required,
        "additionalProperties": False,
    }
