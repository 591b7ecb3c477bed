"""A weak pulse, site by site: what cold leaves of it, and what a meter still makes of that."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from oximetry_workbook.body.quantities import check_fields, quantity
from oximetry_workbook.body.scenario import SPECS, Scenario, as_in_scenario
from oximetry_workbook.body.simulate import simulate
from oximetry_workbook.body.sites import SITES
from oximetry_workbook.meter.measure import Measurement, measure
from oximetry_workbook.teach.many_readings import READING_S, ManyReadings

FloatArray = NDArray[np.float64]

PLACES = tuple(SITES)
"""Where the probe is tried, in the order shown."""

READINGS_A_MINUTE = round(60.0 / READING_S)

NARROWING = np.linspace(0.0, 1.0, 21)
"""Narrowing of the vessels over which the pulse is drawn."""

PUBLISHED_FALL_PERCENT = {"finger": (48.0, 19.0), "ear": (2.0, 10.0)}
"""Fall of the pulse's height with the other hand in ice water for 30 s, mean and standard
deviation [%]; twelve volunteers. Source: Awad and others 2001, Anesth Analg 92:1483-1486,
abstract."""


@dataclass(frozen=True)
class WeakPulse:
    """One person in the cold, with the same meter at four places.

    Every place starts from its own usual perfusion index; cold narrows its vessels by its own
    share.

    Attributes:
        noise_percent: Rms noise of each colour over the steady light [%]: that of a plain meter
            to start with, chosen so that the weak pulse is felt.
        minutes: How long each place is measured when many readings are made, each of ten seconds.

    The other fields are those of a `Scenario`.

    Raises:
        ValueError: The message names the field, what was given and what is allowed.
    """

    vasoconstriction: float = as_in_scenario("vasoconstriction")
    noise_percent: float = field(default=0.05, metadata={"spec": SPECS["noise_percent"]})
    arterial_saturation: float = as_in_scenario("arterial_saturation")
    minutes: float = quantity(20.0, 2.0, 120.0, "min", "Minutes at each place", 1.0, whole=True)

    def __post_init__(self) -> None:
        check_fields(self)

    def scenario(self, place: str) -> Scenario:
        """The situation with the probe at one of `PLACES`."""
        return Scenario(
            site=place,
            perfusion_index_percent=SITES[place].usual_perfusion_index_percent,
            vasoconstriction=self.vasoconstriction,
            noise_percent=self.noise_percent,
            arterial_saturation=self.arterial_saturation,
        )

    @property
    def true_percent(self) -> float:
        """Saturation of the arteries [%]."""
        return 100.0 * self.arterial_saturation

    @property
    def perfusion_index_percent(self) -> FloatArray:
        """Perfusion index that is left at each place [%]; shape (4,)."""
        return np.array([_left(place, self.vasoconstriction) for place in PLACES])

    @cached_property
    def single(self) -> tuple[Measurement, ...]:
        """One reading of ten seconds at each place."""
        return tuple(measure(simulate(self.scenario(place), READING_S)) for place in PLACES)


def _left(place: str, vasoconstriction: float) -> float:
    site = SITES[place]
    return site.usual_perfusion_index_percent * site.pulse_left(vasoconstriction)


def pulse_left_percent() -> FloatArray:
    """Perfusion index of each place [%] over `NARROWING`; shape (4, 21)."""
    return np.array([[_left(place, float(v)) for v in NARROWING] for place in PLACES])


@dataclass(frozen=True, eq=False)
class ManySites:
    """Readings of all places, made over some minutes.

    Attributes:
        errors: Reading less truth [percentage points]; values of shape (4, readings).
        quality: Signal quality, 0 to 1; values of shape (4, readings).
        minutes: How long so far.
    """

    errors: ManyReadings
    quality: ManyReadings
    minutes: int


def alike(one: WeakPulse, other: WeakPulse) -> bool:
    """Whether readings made in one state hold for the other: minutes only make more of them."""
    return replace(one, minutes=other.minutes) == other


def many_sites(state: WeakPulse) -> Iterator[tuple[float, ManySites]]:
    """Read all places minute by minute, the same beats at each.

    Yields:
        Share done, 0 to 1, and the readings so far.
    """
    errors: list[FloatArray] = []
    quality: list[FloatArray] = []
    for minute in range(int(state.minutes)):
        for seed in range(minute * READINGS_A_MINUTE, (minute + 1) * READINGS_A_MINUTE):
            error, good = _one_reading(state, seed)
            errors.append(error)
            quality.append(good)
        so_far = [ManyReadings(np.stack(rows, axis=-1)) for rows in (errors, quality)]
        yield (minute + 1) / state.minutes, ManySites(so_far[0], so_far[1], minute + 1)


def _one_reading(state: WeakPulse, seed: int) -> tuple[FloatArray, FloatArray]:
    made = [measure(simulate(state.scenario(place), READING_S, seed=seed)) for place in PLACES]
    shown = [np.nan if each.spo2_percent is None else each.spo2_percent for each in made]
    return np.array(shown) - state.true_percent, np.array([each.quality for each in made])
