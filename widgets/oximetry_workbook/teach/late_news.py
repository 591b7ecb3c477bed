"""Late news: what ear, finger and cold finger show of a breath-hold, and when an alarm sounds."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

from oximetry_workbook.body.breath_hold import BreathHold
from oximetry_workbook.body.circulation import PLACES
from oximetry_workbook.body.course import simulate_course
from oximetry_workbook.body.quantities import check_fields, choice, quantity
from oximetry_workbook.meter.measure import Measurement, measure
from oximetry_workbook.meter.trend import trend
from oximetry_workbook.study.alarms import (
    EVENT_S,
    WatchedHour,
    alarm_on,
    below,
    spans,
    watched_hour,
)

FloatArray = NDArray[np.float64]

BEFORE_S, END_S = 20.0, 230.0
"""Time shown before the breath is held, and the last time shown, counted from there [s]."""

TIME_S = np.arange(-BEFORE_S, END_S + 0.5)
"""Seconds shown."""

FIRST_HOURS = 8
"""Hours that the panel starts with: enough for intervals that tell, and quick."""


@dataclass(frozen=True)
class Lowest:
    """The lowest value of a line, and when it is reached.

    Attributes:
        percent: The value [%].
        time_s: When, counted from the start of the hold [s].
    """

    percent: float
    time_s: float


@dataclass(frozen=True)
class LateNews:
    """A breath-hold, watched with the same meter at three places at once.

    Attributes:
        hold_s: Time without a breath [s].
        depth_points: How far the saturation at the heart falls [percentage points].
        averaging_s: The meter's averaging window [s].
        threshold_percent: An alarm sounds below this [%].
        wait_s: Time the display has to stay below before it does [s].
        place: Where the probe sits during the many hours.

    Raises:
        ValueError: The message names the field, what was given and what is allowed.
    """

    hold_s: float = quantity(60.0, 30.0, 120.0, "s", "Breath held for", 5.0)
    depth_points: float = quantity(12.0, 2.0, 25.0, "points", "Blood falls by", 1.0)
    averaging_s: float = quantity(8.0, 2.0, 16.0, "s", "Averaging", 1.0)
    threshold_percent: float = quantity(90.0, 80.0, 94.0, "%", "Alarm below", 1.0, whole=True)
    wait_s: float = quantity(0.0, 0.0, 20.0, "s", "Alarm waits", 1.0)
    place: str = choice("Probe for the many hours", "ear", "finger", "cold finger")

    def __post_init__(self) -> None:
        check_fields(self)

    @property
    def breath_hold(self) -> BreathHold:
        """The breath-hold, from 97 %."""
        return BreathHold(hold_s=self.hold_s, depth_points=self.depth_points)

    @cached_property
    def true_percent(self) -> FloatArray:
        """Saturation of the blood that leaves the heart, at `TIME_S` [%]."""
        hold = self.breath_hold
        return np.asarray(100.0 * (hold.start_saturation - hold.lost(TIME_S)))

    @cached_property
    def shown_percent(self) -> dict[str, FloatArray]:
        """What the display shows at `TIME_S`, by place [%]; NaN while withheld."""
        measured = _measured(self.hold_s, self.depth_points)
        return {
            place: trend(measured[place], self.averaging_s, -BEFORE_S, END_S).spo2_percent
            for place in PLACES
        }

    @property
    def true_lowest(self) -> Lowest:
        """The lowest saturation at the heart."""
        return _lowest(self.true_percent)

    def shown_lowest(self, place: str) -> Lowest:
        """The lowest value that the display shows at a place."""
        return _lowest(self.shown_percent[place])

    def shown_at(self, place: str, time_s: float) -> float:
        """What the display shows at a place at one of the seconds shown [%]; NaN if withheld.

        Raises:
            ValueError: `time_s` is not within `TIME_S`.
        """
        if not TIME_S[0] <= time_s <= TIME_S[-1]:
            raise ValueError(f"time_s is {time_s:g}; allowed is {TIME_S[0]:g} to {TIME_S[-1]:g} s")
        return float(self.shown_percent[place][int(time_s - TIME_S[0])])

    @property
    def danger_s(self) -> float | None:
        """When the blood at the heart falls below the threshold [s]; None if it never does."""
        return _first(below(self.true_percent, self.threshold_percent))

    def alarm_s(self, place: str) -> float | None:
        """When the alarm sounds at a place [s]; None if it never does."""
        on = alarm_on(self.shown_percent[place], self.threshold_percent, self.wait_s)
        return _first(on & (TIME_S >= 0.0))

    def alarm_delay_s(self, place: str) -> float | None:
        """Time from the heart's fall below the threshold to the alarm [s]; None without both."""
        sounds, danger = self.alarm_s(place), self.danger_s
        return None if sounds is None or danger is None else sounds - danger


@dataclass(frozen=True)
class Dips:
    """How slight the dips below a limit are, in the blood at the heart.

    Attributes:
        below_points: Half of them go no further below the limit than this [percentage points].
        lasts_s: Half of them stay below it no longer than this [s].
    """

    below_points: float
    lasts_s: float


def dips_below(hours: Sequence[WatchedHour], threshold_percent: float) -> Dips | None:
    """Measure the dips of some hours that count as events; None where there are none."""
    depths, lengths = [], []
    for hour in hours:
        for start, end in spans(below(hour.true_percent, threshold_percent)).tolist():
            if end - start >= EVENT_S:
                depths.append(threshold_percent - hour.true_percent[start:end].min())
                lengths.append(end - start)
    return Dips(float(np.median(depths)), float(np.median(lengths))) if depths else None


@cache
def first_hours() -> tuple[WatchedHour, ...]:
    """The first hours at the place that the panel starts with."""
    place = PLACES[LateNews().place]
    return tuple(watched_hour(place, seed) for seed in range(FIRST_HOURS))


@lru_cache(maxsize=16)
def _measured(hold_s: float, depth_points: float) -> dict[str, Measurement]:
    """The recording of each place, measured once: averaging and alarms are set afterwards."""
    hold = BreathHold(hold_s=hold_s, depth_points=depth_points)
    course = hold.course(BEFORE_S, END_S - hold_s)
    return {
        name: measure(simulate_course(place.scenario(), course, place.delay_s, seed=1))
        for name, place in PLACES.items()
    }


def _lowest(percent: FloatArray) -> Lowest:
    place = int(np.nanargmin(percent))
    return Lowest(float(percent[place]), float(TIME_S[place]))


def _first(flags: NDArray[np.bool_]) -> float | None:
    return float(TIME_S[int(np.argmax(flags))]) if flags.any() else None
