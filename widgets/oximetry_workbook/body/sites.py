"""Places for a probe: what the tissue there is made of, and how the light goes through it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from oximetry_workbook.body.tissue import (
    log_reflection,
    log_slab_transmission,
    reflection_path_length_cm,
    slab_path_length_cm,
)

FloatArray = NDArray[np.float64]

SCATTERING_REFERENCE_NM = 500.0
"""Wavelength at which the scattering power law is anchored [nm] (Jacques 2013)."""


@dataclass(frozen=True)
class Site:
    """A place for a probe.

    Attributes:
        geometry: "slab" when light shines through, "reflection" when it comes back.
        distance_cm: Thickness of the slab or separation of LED and detector [cm].
        scattering_per_cm: Reduced scattering at 500 nm [1/cm].
        scattering_power: Exponent b of (wavelength / 500 nm)^-b.
        arterial_fraction: Resting arterial blood, share of tissue volume.
        venous_fraction: Venous and capillary blood, share of tissue volume.
        water_fraction: Water outside blood, share of tissue volume.
        fat_fraction: Fat, share of tissue volume.
        epidermis_cm: Epidermis crossed from LED to detector, in and out together [cm].
        source: Where the numbers come from.
    """

    geometry: Literal["slab", "reflection"]
    distance_cm: float
    scattering_per_cm: float
    scattering_power: float
    arterial_fraction: float
    venous_fraction: float
    water_fraction: float
    fat_fraction: float
    epidermis_cm: float
    source: str

    def reduced_scattering_per_cm(self, wavelength_nm: FloatArray) -> FloatArray:
        """Reduced scattering [1/cm] at each wavelength [nm]; same shape."""
        power = (wavelength_nm / SCATTERING_REFERENCE_NM) ** -self.scattering_power
        return np.asarray(self.scattering_per_cm * power)

    def log_throughput(
        self, absorption_per_cm: FloatArray, reduced_scattering_per_cm: FloatArray, scale: float
    ) -> FloatArray:
        """Natural logarithm of the light that arrives, at `scale` times the site's distance."""
        distance = self.distance_cm * scale
        log_light = log_slab_transmission if self.geometry == "slab" else log_reflection
        return np.asarray(log_light(absorption_per_cm, reduced_scattering_per_cm, distance))

    def path_length_cm(
        self, absorption_per_cm: FloatArray, reduced_scattering_per_cm: FloatArray, scale: float
    ) -> FloatArray:
        """Mean path of the light that arrives [cm], at `scale` times the site's distance."""
        distance = self.distance_cm * scale
        path = slab_path_length_cm if self.geometry == "slab" else reflection_path_length_cm
        return np.asarray(path(absorption_per_cm, reduced_scattering_per_cm, distance))


_JACQUES_SOFT = "scattering: Jacques 2013, table 2, soft tissue; "
_JACQUES_SKIN = "scattering: Jacques 2013, table 2, skin; "
_WATER = (
    "water about 0.65 of skin: Jacques 2013; blood volumes, distances, epidermis: common practice"
)

SITES: dict[str, Site] = {
    "finger": Site("slab", 1.2, 18.9, 1.286, 0.01, 0.015, 0.65, 0.0, 0.012, _JACQUES_SOFT + _WATER),
    "ear": Site("slab", 0.5, 18.9, 1.286, 0.01, 0.015, 0.60, 0.1, 0.012, _JACQUES_SOFT + _WATER),
    "forehead": Site(
        "reflection", 0.8, 46.0, 1.421, 0.01, 0.015, 0.65, 0.0, 0.012, _JACQUES_SKIN + _WATER
    ),
    "wrist": Site(
        "reflection", 0.5, 46.0, 1.421, 0.005, 0.015, 0.65, 0.05, 0.012, _JACQUES_SKIN + _WATER
    ),
}
"""The sites by name."""
