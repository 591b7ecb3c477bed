"""The same reading made many times: its mean, how sure that is, and how often there was none."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.body.simulate import simulate
from oximetry_workbook.meter.measure import measure
from oximetry_workbook.study.student_t import student_t

FloatArray = NDArray[np.float64]

READING_S = 10.0
"""How long the meter listens for one reading [s]."""

NORMAL_95 = 1.959964
"""Standard deviations on either side that hold 95 % of a normal distribution."""

FEWEST = 3
"""With fewer readings shown, neither mean nor spread is told."""


@dataclass(frozen=True, eq=False)
class ManyReadings:
    """One number of many readings, each with beats, noise and movement of its own.

    Attributes:
        values: The number, NaN where it was withheld; the last axis is that of the readings.
    """

    values: FloatArray

    @property
    def shown(self) -> FloatArray:
        """How many readings were shown."""
        return np.asarray(np.isfinite(self.values).sum(axis=-1), dtype=np.float64)

    @property
    def mean(self) -> FloatArray:
        """Mean of those shown; NaN where they are too few."""
        return self._told(np.nansum(self.values, axis=-1) / np.maximum(self.shown, 1.0))

    @property
    def sd(self) -> FloatArray:
        """Standard deviation of those shown; NaN where they are too few."""
        squares = np.nansum((self.values - self.mean[..., None]) ** 2, axis=-1)
        return self._told(np.sqrt(squares / np.maximum(self.shown - 1.0, 1.0)))

    @property
    def half_width(self) -> FloatArray:
        """Half the 95 % interval of the mean, by Student's t; NaN where they are too few."""
        freedom = np.maximum(self.shown - 1.0, 1.0)
        return np.asarray(student_t(freedom, 0.95) * self.sd / np.sqrt(freedom + 1.0))

    @property
    def withheld_percent(self) -> FloatArray:
        """How often no number was shown [%]."""
        return np.asarray(100.0 * (1.0 - self.shown / self.values.shape[-1]))

    @property
    def withheld_interval_percent(self) -> tuple[FloatArray, FloatArray]:
        """The 95 % interval of that [%], as Wilson 1927, J Am Stat Assoc 22:209, reckons it."""
        n, z = self.values.shape[-1], NORMAL_95
        share = self.withheld_percent / 100.0
        middle = (share + z * z / (2.0 * n)) / (1.0 + z * z / n)
        half = z * np.sqrt(share * (1.0 - share) / n + (z / (2.0 * n)) ** 2) / (1.0 + z * z / n)
        low, high = np.clip([middle - half, middle + half], 0.0, 1.0)
        return 100.0 * low, 100.0 * high

    def _told(self, found: FloatArray) -> FloatArray:
        return np.where(self.shown >= FEWEST, found, math.nan)


def shown_percent(scenario: Scenario, seed: int) -> float:
    """Saturation that one reading of ten seconds shows [%]; NaN when it is withheld."""
    shown = measure(simulate(scenario, READING_S, seed=seed)).spo2_percent
    return math.nan if shown is None else shown
