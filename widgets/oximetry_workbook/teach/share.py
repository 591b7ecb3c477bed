"""The state of a panel as a link, as JSON text and as Python: written, and read with care.

A state is a frozen dataclass whose fields are `quantity` or `choice` fields. Only what differs
from the dataclass's own defaults is written. A field of another sort, such as a file that somebody
brought, stays where it is.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import fields
from typing import Any, TypeVar
from urllib.parse import parse_qsl, quote, urlencode

from oximetry_workbook.body.quantities import Choice, Quantity, specs_of

State = TypeVar("State")

SCHEMA_VERSION = 1
"""Version of links and files; raised when a field is renamed, or changes its meaning or default."""

KIND = "oximetry panel"

LONGEST_LINK = 4000
"""Most characters of a link that is read; browsers and chat programs cut much longer ones."""

LONGEST_FILE = 20_000
"""Most characters of a state's JSON text."""

PANEL, VERSION = "show", "version"
"""Names in a link that are no fields of a state."""


def panel_name(kind: type) -> str:
    """Return the name by which links and files call the panel of a kind of state."""
    return kind.__name__


def shared_fields(kind: type) -> dict[str, Quantity | Choice]:
    """Return range and words of the fields that links and files carry, by field name."""
    return {
        name: spec for name, spec in specs_of(kind).items() if isinstance(spec, Quantity | Choice)
    }


def link_text(state: Any) -> str:
    """Return a state as what follows the # of a link."""
    head = {PANEL: panel_name(type(state)), VERSION: SCHEMA_VERSION}
    return urlencode(head | _changes(state), quote_via=quote)


def is_link(text: str, kind: type) -> bool:
    """Whether what follows a # is meant for the panel of a kind of state, readable or not."""
    return dict(parse_qsl(text[:LONGEST_LINK])).get(PANEL) == panel_name(kind)


def read_link(text: str, kind: type[State]) -> State:
    """Read what `link_text` wrote.

    Args:
        text: What follows the # of a link.
        kind: Class of the state.

    Raises:
        ValueError: The message says what is wrong: too long, unreadable, for another panel, of
            another version, an unknown or doubled field, a value out of range.
    """
    if len(text) > LONGEST_LINK:
        raise ValueError(f"the link has {len(text)} characters; at most {LONGEST_LINK} are read")
    try:
        pairs = parse_qsl(text, keep_blank_values=True, strict_parsing=True, errors="strict")
    except ValueError:
        raise ValueError("the link is damaged; copy the whole of it anew") from None
    content = dict(pairs)
    if len(content) < len(pairs):
        raise ValueError("the link says the same thing twice; copy it anew")
    _check_head(content.pop(PANEL, None), content.pop(VERSION, None), kind, str(SCHEMA_VERSION))
    return _state(kind, {name: _typed(kind, name, value) for name, value in content.items()})


def json_text(state: Any) -> str:
    """Return a state as JSON text."""
    content = {
        "kind": KIND,
        "schema": SCHEMA_VERSION,
        "panel": panel_name(type(state)),
        "fields": _changes(state),
    }
    return json.dumps(content, indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def read_json(text: str, kind: type[State]) -> State:
    """Read what `json_text` wrote.

    Raises:
        ValueError: As `read_link`.
    """
    if len(text) > LONGEST_FILE:
        raise ValueError(f"the file has {len(text)} characters; at most {LONGEST_FILE} are read")
    try:
        content = json.loads(text)
    except (ValueError, RecursionError):
        raise ValueError("the file is not readable JSON text") from None
    if not isinstance(content, dict) or content.get("kind") != KIND:
        raise ValueError("the file holds no state of a panel; open one that this workbook saved")
    _check_head(content.get("panel"), content.get("schema"), kind, SCHEMA_VERSION)
    given = content.get("fields", {})
    if not isinstance(given, dict):
        raise ValueError("fields must be a JSON object with named fields")
    return _state(kind, given)


def python_text(state: Any) -> str:
    """Return a state as a Python expression, to be evaluated where its class is known."""
    given = ", ".join(f"{name}={value!r}" for name, value in _changes(state).items())
    return f"{type(state).__name__}({given})"


def _changes(state: Any) -> dict[str, float | str]:
    """Shared fields that differ from the defaults of the state's class, in their order."""
    known = shared_fields(type(state))
    return {
        each.name: getattr(state, each.name)
        for each in fields(state)
        if each.name in known and getattr(state, each.name) != each.default
    }


def _check_head(panel: object, version: object, kind: type, expected: object) -> None:
    if panel != panel_name(kind):
        raise ValueError(f"it is for the panel {panel!r}; this one is {panel_name(kind)}")
    if isinstance(version, bool) or version != expected:
        raise ValueError(
            f"its version is {version!r}; this workbook reads {expected}. Update the workbook, "
            "or make it anew"
        )


def _typed(kind: type, name: str, value: str) -> float | str:
    """A field's value from a link, where all is text; what is no number stays text."""
    if not isinstance(specs_of(kind).get(name), Quantity):
        return value
    try:
        return float(value)
    except ValueError:
        return value


def _state(kind: type[State], given: Mapping[str, Any]) -> State:
    known = shared_fields(kind)
    unknown = sorted(set(given) - set(known))
    if unknown:
        raise ValueError(f"unknown field {unknown[0]!r}; the fields are {', '.join(known)}")
    return kind(**given)
