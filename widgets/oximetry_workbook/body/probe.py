"""The probe on the skin: what each LED's light has lost by the time it reaches the detector.

LED spectrum, detector response and every layer of the tissue meet here. Everything comes as
two rows, red first and infrared second.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

from oximetry_workbook.body.blood import absorption_per_cm
from oximetry_workbook.body.chromophores import (
    fat_absorption_per_cm,
    melanin_absorption_per_cm,
    water_absorption_per_cm,
)
from oximetry_workbook.body.dyes import DYES, dye_absorption_per_cm
from oximetry_workbook.body.light import (
    INFRARED_FWHM_NM,
    NOMINAL_TEMPERATURE_C,
    RED_FWHM_NM,
    led_spectrum,
    silicon_responsivity_a_per_w,
    warm_peak_nm,
)
from oximetry_workbook.body.scenario import VENOUS_DIFFERENCE, Scenario
from oximetry_workbook.body.sites import SITES, Site
from oximetry_workbook.body.varnish import varnish_absorbance

FloatArray = NDArray[np.float64]

POINTS_PER_LED = 31
SPECTRAL_REACH = 1.15
"""Half-width of the sampled spectrum, in full widths at half maximum: 99 % of a Gaussian."""

LONGEST_NM = 1000.0
"""The haemoglobin tables end here; the tail of an infrared LED beyond it is left out."""

NO_DYE = DYES[0]

SMALL_PULSE = 1e-5
"""Extra arterial blood, share of tissue volume, small enough to be a derivative."""

LAYERS = ("tissue", "pigment", "venous blood", "arterial blood, steady", "arterial blood, pulsing")
"""What takes the light, from the bottom of the stack to the top."""


@lru_cache(maxsize=32)
def led_weights(
    red_peak_nm: float, infrared_peak_nm: float, temperature_c: float = NOMINAL_TEMPERATURE_C
) -> tuple[FloatArray, FloatArray]:
    """Wavelengths and weights of both LEDs as the detector sees them.

    The weight is the LED's power times the detector's response, normalised to a sum of 1.

    Args:
        red_peak_nm: Peak of the red LED at 25 °C [nm].
        infrared_peak_nm: Peak of the infrared LED at 25 °C [nm].
        temperature_c: Temperature of both [°C]; warmth moves the peaks to longer wavelengths.

    Returns:
        Wavelengths [nm] and weights, read-only, each of shape (2, 31).
    """
    pairs = ((red_peak_nm, RED_FWHM_NM), (infrared_peak_nm, INFRARED_FWHM_NM))
    leds = [_one_led(peak, width, temperature_c) for peak, width in pairs]
    wavelengths, weights = zip(*leds, strict=True)
    return _shared(np.array(wavelengths)), _shared(np.array(weights))


def _shared(values: FloatArray) -> FloatArray:
    values.flags.writeable = False  # a cache hands the same array to all who ask
    return values


def _one_led(peak_nm: float, fwhm_nm: float, temperature_c: float) -> tuple[FloatArray, FloatArray]:
    reach = SPECTRAL_REACH * fwhm_nm
    centre = warm_peak_nm(peak_nm, temperature_c)
    wavelength = np.linspace(centre - reach, min(centre + reach, LONGEST_NM), POINTS_PER_LED)
    power = led_spectrum(wavelength, peak_nm, fwhm_nm, temperature_c)
    seen = power * silicon_responsivity_a_per_w(wavelength)
    return wavelength, seen / np.sum(seen)


@dataclass(frozen=True)
class Probe:
    """A scenario's probe, ready to be asked how much light arrives.

    Attributes:
        scenario: Whose tissue, blood and LEDs these are.
    """

    scenario: Scenario

    @property
    def site(self) -> Site:
        """The place on the body."""
        return SITES[self.scenario.site]

    @cached_property
    def wavelength_nm(self) -> FloatArray:
        """Sampled wavelengths [nm]; shape (2, 31)."""
        return self._leds[0]

    @property
    def _leds(self) -> tuple[FloatArray, FloatArray]:
        scenario = self.scenario
        return led_weights(
            scenario.red_peak_nm, scenario.infrared_peak_nm, scenario.led_temperature_c
        )

    @cached_property
    def arterial_absorption_per_cm(self) -> FloatArray:
        """Absorption of pure arterial blood [1/cm]; shape (2, 31)."""
        return self._blood(self.scenario.arterial_saturation)

    @cached_property
    def venous_absorption_per_cm(self) -> FloatArray:
        """Absorption of pure venous blood [1/cm]; shape (2, 31)."""
        scenario = self.scenario
        venous = venous_saturation(scenario.arterial_saturation, scenario.venous_difference)
        return self._blood(venous)

    def _blood(self, saturation: FloatArray | float) -> FloatArray:
        scenario = self.scenario
        haemoglobin = absorption_per_cm(
            self.wavelength_nm,
            saturation,
            scenario.haemoglobin_g_per_l,
            scenario.carboxyhaemoglobin,
            scenario.methaemoglobin,
            scenario.extinction_table,
        )
        if scenario.dye == NO_DYE:
            return np.asarray(haemoglobin)
        dye = dye_absorption_per_cm(scenario.dye, self.wavelength_nm, scenario.dye_mg_per_l)
        return np.asarray(haemoglobin + dye)

    @cached_property
    def _fixed(self) -> tuple[FloatArray, FloatArray, FloatArray]:
        scenario = self.scenario
        return _fixed_tissue(
            scenario.site,
            scenario.red_peak_nm,
            scenario.infrared_peak_nm,
            scenario.led_temperature_c,
            scenario.melanin_fraction,
            scenario.scattering_scale,
            (scenario.varnish, scenario.varnish_coats),
        )

    @property
    def resting_arterial_fraction(self) -> float:
        """Arterial blood between beats, share of tissue volume."""
        return self.site.arterial_fraction * self.scenario.blood_volume_scale

    @property
    def resting_venous_fraction(self) -> float:
        """Venous and capillary blood, share of tissue volume."""
        return self.site.venous_fraction * self.scenario.blood_volume_scale

    def log_light(self, arterial: FloatArray, venous: FloatArray) -> FloatArray:
        """Natural logarithm of the light that arrives, over the light sent.

        Args:
            arterial: Arterial blood, share of tissue volume; shape (k,).
            venous: Venous and capillary blood, share of tissue volume; shape (k,).

        Returns:
            Red and infrared; shape (2, k).
        """
        tissue, _, log_weight = self._fixed
        return _detected(self._log_throughput(arterial, venous, tissue) + log_weight)

    def _log_throughput(
        self, arterial: FloatArray, venous: FloatArray, tissue: FloatArray
    ) -> FloatArray:
        absorption = (
            tissue
            + arterial[:, None, None] * self.arterial_absorption_per_cm
            + venous[:, None, None] * self.venous_absorption_per_cm
        )
        return self.site.log_throughput(absorption, self._fixed[1], self.scenario.thickness_scale)

    def log_light_at_rest(self) -> FloatArray:
        """Natural logarithm of the light that arrives between beats; shape (2,)."""
        return self._log_light_at_rest

    @cached_property
    def _log_light_at_rest(self) -> FloatArray:
        light = self.log_light(
            np.array([self.resting_arterial_fraction]), np.array([self.resting_venous_fraction])
        )
        return _shared(light[:, 0])

    def added_loss(self, arterial: FloatArray, venous: FloatArray) -> FloatArray:
        """Natural-log loss of light by blood that comes to what rests in the tissue.

        Args:
            arterial: Extra arterial blood, share of tissue volume; shape (k,).
            venous: Extra venous blood, share of tissue volume; shape (k,).

        Returns:
            Red and infrared; shape (2, k).
        """
        light = self.log_light(
            self.resting_arterial_fraction + arterial, self.resting_venous_fraction + venous
        )
        return self.log_light_at_rest()[:, None] - light

    def absorbance_layers(self, pulse_depth: FloatArray) -> FloatArray:
        """Absorbance of each layer, added one upon the other in the order of `LAYERS`.

        Absorbance is -log10 of the light that arrives over the light sent. With scattering,
        layers do not simply add: each is reckoned on top of those below it.

        Args:
            pulse_depth: Natural-log depth of a beat, red and infrared; shape (2,).

        Returns:
            Shape (5, 2): layers by colours.
        """
        arterial, venous = self.resting_arterial_fraction, self.resting_venous_fraction
        log_light = self.log_light(np.array([0.0, 0.0, arterial]), np.array([0.0, venous, venous]))
        log_bare = _detected(
            self._log_throughput(np.zeros(1), np.zeros(1), self._fixed[0]) + np.log(self._leds[1])
        )
        heights = -np.hstack([np.zeros((2, 1)), log_bare, log_light]) / np.log(10.0)
        return np.vstack([np.diff(heights).T, pulse_depth / np.log(10.0)])

    def path_length_cm(self) -> FloatArray:
        """Mean path of the light that arrives, over each LED's spectrum [cm]; shape (2,)."""
        tissue, scattering, log_weight = self._fixed
        absorption = (
            tissue
            + self.resting_arterial_fraction * self.arterial_absorption_per_cm
            + self.resting_venous_fraction * self.venous_absorption_per_cm
        )
        scale = self.scenario.thickness_scale
        path = self.site.path_length_cm(absorption, scattering, scale)
        log_part = log_weight + self.site.log_throughput(absorption, scattering, scale)
        part = np.exp(log_part - log_part.max(axis=1, keepdims=True))
        return np.asarray(np.sum(path * part, axis=1) / np.sum(part, axis=1))


def venous_saturation(
    arterial_saturation: FloatArray | float, difference: float = VENOUS_DIFFERENCE
) -> FloatArray:
    """Saturation of the venous blood that goes with an arterial one, all as fractions."""
    return np.maximum(arterial_saturation - difference, 0.0)


@lru_cache(maxsize=64)
def _fixed_tissue(
    site_name: str,
    red_peak_nm: float,
    infrared_peak_nm: float,
    led_temperature_c: float,
    melanin_fraction: float,
    scattering_scale: float,
    varnish: tuple[str, float],
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Bloodless absorption, scattering [1/cm], and the log of weight times filters.

    Pigment and varnish lie in front of the tissue: they take the same share of the light whatever
    happens behind them.
    """
    site = SITES[site_name]
    wavelength, weight = led_weights(red_peak_nm, infrared_peak_nm, led_temperature_c)
    absorption = site.water_fraction * water_absorption_per_cm(
        wavelength
    ) + site.fat_fraction * fat_absorption_per_cm(wavelength)
    pigment = melanin_fraction * site.epidermis_cm * melanin_absorption_per_cm(wavelength)
    filters = pigment + site.varnished * math.log(10.0) * varnish_absorbance(
        varnish[0], wavelength, varnish[1]
    )
    scattering = site.reduced_scattering_per_cm(wavelength) * scattering_scale
    return _shared(absorption), _shared(scattering), _shared(np.log(weight) - filters)


def _detected(log_parts: FloatArray) -> FloatArray:
    """Add up light over an LED's wavelengths, in logarithms; (k, 2, n) to (2, k)."""
    brightest = np.max(log_parts, axis=-1, keepdims=True)
    total = np.log(np.sum(np.exp(log_parts - brightest), axis=-1))
    return np.asarray((total + brightest[..., 0]).T)
