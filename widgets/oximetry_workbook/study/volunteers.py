"""A desaturation study on virtual volunteers: a table of readings such as a real study brings home.

The spread of error is not put in: it comes from people and LEDs that differ, through the probe's
photon diffusion, and from the noise of R as the simulated meter shows it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from oximetry_workbook.body.calibration import diffusion_calibration
from oximetry_workbook.body.many_people import (
    PERSONAL,
    many_people_noise_scales,
    many_people_ratios,
)
from oximetry_workbook.body.quantities import Quantity, check_fields, quantity
from oximetry_workbook.body.scenario import Scenario, as_in_scenario
from oximetry_workbook.meter.curve import Curve
from oximetry_workbook.meter.display import clamped
from oximetry_workbook.study.columns import finite_vector
from oximetry_workbook.study.population import GROUPS, Population

FloatArray = NDArray[np.float64]

READING_S = 10.0
"""How long the meter listens for one reading [s]."""

RATIO_NOISE = 0.203
BREATHING_RATIO_SD = 0.0017
"""Chance in the R of one reading, fitted once to `simulate` and `measure` (ten seconds, slope
method, 72 beats a minute; 30 situations on all sites with 150 recordings each, which strew by 5 %
about the fit). Noise over the pulse counts by the first; the second is the standard deviation of
R that stays without any noise, since breathing moves venous blood. The tests measure both anew."""

MOST_NOISE_OVER_PULSE = 0.33
"""Infrared noise (rms) over its pulse (peak to trough) beyond which half the readings or more are
withheld: found with `simulate` and `measure` too, between 0.32 and 0.36 at 100 and 70 %."""

MOST_VOLUNTEERS = 20_000
FEWEST_PLATEAU_PERCENT = 40.0

_PEOPLE, _PIGMENT, _PLACES, _CHANCE = 1, 2, 3, 4
"""Streams of chance, so that more noise moves neither people nor plateaus."""

GOLDEN = (np.sqrt(5.0) - 1.0) / 2.0
"""Steps of this share around a circle fill it evenly, however many there are."""


@dataclass(frozen=True)
class _Plateaus:
    """Check of a protocol's plateaus."""

    label: str = "Plateaus"

    def checked(self, name: str, value: ArrayLike) -> tuple[float, ...]:
        """Return plateaus as numbers [%], or raise ValueError naming what is allowed."""
        found = finite_vector(name, value)
        if not found.size or found.min() < FEWEST_PLATEAU_PERCENT or found.max() > 100.0:
            raise ValueError(
                f"{name} is {value!r}; give one plateau or more, each from "
                f"{FEWEST_PLATEAU_PERCENT:g} to 100 %"
            )
        return tuple(found.tolist())


def _plateaus(*percent: float) -> Any:
    return field(default=percent, metadata={"spec": _Plateaus()})


@dataclass(frozen=True)
class Protocol:
    """What is done with each volunteer, and with which probe.

    Attributes:
        plateaus_percent: Saturations at which the volunteer is held [%], in order. These seven
            spread over the range 70 to 100 % that ISO 80601-2-61 asks for (common practice).
        samples_per_plateau: Blood samples on each, each with a reading. Four on seven plateaus
            give 28 pairs a person, so that ten people give the 200 pairs of FDA's guidance of
            4 March 2013 (docket FDA-2007-D-0205).
        wander_points: How far samples lie from their plateau at most [percentage points]; nobody
            stands still (common practice). What would exceed 100 % is folded back.
        site: Where the probe sits.
        noise_percent: Noise over the steady level in ordinary tissue [%]; see `Scenario`.

    Raises:
        ValueError: The message names the field, what was given and what is allowed.
    """

    plateaus_percent: tuple[float, ...] = _plateaus(100.0, 95.0, 90.0, 85.0, 80.0, 75.0, 70.0)
    samples_per_plateau: float = quantity(4, 1, 100, "", "Samples on a plateau", 1, whole=True)
    wander_points: float = quantity(1.5, 0.0, 5.0, "points", "Wander about a plateau", 0.1)
    site: str = as_in_scenario("site")
    noise_percent: float = as_in_scenario("noise_percent")

    def __post_init__(self) -> None:
        check_fields(self)

    @property
    def sample_plateaus_percent(self) -> FloatArray:
        """Plateau of each of a volunteer's samples [%]; shape (samples,)."""
        return np.repeat(self.plateaus_percent, int(self.samples_per_plateau))

    @property
    def common(self) -> Scenario:
        """What all volunteers have in common."""
        return Scenario(site=self.site)

    def curve(self) -> Curve:
        """The probe's own curve, found on one reference person; see `diffusion_calibration`."""
        ratio, percent = diffusion_calibration(self.site)
        return Curve.table("computed for this probe", ratio, percent, "body.calibration")


def draw_people(n: int, population: Population | None = None, seed: int = 0) -> pd.DataFrame:
    """Draw invented people, each with a probe of their own of one make.

    Groups of skin are filled in their shares as far as whole people can, as studies recruit
    them. The first people of a larger draw are those of a smaller.

    Args:
        n: People, 1 to 20 000.
        population: How far they differ; by default as `Population` states.
        seed: The same seed draws the same people.

    Returns:
        One row a person: subject (1 to n), group (one of `population.GROUPS`), and the fields of
        a `Scenario` in which people differ.

    Raises:
        ValueError: The number or the seed is out of range; the message names it.
    """
    n = _whole("n", n, 1, MOST_VOLUNTEERS)
    seed = _whole("seed", seed, 0, 2**32)
    population = population or Population()
    spread = population.distributions()
    chance = np.random.default_rng([seed, _PEOPLE]).random((n, len(spread)))
    share = dict(zip(spread, chance.T, strict=True))
    start = np.random.default_rng([seed, _PIGMENT]).random()
    share["melanin_fraction"] = (start + GOLDEN * np.arange(n)) % 1.0
    group = np.array(GROUPS)[population.pigment().group(share["melanin_fraction"])]
    fields = {name: each.ppf(share[name]) for name, each in spread.items()}
    return pd.DataFrame({"subject": np.arange(1, n + 1), "group": group, **fields})


def desaturation_study(
    people: pd.DataFrame,
    protocol: Protocol | None = None,
    curve: Curve | None = None,
    seed: int = 0,
) -> pd.DataFrame:
    """Take every volunteer down the plateaus, with a blood sample and a reading at each place.

    R is that of a vanishing pulse, plus chance (`ratio_sd`). Blood samples are taken to be exact,
    and readings are not rounded. Movement, room light and late readings are left out. Pigment
    acts as a filter of the light and weakens it: that does not bring out the bias that studies
    found in dark skin, 3.6 points at 60 to 70 % (Bickler, Feiner and Severinghaus 2005,
    Anesthesiology 102:715), so groups must not be compared by this model.

    Args:
        people: What `draw_people` returns; `read_pairs` finds the columns of the result.
        protocol: What is done; by default as `Protocol` states.
        curve: From R to saturation; by default the one computed for this probe.
        seed: Of places and chance. The first people's readings do not depend on later people.

    Returns:
        One row a reading, person after person: subject, group, plateau_percent, sample (1 to the
        last on the plateau), sao2_percent, ratio and spo2_percent (0 to 100; both NaN when the
        reading is withheld), perfusion_index_percent.

    Raises:
        ValueError: There are no people, a column is missing, or a value or the seed is out of
            range; the message names it.
    """
    protocol = protocol or Protocol()
    _check_people(people)
    seed = _whole("seed", seed, 0, 2**32)
    plateau, count = protocol.sample_plateaus_percent, len(people)
    sao2 = _places(count, protocol, np.random.default_rng([seed, _PLACES]))
    chance = np.random.default_rng([seed, _CHANCE]).standard_normal(sao2.shape)
    columns = {name: people[name].to_numpy(dtype=np.float64) for name in _needed()}
    ratio = measured_ratios(columns, sao2 / 100.0, chance, protocol)
    table = {
        name: np.repeat(people[name].to_numpy(), plateau.size) for name in ("subject", "group")
    }
    samples = np.arange(plateau.size) % int(protocol.samples_per_plateau) + 1
    return pd.DataFrame(
        {
            **table,
            "plateau_percent": np.tile(plateau, count),
            "sample": np.tile(samples, count),
            "sao2_percent": sao2.ravel(),
            "ratio": ratio.ravel(),
            "spo2_percent": clamped((curve or protocol.curve())(ratio.ravel())),
            "perfusion_index_percent": np.repeat(columns["perfusion_index_percent"], plateau.size),
        }
    )


def measured_ratios(
    people: Mapping[str, FloatArray],
    saturation: FloatArray,
    chance: FloatArray,
    protocol: Protocol,
    most_noise_over_pulse: float = MOST_NOISE_OVER_PULSE,
) -> FloatArray:
    """R that the meter finds in one reading after another.

    Args:
        people: Fields in which people differ, perfusion_index_percent among them; (people,) each.
        saturation: Fractions, 0 to 1; shape (people, m).
        chance: Standard normal numbers; shape (people, m).
        protocol: Site of the probe and its noise.
        most_noise_over_pulse: Beyond this infrared noise over its pulse a reading is withheld.

    Returns:
        R, NaN where the reading is withheld; shape (people, m).
    """
    own = {name: values for name, values in people.items() if name in PERSONAL}
    ratio = many_people_ratios(own, saturation, protocol.common)
    scales = many_people_noise_scales(own, saturation, protocol.common)
    over_pulse = protocol.noise_percent / people["perfusion_index_percent"][:, None, None] * scales
    measured = ratio + chance * ratio_sd(ratio, over_pulse)
    return np.where(over_pulse[..., 1] > most_noise_over_pulse, np.nan, measured)


def ratio_sd(ratio: FloatArray, noise_over_pulse: FloatArray) -> FloatArray:
    """Standard deviation of one reading's R by chance.

    The slope of red against infrared errs with the noise of red, and with R times that of
    infrared, over the infrared pulse; the factor before it is `RATIO_NOISE`.

    Args:
        ratio: R free of chance; any shape.
        noise_over_pulse: Noise of red and infrared (rms over the steady level) over the infrared
            pulse (peak to trough over the steady level); the shape of `ratio`, and (2,).

    Returns:
        Standard deviation of R; the shape of `ratio`.
    """
    red, infrared = np.moveaxis(noise_over_pulse, -1, 0)
    of_noise = RATIO_NOISE * np.hypot(red, ratio * infrared) / np.sqrt(2.0)
    return np.asarray(np.hypot(of_noise, BREATHING_RATIO_SD))


def _places(count: int, protocol: Protocol, rng: np.random.Generator) -> FloatArray:
    """Saturation of every sample [%]; shape (people, samples)."""
    plateau, reach = protocol.sample_plateaus_percent, protocol.wander_points
    place = plateau + rng.uniform(-reach, reach, (count, plateau.size))
    return np.asarray(100.0 - np.abs(100.0 - place))


def _needed() -> list[str]:
    return list(Population().distributions())


def _check_people(people: pd.DataFrame) -> None:
    if people.empty:
        raise ValueError("people has no rows; draw at least one with draw_people")
    absent = [name for name in ("subject", "group", *_needed()) if name not in people]
    if absent:
        raise ValueError(f"people has no column {absent[0]}; draw people with draw_people")


def _whole(name: str, value: object, low: float, high: float) -> int:
    return int(Quantity("", "", low, high, 1.0, whole=True).checked(name, value))
