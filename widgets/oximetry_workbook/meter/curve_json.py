"""Calibration curves as JSON text: what is written, and what is refused on reading."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

KIND = "calibration curve"
SCHEMA_VERSION = 1

FORMS: Mapping[str, tuple[str, str]] = {
    "rational": ("numerator", "denominator"),
    "table": ("ratio", "percent"),
}
"""The two rows of numbers that make a curve of each form; a polynomial is a rational curve whose
denominator is 1."""


def curve_text(
    name: str,
    source: str,
    numbers: Mapping[str, tuple[float, ...]],
    valid_percent: tuple[float, float],
) -> str:
    """JSON text of a curve; `numbers` are the two rows of one of `FORMS`.

    Raises:
        ValueError: The curve was made of bare functions, which no text can hold.
    """
    form = next((form for form, rows in FORMS.items() if set(rows) == set(numbers)), None)
    if form is None:
        raise ValueError(
            f"the curve {name!r} is made of functions, which JSON cannot hold; make it with "
            "Curve.polynomial, Curve.rational or Curve.table"
        )
    content = {
        "kind": KIND,
        "schema": SCHEMA_VERSION,
        "name": name,
        "source": source,
        "form": form,
        **{row: list(values) for row, values in numbers.items()},
        "valid_percent": list(valid_percent),
    }
    return json.dumps(content, indent=2, ensure_ascii=False, allow_nan=False)


def curve_fields(text: str) -> dict[str, Any]:
    """Read what `curve_text` wrote.

    Returns:
        name, source, valid_percent and the two rows of numbers of its form.

    Raises:
        ValueError: The text is no JSON object, is no curve, comes from another version, lacks a
            field, has one too many, or holds something else than text or numbers in one.
    """
    content = _json_object(text)
    if content.pop("kind", None) != KIND:
        raise ValueError("the file holds no calibration curve; open one that this workbook saved")
    schema = content.pop("schema", None)
    if isinstance(schema, bool) or schema != SCHEMA_VERSION:
        raise ValueError(
            f"schema is {schema!r}; this version reads {SCHEMA_VERSION}. Update the workbook, or "
            "export the curve anew"
        )
    form = content.pop("form", None)
    if not isinstance(form, str) or form not in FORMS:
        raise ValueError(f"form is {form!r}; it must be one of {', '.join(FORMS)}")
    _check_names(content, ("name", "source", *FORMS[form], "valid_percent"))
    rows = {row: _row(row, content[row]) for row in FORMS[form]}
    return {
        "name": _words("name", content["name"]),
        "source": _words("source", content["source"]),
        **rows,
        "valid_percent": _pair("valid_percent", content["valid_percent"]),
    }


def _json_object(text: str) -> dict[str, Any]:
    try:
        content = json.loads(text, parse_constant=_refuse_constant)
    except json.JSONDecodeError as error:
        raise ValueError(
            f"the curve is not readable JSON text, at line {error.lineno}, column {error.colno}"
        ) from None
    except (TypeError, RecursionError):
        raise ValueError("the curve is not readable JSON text") from None
    if not isinstance(content, dict):
        raise ValueError("the curve must be a JSON object with named fields")
    return content


def _refuse_constant(constant: str) -> None:
    raise ValueError(f"the curve holds {constant}; every coefficient must be a finite number")


def _check_names(content: dict[str, Any], wanted: tuple[str, ...]) -> None:
    missing = [name for name in wanted if name not in content]
    if missing:
        raise ValueError(f"{missing[0]} is missing; a curve needs {', '.join(wanted)}")
    unknown = sorted(set(content) - set(wanted))
    if unknown:
        raise ValueError(f"unknown field {unknown[0]!r}; the fields are {', '.join(wanted)}")


def _words(name: str, value: object) -> str:
    if not isinstance(value, str) or not value.strip():
        raise ValueError(f"{name} is {value!r}; it must be text that is not empty")
    return value


def _row(name: str, value: object) -> tuple[float, ...]:
    numbers = isinstance(value, list) and all(
        isinstance(each, int | float) and not isinstance(each, bool) for each in value
    )
    if not isinstance(value, list) or not numbers:
        raise ValueError(f"{name} is {value!r}; it must be a list of numbers")
    try:
        return tuple(float(each) for each in value)
    except OverflowError:
        raise ValueError(f"{name} holds a number that is too large") from None


def _pair(name: str, value: object) -> tuple[float, float]:
    row = _row(name, value)
    if len(row) != 2:
        raise ValueError(f"{name} has {len(row)} values; it must hold the lowest and the highest")
    return row[0], row[1]
