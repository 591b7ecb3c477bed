"""Two samples of blood side by side: their colours, and what haemoglobin does to each colour."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from oximetry_workbook.body.blood import absorption_per_cm, molar_extinction
from oximetry_workbook.body.colour import blood_colour
from oximetry_workbook.body.light import INFRARED_PEAK_NM, RED_PEAK_NM
from oximetry_workbook.body.quantities import check_fields, choice, quantity
from oximetry_workbook.teach.words import figure

FloatArray = NDArray[np.float64]

SHOWN_NM = np.arange(450.0, 1001.0, 2.0)
"""Wavelengths of the spectra on screen [nm]: both tables reach from 450 to 1000 nm."""


@dataclass(frozen=True)
class BloodSamples:
    """Two layers of blood to look through.

    Attributes:
        arterial_saturation: Saturation of the first, as a fraction.
        venous_saturation: Saturation of the second, as a fraction.
        depth_mm: Depth of both layers [mm].
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
        f"{figure(samples.depth_mm)} mm of arterial blood and {figure(venous)} % as much venous "
        "blood. The red that is held back makes it dark."
    )


def red_light_passed(saturation: float, depth_mm: float) -> float:
    """Share of light at the red LED's peak that passes a layer of blood, by Beer-Lambert.

    Args:
        saturation: Functional saturation, as a fraction.
        depth_mm: Depth of the layer [mm].
    """
    return float(np.exp(-absorption_per_cm(RED_PEAK_NM, saturation) * depth_mm / 10.0))


def spectra_sentence(samples: BloodSamples) -> str:
    """Say what the spectra show at the two wavelengths of a meter."""
    red = contrast(RED_PEAK_NM, samples.extinction_table)
    infrared = contrast(INFRARED_PEAK_NM, samples.extinction_table)
    return (
        f"At {red.wavelength_nm:.0f} nm haemoglobin {red.stronger} absorbs {red.times:.1f} times "
        f"as much; at {infrared.wavelength_nm:.0f} nm haemoglobin {infrared.stronger} absorbs "
        f"{infrared.times:.2f} times as much. The two colours pull in opposite directions."
    )
