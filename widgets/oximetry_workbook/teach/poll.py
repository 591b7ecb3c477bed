"""A poll by show of hands: what an audience guessed, and how it lies to the number."""

from __future__ import annotations

import math
import re
from bisect import bisect_right
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from itertools import pairwise
from reprlib import repr as short
from statistics import median

from oximetry_workbook.teach.scene import GUESSES
from oximetry_workbook.teach.words import figure, signed

MOST_GUESSES = 2000
"""Most guesses of a poll: more than a lecture hall seats."""


@dataclass(frozen=True)
class Scale:
    """How guesses at one number are counted and spoken of.

    Attributes:
        step: What guesses are rounded to before they are counted, in the number's unit.
        firsts: The least guess of each range, in steps; below the second lies the first range.
        near: Up to this distance a guess is called near, in the number's unit. Our own choice.
        unit: Unit as spoken, with the space before it.
        truth: What there is to say of the number, which stands at {}.
        decimals: To how many decimals the number is shown.
        closed: Whether the last range ends at a natural limit, and not just somewhere.
        write: Writes a number without its unit.
    """

    step: float
    firsts: tuple[int, ...]
    near: float
    unit: str
    truth: str
    decimals: int = 0
    closed: bool = False
    write: Callable[[float], str] = field(default=lambda value: figure(value, 4))

    def told(self, value: float) -> str:
        """Write a number with its unit."""
        return f"{self.write(value)}{self.unit}"

    def shown(self, value: float) -> float:
        """Round a number as the display does, halves up."""
        tens = 10.0**self.decimals
        return math.floor(value * tens + 0.5) / tens

    def place(self, value: float) -> int:
        """Return the range that a guess falls into, from 0."""
        return bisect_right(self.firsts[1:], self._steps(value))

    def names(self) -> tuple[str, ...]:
        """Name the ranges."""
        write, firsts = self._write_steps, self.firsts
        inner = [_range(write(a), write(b - 1)) for a, b in pairwise(firsts[1:])]
        last = f"{write(firsts[-1])} or more"
        if self.closed:
            last = _range(write(firsts[-1]), "100")
        return (f"below {write(firsts[1])}", *inner, last)

    def example(self) -> str:
        """Write a few guesses as somebody may type them."""
        return ", ".join(map(self._write_steps, self.firsts[-3:]))

    def position(self, value: float, high: float) -> float:
        """Return how far along the ranges, drawn side by side and equally wide, a number lies.

        Args:
            value: The number.
            high: The greatest guess allowed.

        Returns:
            0 at the start of the first range, 1 at the end of the last.
        """
        place = self.place(value)
        ends = (*self.firsts, round(high / self.step) + 1)
        low, width = ends[place], ends[place + 1] - ends[place]
        inside = (value / self.step - low + 0.5) / width
        return (place + min(max(inside, 0.0), 1.0)) / len(self.firsts)

    def _steps(self, value: float) -> int:
        return math.floor(value / self.step + 0.5)

    def _write_steps(self, steps: int) -> str:
        return f"{steps * self.step:.10g}".replace("-", "−")


def _range(low: str, high: str) -> str:
    """Name a range; a dash between negative numbers would be read as one more sign."""
    return f"{low} to {high}" if "−" in low + high else f"{low}–{high}"


_PERCENT = Scale(1.0, (0, *range(50, 100, 5)), 2.0, " %", "", closed=True)

SCALES = {
    "shown": replace(_PERCENT, truth="the meter shows {}"),
    "carried": replace(_PERCENT, truth="the blood carries {}", decimals=1),
    "error": Scale(
        1.0,
        (-100, -20, -10, -5, -2, 3, 6, 11, 21),
        2.0,
        " points",
        "the meter is off by {}",
        decimals=1,
        write=signed,
    ),
    "ratio": Scale(0.1, (0, 4, 6, 8, 10, 12, 15, 20), 0.1, "", "R is {}", decimals=2),
    "pulse_rate": Scale(
        1.0, (0, 40, 50, 60, 70, 80, 90, 100, 120, 150), 5.0, " per minute", "the meter shows {}"
    ),
    "perfusion_index": Scale(
        0.1,
        (0, 2, 5, 10, 20, 40, 60, 100),
        0.5,
        " %",
        "the meter shows {}",
        decimals=2,
        write=figure,
    ),
}
"""How each of the numbers in `scene.GUESSES` is polled."""


@dataclass(frozen=True)
class Poll:
    """The guesses of one audience at one number.

    Attributes:
        guess: What they guess, a key of `scene.GUESSES`.
        typed: Guesses given as numbers.
        tapped: Guesses given as a range, counted by range; shape as `Scale.firsts`.
    """

    guess: str
    typed: tuple[float, ...] = ()
    tapped: tuple[int, ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "tapped", self.tapped or (0,) * len(self.scale.firsts))

    @property
    def scale(self) -> Scale:
        """How they are counted."""
        return SCALES[self.guess]

    @property
    def counts(self) -> tuple[int, ...]:
        """How many guesses fall into each range."""
        found = list(self.tapped)
        for value in self.typed:
            found[self.scale.place(value)] += 1
        return tuple(found)

    @property
    def total(self) -> int:
        """How many guesses there are."""
        return len(self.typed) + sum(self.tapped)

    def with_typed(self, text: str) -> Poll:
        """Return the poll with guesses more, written as in “92, 95, 97”.

        Raises:
            ValueError: The message says which word is no number or out of range; none of the
                guesses is taken then.
        """
        words = [word for word in re.split(r"[,;\s]+", text.replace("%", " ")) if word]
        self._check_room(len(words))
        return replace(self, typed=(*self.typed, *(self._number(word) for word in words)))

    def with_tapped(self, place: int, change: int) -> Poll:
        """Return the poll with one guess more or less in a range; below none there is nothing.

        Of a range without tapped guesses, the latest typed one is taken away.

        Args:
            place: The range, from 0.
            change: 1 or −1.
        """
        if change > 0:
            self._check_room(change)
        elif not self.tapped[place]:
            return self._without_typed(place)
        counts = list(self.tapped)
        counts[place] += change
        return replace(self, tapped=tuple(counts))

    def _without_typed(self, place: int) -> Poll:
        inside = [k for k, value in enumerate(self.typed) if self.scale.place(value) == place]
        return replace(
            self, typed=tuple(v for k, v in enumerate(self.typed) if k not in inside[-1:])
        )

    def _check_room(self, more: int) -> None:
        if self.total + more > MOST_GUESSES:
            raise ValueError(f"a poll holds {MOST_GUESSES} guesses; press Clear to begin anew")

    def _number(self, word: str) -> float:
        asked = GUESSES[self.guess]
        try:
            value = float(word.replace("−", "-"))
        except ValueError:
            raise ValueError(
                f"{short(word)} is not a number; write guesses with commas between them, as in "
                "92, 95, 97"
            ) from None
        if not asked.low <= value <= asked.high:  # refuses nan, too
            raise ValueError(
                f"{value:g} is no possible guess at {asked.label}; allowed is "
                f"{asked.low:g} to {asked.high:g} {asked.unit}".rstrip()
            )
        return value


def count_sentence(poll: Poll) -> str:
    """Say how many guesses there are, and where their middle lies."""
    if not poll.total:
        return "No guesses yet."
    noun = "guess" if poll.total == 1 else "guesses"
    return f"{poll.total} {noun}; the median guess {_median_words(poll, 'is')}."


def truth_sentence(poll: Poll, truth: float | None) -> str:
    """Say how the guesses lie to the number.

    Args:
        poll: The guesses.
        truth: The number; None where the meter withholds it.
    """
    if truth is None:
        return f"The meter withholds this number. {count_sentence(poll)}"
    scale = poll.scale
    shown = scale.shown(truth)
    told = scale.truth.format(scale.told(shown))
    if not poll.total:
        return f"No guesses; {told}."
    return f"{_near_words(poll, shown)}; the median guess {_median_words(poll, 'was')}, {told}."


def _near_words(poll: Poll, shown: float) -> str:
    """Say how many are near; of tapped guesses no more is known than their range."""
    scale = poll.scale
    if any(poll.tapped):
        place = scale.place(shown)
        return (
            f"{poll.counts[place]} of {poll.total} guessed {scale.names()[place]}, the right range"
        )
    near = sum(abs(value - shown) <= scale.near + 1e-9 for value in poll.typed)
    distance = {" %": " points", " points": " points"}.get(scale.unit, scale.unit)
    return f"{near} of {poll.total} guessed within {figure(scale.near)}{distance}"


def _median_words(poll: Poll, verb: str) -> str:
    if not any(poll.tapped):
        return f"{verb} {poll.scale.told(median(poll.typed))}"
    names = poll.scale.names()
    places = [place for place, count in enumerate(poll.counts) for _ in range(count)]
    lower, upper = names[places[(len(places) - 1) // 2]], names[places[len(places) // 2]]
    return f"{verb} in {lower}" if lower == upper else f"{verb} between {lower} and {upper}"
