"""One low reading at home: what it means, how often it comes, and what a repeat is worth."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from oximetry_workbook.body.quantities import check_fields, choice, quantity, specs_of
from oximetry_workbook.study.cells import SATURATION_PERCENT, STEP_POINTS
from oximetry_workbook.study.chance import (
    Belief,
    after,
    before,
    low_by_day,
    low_every_time,
    shown_at_most,
)
from oximetry_workbook.study.people_and_meter import MeterError, People

FloatArray = NDArray[np.float64]

DAYS = 30
"""Days of a month."""

LOW_PERCENT = 90.0
"""Below this the dissociation curve falls steeply: its shoulder (chapter 1)."""

TARGET_PERCENT = 94.0
"""Lower end of 94 to 98 %, the range aimed at in most adults (British Thoracic Society,
guideline for oxygen use 2017). From here up a low reading is called a false alarm."""

HELP_PERCENT = 90.0
"""A number shown at or under this is by itself a reason to seek help, whatever is felt (common
practice; local protocols set the level, and some act earlier)."""

BANDS = ("under 90 %", "from 90 to under 94 %", "at 94 % or more")
"""Where the truth may lie, from low to high."""

SAME_SITTING, OTHER_DAYS = "at the same sitting", "each on another day"

LOWEST_PLOTTED_PERCENT = 75.0
SHOWN = SATURATION_PERCENT >= LOWEST_PLOTTED_PERCENT
PLOTTED_PERCENT = SATURATION_PERCENT[SHOWN][::2]
"""Saturations on screen [%]."""


def _of_meter(name: str) -> Any:
    return field(default=getattr(MeterError(), name), metadata={"spec": specs_of(MeterError)[name]})


@dataclass(frozen=True)
class OneLowReading:
    """A group of people who feel well and measure at home, and a number lower than expected.

    Attributes:
        reading_percent: Number shown.
        a_rms_points: Error of the meter, A_rms [percentage points].
        person_share: Share of the error's variance that stays with the person.
        sitting_share: Share of the rest that stays through a sitting.
        prevalence: Share of those who measure whose saturation is low.
        checks_a_day: Readings a day.
        repeats: Further readings after the first.
        repeats_show_percent: What each of these shows.
        repeats_when: Whether they are taken at once or on other days.

    Raises:
        ValueError: The message names the field, what was given and what is allowed.
    """

    reading_percent: float = quantity(92.0, 80.0, 97.0, "%", "Reading shown", 1.0, whole=True)
    a_rms_points: float = _of_meter("a_rms_points")
    prevalence: float = quantity(
        0.02, 0.001, 0.5, "", "Low among those who measure", 0.05, logarithmic=True, fraction=True
    )
    repeats: float = quantity(0.0, 0.0, 4.0, "", "Repeats", 1.0, whole=True)
    repeats_show_percent: float = quantity(
        96.0, 80.0, 100.0, "%", "Each repeat shows", 1.0, whole=True
    )
    repeats_when: str = choice("Repeats are taken", SAME_SITTING, OTHER_DAYS)
    person_share: float = _of_meter("person_share")
    sitting_share: float = _of_meter("sitting_share")
    checks_a_day: float = quantity(2.0, 1.0, 24.0, "a day", "Checks", 1.0, whole=True)

    def __post_init__(self) -> None:
        check_fields(self)

    @cached_property
    def error(self) -> MeterError:
        """Error of the meter, without bias."""
        return MeterError(
            self.a_rms_points, 0.0, person_share=self.person_share, sitting_share=self.sitting_share
        )

    @cached_property
    def people(self) -> People:
        """Those who measure."""
        return People(prevalence=self.prevalence)

    @property
    def readings(self) -> list[float]:
        """All numbers shown, the first one first [%]."""
        return [self.reading_percent] + int(self.repeats) * [self.repeats_show_percent]

    @cached_property
    def before(self) -> Belief:
        """What may be believed of one of them before any reading."""
        return before(self.people)

    @cached_property
    def first(self) -> Belief:
        """What may be believed after the first reading alone."""
        return after(self.people, self.error, self.readings[:1])

    @cached_property
    def after(self) -> Belief:
        """What may be believed after all readings."""
        return after(self.people, self.error, self.readings, self.days)

    @cached_property
    def curves(self) -> FloatArray:
        """Share of people a point of true saturation [%], before and after; shape (2, n)."""
        shares = np.array([self.before.shares, self.after.shares])[:, SHOWN]
        pairs = shares.reshape(2, -1, 2).sum(axis=2)
        return np.asarray(100.0 * pairs / (2.0 * STEP_POINTS))

    @property
    def bands(self) -> FloatArray:
        """Probability of each of `BANDS` after all readings; shape (3,)."""
        low, under = self.after.below(LOW_PERCENT), self.after.below(TARGET_PERCENT)
        return np.array([low, under - low, 1.0 - under])

    @property
    def of_hundred(self) -> tuple[int, ...]:
        """Of 100 people who saw these readings, how many lie in each of `BANDS`."""
        return whole_parts(self.bands, 100)

    @cached_property
    def by_day(self) -> FloatArray:
        """Chance [%] that a healthy person has seen such a reading by each day; shape (30,)."""
        return self._by_day(all_new=False)

    @cached_property
    def by_day_all_new(self) -> FloatArray:
        """The same if the whole error were new at each check [%]; shape (30,)."""
        return self._by_day(all_new=True)

    def _by_day(self, all_new: bool) -> FloatArray:
        checks = int(self.checks_a_day)
        threshold = self.reading_percent
        return 100.0 * low_by_day(self.people, self.error, threshold, checks, DAYS, all_new)

    @property
    def days(self) -> bool:
        """Whether each repeat is taken on another day."""
        return self.repeats_when == OTHER_DAYS

    @property
    def stays_low(self) -> bool:
        """Whether there are repeats, and all readings lie under `TARGET_PERCENT`."""
        return self.repeats > 0 and max(self.readings) < TARGET_PERCENT

    @property
    def every_time(self) -> tuple[float, ...]:
        """Chance that every reading is as low as the highest here: low group, healthy."""
        highest, n = max(self.readings), len(self.readings)
        return low_every_time(self.people, self.error, highest, n, self.days)

    @property
    def missed(self) -> float:
        """Chance that one check shows somebody of the low group `TARGET_PERCENT` or more."""
        return 1.0 - shown_at_most(self.people, self.error, TARGET_PERCENT - 1.0)[0]

    @property
    def once(self) -> tuple[float, ...]:
        """Chance that one check shows this or less: for the low group, and for the healthy."""
        return shown_at_most(self.people, self.error, self.reading_percent)


def whole_parts(shares: FloatArray, total: int) -> tuple[int, ...]:
    """Split a whole number by shares that add up to 1; the largest remainders are rounded up."""
    exact = total * np.asarray(shares)
    parts = np.floor(exact + 1e-9).astype(int)
    missing = total - int(parts.sum())
    parts[np.argsort(parts - exact, kind="stable")[:missing]] += 1
    return tuple(int(part) for part in parts)


def counted_people(state: OneLowReading, total: int = 1000) -> tuple[int, int, int, int]:
    """Count people who check once: the low, those of them shown this or less; the same, healthy."""
    low = round(total * state.prevalence)
    seen = [round(n * chance) for n, chance in zip((low, total - low), state.once, strict=True)]
    return low, seen[0], total - low, seen[1]
