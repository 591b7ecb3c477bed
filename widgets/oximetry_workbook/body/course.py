"""A recording during which saturation changes, and the tissue hears of it late.

The chain is that of `simulate`; what depends on saturation is reckoned at a grid of saturations
and follows the course in between.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from oximetry_workbook.body.calibration import diffusion_calibration
from oximetry_workbook.body.quantities import Quantity
from oximetry_workbook.body.scenario import SPECS, Scenario
from oximetry_workbook.body.simulate import (
    PulseOptics,
    at_converter,
    check_arguments,
    loss_over_time,
    pulse_optics,
)
from oximetry_workbook.body.timeline import timeline
from oximetry_workbook.meter.recording import Recording

FloatArray = NDArray[np.float64]

GRID_STEP = 0.02
"""Saturations at which the optics are reckoned lie at most this far apart, as a fraction."""

SPREAD_SHARE = 0.2
"""Standard deviation of the blood's way to the tissue over its mean [1]: some blood comes sooner
than other (common practice, no source found)."""

REACH = 4.0
"""Standard deviations of the way that count. With `SPREAD_SHARE` no blood is late by less than
nothing: the tissue never knows what the heart has yet to send."""

SMEAR_STEP_S = 0.25
"""Time step in which the way of the blood is reckoned [s]."""

DELAY = Quantity("Delay", "s", 0.0, 300.0, 1.0)


@dataclass(frozen=True, eq=False)
class Course:
    """Arterial saturation over time; straight lines in between.

    Attributes:
        time_s: Times [s], rising; shape (n,), n at least 2.
        saturation: Functional SaO2 as a fraction, within a scenario's range; shape (n,).

    Raises:
        ValueError: The message names the field, what is wrong with it and what is allowed.
    """

    time_s: FloatArray
    saturation: FloatArray

    def __post_init__(self) -> None:
        for name in ("time_s", "saturation"):
            object.__setattr__(self, name, _row(name, getattr(self, name)))
        if self.time_s.size != self.saturation.size or self.time_s.size < 2:
            raise ValueError(
                f"time_s has {self.time_s.size} values and saturation {self.saturation.size}; "
                "both need the same number, at least 2"
            )
        if np.any(np.diff(self.time_s) <= 0.0):
            raise ValueError("time_s does not rise everywhere; sort the course by time")
        for end in (self.saturation.min(), self.saturation.max()):
            SPECS["arterial_saturation"].checked("saturation", float(end))

    def at(self, time_s: ArrayLike) -> FloatArray:
        """Saturation at some times [s]; outside the course its first and last value hold on."""
        return np.interp(np.asarray(time_s, dtype=np.float64), self.time_s, self.saturation)


def late_course(course: Course, delay_s: float) -> Course:
    """What the tissue gets of a course: later by `delay_s` on average, and smeared.

    The blood's way takes a normally spread time of mean `delay_s` and standard deviation
    `SPREAD_SHARE` times that. Before the course began its first value held.

    Args:
        course: Saturation at the heart.
        delay_s: Mean time from the heart to the tissue [s], 0 to 300.

    Returns:
        The course in the tissue, over the same time in steps of `SMEAR_STEP_S`.

    Raises:
        ValueError: `delay_s` is out of range.
    """
    delay_s = DELAY.checked("delay_s", delay_s)
    start_s, end_s = course.time_s[[0, -1]]
    time_s = np.linspace(start_s, end_s, math.ceil((end_s - start_s) / SMEAR_STEP_S) + 1)
    step_s = time_s[1] - time_s[0]
    spread = SPREAD_SHARE * delay_s / step_s
    reach = math.floor(REACH * spread)
    if reach == 0:
        return Course(time_s, course.at(time_s - delay_s))
    weight = np.exp(-0.5 * (np.arange(-reach, reach + 1) / spread) ** 2)
    around = np.arange(-reach, time_s.size + reach) * step_s + start_s
    smeared = np.convolve(course.at(around - delay_s), weight / weight.sum(), mode="valid")
    return Course(time_s, np.clip(smeared, course.saturation.min(), course.saturation.max()))


def simulate_course(
    scenario: Scenario,
    course: Course,
    delay_s: float = 0.0,
    sampling_rate_hz: float = 50.0,
    seed: int = 0,
    movement: ArrayLike | None = None,
) -> Recording:
    """Make the recording of a probe while arterial saturation follows a course.

    As `simulate`, and: as the blood at rest in the tissue darkens, so does the steady light; the
    LEDs keep the power that put it in mid-scale at the start. Venous blood follows the arteries
    without a lag of its own, and the perfusion index stays (simplifications).

    Args:
        scenario: The situation; its `arterial_saturation` gives way to the course's.
        course: Arterial saturation at the heart over the whole recording.
        delay_s: Mean time from the heart to the tissue [s], see `late_course`.
        sampling_rate_hz: Samples per second [Hz], 20 to 10 000.
        seed: The same seed gives the same recording.
        movement: How much of the scenario's `motion_percent` and `coupling_percent` there is at
            each time of the course, 0 to 1; all of it throughout by default; shape (n,).

    Returns:
        Red and infrared on the course's clock, with the saturation at the heart as
        `reference_percent`.

    Raises:
        TypeError: `scenario` is no Scenario.
        ValueError: For a delay, rate, seed or movement out of range, or a course too short.
    """
    start_s, duration_s = float(course.time_s[0]), float(np.ptp(course.time_s))
    check_arguments(scenario, duration_s, sampling_rate_hz, seed)
    since_s, volume, breathing = timeline(scenario, duration_s, sampling_rate_hz, seed)
    time_s = start_s + since_s
    in_tissue = late_course(course, delay_s).at(time_s)
    first = scenario.replace(arterial_saturation=float(in_tissue[0]))
    optics = _optics_along(first, in_tissue)
    amount = _movement(movement, course, time_s)
    loss = _loss_along(first, optics, amount, since_s, volume, breathing, seed)
    start = optics.log_light[:, 0]
    steady = np.exp(optics.log_light - start[:, None])
    red, infrared = at_converter(first, start, steady * np.exp(-loss), since_s, seed, steady)
    return Recording(
        time_s=time_s,
        red=red,
        infrared=infrared,
        reference_percent=100.0 * course.at(time_s),
        probe_calibration=diffusion_calibration(scenario.site, scenario.extinction_table),
    )


def _optics_along(scenario: Scenario, saturation: FloatArray) -> PulseOptics:
    """Optics of a beat at each saturation; every array has a last axis of length n more."""
    low, high = float(saturation.min()), float(saturation.max())
    grid = np.linspace(low, high, math.ceil((high - low) / GRID_STEP) + 1)
    found = [pulse_optics(scenario.replace(arterial_saturation=float(each))) for each in grid]

    def along(name: str) -> FloatArray:
        at_grid = np.array([getattr(each, name) for each in found])
        rows = at_grid.reshape(grid.size, -1).T
        values = np.array([np.interp(saturation, grid, row) for row in rows])
        return values.reshape(*at_grid.shape[1:], saturation.size)

    return PulseOptics(along("arterial"), along("venous"), along("log_light"))


def _loss_along(
    scenario: Scenario,
    optics: PulseOptics,
    amount: FloatArray | None,
    time_s: FloatArray,
    volume: FloatArray,
    breathing: FloatArray,
    seed: int,
) -> FloatArray:
    """Natural-log loss over time while the optics change; shape (2, n)."""
    moving = loss_over_time(scenario, optics, time_s, volume, breathing, seed)
    if amount is None:
        return np.asarray(moving)
    still = scenario.replace(motion_percent=0.0, coupling_percent=0.0)
    quiet = loss_over_time(still, optics, time_s, volume, breathing, seed)
    return np.asarray(quiet + amount * (moving - quiet))


def _movement(movement: ArrayLike | None, course: Course, time_s: FloatArray) -> FloatArray | None:
    if movement is None:
        return None
    amount = _row("movement", movement)
    if amount.size != course.time_s.size or np.any((amount < 0.0) | (amount > 1.0)):
        raise ValueError(
            f"movement has {amount.size} values from {amount.min():g} to {amount.max():g}; it "
            f"needs {course.time_s.size}, one a time of the course, from 0 to 1"
        )
    return np.asarray(np.interp(time_s, course.time_s, amount))


def _row(name: str, values: ArrayLike) -> FloatArray:
    try:
        row = np.asarray(values, dtype=np.float64)
    except (TypeError, ValueError):
        raise ValueError(f"{name} holds something that is not a number") from None
    if row.ndim != 1 or not row.size or not np.all(np.isfinite(row)):
        raise ValueError(f"{name} must be a row of finite numbers")
    return row
