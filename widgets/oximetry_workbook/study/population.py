"""How people and their probes differ: the stated distributions that volunteers are drawn from."""

from __future__ import annotations

from dataclasses import dataclass
from statistics import NormalDist
from typing import Protocol, cast

import numpy as np
from numpy.typing import NDArray

from oximetry_workbook.body.quantities import Quantity, check_fields, quantity
from oximetry_workbook.body.scenario import SPECS
from oximetry_workbook.study.small_study import PEOPLE

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

MELANIN = {"light": (0.013, 0.063), "medium": (0.11, 0.16), "dark": (0.18, 0.43)}
"""Melanosomes in the epidermis by skin group, lowest and highest share of its volume (Jacques,
"Skin optics", omlc.org, 1998: lightly, moderately and darkly pigmented; from memory)."""

GROUPS = tuple(MELANIN)

STANDARD_NORMAL = NormalDist()
NOBODY = 2.0**-53
"""Share of people at either end that no double between 0 and 1 can split: the bell's ends are
infinitely far, and people are cut off here, 8.2 standard deviations out."""


class Distribution(Protocol):
    """What an assumption must know: its name for people, and its values by share of people."""

    @property
    def label(self) -> str:
        """Name for people."""

    def ppf(self, share: FloatArray) -> FloatArray:
        """Value below which that share of people lies, 0 to 1; same shape."""


@dataclass(frozen=True)
class Normal:
    """A normal distribution, of the value or of its logarithm, cut off at bounds.

    Attributes:
        label: Name for people.
        middle: Median.
        deviation: Standard deviation, of the natural logarithm where `of_logarithm`.
        of_logarithm: Whether the logarithm is normal.
        low: Values below become this one.
        high: Values above become this one.
    """

    label: str
    middle: float
    deviation: float
    of_logarithm: bool = False
    low: float = -np.inf
    high: float = np.inf

    def ppf(self, share: FloatArray) -> FloatArray:
        """Value below which that share of people lies, 0 to 1; same shape."""
        inside = np.clip(share, NOBODY, 1.0 - NOBODY)
        # not scipy's: that costs a learner's kernel a tenth of its memory
        z = np.vectorize(STANDARD_NORMAL.inv_cdf, otypes=[np.float64])(inside) * self.deviation
        value = self.middle * np.exp(z) if self.of_logarithm else self.middle + z
        return np.asarray(np.clip(value, self.low, self.high))


@dataclass(frozen=True)
class Pigment:
    """Melanin of people of all groups, evenly spread in its logarithm within a group.

    Attributes:
        label: Name for people.
        shares: Share of people in each of `GROUPS`; they add up to 1.
    """

    label: str
    shares: tuple[float, ...]

    def group(self, share: FloatArray) -> IntArray:
        """Number of the group in which a share of people, ordered by melanin, ends."""
        # no group without people: its upper edge is that of the one before
        found = np.searchsorted(self._edges[1:], share, side="right")
        return np.asarray(np.minimum(found, np.flatnonzero(self.shares)[-1]), dtype=np.int64)

    @property
    def _edges(self) -> FloatArray:
        return np.concatenate([[0.0], np.cumsum(self.shares)])

    def ppf(self, share: FloatArray) -> FloatArray:
        """Melanin below which that share of people lies, 0 to 1; same shape."""
        group = self.group(share)
        low, high = np.array(list(MELANIN.values())).T[:, group]
        along = (share - self._edges[group]) / np.array(self.shares)[group]
        return np.asarray(low * (high / low) ** np.clip(along, 0.0, 1.0))


@dataclass(frozen=True)
class Population:
    """How far volunteers and the probes they wear differ.

    Each varies independently. "Spread" is the standard deviation of the natural logarithm: 0.25
    is about a quarter up or down. The spreads of blood volume, thickness, scattering, haemoglobin
    and of sorted LEDs are those of the small study, our choice (common practice).

    Attributes:
        blood_volume_spread: Of resting blood in the tissue, about the site's own.
        thickness_sd: Of the distance from LED to detector, about the site's own, relative.
        scattering_spread: Of reduced scattering, about the site's own.
        haemoglobin_mean_g_per_l: Mean of women and men together [g/L].
        haemoglobin_sd_g_per_l: Its standard deviation [g/L].
        venous_difference_mean: Arterial less venous saturation, as a fraction (common practice).
        venous_difference_sd: Its standard deviation (common practice).
        red_peak_sd_nm: Standard deviation of the red LED's peak about 660 nm [nm].
        infrared_peak_sd_nm: The same of the infrared LED about 940 nm [nm].
        perfusion_median_percent: Perfusion index that half the volunteers exceed [%]: 1.4 in
            108 healthy adults' fingers (Lima, Beelen and Bakker 2002, Crit Care Med 30:1210;
            methods and discussion read).
        perfusion_spread: Spread of it. The same 108 reached from 0.3 to 10 % (from memory), a
            factor of 33: five standard deviations of 0.7.
        light_share: Share of volunteers with lightly pigmented skin.
        dark_share: Share with darkly pigmented skin, at least 15 % or two people in FDA's
            guidance of 4 March 2013 (docket FDA-2007-D-0205); the rest are medium.

    Raises:
        ValueError: The message names the field, what was given and what is allowed.
    """

    blood_volume_spread: float = quantity(
        PEOPLE["blood_volume_scale"][1], 0.0, 0.6, "", "Spread of blood volume", 0.01
    )
    thickness_sd: float = quantity(
        PEOPLE["thickness_scale"][1], 0.0, 0.2, "", "Spread of thickness", 0.01
    )
    scattering_spread: float = quantity(
        PEOPLE["scattering_scale"][1], 0.0, 0.4, "", "Spread of scattering", 0.01
    )
    haemoglobin_mean_g_per_l: float = quantity(
        PEOPLE["haemoglobin_g_per_l"][0], 60.0, 200.0, "g/L", "Mean haemoglobin", 1.0
    )
    haemoglobin_sd_g_per_l: float = quantity(
        PEOPLE["haemoglobin_g_per_l"][1], 0.0, 40.0, "g/L", "Spread of haemoglobin", 1.0
    )
    venous_difference_mean: float = quantity(
        0.25, 0.0, 0.5, "", "Oxygen taken by the tissue", 0.01, fraction=True
    )
    venous_difference_sd: float = quantity(
        0.06, 0.0, 0.2, "", "Spread of oxygen taken", 0.01, fraction=True
    )
    red_peak_sd_nm: float = quantity(
        PEOPLE["red_peak_nm"][1], 0.0, 8.0, "nm", "Spread of red LEDs", 0.1
    )
    infrared_peak_sd_nm: float = quantity(
        PEOPLE["infrared_peak_nm"][1], 0.0, 15.0, "nm", "Spread of infrared LEDs", 0.1
    )
    perfusion_median_percent: float = quantity(
        1.4, 0.1, 10.0, "%", "Median perfusion index", 0.02, logarithmic=True
    )
    perfusion_spread: float = quantity(0.7, 0.0, 1.5, "", "Spread of perfusion", 0.05)
    light_share: float = quantity(0.4, 0.0, 1.0, "", "Light skin", 0.05, fraction=True)
    dark_share: float = quantity(0.3, 0.0, 1.0, "", "Dark skin", 0.05, fraction=True)

    def __post_init__(self) -> None:
        check_fields(self)
        if self.light_share + self.dark_share > 1.0 + 1e-9:
            raise ValueError(
                f"light_share and dark_share add up to {self.light_share + self.dark_share:g}; "
                "together they may be at most 1"
            )

    def distributions(self) -> dict[str, Distribution]:
        """Distribution of each field of a person, by its name in a `Scenario`."""
        red, infrared = PEOPLE["red_peak_nm"][0], PEOPLE["infrared_peak_nm"][0]
        return {
            "blood_volume_scale": _within(
                "blood_volume_scale", 1.0, self.blood_volume_spread, True
            ),
            "thickness_scale": _within("thickness_scale", 1.0, self.thickness_sd),
            "scattering_scale": _within("scattering_scale", 1.0, self.scattering_spread, True),
            "melanin_fraction": self.pigment(),
            "haemoglobin_g_per_l": _within(
                "haemoglobin_g_per_l", self.haemoglobin_mean_g_per_l, self.haemoglobin_sd_g_per_l
            ),
            "venous_difference": _within(
                "venous_difference", self.venous_difference_mean, self.venous_difference_sd
            ),
            "red_peak_nm": _within("red_peak_nm", red, self.red_peak_sd_nm),
            "infrared_peak_nm": _within("infrared_peak_nm", infrared, self.infrared_peak_sd_nm),
            "perfusion_index_percent": _within(
                "perfusion_index_percent",
                self.perfusion_median_percent,
                self.perfusion_spread,
                True,
            ),
        }

    def pigment(self) -> Pigment:
        """Melanin over all groups."""
        medium = max(1.0 - self.light_share - self.dark_share, 0.0)
        if medium < 1e-9:  # rounding, no group
            medium = 0.0
        label = SPECS["melanin_fraction"].label
        return Pigment(label, (self.light_share, medium, self.dark_share))


def _within(name: str, middle: float, deviation: float, of_logarithm: bool = False) -> Normal:
    """A normal distribution kept within the bounds of a scenario's field."""
    spec = cast(Quantity, SPECS[name])
    return Normal(spec.label, middle, deviation, of_logarithm, spec.low, spec.high)
