"""Blood that is not as the curve expects: other haemoglobins, too little of it, and dyes."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cached_property, lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from oximetry_workbook.body.blood import molar_extinction
from oximetry_workbook.body.light import INFRARED_PEAK_NM, RED_PEAK_NM
from oximetry_workbook.body.quantities import check_fields, quantity
from oximetry_workbook.body.scenario import SPECS, Scenario, as_in_scenario
from oximetry_workbook.oxygen.carbon_monoxide import po2_beside_co_mmhg
from oximetry_workbook.oxygen.content import oxygen_content_ml_per_dl
from oximetry_workbook.teach.published_dyes import PUBLISHED_DYES
from oximetry_workbook.teach.reading import Reading, read
from oximetry_workbook.teach.words import figure

FloatArray = NDArray[np.float64]

POINTS = 25
"""Readings along a line on screen."""

MOST_BLOCKED = 0.9
"""What carbon monoxide and methaemoglobin may take together, as a fraction, see `Scenario`."""

MOST_DYE_MG_PER_L = 30.0
"""End of the dye slider [mg/L]: three times 50 mg in 5 litres of blood."""

COMPARED_PERCENT = 70.0
"""Functional saturation from which methaemoglobin is followed a second time [%]."""

FLAT_PERCENT = 99.0
"""Above this the dissociation curve is so flat that saturation no longer tells the pressure [%]."""

SMOKERS_PERCENT = (1.0, 8.6)
"""COHb of the volunteers before and after smoking: 3.0 less, 5.2 plus two SD (1.0, 1.7) [%].

Tashiro and others 1988, J Anesth 2:36."""

SMOKERS_WEIGHT, SMOKERS_OFFSET = 1.06, -2.49
"""Reading less HbO2 [points] = weight x COHb + offset, from the same study (abstract)."""

RULE_WEIGHT = 0.9
"""Part of COHb that a meter takes for HbO2, by a rule of thumb (from memory).

An abstract of 1991 (Potential errors in pulse oximetry III) has the excess less than COHb, possibly
close to it."""

DOGS_MOST_PERCENT = 75.0
"""Highest COHb of five dogs, whose readings were about HbO2 + COHb [%].

Barker and Tremper 1987, Anesthesiology 66:677 (abstract)."""

DOGS_POINT_PERCENT = (70.0, 90.0)
"""COHb and the reading that was exceeded, with HbO2 below 30 % [%]: the same abstract. That
all the rest is COHb is our own reading of it."""

PLATEAU_PERCENT = (35.0, 60.0, 85.0)
"""MetHb from which, and to which, dogs' readings stood still, and where [%].

Barker, Tremper and Hyatt 1989, Anesthesiology 70:112 (from memory). The same abstract of 1991
has readings tend towards 85 %."""


class Line(NamedTuple):
    """Readings along one quantity.

    Attributes:
        x: Where the meter shows a number, in the unit shown on screen; shape (n,).
        percent: What it shows [%]; shape (n,).
    """

    x: FloatArray
    percent: FloatArray


@lru_cache(maxsize=32)
def readings_along(scenario: Scenario, name: str, most: float) -> Line:
    """Simulate and measure a situation while one field goes from 0 up.

    Args:
        scenario: The situation; its own value of the field is not used.
        name: A field of `Scenario` whose range begins at 0.
        most: Last value.

    Returns:
        Field (fractions in percent) and reading, where the meter shows one; read-only.
    """
    values = np.linspace(0.0, most, POINTS)
    shown = [read(scenario.replace(**{name: v})).measurement.spo2_percent for v in values]
    seen = np.array([each is not None for each in shown])
    scale = 100.0 if getattr(SPECS[name], "fraction", False) else 1.0
    line = Line(scale * values[seen], np.array([each for each in shown if each is not None]))
    for shared in line:
        shared.flags.writeable = False  # the cache hands the same arrays to all who ask
    return line


@dataclass(frozen=True)
class OtherBlood:
    """Arterial blood, and a finger probe that knows nothing of what is in it.

    The fields are those of a `Scenario`; the dye's range ends earlier.

    Raises:
        ValueError: The message names the field, what was given and what is allowed; also when
            COHb and MetHb together are above 0.9, told in percent as the sliders are.
    """

    arterial_saturation: float = field(
        default=Scenario().arterial_saturation,
        metadata={"spec": replace(SPECS["arterial_saturation"], label="Functional saturation")},
    )
    carboxyhaemoglobin: float = as_in_scenario("carboxyhaemoglobin")
    methaemoglobin: float = as_in_scenario("methaemoglobin")
    haemoglobin_g_per_l: float = as_in_scenario("haemoglobin_g_per_l")
    dye: str = field(default="methylene blue", metadata={"spec": SPECS["dye"]})
    dye_mg_per_l: float = quantity(0.0, 0.0, MOST_DYE_MG_PER_L, "mg/L", "Amount of dye", 0.5)

    def __post_init__(self) -> None:
        check_fields(self)
        monoxide, met = 100.0 * self.carboxyhaemoglobin, 100.0 * self.methaemoglobin
        most = 100.0 * MOST_BLOCKED
        if monoxide + met > most + 1e-7:  # such sums are rounded: 34 + 56 comes out above 90
            raise ValueError(
                f"COHb {figure(monoxide, 3)} % and MetHb {figure(met, 3)} % add up to "
                f"{figure(monoxide + met, 4)} % of all haemoglobin. Together they may be at most "
                f"{most:.0f} %, so that some is left for oxygen: lower one of them first"
            )

    @cached_property
    def scenario(self) -> Scenario:
        """The situation as the simulator takes it; what is not a field stays ordinary."""
        return _scenario_of(self)

    @cached_property
    def reading(self) -> Reading:
        """Ten seconds, simulated and measured with the probe's own curve."""
        return read(self.scenario)

    @property
    def shown_percent(self) -> float | None:
        """What the meter shows [%]; None when it withholds a number."""
        return self.reading.measurement.spo2_percent

    @property
    def functional_percent(self) -> float:
        """HbO2 over what can carry oxygen, HbO2 + HHb [%]."""
        return 100.0 * self.arterial_saturation

    @property
    def fractional_percent(self) -> float:
        """HbO2 over all haemoglobin [%]."""
        return self.reading.carried_percent

    @property
    def shares_percent(self) -> FloatArray:
        """HbO2, HHb, COHb and MetHb over all haemoglobin [%]; shape (4,)."""
        blocked = np.array([self.carboxyhaemoglobin, self.methaemoglobin])
        able = 1.0 - blocked.sum()
        level = self.arterial_saturation
        return 100.0 * np.array([able * level, able * (1.0 - level), *blocked])

    @cached_property
    def content_ml_per_dl(self) -> float:
        """Oxygen in a decilitre of this blood [mL], bound and dissolved.

        The dissolved part goes with the pressure that this saturation needs; above 99 % it is
        taken at 99 %. That methaemoglobin shifts the curve, too, is left out of it.
        """
        saturation = min(self.arterial_saturation, FLAT_PERCENT / 100.0)
        return oxygen_content_ml_per_dl(
            self.arterial_saturation,
            float(po2_beside_co_mmhg(saturation, self.carboxyhaemoglobin)),
            self.haemoglobin_g_per_l,
            self.carboxyhaemoglobin,
            self.methaemoglobin,
        )

    @property
    def monoxide_line(self) -> Line:
        """Readings over COHb [%], all else as it is."""
        return self._along("carboxyhaemoglobin", self.methaemoglobin)

    @property
    def methaemoglobin_line(self) -> Line:
        """Readings over MetHb [%], all else as it is."""
        return self._along("methaemoglobin", self.carboxyhaemoglobin)

    @property
    def compared_line(self) -> Line:
        """Readings over MetHb [%] from a functional saturation of `COMPARED_PERCENT`."""
        return self.at(COMPARED_PERCENT).methaemoglobin_line

    @property
    def dye_line(self) -> Line:
        """Readings over the dye's amount [mg/L]; flat where no dye is chosen."""
        return readings_along(
            self.scenario.replace(dye_mg_per_l=0.0), "dye_mg_per_l", MOST_DYE_MG_PER_L
        )

    def at(self, functional_percent: float) -> OtherBlood:
        """Return the same blood at another functional saturation [%]."""
        return replace(self, arterial_saturation=functional_percent / 100.0)

    def carrying_percent(self, blocked_percent: FloatArray, other: float) -> FloatArray:
        """HbO2 over all haemoglobin [%], with COHb or MetHb [%] beside the other, a fraction."""
        return self.arterial_saturation * (100.0 * (1.0 - other) - blocked_percent)

    def counted_as_oxygen(
        self, cohb_percent: FloatArray, weight: float, offset: float = 0.0
    ) -> FloatArray:
        """HbO2 + weight x COHb + offset [%], what studies and rules say a meter shows."""
        carrying = self.carrying_percent(cohb_percent, self.methaemoglobin)
        return np.asarray(carrying + weight * cohb_percent + offset)

    @property
    def dye_point(self) -> tuple[float, float] | None:
        """Amount [mg/L] and reading [%] that were found in people; None for no dye."""
        found = PUBLISHED_DYES.get(self.dye)
        if found is None:
            return None
        if found.lowest_percent is not None:
            return found.mg_per_l, found.lowest_percent
        return found.mg_per_l, self.functional_percent - (found.fall_points or 0.0)

    def _along(self, name: str, other: float) -> Line:
        most = min(SPECS[name].high, MOST_BLOCKED - other)
        return readings_along(self.scenario.replace(**{name: 0.0}), name, most)


def _scenario_of(blood: OtherBlood) -> Scenario:
    return Scenario(**{name: getattr(blood, name) for name in blood.__dataclass_fields__})


ORDINARY = OtherBlood()
"""Blood as the curve expects it, to compare with."""


def beside_oxyhaemoglobin(species: str) -> tuple[float, float]:
    """Extinction of a species over that of HbO2, at the red and the infrared LED's peak."""
    pair = np.array([RED_PEAK_NM, INFRARED_PEAK_NM])
    red, infrared = molar_extinction(species, pair) / molar_extinction("HbO2", pair)
    return float(red), float(infrared)


def pure_ratio(species: str) -> float:
    """Ratio R of blood that holds nothing but one species, both colours on a straight path.

    Red over infrared extinction (Beer-Lambert), at 660 and 940 nm.
    """
    red, infrared = (molar_extinction(species, nm) for nm in (RED_PEAK_NM, INFRARED_PEAK_NM))
    return float(red / infrared)


def turning_percent(methaemoglobin: float) -> float:
    """Functional saturation that this much MetHb leaves reading as it was [%].

    Above it the reading falls, below it the reading rises.

    Args:
        methaemoglobin: MetHb as a fraction of all haemoglobin.
    """
    levels = np.linspace(60.0, 100.0, 41)
    with_it = OtherBlood(methaemoglobin=methaemoglobin)
    gained = [_shown(with_it.at(level)) - _shown(ORDINARY.at(level)) for level in levels]
    return float(np.interp(0.0, gained[::-1], levels[::-1]))


def _shown(blood: OtherBlood) -> float:
    shown = blood.shown_percent
    if shown is None:
        raise RuntimeError("the meter withholds a number, though noise is ordinary")
    return shown
