"""Which column is what: guessed from its name, or chosen by the caller."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from oximetry_workbook.meter.files.source import UnreadableRecordingError

ROLES = ("time", "red", "infrared", "reference")

TIME_UNITS = {"s": 1.0, "ms": 1e-3, "us": 1e-6}
"""Length of each unit of time [s]."""

CLOCK = "clock"
"""Stands for a unit where times are written as a clock shows them, such as 23:59:59.5."""

_UNIT_WORDS = {
    "s": ["s", "sec", "secs", "second", "seconds"],
    "ms": ["ms", "msec", "msecs", "millis", "millisecond", "milliseconds"],
    "us": ["us", "µs", "μs", "usec", "micros", "microsecond", "microseconds"],
}
UNIT_OF_WORD = {word: unit for unit, words in _UNIT_WORDS.items() for word in words}

WORDS = {
    "time": {"time", "times", "t", "timestamp", "datetime", "timer", "elapsed", *UNIT_OF_WORD},
    "red": {"red", "rd"},
    "infrared": {"infrared", "ir", "infra", "nir"},
    "reference": {"reference", "ref", "spo2", "sao2", "o2sat", "saturation"},
}
"""Words in a column's name that tell what it holds (common practice)."""

WAVELENGTHS_NM = {"red": (600, 700), "infrared": (780, 1000)}
"""Numbers in a name that are taken for a wavelength of that light."""

OTHER_UNITS = {"", "%", "percent", "v", "mv", "na", "ua", "au", "counts", "nu", "adu", "lsb", "hz"}
"""What a row of units may hold beside units of time, in lower case without points."""

SHOWN = 20
"""So many names are listed in a message."""


@dataclass(frozen=True)
class Guesses:
    """Which column is what.

    Attributes:
        found: Column of each role, from 0.
        why: What it was recognised by, or why there is none, for each role.
    """

    found: dict[str, int]
    why: dict[str, str]


def words_of(name: str) -> list[str]:
    """Words and numbers of a name, in lower case: "Red_660 nm" has "red", "660" and "nm"."""
    words = re.split(r"[^0-9a-zµμ]+", name.lower())
    return [word.removesuffix("nm") or word for word in words if word]


def is_known(name: str) -> bool:
    """Whether a name is a role's word or a wavelength, and nothing else."""
    words = words_of(name)
    return len(words) == 1 and any(_tells(words[0], role) for role in ROLES)


def is_unit(cell: str) -> bool:
    """Whether a cell holds the name of a unit, in brackets or not, or nothing."""
    word = cell.strip("()[]{} ").lower().replace(".", "")
    return word in OTHER_UNITS or word in UNIT_OF_WORD


def unit_of_time(name: str, unit_cell: str) -> str | None:
    """The unit that the row of units, or else the name, gives: "s", "ms" or "us"."""
    for word in (*words_of(unit_cell), *reversed(words_of(name))):
        if word in UNIT_OF_WORD:
            return UNIT_OF_WORD[word]
    return None


def guess_columns(
    names: tuple[str, ...], roles_given: Iterable[str], usable: Iterable[int]
) -> Guesses:
    """Guess what the columns hold: the shortest name with a telling word wins, if only one has it.

    Args:
        names: Names of the columns.
        roles_given: Roles that need no guess.
        usable: Columns that may be guessed.
    """
    given = set(roles_given)
    usable = tuple(usable)
    found: dict[str, int] = {}
    why: dict[str, str] = {}
    for role in ROLES:
        if role in given:
            continue
        free = [i for i in usable if i not in found.values()]
        lengths = {i: n for i in free if (n := _telling_length(names[i], role))}
        best = [i for i, length in lengths.items() if length == min(lengths.values())]
        if len(best) == 1:
            found[role] = best[0]
            why[role] = f"recognised by the name {names[best[0]]!r}"
        elif best:
            why[role] = f"not guessed: {_listed([names[i] for i in best])} could all be it"
        else:
            why[role] = "not found: no column has a name that tells it"
    return Guesses(found, why)


def choose_columns(
    names: tuple[str, ...], usable: Iterable[int], chosen: Mapping[str, str | None] | None
) -> Guesses:
    """Take the caller's columns and guess the others.

    Args:
        names: Names of the columns.
        usable: Columns that may be guessed.
        chosen: Name of the column of each role, in upper or lower case; None leaves a role out.

    Raises:
        UnreadableRecordingError: A role or a column is unknown, or a column is chosen twice.
    """
    asked = dict(chosen or {})
    for role in asked:
        if role not in ROLES:
            raise UnreadableRecordingError(
                f"columns has {role!r}; it may have {', '.join(ROLES)}, each with a column's name"
            )
    taken = {role: _index(names, role, name) for role, name in asked.items() if name is not None}
    if len(set(taken.values())) < len(taken):
        raise UnreadableRecordingError(
            f"columns names a column twice: {asked}; each can be only one"
        )
    rest = [i for i in usable if i not in taken.values()]
    guesses = guess_columns(names, asked, rest)
    why = dict.fromkeys(asked, "left out") | dict.fromkeys(taken, "chosen")
    return Guesses(taken | guesses.found, why | guesses.why)


def _index(names: tuple[str, ...], role: str, wanted: str) -> int:
    for spelt in (str, str.casefold):
        matching = [i for i, name in enumerate(names) if spelt(name) == spelt(str(wanted).strip())]
        if len(matching) == 1:
            return matching[0]
    raise UnreadableRecordingError(
        f"columns gives {wanted!r} for {role}, but the columns are {_listed(list(names))}"
    )


def _telling_length(name: str, role: str) -> int:
    """Number of words of a name that tells the role, units apart; 0 when it does not."""
    words = words_of(name)
    if role == "red" and _tells_any(words, "infrared"):
        return 0  # "infra red"
    if not _tells_any(words[:1] if role == "time" else words, role):
        return 0
    return max(1, sum(word not in UNIT_OF_WORD and word != "percent" for word in words))


def _tells_any(words: list[str], role: str) -> bool:
    return any(_tells(word, role) for word in words)


def _tells(word: str, role: str) -> bool:
    if word in WORDS[role]:
        return True
    low, high = WAVELENGTHS_NM.get(role, (0, 0))
    return bool(re.fullmatch(r"[0-9]{3,4}", word)) and low <= int(word) <= high and high > 0


def _listed(names: list[str]) -> str:
    more = f" and {len(names) - SHOWN} more" if len(names) > SHOWN else ""
    return ", ".join(repr(name) for name in names[:SHOWN]) + more
