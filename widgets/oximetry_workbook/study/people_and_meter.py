"""Who measures, and with what: true saturation among people, and a meter's error in its parts."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from oximetry_workbook.body.quantities import check_fields, quantity
from oximetry_workbook.study.cells import normal_shares

FloatArray = NDArray[np.float64]


@dataclass(frozen=True)
class MeterError:
    """Size of a meter's error, and how much of it comes back.

    Errors are normal and do not depend on the saturation. The shares are of variance, since
    variances add and standard deviations do not.

    Attributes:
        a_rms_points: Root mean square of reading less true saturation, over people and readings,
            before rounding [percentage points].
        bias_points: Mean error, the same for all [percentage points]; smaller than A_rms.
        person_share: Share of the variance about the bias that stays with the person.
        sitting_share: Share of the rest that stays through a sitting.

    Raises:
        ValueError: The message names the field, what was given and what is allowed.
    """

    a_rms_points: float = quantity(2.0, 1.0, 6.0, "points", "Error of the meter, A_rms", 0.1)
    bias_points: float = quantity(0.0, -3.0, 3.0, "points", "Bias of the meter", 0.1)
    person_share: float = quantity(
        0.25, 0.0, 0.8, "", "Error that stays with the person", 0.05, fraction=True
    )
    sitting_share: float = quantity(
        0.5, 0.0, 0.8, "", "Rest that stays for a sitting", 0.05, fraction=True
    )

    def __post_init__(self) -> None:
        check_fields(self)
        if abs(self.bias_points) > 0.9 * self.a_rms_points:
            raise ValueError(
                f"bias_points is {self.bias_points:g} with a_rms_points {self.a_rms_points:g}; "
                "A_rms holds the bias and the spread, so the bias may be at most 0.9 of it"
            )

    @property
    def spread_points(self) -> float:
        """Standard deviation of a single error about the bias [percentage points]."""
        return math.sqrt(self.a_rms_points**2 - self.bias_points**2)

    @property
    def person_sd_points(self) -> float:
        """Standard deviation between persons, which no repeat takes away [percentage points]."""
        return self.spread_points * math.sqrt(self.person_share)

    @property
    def sitting_sd_points(self) -> float:
        """Standard deviation between sittings of one person [percentage points]."""
        return self.spread_points * math.sqrt((1.0 - self.person_share) * self.sitting_share)

    @property
    def moment_sd_points(self) -> float:
        """Standard deviation of what is new at each reading [percentage points]."""
        return self.spread_points * math.sqrt(
            (1.0 - self.person_share) * (1.0 - self.sitting_share)
        )

    def shared_and_new(self, other_days: bool) -> tuple[float, float]:
        """Standard deviations of what some readings share and of what is new in each.

        Args:
            other_days: Whether each reading has a sitting of its own; else all share one.
        """
        person, sitting, moment = (
            self.person_sd_points,
            self.sitting_sd_points,
            self.moment_sd_points,
        )
        if other_days:
            return person, math.hypot(sitting, moment)
        return math.hypot(person, sitting), moment

    def sd_of_mean(self, readings: int, other_days: bool) -> float:
        """Standard deviation of the mean of some readings about the bias [percentage points].

        Raises:
            ValueError: There are no readings.
        """
        if readings < 1:
            raise ValueError(f"readings is {readings}; a mean needs at least 1")
        shared, new = self.shared_and_new(other_days)
        return math.hypot(shared, new / math.sqrt(readings))


@dataclass(frozen=True)
class People:
    """True arterial saturation among those who measure: two groups, each normal up to 100 %.

    The healthy are like adults of 45 to 54 years at sea level, seated: mean 96.5 %, standard
    deviation 1.0 (British Thoracic Society, guideline for oxygen use 2017, after Crapo and
    others 1999; read in a secondary page). The low group and how common it is are our own
    choice: they depend on who measures, and why.

    Attributes:
        prevalence: Share of the low group.
        healthy_mean_percent: Mean of the healthy group [%].
        healthy_sd_points: Its standard deviation [percentage points].
        low_mean_percent: Mean of the low group [%].
        low_sd_points: Its standard deviation [percentage points].

    Raises:
        ValueError: The message names the field, what was given and what is allowed.
    """

    prevalence: float = quantity(
        0.02, 0.0, 1.0, "", "Low among those who measure", 0.01, fraction=True
    )
    healthy_mean_percent: float = quantity(96.5, 90.0, 99.0, "%", "Mean of the healthy", 0.1)
    healthy_sd_points: float = quantity(1.0, 0.3, 4.0, "points", "Spread of the healthy", 0.1)
    low_mean_percent: float = quantity(88.0, 70.0, 94.0, "%", "Mean of the low", 0.5)
    low_sd_points: float = quantity(3.0, 0.5, 6.0, "points", "Spread of the low", 0.1)

    def __post_init__(self) -> None:
        check_fields(self)

    @cached_property
    def healthy(self) -> FloatArray:
        """Share of the healthy in each cell of `SATURATION_PERCENT`, adding up to 1."""
        return normal_shares(self.healthy_mean_percent, self.healthy_sd_points)

    @cached_property
    def low(self) -> FloatArray:
        """Share of the low group in each cell of `SATURATION_PERCENT`, adding up to 1."""
        return normal_shares(self.low_mean_percent, self.low_sd_points)

    @cached_property
    def shares(self) -> FloatArray:
        """Share of all people in each cell of `SATURATION_PERCENT`, adding up to 1."""
        return self.prevalence * self.low + (1.0 - self.prevalence) * self.healthy
