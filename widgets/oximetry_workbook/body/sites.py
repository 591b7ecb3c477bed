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
        usual_perfusion_index_percent: Perfusion index of a warm healthy person at rest [%].
        constricted_share: What is left of the pulse when cold has narrowed the vessels as far as
            it can, as a fraction.
        varnished: Whether a varnished nail lies in the way of the light.
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
    usual_perfusion_index_percent: float
    constricted_share: float
    varnished: bool
    source: str

    def pulse_left(self, vasoconstriction: float) -> float:
        """Share of the pulse that is left, from 1 at 0 to `constricted_share` at 1.

        Equal steps of narrowing take equal shares of what there was.
        """
        return float(self.constricted_share**vasoconstriction)

    def reduced_scattering_per_cm(self, wavelength_nm: FloatArray) -> FloatArray:
        """Reduced scattering [1/cm] at each wavelength [nm]; same shape."""
        power = (wavelength_nm / SCATTERING_REFERENCE_NM) ** -self.scattering_power
        return np.asarray(self.scattering_per_cm * power)

    def log_throughput(
        self,
        absorption_per_cm: FloatArray,
        reduced_scattering_per_cm: FloatArray,
        scale: float | FloatArray,
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

_PULSE = "; usual perfusion and what cold leaves of it: common practice"

_SOFT, _SKIN = _JACQUES_SOFT + _WATER + _PULSE, _JACQUES_SKIN + _WATER + _PULSE

SITES: dict[str, Site] = {
    "finger": Site(
        geometry="slab",
        distance_cm=1.2,
        scattering_per_cm=18.9,
        scattering_power=1.286,
        arterial_fraction=0.01,
        venous_fraction=0.015,
        water_fraction=0.65,
        fat_fraction=0.0,
        epidermis_cm=0.012,
        usual_perfusion_index_percent=3.0,
        constricted_share=0.1,
        varnished=True,
        source=_SOFT,
    ),
    "ear": Site(
        geometry="slab",
        distance_cm=0.5,
        scattering_per_cm=18.9,
        scattering_power=1.286,
        arterial_fraction=0.01,
        venous_fraction=0.015,
        water_fraction=0.60,
        fat_fraction=0.1,
        epidermis_cm=0.012,
        usual_perfusion_index_percent=1.0,
        constricted_share=0.7,
        varnished=False,
        source=_SOFT,
    ),
    "forehead": Site(
        geometry="reflection",
        distance_cm=0.8,
        scattering_per_cm=46.0,
        scattering_power=1.421,
        arterial_fraction=0.01,
        venous_fraction=0.015,
        water_fraction=0.65,
        fat_fraction=0.0,
        epidermis_cm=0.012,
        usual_perfusion_index_percent=1.0,
        constricted_share=0.8,
        varnished=False,
        source=_SKIN,
    ),
    "wrist": Site(
        geometry="reflection",
        distance_cm=0.5,
        scattering_per_cm=46.0,
        scattering_power=1.421,
        arterial_fraction=0.005,
        venous_fraction=0.015,
        water_fraction=0.65,
        fat_fraction=0.05,
        epidermis_cm=0.012,
        usual_perfusion_index_percent=0.3,
        constricted_share=0.3,
        varnished=False,
        source=_SKIN,
    ),
}
"""The sites by name."""
