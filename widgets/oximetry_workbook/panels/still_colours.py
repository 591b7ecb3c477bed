"""Colours of the page for pictures made without a browser: CSS variables, of the light theme."""

from __future__ import annotations

import re
from functools import cache
from importlib.resources import files

Colour = tuple[float, float, float, float]
"""Red, green, blue and opacity, each from 0 to 1."""

_COMMENT = re.compile(r"/\*.*?\*/", re.DOTALL)
_LIGHT_RULE = re.compile(r"^(?::root|\.bqplot\.bqplot)\s*\{([^}]*)\}", re.MULTILINE)
_DECLARATION = re.compile(r"(--[\w-]+):\s*([^;]+);")
_VARIABLE = re.compile(r"var\((--[\w-]+)\)")
_MIX = re.compile(r"color-mix\(in srgb, (.+) ([\d.]+)%, transparent\)")


@cache
def variables() -> dict[str, str]:
    """Read the variables of the light theme, `--name` to value, from `look.css`."""
    sheet = (files("oximetry_workbook.panels") / "static" / "look.css").read_text("utf-8")
    rules = _LIGHT_RULE.findall(_COMMENT.sub("", sheet))
    return {name: " ".join(value.split()) for name, value in _DECLARATION.findall("".join(rules))}


def colour(css: str) -> Colour:
    """Return a colour as matplotlib takes it.

    Args:
        css: A colour that matplotlib knows, `transparent`, a variable of `look.css`, or a
            `color-mix` of any of these with `transparent`.

    Raises:
        ValueError: If the text is none of these.
    """
    from matplotlib.colors import to_rgba

    if mixed := _MIX.fullmatch(css):
        red, green, blue, opacity = colour(mixed[1])
        return red, green, blue, opacity * float(mixed[2]) / 100.0
    if named := _VARIABLE.fullmatch(css):
        if named[1] not in variables():
            raise ValueError(f"look.css has no colour {named[1]}; name one that it has")
        return colour(variables()[named[1]])
    try:
        return to_rgba("none" if css == "transparent" else css)
    except ValueError:
        raise ValueError(f"“{css}” is not a colour that a still can draw") from None


def faded(css: str, opacity: float) -> Colour:
    """Return a colour whose own opacity is lowered by a factor."""
    red, green, blue, own = colour(css)
    return red, green, blue, own * opacity
