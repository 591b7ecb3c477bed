"""The same readings many times over, with little and with more pigment in the skin."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from oximetry_workbook.teach.many_readings import shown_percent
from oximetry_workbook.teach.skin_tone import SkinTone

FloatArray = NDArray[np.float64]

STUDY_PERCENT = np.arange(60.0, 96.0, 5.0)
"""True saturations at which both skins are read [%]."""

MELANIN = np.array([0.0, 0.1, 0.2, 0.3, 0.4, 0.45])
"""Melanin fractions that are read, from none to the most."""

SWEPT_PERCENT = np.array([95.0, 85.0, 75.0, 65.0])
"""True saturations at which melanin is varied [%]."""

SEEDS = 40
"""How many times each reading is made, each time with other beats and other noise."""

INTERVAL_ERRORS = 1.96
"""Standard errors on either side of a mean that make its 95 % interval."""


@dataclass(frozen=True, eq=False)
class Repeated:
    """Errors of readings made many times.

    Attributes:
        points: Reading less truth [percentage points], NaN where withheld; the last axis is
            that of the seeds.
    """

    points: FloatArray

    @property
    def given(self) -> FloatArray:
        """How many readings were not withheld."""
        return np.asarray(np.isfinite(self.points).sum(axis=-1), dtype=np.float64)

    @property
    def mean(self) -> FloatArray:
        """Mean error; NaN where fewer than two readings were given."""
        total = np.nansum(self.points, axis=-1)
        return np.where(self.given > 1, total / np.maximum(self.given, 1), np.nan)

    @property
    def sd(self) -> FloatArray:
        """Standard deviation of single errors; NaN where fewer than two were given."""
        squares = np.nansum((self.points - self.mean[..., None]) ** 2, axis=-1)
        spread = np.sqrt(squares / np.maximum(self.given - 1, 1))
        return np.where(self.given > 1, spread, np.nan)

    @property
    def half_width(self) -> FloatArray:
        """Half the mean's 95 % interval [points], from the spread of the seeds."""
        return np.asarray(INTERVAL_ERRORS * self.sd / np.sqrt(np.maximum(self.given, 1)))


@dataclass(frozen=True, eq=False)
class ManyReadings:
    """Readings made with some seeds.

    Attributes:
        light: With light skin, at `STUDY_PERCENT`; points of shape (8, seeds).
        dark: With the state's skin, at `STUDY_PERCENT`; points of shape (8, seeds).
        swept: At `SWEPT_PERCENT` and with `MELANIN`; points of shape (4, 6, seeds).
    """

    light: Repeated
    dark: Repeated
    swept: Repeated

    @property
    def seeds(self) -> int:
        """How many seeds so far."""
        return self.light.points.shape[-1]

    @property
    def difference(self) -> Repeated:
        """State's skin less light skin, seed by seed: with the same beats and the same chance."""
        return Repeated(self.dark.points - self.light.points)


def alike(one: SkinTone, other: SkinTone) -> bool:
    """Whether two states have the same many readings: their saturation plays no part."""
    return replace(one, arterial_saturation=other.arterial_saturation) == other


def error_points(state: SkinTone, seed: int) -> float:
    """Error of one reading of ten seconds [percentage points]; NaN when it is withheld."""
    return shown_percent(state.scenario, seed) - 100.0 * state.arterial_saturation


def many_readings(state: SkinTone, seeds: int = SEEDS) -> Iterator[tuple[float, ManyReadings]]:
    """Make the readings seed by seed.

    Args:
        state: Whose; its saturation plays no part.
        seeds: How many times.

    Yields:
        Share done, 0 to 1, and the readings so far, from the second seed on.
    """
    rows: list[list[FloatArray]] = [[], [], []]
    for seed in range(seeds):
        for row, found in zip(rows, _one_seed(state, seed), strict=True):
            row.append(found)
        if seed:
            light, dark, swept = (Repeated(np.stack(row, axis=-1)) for row in rows)
            yield (seed + 1) / seeds, ManyReadings(light, dark, swept)


def _one_seed(state: SkinTone, seed: int) -> tuple[FloatArray, FloatArray, FloatArray]:
    light, dark = (
        np.array([error_points(_at(skin, percent), seed) for percent in STUDY_PERCENT])
        for skin in (state.light_skin, state)
    )
    swept = [
        [error_points(replace(_at(state, percent), melanin_fraction=m), seed) for m in MELANIN]
        for percent in SWEPT_PERCENT
    ]
    return light, dark, np.array(swept)


def _at(state: SkinTone, percent: float) -> SkinTone:
    return replace(state, arterial_saturation=percent / 100.0)
