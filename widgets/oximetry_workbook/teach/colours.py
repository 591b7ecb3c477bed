"""Two samples of blood side by side: their colours, and what haemoglobin does to each colour."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from oximetry_workbook.body.blood import absorption_per_cm, molar_extinction
from oximetry_workbook.body.chromophores import (
    melanin_absorption_per_cm,
    water_absorption_per_cm,
)
from oximetry_workbook.body.colour import blood_colour
from oximetry_workbook.body.light import INFRARED_PEAK_NM, RED_PEAK_NM
from oximetry_workbook.body.quantities import check_fields, choice, quantity
from oximetry_workbook.teach.words import figure

FloatArray = NDArray[np.float64]

PAIR_SATURATION = np.linspace(0.4, 1.0, 61)
"""Saturations at which a pair of wavelengths is tried, as fractions."""

SHOWN_NM = np.arange(450.0, 1001.0, 2.0)
"""Wavelengths of the spectra on screen [nm]: both tables reach from 450 to 1000 nm."""


@dataclass(frozen=True)
class BloodSamples:
    """Two layers of blood to look through.

    Attributes:
        arterial_saturation: Saturation of the first, as a fraction.
        venous_saturation: Saturation of the second, as a fraction.
        depth_mm: Depth of both layers [mm].
        first_nm: First wavelength of the pair to try [nm].
        second_nm: Second wavelength [nm].
        extinction_table: Whose spectra are drawn; colours are always reckoned from Prahl's,
            which alone covers all visible light.

    Raises:
        ValueError: The message names the field, what was given and what is allowed.
    """

    arterial_saturation: float = quantity(
        0.97, 0.0, 1.0, "", "Arterial saturation", 0.01, fraction=True
    )
    venous_saturation: float = quantity(
        0.72, 0.0, 1.0, "", "Venous saturation", 0.01, fraction=True
    )
    depth_mm: float = quantity(0.2, 0.02, 5.0, "mm", "Depth of blood", 0.02, logarithmic=True)
    first_nm: float = quantity(RED_PEAK_NM, 600.0, 1000.0, "nm", "First wavelength", 1.0)
    second_nm: float = quantity(INFRARED_PEAK_NM, 600.0, 1000.0, "nm", "Second wavelength", 1.0)
    extinction_table: str = choice("Haemoglobin spectra", "Prahl", "Zijlstra")

    def __post_init__(self) -> None:
        check_fields(self)

    @property
    def arterial_colour(self) -> str:
        """Screen colour of the arterial layer, "#rrggbb"."""
        return blood_colour(self.arterial_saturation, self.depth_mm)

    @property
    def venous_colour(self) -> str:
        """Screen colour of the venous layer, "#rrggbb"."""
        return blood_colour(self.venous_saturation, self.depth_mm)

    def spectrum(self, species: str) -> FloatArray:
        """Molar extinction of a species at `SHOWN_NM` [cm⁻¹ per mol/L of tetramer]."""
        return np.asarray(molar_extinction(species, SHOWN_NM, self.extinction_table))

    @property
    def pair_ratio(self) -> FloatArray:
        """Ratio R of the chosen pair by Beer-Lambert at `PAIR_SATURATION`; shape (61,)."""
        return pair_ratio(self.first_nm, self.second_nm, self.extinction_table)


@dataclass(frozen=True)
class Contrast:
    """How differently the two haemoglobins absorb at one wavelength.

    Attributes:
        wavelength_nm: Wavelength [nm].
        oxygenated: Molar extinction of HbO2 [cm⁻¹ per mol/L].
        reduced: Molar extinction of HHb [cm⁻¹ per mol/L].
    """

    wavelength_nm: float
    oxygenated: float
    reduced: float

    @property
    def times(self) -> float:
        """The larger over the smaller."""
        high, low = max(self.oxygenated, self.reduced), min(self.oxygenated, self.reduced)
        return high / low

    @property
    def stronger(self) -> str:
        """In words, the haemoglobin that absorbs more."""
        return "without oxygen" if self.reduced > self.oxygenated else "with oxygen"


def contrast(wavelength_nm: float, extinction_table: str = "Prahl") -> Contrast:
    """Compare both haemoglobins at a wavelength [nm].

    Raises:
        ValueError: For a wavelength outside the table, or an unknown table.
    """
    return Contrast(
        wavelength_nm,
        molar_extinction("HbO2", wavelength_nm, extinction_table),
        molar_extinction("HHb", wavelength_nm, extinction_table),
    )


def colours_sentence(samples: BloodSamples) -> str:
    """Say what the two swatches show."""
    arterial, venous = (
        100.0 * red_light_passed(saturation, samples.depth_mm)
        for saturation in (samples.arterial_saturation, samples.venous_saturation)
    )
    return (
        f"Of red light at {RED_PEAK_NM:.0f} nm, {figure(arterial)} % passes "
        f"{figure(samples.depth_mm)} mm of the arterial blood and {figure(venous)} % passes the "
        f"same depth of the venous blood. {_darker(arterial, venous)}"
    )


def _darker(arterial: float, venous: float) -> str:
    if abs(arterial - venous) < NOTICED_POINTS:
        return "To the eye they hardly differ."
    which = "venous" if venous < arterial else "arterial"
    return f"The {which} blood holds back more red, and looks darker."


def red_light_passed(saturation: float, depth_mm: float) -> float:
    """Share of light at the red LED's peak that passes a layer of blood, by Beer-Lambert.

    Args:
        saturation: Functional saturation, as a fraction.
        depth_mm: Depth of the layer [mm].
    """
    return float(np.exp(-absorption_per_cm(RED_PEAK_NM, saturation) * depth_mm / 10.0))


def pair_ratio(first_nm: float, second_nm: float, extinction_table: str = "Prahl") -> FloatArray:
    """Absorption of blood at one wavelength over that at another, by saturation.

    The ratio of ratios if both colours went the same way (Beer-Lambert).

    Args:
        first_nm: Wavelength above the line [nm].
        second_nm: Wavelength below it [nm].
        extinction_table: "Prahl" or "Zijlstra".

    Returns:
        Ratio at `PAIR_SATURATION`; shape (61,).
    """
    pair = np.array([first_nm, second_nm])
    first, second = absorption_per_cm(
        pair[:, None], PAIR_SATURATION[None, :], table=extinction_table
    )
    return np.asarray(first / second)


def pair_swing(first_nm: float, second_nm: float, extinction_table: str = "Prahl") -> float:
    """How many times larger R is at 70 % than at 100 % (smaller if below 1), for a pair."""
    ratio = pair_ratio(first_nm, second_nm, extinction_table)
    return float(np.interp(0.7, PAIR_SATURATION, ratio) / ratio[-1])


def pair_sentence(samples: BloodSamples) -> str:
    """Say what the chosen pair of wavelengths would be worth."""
    swing = pair_swing(samples.first_nm, samples.second_nm, samples.extinction_table)
    pair = f"With {samples.first_nm:.0f} and {samples.second_nm:.0f} nm"
    if 1 / USELESS_SWING < swing < USELESS_SWING:
        return (
            f"{pair} the ratio hardly knows about oxygen: between 100 and 70 % it changes by "
            f"{figure(100 * abs(swing - 1))} %. A little noise would drown that."
        )
    ratio = samples.pair_ratio
    return (
        f"{pair} the ratio is {figure(ratio[-1])} at 100 % and "
        f"{figure(float(np.interp(0.7, PAIR_SATURATION, ratio)))} at 70 %"
        f"{'.' if swing > 1 else ', so it falls as oxygen falls.'}"
    )


NOTICED_POINTS = 2.0
"""Difference in red light passed, in points of 100, from which on one looks darker (our own)."""

USELESS_SWING = 1.25
"""A pair whose ratio changes by less than a quarter over the whole range is called useless."""

TISSUE_NM = np.arange(400.0, 1101.0, 2.0)
"""Wavelengths of the tissue plot [nm]."""

BLOOD_IN_TISSUE, WATER_IN_TISSUE, MELANIN_IN_EPIDERMIS = 0.02, 0.65, 0.03
"""Shares of volume in the tissue plot: water from Jacques 2013, the others common practice."""


def tissue_absorption_per_cm() -> dict[str, tuple[FloatArray, FloatArray]]:
    """Absorption of what tissue is made of, in its everyday share of the volume.

    Returns:
        By name, wavelength [nm] and absorption [1/cm]. Blood's tables end at 1000 nm.
    """
    blood_nm = TISSUE_NM[SHOWN_NM[-1] >= TISSUE_NM]
    return {
        "arterial blood": (
            blood_nm,
            BLOOD_IN_TISSUE * np.asarray(absorption_per_cm(blood_nm, 0.97)),
        ),
        "venous blood": (
            blood_nm,
            BLOOD_IN_TISSUE * np.asarray(absorption_per_cm(blood_nm, 0.72)),
        ),
        "water": (TISSUE_NM, WATER_IN_TISSUE * np.asarray(water_absorption_per_cm(TISSUE_NM))),
        "melanin": (
            TISSUE_NM,
            MELANIN_IN_EPIDERMIS * np.asarray(melanin_absorption_per_cm(TISSUE_NM)),
        ),
    }


def window_sentence() -> str:
    """Say where light gets through tissue, from the sum of what blood and water take."""
    parts = tissue_absorption_per_cm()
    wavelength, blood = parts["arterial blood"]
    total = blood + parts["water"][1][: wavelength.size]
    least = wavelength[np.argmin(total)]
    green = float(np.interp(540.0, wavelength, total) / total.min())
    return (
        f"Blood and water together take least near {least:.0f} nm; at 540 nm, green, they take "
        f"{figure(green)} times as much. Blood closes the window on the left, water on the right. "
        "Melanin takes far more for its volume, but fills a layer thin as paper."
    )


def spectra_sentence(samples: BloodSamples) -> str:
    """Say what the spectra show at the chosen pair of wavelengths."""
    first, second = (
        contrast(nm, samples.extinction_table) for nm in (samples.first_nm, samples.second_nm)
    )
    pull = "in opposite directions" if first.stronger != second.stronger else "the same way"
    return (
        f"At {first.wavelength_nm:.0f} nm haemoglobin {first.stronger} absorbs "
        f"{figure(first.times, 3)} times as much as the other kind; at "
        f"{second.wavelength_nm:.0f} nm it is haemoglobin {second.stronger}, "
        f"{figure(second.times, 3)} times. The two wavelengths pull {pull}."
    )
