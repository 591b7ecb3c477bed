"""A hand that moves, veins that pulse, a heart out of step: what a plain meter makes of them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

from oximetry_workbook.body.calibration import diffusion_calibration
from oximetry_workbook.body.probe import venous_saturation
from oximetry_workbook.body.quantities import check_fields
from oximetry_workbook.body.scenario import Scenario, as_in_scenario
from oximetry_workbook.body.simulate import pulse_optics, simulate
from oximetry_workbook.meter.curve import Curve
from oximetry_workbook.meter.display import clamped
from oximetry_workbook.meter.measure import measure
from oximetry_workbook.teach.many_readings import READING_S, ManyReadings, shown_percent
from oximetry_workbook.teach.reading import Reading

FloatArray = NDArray[np.float64]

SIZES_PERCENT = np.array([0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0])
"""Sizes of motion over which readings are drawn, rms over the steady light [%]."""

KINDS = ("motion_percent", "coupling_percent")
"""What moves: venous blood, and the probe."""

QUICK_SEEDS = 2
"""How many readings make each point of the lines that follow the sliders."""

SEEDS = 60
"""How many make it when there is time: ten minutes, in readings of ten seconds."""

ALIKE = 1.0
"""The ratio R of a swing of light that is the same share in both colours."""


@dataclass(frozen=True)
class MovingHand:
    """A finger, and all that can swing its light beside the arteries.

    The fields are those of a `Scenario`.

    Raises:
        ValueError: The message names the field, what was given and what is allowed.
    """

    motion_percent: float = as_in_scenario("motion_percent")
    coupling_percent: float = as_in_scenario("coupling_percent")
    venous_pulse: float = as_in_scenario("venous_pulse")
    irregularity_percent: float = as_in_scenario("irregularity_percent")
    arterial_saturation: float = as_in_scenario("arterial_saturation")
    venous_difference: float = as_in_scenario("venous_difference")
    perfusion_index_percent: float = as_in_scenario("perfusion_index_percent")

    def __post_init__(self) -> None:
        check_fields(self)

    @cached_property
    def scenario(self) -> Scenario:
        """The situation; what is not a field stays ordinary."""
        return Scenario(**{name: getattr(self, name) for name in self.__dataclass_fields__})

    @property
    def still(self) -> Scenario:
        """The same with hand and probe at rest."""
        return self.scenario.replace(motion_percent=0.0, coupling_percent=0.0)

    @cached_property
    def reading(self) -> Reading:
        """Ten seconds, simulated and measured."""
        recording = simulate(self.scenario, READING_S)
        return Reading(self.scenario, recording, measure(recording))

    @property
    def venous_percent(self) -> float:
        """Saturation of the venous blood [%]."""
        return float(100.0 * venous_saturation(self.arterial_saturation, self.venous_difference))

    @cached_property
    def slopes(self) -> tuple[float, float]:
        """Ratio R of arterial blood alone and of venous blood alone, for a small swing."""
        optics = pulse_optics(self.scenario)
        arterial, venous = optics.arterial[0], optics.venous[0]
        return float(arterial[0] / arterial[1]), float(venous[0] / venous[1])

    def reads_percent(self, ratio: float) -> float:
        """Saturation that the finger's own curve gives for a ratio R [%]."""
        return clamped(finger_curve()(ratio))

    @property
    def quick_lines(self) -> FloatArray:
        """Reading over `SIZES_PERCENT` for each of `KINDS` alone [%], a few readings a point.

        NaN where all were withheld; shape (2, 8).
        """
        values = np.stack([one_sweep(self.still, seed) for seed in range(QUICK_SEEDS)], axis=-1)
        shown = np.isfinite(values)
        count = shown.sum(axis=-1)
        mean = np.where(shown, values, 0.0).sum(axis=-1) / np.maximum(count, 1)
        return np.where(count > 0, mean, np.nan)

    @cached_property
    def beats(self) -> tuple[FloatArray, FloatArray]:
        """Times of the beats found [s] and the interval before each, over their mean [%]."""
        table = self.reading.measurement.beats
        interval = table["interval_s"].to_numpy(dtype=np.float64)
        known = np.isfinite(interval)
        mean = interval[known].mean() if known.any() else 1.0
        return self.reading.beat_times_s, 100.0 * interval[known] / mean


def finger_curve() -> Curve:
    """The finger probe's own calibration curve."""
    return Curve.table("finger", *diffusion_calibration("finger"), "diffusion_calibration")


@lru_cache(maxsize=8)
def one_sweep(still: Scenario, seed: int) -> FloatArray:
    """Read each kind of motion at each size once.

    Args:
        still: The situation with hand and probe at rest.
        seed: Of beats, noise and movement.

    Returns:
        Saturation shown [%], NaN where withheld, for `KINDS` and `SIZES_PERCENT`; shape (2, 8).
    """
    return np.array(
        [
            [shown_percent(still.replace(**{kind: float(size)}), seed) for size in SIZES_PERCENT]
            for kind in KINDS
        ]
    )


def many_sweeps(state: MovingHand, seeds: int = SEEDS) -> Iterator[tuple[float, ManyReadings]]:
    """Read each kind of motion at each size, seed by seed.

    Yields:
        Share done, 0 to 1, and the saturations so far [%]; values of shape (2, 8, readings).
    """
    rows: list[FloatArray] = []
    for seed in range(seeds):
        rows.append(one_sweep(state.still, seed))
        yield (seed + 1) / seeds, ManyReadings(np.stack(rows, axis=-1))


def same_lines(one: MovingHand, other: MovingHand) -> bool:
    """Whether two states differ in their motion alone, so that the lines over it are the same."""
    return one.still == other.still
