"""A breath-hold: what it does to the saturation of the blood that leaves the heart.

The shape is invented: level, then a straight fall, then an exponential return from the first
breath on. Measured falls bend (the dissociation curve) and depend most of all on how full the
lungs were (Findley and others 1983, J Appl Physiol 55:1777).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from oximetry_workbook.body.course import Course
from oximetry_workbook.body.quantities import check_fields, quantity
from oximetry_workbook.body.scenario import SPECS

FloatArray = NDArray[np.float64]

FAST_FALL_POINTS_PER_S = 0.5
"""In adults the oxygen saturation falls at close to 30 points a minute once it is severely low
(Sirian and Wills 2009, Contin Educ Anaesth Crit Care Pain 9:105)."""

FASTEST_FALL_POINTS_PER_S = 1.5
"""Faster falls are refused: three times what is fast (our own choice)."""

STEP_S = 0.25
"""Time step of a course [s]."""


@dataclass(frozen=True)
class BreathHold:
    """One breath-hold, from level saturation down and back.

    Attributes:
        start_saturation: Saturation before, as a fraction.
        hold_s: Time without a breath [s].
        depth_points: How far saturation falls by the first breath [percentage points].
        level_share: Share of the hold during which the lungs' store still keeps it level.
        recovery_s: Time constant of the return after the first breath [s].

    Raises:
        ValueError: The message names the field, what was given and what is allowed; a fall
            faster than `FASTEST_FALL_POINTS_PER_S` or to below 40 % is refused.
    """

    start_saturation: float = quantity(0.97, 0.7, 1.0, "", "Saturation before", 0.01, fraction=True)
    hold_s: float = quantity(60.0, 10.0, 300.0, "s", "Breath held for", 5.0)
    depth_points: float = quantity(15.0, 0.0, 50.0, "points", "Fall by", 1.0)
    level_share: float = quantity(0.4, 0.0, 0.9, "", "Level part of the hold", 0.05, fraction=True)
    recovery_s: float = quantity(8.0, 1.0, 60.0, "s", "Return", 1.0)

    def __post_init__(self) -> None:
        check_fields(self)
        SPECS["arterial_saturation"].checked("lowest saturation", self.lowest_saturation)
        rate = self.fall_points_per_s
        if rate > FASTEST_FALL_POINTS_PER_S:
            raise ValueError(
                f"depth_points is {self.depth_points:g} within {self.fall_s:g} s, a fall of "
                f"{rate:.2g} points a second; at most {FASTEST_FALL_POINTS_PER_S:g} are allowed: "
                "hold longer, or fall less"
            )

    @property
    def fall_s(self) -> float:
        """Time that saturation falls for [s]."""
        return self.hold_s * (1.0 - self.level_share)

    @property
    def fall_points_per_s(self) -> float:
        """Rate of the fall [percentage points per second]."""
        return self.depth_points / self.fall_s

    @property
    def lowest_saturation(self) -> float:
        """Saturation at the first breath, as a fraction."""
        return self.start_saturation - self.depth_points / 100.0

    def lost(self, time_s: ArrayLike) -> FloatArray:
        """Saturation lost at times since the breath was held [s], as a fraction; same shape."""
        since = np.asarray(time_s, dtype=np.float64)
        falling = np.clip((since - (self.hold_s - self.fall_s)) / self.fall_s, 0.0, 1.0)
        left = np.exp(-np.maximum(since - self.hold_s, 0.0) / self.recovery_s)
        return np.asarray(self.depth_points / 100.0 * falling * left)

    def course(self, before_s: float = 20.0, after_s: float = 120.0) -> Course:
        """The saturation from `before_s` ahead of the hold to `after_s` past its end.

        Raises:
            ValueError: One of them is no time of at least 0 s.
        """
        for name, given in (("before_s", before_s), ("after_s", after_s)):
            if not (math.isfinite(given) and given >= 0.0):
                raise ValueError(f"{name} is {given}; it must be a time of at least 0 s")
        count = math.ceil((before_s + self.hold_s + after_s) / STEP_S)
        time_s = -before_s + STEP_S * np.arange(count + 1, dtype=np.float64)
        return Course(time_s, self.start_saturation - self.lost(time_s))
