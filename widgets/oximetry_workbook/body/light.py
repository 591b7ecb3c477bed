"""The light that goes in and the diode that catches it: LED spectra, silicon responsivity."""

from __future__ import annotations

import math
from typing import overload

import numpy as np

from oximetry_workbook.body.tables import FloatArray, look_up, require_within

RED_PEAK_NM = 660.0
"""Nominal peak of the red LED (common practice) [nm]."""

INFRARED_PEAK_NM = 940.0
"""Nominal peak of the infrared LED (common practice) [nm]."""

RED_FWHM_NM = 20.0
"""Full width at half maximum of a red LED (common practice) [nm]."""

INFRARED_FWHM_NM = 50.0
"""Full width at half maximum of an infrared LED (common practice) [nm]."""

NOMINAL_TEMPERATURE_C = 25.0
"""Temperature at which the peak of an LED is stated (common practice) [°C]."""

PHOTON_ENERGY_EV_NM = 1239.842
"""Planck constant times speed of light over elementary charge (SI, exact constants) [eV nm]."""

BAND_GAP_SHIFT_EV_PER_C = -3.5e-4
"""How the band gap of an LED shrinks when it warms [eV/°C]. One number for both colours: it gives
0.12 nm/°C at 660 nm and 0.25 nm/°C at 940 nm, the shifts usual in the trade (common practice)."""

SILICON_THICKNESS_UM = 300.0
"""Depth of silicon that collects charge: a common wafer (common practice) [µm]."""


def warm_peak_nm(
    peak_nm: float, temperature_c: float, peak_shift_nm_per_c: float | None = None
) -> float:
    """Peak wavelength of an LED at a temperature [nm].

    Args:
        peak_nm: Peak at 25 °C [nm].
        temperature_c: Temperature of the LED [°C].
        peak_shift_nm_per_c: How far the peak moves per degree [nm/°C]; without it, as a band gap
            that shrinks by 0.35 meV per degree makes it.
    """
    if peak_shift_nm_per_c is None:
        peak_shift_nm_per_c = -BAND_GAP_SHIFT_EV_PER_C * peak_nm**2 / PHOTON_ENERGY_EV_NM
    return peak_nm + peak_shift_nm_per_c * (temperature_c - NOMINAL_TEMPERATURE_C)


def led_spectrum(
    wavelength_nm: FloatArray,
    peak_nm: float,
    fwhm_nm: float,
    temperature_c: float = NOMINAL_TEMPERATURE_C,
    peak_shift_nm_per_c: float | None = None,
) -> FloatArray:
    """Relative spectral power of an LED: a Gaussian (common practice), of unit integral.

    Real LEDs have a longer tail towards long wavelengths, which is left out here.

    Args:
        wavelength_nm: Where to compute it [nm], increasing, shape (n,), fine and wide enough
            to hold the LED's light; the integral over these wavelengths is 1 (trapezoids).
        peak_nm: Wavelength of the peak at 25 °C [nm].
        fwhm_nm: Full width at half maximum [nm].
        temperature_c: Temperature of the LED, from −40 to 125 °C.
        peak_shift_nm_per_c: How far the peak moves per degree [nm/°C]; without it, as a band gap
            that shrinks by 0.35 meV per degree makes it.

    Returns:
        Spectral power [nm⁻¹]; shape (n,).

    Raises:
        ValueError: A quantity lies outside its range, or the wavelengths are not increasing, too
            coarse or miss the peak; the message says which.
    """
    require_within("peak_nm", peak_nm, 200.0, 2000.0, "nm")
    require_within("fwhm_nm", fwhm_nm, 0.1, 500.0, "nm")
    require_within("temperature_c", temperature_c, -40.0, 125.0, "°C")
    if peak_shift_nm_per_c is not None:
        require_within("peak_shift_nm_per_c", peak_shift_nm_per_c, -2.0, 2.0, "nm/°C")
    centre_nm = warm_peak_nm(peak_nm, temperature_c, peak_shift_nm_per_c)
    grid_nm = _checked_grid_nm(wavelength_nm, centre_nm, fwhm_nm)
    power: FloatArray = np.exp(-4.0 * math.log(2.0) * ((grid_nm - centre_nm) / fwhm_nm) ** 2)
    return power / float(np.trapezoid(power, grid_nm))


@overload
def silicon_responsivity_a_per_w(wavelength_nm: float, thickness_um: float = ...) -> float: ...
@overload
def silicon_responsivity_a_per_w(
    wavelength_nm: FloatArray, thickness_um: float = ...
) -> FloatArray: ...
def silicon_responsivity_a_per_w(
    wavelength_nm: float | FloatArray, thickness_um: float = SILICON_THICKNESS_UM
) -> float | FloatArray:
    """Responsivity of a silicon photodiode: current per watt of light that falls on it.

    The light that is not reflected and is absorbed within the silicon gives one electron per
    photon: (1 − reflection) (1 − exp(−4π k d / λ)) λ e / (h c). The surface is bare polished
    silicon at normal incidence (Fresnel), without a coat: a coated diode gives up to half as
    much again, but what counts for the ratio of two colours is the shape, not the level.

    Args:
        wavelength_nm: Wavelength from 400 to 1100 nm, a number or an array of any shape.
        thickness_um: Depth of silicon that collects charge, from 1 to 2000 µm.

    Returns:
        Responsivity [A/W]; a float for a number.

    Raises:
        ValueError: The wavelength or the thickness lies outside its range.

    Source: n and k at 300 K from Green 2008; the head of data/silicon.csv gives it in full.
    """
    require_within("thickness_um", thickness_um, 1.0, 2000.0, "µm")
    n = look_up("silicon", 1, wavelength_nm)
    k = look_up("silicon", 2, wavelength_nm)
    wavelength = np.asarray(wavelength_nm, dtype=np.float64)
    reflected = ((n - 1.0) ** 2 + k**2) / ((n + 1.0) ** 2 + k**2)
    absorbed = -np.expm1(-4.0 * math.pi * k * thickness_um * 1000.0 / wavelength)
    responsivity = (1.0 - reflected) * absorbed * wavelength / PHOTON_ENERGY_EV_NM
    return responsivity if np.ndim(responsivity) else float(responsivity)


def _checked_grid_nm(wavelength_nm: FloatArray, centre_nm: float, fwhm_nm: float) -> FloatArray:
    grid_nm = np.asarray(wavelength_nm, dtype=np.float64)
    if grid_nm.ndim != 1 or grid_nm.size < 3 or not np.all(np.diff(grid_nm) > 0):
        raise ValueError("wavelength_nm must be one row of three or more increasing numbers [nm]")
    require_within("the peak of the LED", centre_nm, grid_nm[0], grid_nm[-1], "nm")
    coarsest = float(np.max(np.diff(grid_nm)))
    if coarsest > fwhm_nm / 2.0:
        raise ValueError(
            f"wavelength_nm has a step of {coarsest:g} nm; for a fwhm_nm of {fwhm_nm:g} nm "
            f"choose steps of {fwhm_nm / 2.0:g} nm or less"
        )
    return grid_nm
