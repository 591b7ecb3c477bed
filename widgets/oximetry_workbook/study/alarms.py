"""Alarms over many hours: how many are false, how many dips are missed, how late the rest come.

Each hour runs through the whole chain, from blood to display, once; averaging, threshold and
waiting are then judged on the same beats. The person watched is invented.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from oximetry_workbook.body.breath_hold import BreathHold
from oximetry_workbook.body.circulation import Place
from oximetry_workbook.body.course import SPREAD_SHARE, Course, simulate_course
from oximetry_workbook.body.quantities import Quantity
from oximetry_workbook.meter.measure import measure
from oximetry_workbook.meter.trend import trend

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

AVERAGINGS_S = (2.0, 4.0, 8.0, 16.0)
"""Averaging times compared [s]."""

HOUR_S = 3600
START_SATURATION = 0.96
HOLDS = 8
HOLD_S = (20.0, 60.0)
DEPTH_POINTS = (3.0, 15.0)
"""Breath-holds in an hour, how long [s] and how deep [percentage points]: invented."""

BURSTS = 12
BURST_S = 4.0
MOVING = {"motion_percent": 0.5, "coupling_percent": 1.0}
"""Spells in which the hand moves, in an hour; their mean length [s], exponentially spread; and
how much the light swings in them: invented."""

EVENT_S = 5.0
"""A dip counts as an event from this length below the threshold on [s] (our own choice)."""

SETTLING_S = 40.0
"""Time at the start that is not judged [s]."""

_STEP_S = 0.25
_RESAMPLES = 1000

THRESHOLD = Quantity("Alarm below", "%", 70.0, 99.0, 1.0)
WAIT = Quantity("Alarm waits", "s", 0.0, 60.0, 1.0)


@dataclass(frozen=True, eq=False)
class WatchedHour:
    """An hour on the display, second by second.

    Attributes:
        delay_s: Mean time of the blood from the heart to the probe [s].
        true_percent: Saturation at the heart [%]; shape (n,).
        shown_percent: The display for each of `AVERAGINGS_S`; NaN while withheld; (4, n).
    """

    delay_s: float
    true_percent: FloatArray
    shown_percent: FloatArray


@dataclass(frozen=True)
class Estimate:
    """A value, and the 95 % interval that resampling of the hours gives it."""

    value: float
    low: float
    high: float


@dataclass(frozen=True)
class Trade:
    """What one averaging time buys, and for what.

    Attributes:
        averaging_s: Averaging time [s].
        false_per_hour: Alarms without a dip, in an hour without dips [1/h].
        missed_percent: Events without an alarm [%].
        late_s: Mean time from the heart's fall below the threshold to the alarm [s], over the
            events with an alarm; NaN without one.
        events: Number of events.
        hours: Number of hours watched.
    """

    averaging_s: float
    false_per_hour: Estimate
    missed_percent: Estimate
    late_s: Estimate
    events: int
    hours: int


def watched_hour(place: Place, seed: int) -> WatchedHour:
    """Simulate and measure an hour with breath-holds and movements at random.

    Args:
        place: Where the probe sits.
        seed: The same seed gives the same breath-holds and movements, wherever the probe sits.
    """
    rng = np.random.default_rng([seed, 11])
    time_s = _STEP_S * np.arange(round(HOUR_S / _STEP_S) + 1, dtype=np.float64)
    course = Course(time_s, START_SATURATION - _lost(time_s, rng))
    recording = simulate_course(
        place.scenario(**MOVING), course, place.delay_s, seed=seed, movement=_bursts(time_s, rng)
    )
    measurement = measure(recording)
    seconds = np.arange(HOUR_S + 1.0)
    shown = [trend(measurement, a, 0.0, HOUR_S).spo2_percent for a in AVERAGINGS_S]
    return WatchedHour(place.delay_s, 100.0 * course.at(seconds), np.array(shown))


def _lost(time_s: FloatArray, rng: np.random.Generator) -> FloatArray:
    """Saturation lost to breath-holds, one anywhere in the first half of each stretch."""
    stretch = HOUR_S / HOLDS
    lost = np.zeros_like(time_s)
    for number in range(HOLDS):
        start = SETTLING_S + stretch * (number + 0.5 * rng.uniform())
        hold = BreathHold(
            START_SATURATION, float(rng.uniform(*HOLD_S)), float(rng.uniform(*DEPTH_POINTS))
        )
        lost += hold.lost(time_s - start)
    return lost


def _bursts(time_s: FloatArray, rng: np.random.Generator) -> FloatArray:
    """1 while the hand moves, else 0."""
    moving = np.zeros_like(time_s)
    for start, length in zip(
        rng.uniform(0.0, HOUR_S, BURSTS), rng.exponential(BURST_S, BURSTS), strict=True
    ):
        moving[(time_s >= start) & (time_s < start + length)] = 1.0
    return moving


def below(percent: FloatArray, threshold_percent: float) -> BoolArray:
    """Whether a display in whole percent would stand below the threshold; not where NaN."""
    return np.asarray(np.floor(percent + 0.5) < threshold_percent)


def alarm_on(shown_percent: FloatArray, threshold_percent: float, wait_s: float) -> BoolArray:
    """Seconds in which an alarm sounds: the display was below for more than `wait_s`.

    A withheld value is not below; it ends a wait (a real monitor has another alarm for it).

    Args:
        shown_percent: The display, second by second [%]; shape (n,).
        threshold_percent: The alarm sounds below this [%], 70 to 99.
        wait_s: Seconds the display has to stay below before it sounds, 0 to 60.

    Raises:
        ValueError: The threshold or the wait is out of range.
    """
    THRESHOLD.checked("threshold_percent", threshold_percent)
    WAIT.checked("wait_s", wait_s)
    low = below(shown_percent, threshold_percent)
    place = np.arange(low.size)
    last_not_low = np.maximum.accumulate(np.where(low, -1, place))
    return np.asarray(place - last_not_low > wait_s)


def spans(flags: BoolArray) -> NDArray[np.intp]:
    """First index, and index past the last, of each run of True; shape (k, 2)."""
    edges = np.diff(np.concatenate([[False], flags, [False]]).astype(np.int8))
    return np.column_stack([np.flatnonzero(edges == 1), np.flatnonzero(edges == -1)])


def _counts(hour: WatchedHour, row: int, threshold_percent: float, wait_s: float) -> FloatArray:
    """False alarms, hours without dips, events, missed, seconds late in all; shape (5,)."""
    on = alarm_on(hour.shown_percent[row], threshold_percent, wait_s)
    settled = np.arange(on.size) >= SETTLING_S
    on &= settled
    dips = spans(below(hour.true_percent, threshold_percent))
    windows = [_window(hour, s, e, AVERAGINGS_S[row] + wait_s) for s, e in dips.tolist()]
    clear = settled.copy()
    for window in windows:
        clear[window] = False
    begins = on & ~np.concatenate([[False], on[:-1]])
    late_s = [
        window.start + int(np.argmax(on[window])) - start if on[window].any() else math.nan
        for window, (start, end) in zip(windows, dips, strict=True)
        if end - start >= EVENT_S
    ]
    missed = np.isnan(late_s).sum()
    return np.array(
        [(begins & clear).sum(), clear.sum() / HOUR_S, len(late_s), missed, np.nansum(late_s)]
    )


def _window(hour: WatchedHour, start: int, end: int, meter_s: float) -> slice:
    """When an alarm belongs to a dip: from the first blood's arrival to the last's being read."""
    soonest, latest = (hour.delay_s * (1.0 + sign * 2.0 * SPREAD_SHARE) for sign in (-1, 1))
    return slice(int(start + soonest), int(end + latest + meter_s) + 1)


def trades(
    hours: Sequence[WatchedHour], threshold_percent: float, wait_s: float
) -> tuple[Trade, ...]:
    """Hold false alarms against missed events for each averaging time.

    An alarm belongs to a dip when it sounds between the arrival of its first blood at the probe
    and the time its last blood has left the averaging window. Any other is false.

    Args:
        hours: Hours watched at one place, at least one.
        threshold_percent: The alarm sounds below this [%], 70 to 99.
        wait_s: Seconds the display has to stay below before it sounds, 0 to 60.

    Returns:
        One trade for each of `AVERAGINGS_S`.

    Raises:
        ValueError: There is no hour, or the threshold or the wait is out of range.
    """
    if not hours:
        raise ValueError("hours is empty; watch at least one hour")
    rng = np.random.default_rng(len(hours))
    resampled = rng.integers(len(hours), size=(_RESAMPLES, len(hours)))
    found = []
    for row, averaging_s in enumerate(AVERAGINGS_S):
        counts = np.array([_counts(hour, row, threshold_percent, wait_s) for hour in hours])
        false, clear_h, events, missed, late_s = np.concatenate(
            [counts.sum(axis=0)[None], counts[resampled].sum(axis=1)]
        ).T
        found.append(
            Trade(
                averaging_s,
                _estimate(false, clear_h),
                _estimate(100.0 * missed, events),
                _estimate(late_s, events - missed),
                int(events[0]),
                len(hours),
            )
        )
    return tuple(found)


def _estimate(above: FloatArray, under: FloatArray) -> Estimate:
    """Ratio of two sums: first over the hours themselves, then over the resampled ones."""
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = above / under
    usable = ratio[1:][np.isfinite(ratio[1:])]
    if not usable.size:
        return Estimate(math.nan, math.nan, math.nan)
    low, high = np.percentile(usable, (2.5, 97.5))
    return Estimate(float(ratio[0]), float(low), float(high))
