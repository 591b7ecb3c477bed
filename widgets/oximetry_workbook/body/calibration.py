"""Curves that physics gives: the ratio of ratios R against saturation, for a person and a probe."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

from oximetry_workbook.body.blood import molar_extinction
from oximetry_workbook.body.light import INFRARED_PEAK_NM, RED_PEAK_NM
from oximetry_workbook.body.probe import SMALL_PULSE, Probe, venous_saturation
from oximetry_workbook.body.scenario import Scenario

FloatArray = NDArray[np.float64]

CALIBRATION_SATURATION = np.linspace(1.0, 0.0, 101)
"""Saturations at which a calibration is reckoned, as fractions, so that the ratio rises."""


@dataclass(frozen=True, eq=False)
class _ManySaturations(Probe):
    """A probe on one person, seen at m saturations at once: its blood has shape (m, 2, 31).

    A scenario ends at a saturation of 0.4; curves are drawn further.
    """

    saturation: FloatArray

    @cached_property
    def arterial_absorption_per_cm(self) -> FloatArray:
        return self._blood(self.saturation[:, None, None])

    @cached_property
    def venous_absorption_per_cm(self) -> FloatArray:
        venous = venous_saturation(self.saturation, self.scenario.venous_difference)
        return self._blood(venous[:, None, None])


def small_pulse_ratios(scenario: Scenario, saturation: FloatArray) -> FloatArray:
    """Ratio of ratios R of a vanishing pulse at many saturations of one person.

    Args:
        scenario: Whose tissue and probe; its own saturation is not used.
        saturation: Fractions, 0 to 1; shape (m,).

    Returns:
        R; shape (m,).
    """
    probe = _ManySaturations(scenario, np.asarray(saturation, dtype=np.float64))
    venous = np.full(probe.saturation.shape, probe.resting_venous_fraction)
    arterial = np.full(probe.saturation.shape, probe.resting_arterial_fraction)
    loss = probe.log_light(arterial, venous) - probe.log_light(arterial + SMALL_PULSE, venous)
    return np.asarray(loss[0] / loss[1])


def small_pulse_ratio(scenario: Scenario, saturation: float) -> float:
    """Ratio of ratios R of a vanishing pulse at a saturation given as a fraction, 0 to 1."""
    return float(small_pulse_ratios(scenario, np.array([saturation]))[0])


@lru_cache(maxsize=16)
def diffusion_calibration(site: str, extinction_table: str = "Prahl") -> FloatArray:
    """Ratio of ratios against saturation by photon diffusion, for a probe model.

    What a maker would find on a reference person with this probe: ordinary tissue, light skin,
    150 g/L haemoglobin, no COHb or MetHb, LEDs at 660 and 940 nm. A person or an LED that
    differs is read with this curve all the same, as in life.

    Args:
        site: Probe site, a key of `sites.SITES`.
        extinction_table: Which laboratory's haemoglobin spectra, "Prahl" or "Zijlstra".

    Returns:
        Ratio (rising) and functional saturation [%]; read-only, shape (2, 101).
    """
    reference = Scenario(site=site, extinction_table=extinction_table)
    ratio = small_pulse_ratios(reference, CALIBRATION_SATURATION)
    table = np.array([ratio, 100.0 * CALIBRATION_SATURATION])
    table.flags.writeable = False  # the cache hands the same array to all who ask
    return table


def beer_lambert_calibration(
    red_nm: float = RED_PEAK_NM,
    infrared_nm: float = INFRARED_PEAK_NM,
    extinction_table: str = "Prahl",
) -> FloatArray:
    """Ratio of ratios against saturation if both colours travelled the same straight path.

    R = absorption of blood at the red wavelength over that at the infrared one.

    Args:
        red_nm: Red wavelength [nm].
        infrared_nm: Infrared wavelength [nm].
        extinction_table: "Prahl" or "Zijlstra".

    Returns:
        Ratio (rising) and functional saturation [%]; shape (2, 101).
    """
    pair = np.array([red_nm, infrared_nm])
    oxygenated = np.asarray(molar_extinction("HbO2", pair, extinction_table))[:, None]
    reduced = np.asarray(molar_extinction("HHb", pair, extinction_table))[:, None]
    red, infrared = CALIBRATION_SATURATION * oxygenated + (1.0 - CALIBRATION_SATURATION) * reduced
    return np.array([red / infrared, 100.0 * CALIBRATION_SATURATION])
