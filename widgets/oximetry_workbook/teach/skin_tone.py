"""Melanin as a filter before the tissue: what simple optics makes of it, and what studies found."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from oximetry_workbook.body.calibration import small_pulse_ratios
from oximetry_workbook.body.chromophores import melanin_absorption_per_cm
from oximetry_workbook.body.probe import Probe, led_weights
from oximetry_workbook.body.quantities import check_fields
from oximetry_workbook.body.scenario import SPECS, Scenario, as_in_scenario
from oximetry_workbook.body.sensor import noise_scale
from oximetry_workbook.body.sites import SITES
from oximetry_workbook.teach.curves_together import site_curve
from oximetry_workbook.teach.reading import Reading, read

FloatArray = NDArray[np.float64]

LIGHT_SKIN = Scenario().melanin_fraction
"""Melanin of the reference person on whom the probe's own curve rests."""

SHOWN_NM = np.linspace(600.0, 1000.0, 81)
"""Wavelengths of the plot of the filter [nm]."""


@dataclass(frozen=True)
class Finding:
    """A published mean error, reading less blood.

    Attributes:
        skin: The study's word for the skin.
        bias_points: Mean error [percentage points].
        sd_points: Standard deviation of single errors [percentage points].
        pairs: How many readings.
    """

    skin: str
    bias_points: float
    sd_points: float
    pairs: int


FOUND_FROM_PERCENT, FOUND_TO_PERCENT = 60.0, 70.0
DARK_FOUND = Finding("dark", 3.56, 2.45, 29)
LIGHT_FOUND = Finding("light", 0.37, 3.20, 58)
"""Mean of three meters at a saturation of 60 to 70 %, 11 people with dark and 10 with light skin.
Source: Bickler, Feiner and Severinghaus 2005, Anesthesiology 102:715, abstract."""

FOUND_DIFFERENCE = DARK_FOUND.bias_points - LIGHT_FOUND.bias_points


@dataclass(frozen=True)
class SkinTone:
    """One finger with little pigment in its skin, and the same finger with more.

    All fields are those of a `Scenario`.

    Raises:
        ValueError: The message names the field, what was given and what is allowed.
    """

    melanin_fraction: float = field(default=0.3, metadata={"spec": SPECS["melanin_fraction"]})
    arterial_saturation: float = field(
        default=0.65, metadata={"spec": SPECS["arterial_saturation"]}
    )
    perfusion_index_percent: float = as_in_scenario("perfusion_index_percent")
    noise_percent: float = as_in_scenario("noise_percent")

    def __post_init__(self) -> None:
        check_fields(self)

    @property
    def light_skin(self) -> SkinTone:
        """The same finger with the reference person's skin."""
        return replace(self, melanin_fraction=LIGHT_SKIN)

    @cached_property
    def scenario(self) -> Scenario:
        """The situation."""
        return Scenario(**{name: getattr(self, name) for name in self.__dataclass_fields__})

    @cached_property
    def reading(self) -> Reading:
        """One reading of ten seconds."""
        return read(self.scenario)

    @cached_property
    def _log_light(self) -> FloatArray:
        return Probe(self.scenario).log_light_at_rest()

    @property
    def light_left(self) -> FloatArray:
        """Light at the detector over that with light skin, red and infrared; shape (2,)."""
        return np.asarray(np.exp(self._log_light - self.light_skin._log_light))

    @property
    def noise_grown(self) -> FloatArray:
        """Noise over the light, relative to light skin, red and infrared; shape (2,)."""
        return noise_scale(self.scenario, self._log_light)

    @property
    def shift_nm(self) -> FloatArray:
        """How far pigment moves the mean wavelength that enters the tissue [nm]; shape (2,)."""
        return mean_wavelength_nm(self.melanin_fraction) - mean_wavelength_nm(LIGHT_SKIN)

    def ratios(self, true_percent: FloatArray) -> FloatArray:
        """R of a small pulse without noise at true saturations [%]; same shape."""
        return small_pulse_ratios(self.scenario, true_percent / 100.0)

    @property
    def ratio_shift(self) -> float:
        """R less that with light skin, at the state's saturation, without noise."""
        here = np.array([100.0 * self.arterial_saturation])
        return float((self.ratios(here) - self.light_skin.ratios(here))[0])

    def quiet_errors(self, true_percent: FloatArray) -> FloatArray:
        """What the finger's own curve says less the truth, without noise [points]; same shape."""
        return np.asarray(site_curve("finger")(self.ratios(true_percent)) - true_percent)


def filter_passes(melanin_fraction: float, wavelength_nm: FloatArray) -> FloatArray:
    """Share of the light that passes the epidermis of a finger twice, in and out; same shape.

    Args:
        melanin_fraction: Volume fraction of melanosomes.
        wavelength_nm: Wavelengths [nm].

    Source: absorption of a melanosome, Jacques 1998; thickness of the epidermis, common practice.
    """
    loss = (
        melanin_fraction * SITES["finger"].epidermis_cm * melanin_absorption_per_cm(wavelength_nm)
    )
    return np.asarray(np.exp(-loss))


def mean_wavelength_nm(melanin_fraction: float) -> FloatArray:
    """Mean wavelength of each LED's light behind the pigment, as the detector weighs it [nm].

    Returns:
        Red and infrared; shape (2,).
    """
    ordinary = Scenario()
    wavelength, weight = led_weights(ordinary.red_peak_nm, ordinary.infrared_peak_nm)
    left = weight * filter_passes(melanin_fraction, wavelength)
    return np.asarray(np.sum(left * wavelength, axis=1) / np.sum(left, axis=1))
