"""Questions whose right answers are computed, never typed in."""

from __future__ import annotations

from dataclasses import dataclass

from oximetry_workbook.teach.words import figure

LINKS = {
    "oxygen": "how blood takes up oxygen",
    "blood": "what haemoglobin does to each colour",
    "light": "the LEDs and the detector",
    "tissue": "the way of the light through tissue",
    "pulse": "what the heart adds at each beat",
    "ratio": "the ratio of ratios R",
    "curve": "the calibration curve",
    "display": "what the meter shows, and when it shows nothing",
    "chance": "how much one reading can say about one person",
}
"""Links of the chain, and what its number is worth, by key, in words for feedback."""


@dataclass(frozen=True)
class Verdict:
    """What a learner hears about an answer.

    Attributes:
        right: Whether the answer is right.
        feedback: Why, or where to look again.
    """

    right: bool
    feedback: str


@dataclass(frozen=True)
class ChoiceQuestion:
    """A question with a few answers to choose from.

    Attributes:
        text: The question.
        options: The answers.
        answer: Index of the right one, found by the engine.
        why: Why it is right, with the engine's numbers.
        link: Key of the link of the chain to look at again, from `LINKS`.
        if_wrong: What whoever chose an option has overlooked, one sentence or two for each
            option; that of the right one is never said. It must not give the answer away.

    Raises:
        ValueError: When the answer is no option, the link is unknown, or `if_wrong` has not as
            many entries as there are options.
    """

    text: str
    options: tuple[str, ...]
    answer: int
    why: str
    link: str
    if_wrong: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        _check_link(self.link)
        if self.if_wrong and len(self.if_wrong) != len(self.options):
            raise ValueError(
                f"if_wrong has {len(self.if_wrong)} entries; there are {len(self.options)} options"
            )
        if not 0 <= self.answer < len(self.options):
            raise ValueError(f"answer is {self.answer}; there are {len(self.options)} options")

    def check(self, chosen: int | None) -> Verdict:
        """Judge the option chosen, None for none yet."""
        if chosen is None:
            return Verdict(False, "Choose an answer first.")
        if chosen == self.answer:
            return Verdict(True, f"Yes. {self.why}")
        again = f"Look again at {LINKS[self.link]}."
        return Verdict(False, _joined("No.", self.overlooked(chosen), again))

    def overlooked(self, chosen: int) -> str:
        """Return what whoever chose this option has overlooked; empty where nothing is said."""
        return self.if_wrong[chosen] if self.if_wrong and chosen != self.answer else ""

    @property
    def solution(self) -> str:
        """The right answer and why, for those who have tried."""
        return f"The answer is “{self.options[self.answer]}”. {self.why}"


@dataclass(frozen=True)
class NumberQuestion:
    """A question whose answer is a number.

    Attributes:
        text: The question.
        unit: Unit of the answer, as shown; empty for none.
        answer: The right number, found by the engine.
        tolerance: Largest difference that counts as right, in the same unit.
        why: Why it is right, with the engine's numbers.
        link: Key of the link of the chain to look at again, from `LINKS`.
        hint: What to reckon with, said after a wrong answer; it must not give the number away.

    Raises:
        ValueError: When the tolerance is not above 0, or the link is unknown.
    """

    text: str
    unit: str
    answer: float
    tolerance: float
    why: str
    link: str
    hint: str = ""

    def __post_init__(self) -> None:
        _check_link(self.link)
        object.__setattr__(self, "answer", float(self.answer))  # engines hand over numpy numbers
        if not self.tolerance > 0.0:
            raise ValueError(f"tolerance is {self.tolerance:g}; it must be above 0")

    def check(self, given: float | None) -> Verdict:
        """Judge the number given, None for none yet."""
        if given is None:
            return Verdict(False, "Type a number first.")
        if self._close(given):
            return Verdict(True, f"Yes. {self.why}")
        if self.unit == "%" and self._close(100.0 * given):
            return Verdict(
                False,
                f"Right idea, but it is asked in percent: {figure(100.0 * given, 3)}, "
                f"not {figure(given, 3)}.",
            )
        way = "too high" if given > self.answer else "too low"
        again = f"Look again at {LINKS[self.link]}."
        return Verdict(False, _joined(f"That is {way}.", self.hint, again))

    @property
    def solution(self) -> str:
        """The right answer and why, for those who have tried."""
        number = f"{figure(self.answer, 3)} {self.unit}".strip()
        return f"The answer is {number}. {self.why}"

    def _close(self, given: float) -> bool:
        return abs(given - self.answer) <= self.tolerance


Question = ChoiceQuestion | NumberQuestion


def _joined(*sentences: str) -> str:
    return " ".join(filter(None, sentences))


def _check_link(link: str) -> None:
    if link not in LINKS:
        raise ValueError(f"link is {link!r}; choose one of {', '.join(LINKS)}")
