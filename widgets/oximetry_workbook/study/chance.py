"""Chance: what one reading means, given the meter's error and who it is that measures.

A meter shows the true saturation plus an error. A part of the error stays with the person (their
tissue is not that of the volunteers), a part with the sitting (how the probe sits, how warm the
finger is), the rest is new each time. The display rounds to whole percent. Bayes's rule turns
the question round: from "what does a saturation show" to "what does a reading say".
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from oximetry_workbook.body.quantities import Quantity
from oximetry_workbook.study.cells import (
    FULL_SHOWN,
    HALF_SHOWN,
    HIGHEST_PERCENT,
    LOWEST_PERCENT,
    SATURATION_PERCENT,
    around,
    error_kernel,
    log_below,
    log_shown,
    spread_out,
)
from oximetry_workbook.study.people_and_meter import MeterError, People

FloatArray = NDArray[np.float64]

_READING = Quantity("Reading", "%", LOWEST_PERCENT, HIGHEST_PERCENT, 1.0, whole=True)
_SHARE = Quantity("Share", "", 0.0, 1.0, 0.01, fraction=True)


@dataclass(frozen=True, eq=False)
class Belief:
    """What may be believed of the true saturation of people alike in what is known of them.

    Attributes:
        shares: Probability of each cell of `SATURATION_PERCENT`, adding up to 1.
        low_group: Probability of belonging to the low group.
    """

    shares: FloatArray
    low_group: float

    @property
    def mean_percent(self) -> float:
        """Mean true saturation [%]."""
        return float(self.shares @ SATURATION_PERCENT)

    @property
    def sd_points(self) -> float:
        """Standard deviation of the true saturation [percentage points]."""
        return math.sqrt(float(self.shares @ (SATURATION_PERCENT - self.mean_percent) ** 2))

    def below(self, percent: float) -> float:
        """Probability that the true saturation is below `percent` [%]; steps of 0.05."""
        return float(self.shares[percent > SATURATION_PERCENT].sum())


def before(people: People) -> Belief:
    """What may be believed of somebody of these people before any reading."""
    return Belief(people.shares, people.prevalence)


def after(
    people: People, error: MeterError, readings: Sequence[float], other_days: bool = False
) -> Belief:
    """What may be believed after some readings of one person whose saturation stays as it is.

    Given the true saturation s, the readings share an error c and have new ones e:
    P(readings | s) = ∫ N(c) ∏ P(the display shows reading i | s + bias + c) dc. Bayes's rule
    does the rest.

    Args:
        people: Who measures.
        error: Of the meter.
        readings: Numbers shown, whole percent from 50 to 100; at least one.
        other_days: Whether each reading was taken on a day of its own; else all at one sitting.

    Raises:
        ValueError: There is no reading, one is out of range, or such readings are as good as
            impossible for these people and this meter.

    Source: Gelman and others, Bayesian Data Analysis (2013), sections 1.3 and 2.5.
    """
    if len(readings) == 0:
        raise ValueError("readings is empty; give at least one")
    shown = [_READING.checked("readings", each) for each in readings]
    likelihood = _likelihood(error, shown, other_days)
    joint = np.array([people.prevalence * people.low, (1.0 - people.prevalence) * people.healthy])
    joint = joint * likelihood
    total = float(joint.sum())
    if not total > 0.0:
        numbers = ", ".join(f"{each:g}" for each in shown)
        raise ValueError(
            f"readings are {numbers}; as good as impossible for these people and this meter: "
            "let more people be low, or give the meter a larger error"
        )
    return Belief(joint.sum(axis=0) / total, float(joint[0].sum()) / total)


def shown_at_most(people: People, error: MeterError, threshold_percent: float) -> tuple[float, ...]:
    """Chance that a single reading is at or under a threshold, in the low and healthy group.

    Args:
        people: Who measures.
        error: Of the meter.
        threshold_percent: Number shown, whole percent from 50 to 100.

    Returns:
        Chance for the low group and for the healthy group.

    Raises:
        ValueError: The threshold is out of range.
    """
    threshold = _READING.checked("threshold_percent", threshold_percent)
    if threshold >= FULL_SHOWN:
        return 1.0, 1.0
    end = threshold + HALF_SHOWN - error.bias_points - SATURATION_PERCENT
    chance = np.exp(log_below(end / error.spread_points))
    return float(people.low @ chance), float(people.healthy @ chance)


def low_every_time(
    people: People,
    error: MeterError,
    threshold_percent: float,
    readings: int,
    other_days: bool = False,
) -> tuple[float, ...]:
    """Chance that each of some readings of one person is at or under a threshold.

    Args:
        people: Who measures.
        error: Of the meter.
        threshold_percent: Number shown, whole percent from 50 to 100.
        readings: At least 1.
        other_days: Whether each reading was taken on a day of its own; else all at one sitting.

    Returns:
        Chance for the low group and for the healthy group.

    Raises:
        ValueError: A number is out of range.
    """
    threshold = _READING.checked("threshold_percent", threshold_percent)
    Quantity("Readings", "", 1.0, 1000.0, 1.0, whole=True).checked("readings", readings)
    if threshold >= FULL_SHOWN:
        return 1.0, 1.0
    shared, new = error.shared_and_new(other_days)
    chances = []
    for group in (people.low, people.healthy):
        middles, shares = spread_out(group, shared)
        ends = threshold + HALF_SHOWN - error.bias_points - middles
        chances.append(float(shares @ np.exp(readings * log_below(ends / new))))
    return tuple(chances)


def low_by_day(
    people: People,
    error: MeterError,
    threshold_percent: float,
    checks_a_day: int,
    days: int = 30,
    all_new: bool = False,
) -> FloatArray:
    """Chance that a healthy person has seen a reading at or under a threshold, by each day.

    Each check is a sitting of its own. The person's true saturation stays the same, and so does
    their own part of the error: who has been spared so far is likely to be spared again.

    Args:
        people: Who measures; the healthy group counts.
        error: Of the meter.
        threshold_percent: Number shown, whole percent from 50 to 100.
        checks_a_day: At least 1.
        days: At least 1.
        all_new: Reckon as if nothing stayed with the person: each check as that of somebody else.

    Returns:
        Chance by the end of each day; shape (days,).

    Raises:
        ValueError: A number is out of range.
    """
    threshold = _READING.checked("threshold_percent", threshold_percent)
    for name, count in (("checks_a_day", checks_a_day), ("days", days)):
        Quantity(name, "", 1.0, 1000.0, 1.0, whole=True).checked(name, count)
    if threshold >= FULL_SHOWN:
        return np.ones(int(days))
    shared, new = error.shared_and_new(other_days=True)
    middles, shares = spread_out(people.healthy, shared)
    once = np.exp(log_below((threshold + HALF_SHOWN - error.bias_points - middles) / new))
    if all_new:
        once, shares = np.array([shares @ once]), np.ones(1)
    checks = checks_a_day * np.arange(1, int(days) + 1)
    spared = (1.0 - once[:, None]) ** checks
    return np.asarray(1.0 - shares @ spared)


def predictive_value(prevalence: float, sensitivity: float, false_positive_rate: float) -> float:
    """Share of the truly affected among those with a positive result.

    Bayes's rule for a table of two by two: p s / (p s + (1 − p) f).

    Args:
        prevalence: Share of the affected p, as a fraction.
        sensitivity: Share of the affected with a positive result s, as a fraction.
        false_positive_rate: Share of the others with a positive result f, as a fraction.

    Raises:
        ValueError: A number is no fraction, or nobody has a positive result.
    """
    p = _SHARE.checked("prevalence", prevalence)
    right = p * _SHARE.checked("sensitivity", sensitivity)
    wrong = (1.0 - p) * _SHARE.checked("false_positive_rate", false_positive_rate)
    if right + wrong == 0.0:
        raise ValueError(
            "nobody has a positive result; give a sensitivity or false_positive_rate above 0"
        )
    return right / (right + wrong)


def _likelihood(error: MeterError, shown: Sequence[float], other_days: bool) -> FloatArray:
    """Chance of readings at each true saturation, relative to the greatest there could be."""
    shared, new = error.shared_and_new(other_days)
    kernel = error_kernel(shared)
    middles = around(kernel.size // 2) + error.bias_points
    # in logarithms, since the chance of many readings together may be smaller than any number
    logs = sum(shown.count(each) * log_shown(each, middles, new) for each in dict.fromkeys(shown))
    relative = np.exp(logs - np.max(logs))
    return np.convolve(relative, kernel, mode="valid")
