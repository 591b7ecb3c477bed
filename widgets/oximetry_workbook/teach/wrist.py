"""The same heart read at the finger and at the wrist: pulses, and forty readings of each."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from oximetry_workbook.body.quantities import check_fields, quantity
from oximetry_workbook.body.scenario import SPECS, Scenario, as_in_scenario
from oximetry_workbook.body.sites import SITES
from oximetry_workbook.meter.measure import Measurement
from oximetry_workbook.teach.reading import Reading, read

FloatArray = NDArray[np.float64]

PLACES = ("finger", "wrist")

READINGS = 40
"""Readings of ten seconds each: seeds 0 to 39, the same beats at both places."""

AT_ONCE = 5
"""Stretches read between two looks at what else there is to do."""

LOW_SHOWN_PERCENT = 92.0
"""Readings at or under this are counted as low ones."""


@dataclass(frozen=True, eq=False)
class Readings:
    """What a meter makes of many stretches of ten seconds at one place.

    Attributes:
        shown_percent: Saturation of each stretch [%], NaN where it was withheld; shape (n,).
        quality: Signal quality of each, 0 to 1; shape (n,).
    """

    shown_percent: FloatArray
    quality: FloatArray

    @property
    def given(self) -> FloatArray:
        """Saturations that were shown [%]; shape (n given,)."""
        return self.shown_percent[np.isfinite(self.shown_percent)]

    @property
    def withheld(self) -> int:
        """How many were withheld."""
        return int(np.isnan(self.shown_percent).sum())

    @property
    def low(self) -> int:
        """How many were shown at or under `LOW_SHOWN_PERCENT`, rounded as on a display."""
        return int(np.sum(self.given < LOW_SHOWN_PERCENT + 0.5))

    @property
    def mean_percent(self) -> tuple[float, float] | None:
        """Mean of what was shown and half its 95 % interval [%]; None for fewer than two."""
        given = self.given
        if given.size < 2:
            return None
        return float(given.mean()), float(1.96 * given.std(ddof=1) / np.sqrt(given.size))


Many = dict[str, Readings]
"""Readings by place."""


def read_many(scenario: Scenario, readings: int = READINGS) -> Readings:
    """Read many stretches of ten seconds of one situation, with seeds from 0 up."""
    return gathered([read(scenario, seed=seed).measurement for seed in range(readings)])


def gathered(made: Sequence[Measurement]) -> Readings:
    """Put measurements of many stretches together."""
    shown = [np.nan if each.spo2_percent is None else each.spo2_percent for each in made]
    return Readings(np.array(shown), np.array([each.quality for each in made]))


def _perfusion(place: str, low: float, high: float) -> Any:
    spec = SPECS["perfusion_index_percent"]
    usual = SITES[place].usual_perfusion_index_percent
    declared = quantity(
        usual, low, high, spec.unit, f"Perfusion index, {place}", 0.02, logarithmic=True
    )
    return field(default=usual, metadata=dict(declared.metadata))


@dataclass(frozen=True)
class FingerAndWrist:
    """One person, a probe on the finger and one on the wrist.

    Motion and noise are the same share of the light at both places.

    Attributes:
        arterial_saturation: Functional SaO2 as a fraction.
        finger_perfusion_index_percent: At the finger [%].
        wrist_perfusion_index_percent: At the wrist [%]; some 0.1 to 0.3 % (common practice).
        coupling_percent: Motion of the probe on the skin, alike in both colours: rms over the
            steady light [%].
        motion_percent: Motion of venous blood: rms of the infrared swing over the steady light [%].
        noise_percent: Rms of the noise over the steady light [%].
        heart_rate_bpm: Pulse rate [1/min].

    Raises:
        ValueError: The message names the field, what was given and what is allowed.
    """

    arterial_saturation: float = as_in_scenario("arterial_saturation")
    finger_perfusion_index_percent: float = _perfusion("finger", 0.3, 10.0)
    wrist_perfusion_index_percent: float = _perfusion("wrist", 0.05, 2.0)
    coupling_percent: float = quantity(0.0, 0.0, 1.0, "%", "Motion of the probe", 0.01)
    motion_percent: float = quantity(0.0, 0.0, 1.0, "%", "Motion of venous blood", 0.01)
    noise_percent: float = quantity(0.02, 0.0, 0.2, "%", "Noise", 0.005)
    heart_rate_bpm: float = as_in_scenario("heart_rate_bpm")

    def __post_init__(self) -> None:
        check_fields(self)

    def scenario(self, place: str) -> Scenario:
        """The situation at the finger or at the wrist."""
        perfusion = getattr(self, f"{place}_perfusion_index_percent")
        shared = {name: getattr(self, name) for name in self.__dataclass_fields__ if name in SPECS}
        return Scenario(site=place, perfusion_index_percent=perfusion, **shared)

    @cached_property
    def first(self) -> dict[str, Reading]:
        """The first ten seconds, by place."""
        return {place: read(self.scenario(place)) for place in PLACES}

    def read_in_slices(self) -> Iterator[tuple[float, Many]]:
        """Read `READINGS` stretches at both places, a few at a time.

        Yields:
            Share done from 0 to 1, and the readings so far by place.
        """
        made: dict[str, list[Measurement]] = {place: [] for place in PLACES}
        for begin in range(0, READINGS, AT_ONCE):
            for place, sofar in made.items():
                scenario = self.scenario(place)
                sofar += [read(scenario, seed=begin + n).measurement for n in range(AT_ONCE)]
            share = (begin + AT_ONCE) / READINGS
            yield share, {place: gathered(sofar) for place, sofar in made.items()}

    @property
    def times_smaller(self) -> float:
        """Pulse at the finger over that at the wrist, infrared peak-to-trough over mean."""
        return self.finger_perfusion_index_percent / self.wrist_perfusion_index_percent
