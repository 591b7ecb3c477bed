"""Scenes and lessons: a situation, what to say about it, what to ask, what to cover."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from numbers import Real
from reprlib import repr as short

from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.teach.reading import CURVE_NAMES, PROBE_CURVE, Reading, read

PARTS = {
    "numbers": "The numbers and the sentence",
    "layers": "What takes the light",
    "pulses": "The two pulses",
    "ratio": "Red against infrared",
    "curve": "From ratio to number",
}
"""Parts of the bench that a scene shows, in the order of the page, with their headings."""

LONGEST_TITLE, LONGEST_TEXT = 120, 2000
"""Most characters of a heading, and of what is said, asked or noted."""

LONGEST_MINUTES = 240.0
"""Most time that a scene may be planned for [min]: half a working day."""

MOST_SCENES = 200
"""Most scenes of a lesson: more is no lesson, but a file that went wrong."""


@dataclass(frozen=True)
class Guess:
    """A number of a reading that an audience can guess.

    Attributes:
        label: Name for people.
        unit: Unit as shown.
        low: Least number that an audience may guess.
        high: Greatest such number.
        truth: Finds the number in a reading; None where the meter withholds it.
        told_by: Parts of the bench that write it out, or mark it: the answer while uncovered.
    """

    label: str
    unit: str
    low: float
    high: float
    truth: Callable[[Reading], float | None]
    told_by: tuple[str, ...]


GUESSES = {
    "shown": Guess(
        "what the meter shows",
        "%",
        0.0,
        100.0,
        lambda r: r.measurement.spo2_percent,
        ("numbers", "curve"),
    ),
    "carried": Guess(
        "what the blood carries",
        "%",
        0.0,
        100.0,
        lambda r: r.carried_percent,
        ("numbers", "curve"),
    ),
    "error": Guess(
        "how many points the meter is off",
        "points",
        -100.0,
        100.0,
        lambda r: r.error_points,
        ("numbers", "curve"),
    ),
    "ratio": Guess(
        "the ratio of ratios R",
        "",
        0.0,
        4.0,
        lambda r: r.measurement.ratio,
        ("numbers", "layers", "ratio", "curve"),
    ),
    "pulse_rate": Guess(
        "the pulse rate shown",
        "/min",
        0.0,
        250.0,
        lambda r: r.measurement.heart_rate_bpm,
        ("numbers", "pulses"),
    ),
    "perfusion_index": Guess(
        "the perfusion index shown",
        "%",
        0.0,
        20.0,
        lambda r: r.measurement.perfusion_index_percent,
        ("numbers",),
    ),
}
"""What an audience can be asked to guess, by the word that a lesson file uses."""


@dataclass(frozen=True)
class Scene:
    """A step of a lesson.

    Attributes:
        title: Heading on the screen.
        scenario: The situation on the bench.
        curve: Name of the meter's calibration curve, one of `reading.CURVE_NAMES`.
        spoken: The line to say.
        question: What to ask the audience; empty for nothing.
        guess: What they guess, a key of `GUESSES`; empty where there is nothing to count.
        shown: Parts of the bench on the screen, keys of `PARTS`.
        covered: Parts among them that are covered until revealed.
        notes: What only the lecturer sees.
        minutes: Time it is planned for [min].

    Raises:
        ValueError: The message names the field and what is wrong with it.
    """

    title: str
    scenario: Scenario = field(default_factory=Scenario)
    curve: str = PROBE_CURVE
    spoken: str = ""
    question: str = ""
    guess: str = ""
    shown: tuple[str, ...] = tuple(PARTS)
    covered: tuple[str, ...] = ()
    notes: str = ""
    minutes: float = 2.0

    def __post_init__(self) -> None:
        _check_title(self.title)
        if not isinstance(self.scenario, Scenario):
            raise ValueError(f"scenario is {short(self.scenario)}; it must be a scenario")
        _check_word("curve", self.curve, CURVE_NAMES)
        for name in ("spoken", "question", "notes"):
            _check_text(name, getattr(self, name), LONGEST_TEXT)
        _check_word("guess", self.guess, ("", *GUESSES))
        for name, allowed in (("shown", tuple(PARTS)), ("covered", tuple(PARTS))):
            object.__setattr__(self, name, _parts(name, getattr(self, name), allowed))
        hidden = [part for part in self.covered if part not in self.shown]
        if hidden:
            raise ValueError(f"covered names {hidden[0]}, which is not among what is shown")
        object.__setattr__(self, "minutes", _minutes(self.minutes))

    @property
    def given_away_by(self) -> tuple[str, ...]:
        """Parts on the screen that tell the number to be guessed before it is revealed."""
        told_by = GUESSES[self.guess].told_by if self.guess else ()
        return tuple(part for part in told_by if part in self.shown and part not in self.covered)

    def asking(self, guess: str) -> Scene:
        """Return the scene with something to guess, and what would tell it covered.

        Args:
            guess: A key of `GUESSES`; empty for nothing, which covers nothing.

        Raises:
            ValueError: For another word.
        """
        asked = replace(self, guess=guess)
        return replace(asked, covered=(*self.covered, *asked.given_away_by))

    def reading(self) -> Reading:
        """Take the scene's situation through the chain."""
        return read(self.scenario, self.curve)

    def truth(self) -> float | None:
        """Return the number that the audience guesses; None if there is none or it is withheld."""
        return GUESSES[self.guess].truth(self.reading()) if self.guess else None


@dataclass(frozen=True)
class Lesson:
    """Scenes in their order.

    Attributes:
        title: Name of the lesson.
        audience: Whom it is for, and what they should be able to explain afterwards.
        scenes: The scenes; one at least.

    Raises:
        ValueError: The message names the field and what is wrong with it.
    """

    title: str
    audience: str = ""
    scenes: tuple[Scene, ...] = ()

    def __post_init__(self) -> None:
        _check_title(self.title)
        _check_text("audience", self.audience, LONGEST_TEXT)
        object.__setattr__(self, "scenes", tuple(self.scenes))
        if not 1 <= len(self.scenes) <= MOST_SCENES:
            raise ValueError(
                f"scenes has {len(self.scenes)} entries; a lesson has 1 to {MOST_SCENES}"
            )

    @property
    def minutes(self) -> float:
        """Time that all scenes are planned for together [min]."""
        return sum(scene.minutes for scene in self.scenes)

    def with_scene(self, scene: Scene, place: int | None = None) -> Lesson:
        """Return the lesson with one scene more, at the end or before the scene at `place`."""
        at = len(self.scenes) if place is None else place
        return replace(self, scenes=(*self.scenes[:at], scene, *self.scenes[at:]))

    def with_changed(self, place: int, scene: Scene) -> Lesson:
        """Return the lesson with the scene at `place` replaced."""
        return replace(self, scenes=(*self.scenes[:place], scene, *self.scenes[place + 1 :]))

    def without(self, place: int) -> Lesson:
        """Return the lesson without the scene at `place`.

        Raises:
            ValueError: When it is the only one.
        """
        return replace(self, scenes=(*self.scenes[:place], *self.scenes[place + 1 :]))

    def moved(self, place: int, to: int) -> Lesson:
        """Return the lesson with the scene at `place` moved to place `to`."""
        rest = [*self.scenes[:place], *self.scenes[place + 1 :]]
        rest.insert(to, self.scenes[place])
        return replace(self, scenes=tuple(rest))


def _check_title(title: object) -> None:
    _check_text("title", title, LONGEST_TITLE)
    if not str(title).strip():
        raise ValueError("title is empty; give it a few words")


def _check_text(name: str, value: object, longest: int) -> None:
    if not isinstance(value, str):
        raise ValueError(f"{name} is {short(value)}; it must be text")
    if len(value) > longest:
        raise ValueError(f"{name} has {len(value)} characters; at most {longest} fit")


def _check_word(name: str, value: object, allowed: Sequence[str]) -> None:
    if not isinstance(value, str) or value not in allowed:
        words = ", ".join(word or "nothing" for word in allowed)
        raise ValueError(f"{name} is {short(value)}; allowed are {words}")


def _parts(name: str, value: object, allowed: Sequence[str]) -> tuple[str, ...]:
    """Return parts in the order of the page, each once."""
    if isinstance(value, str) or not isinstance(value, Sequence):
        raise ValueError(f"{name} is {short(value)}; it must be a list of parts of the bench")
    for part in value:
        _check_word(name, part, allowed)
    return tuple(part for part in allowed if part in value)


def _minutes(value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, Real):
        raise ValueError(f"minutes is {short(value)}; it must be a number")
    try:
        number = float(value)
    except OverflowError:  # a whole number beyond any float
        number = math.inf
    if not 0.0 < number <= LONGEST_MINUTES:  # refuses nan, too
        raise ValueError(
            f"minutes is {number:g}; allowed is above 0 and up to {LONGEST_MINUTES:g} min"
        )
    return number
