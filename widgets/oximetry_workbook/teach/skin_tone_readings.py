"""The same readings many times over, with little and with more pigment in the skin."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from oximetry_workbook.teach.many_readings import FEWEST, ManyReadings, shown_percent
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


@dataclass(frozen=True, eq=False)
class BothSkins:
    """Errors of readings made with some seeds, reading less truth [percentage points].

    Attributes:
        light: With light skin, at `STUDY_PERCENT`; values of shape (8, seeds).
        dark: With the state's skin, at `STUDY_PERCENT`; values of shape (8, seeds).
        swept: At `SWEPT_PERCENT` and with `MELANIN`; values of shape (4, 6, seeds).
    """

    light: ManyReadings
    dark: ManyReadings
    swept: ManyReadings

    @property
    def seeds(self) -> int:
        """How many seeds so far."""
        return self.light.values.shape[-1]

    @property
    def difference(self) -> ManyReadings:
        """State's skin less light skin, seed by seed: with the same beats and the same chance."""
        return ManyReadings(self.dark.values - self.light.values)


def alike(one: SkinTone, other: SkinTone) -> bool:
    """Whether two states have the same many readings: their saturation plays no part."""
    return replace(one, arterial_saturation=other.arterial_saturation) == other


def error_points(state: SkinTone, seed: int) -> float:
    """Error of one reading of ten seconds [percentage points]; NaN when it is withheld."""
    return shown_percent(state.scenario, seed) - 100.0 * state.arterial_saturation


def many_readings(state: SkinTone, seeds: int = SEEDS) -> Iterator[tuple[float, BothSkins]]:
    """Make the readings seed by seed.

    Args:
        state: Whose; its saturation plays no part.
        seeds: How many times.

    Yields:
        Share done, 0 to 1, and the readings so far, once there are enough for a mean.
    """
    rows: list[list[FloatArray]] = [[], [], []]
    for seed in range(seeds):
        for row, found in zip(rows, _one_seed(state, seed), strict=True):
            row.append(found)
        if seed + 1 >= FEWEST:
            light, dark, swept = (ManyReadings(np.stack(row, axis=-1)) for row in rows)
            yield (seed + 1) / seeds, BothSkins(light, dark, swept)


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
