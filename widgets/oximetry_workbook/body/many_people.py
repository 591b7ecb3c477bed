"""Many people at once: what one kind of probe finds on a whole table of persons.

The same reckoning as `probe` and `calibration` do for one person, row by row of a table.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import cast

import numpy as np
from numpy.typing import ArrayLike, NDArray

from oximetry_workbook.body.blood import absorption_per_cm
from oximetry_workbook.body.chromophores import (
    fat_absorption_per_cm,
    melanin_absorption_per_cm,
    water_absorption_per_cm,
)
from oximetry_workbook.body.dyes import dye_absorption_per_cm
from oximetry_workbook.body.light import (
    INFRARED_FWHM_NM,
    RED_FWHM_NM,
    silicon_responsivity_a_per_w,
    warm_peak_nm,
)
from oximetry_workbook.body.probe import (
    LONGEST_NM,
    NO_DYE,
    POINTS_PER_LED,
    SMALL_PULSE,
    SPECTRAL_REACH,
)
from oximetry_workbook.body.quantities import Quantity
from oximetry_workbook.body.scenario import SPECS, Scenario
from oximetry_workbook.body.sensor import USUAL_TISSUE
from oximetry_workbook.body.sites import SITES, Site
from oximetry_workbook.body.tables import require_within
from oximetry_workbook.body.varnish import varnish_absorbance

FloatArray = NDArray[np.float64]

PERSONAL = (
    "blood_volume_scale",
    "thickness_scale",
    "scattering_scale",
    "melanin_fraction",
    "haemoglobin_g_per_l",
    "carboxyhaemoglobin",
    "methaemoglobin",
    "venous_difference",
    "red_peak_nm",
    "infrared_peak_nm",
)
"""Fields of a `Scenario` in which people, or the probes they wear, may differ here."""

ROWS_AT_ONCE = 1024
"""Rows reckoned together: few enough that their arrays stay in the processor's cache."""


def many_people_ratios(
    people: Mapping[str, ArrayLike], saturation: ArrayLike, common: Scenario | None = None
) -> FloatArray:
    """Ratio of ratios R of a vanishing pulse, for many people at many saturations.

    Args:
        people: Values by name of field, each of shape (people,); the names are among `PERSONAL`.
        saturation: Fractions, 0 to 1; shape (m,) for the same ones, or (people, m).
        common: What all have in common; its own saturation is not used. By default an ordinary
            person's finger.

    Returns:
        R; shape (people, m).

    Raises:
        ValueError: A field is unknown or does not differ between people, its values are no row
            of numbers in its range, there are none, or a saturation is out of range.
    """

    def ratios(rows: _Rows) -> FloatArray:
        loss = rows.log_light(0.0) - rows.log_light(SMALL_PULSE)
        return np.asarray(loss[:, 0] / loss[:, 1])

    return _over_all(ratios, people, saturation, common)


def many_people_noise_scales(
    people: Mapping[str, ArrayLike], saturation: ArrayLike, common: Scenario | None = None
) -> FloatArray:
    """How much larger each person's noise is than in ordinary tissue; see `sensor.noise_scale`.

    Args:
        people: As for `many_people_ratios`.
        saturation: As for `many_people_ratios`.
        common: As for `many_people_ratios`.

    Returns:
        Factors of red and infrared; shape (people, m, 2).

    Raises:
        ValueError: As for `many_people_ratios`.
    """

    def scales(rows: _Rows) -> FloatArray:
        return np.exp((rows.in_usual_tissue().log_light(0.0) - rows.log_light(0.0)) / 2.0)

    return _over_all(scales, people, saturation, common)


@dataclass(frozen=True, eq=False)
class _Rows:
    """Persons at a saturation each, one a row.

    Attributes:
        common: What all have in common.
        own: What they have not, by name of field; shape (rows,) each.
        saturation: Fractions; shape (rows,).
    """

    common: Scenario
    own: Mapping[str, FloatArray]
    saturation: FloatArray

    def in_usual_tissue(self) -> _Rows:
        """The same blood and LEDs in tissue as it usually is."""
        own = {name: values for name, values in self.own.items() if name not in USUAL_TISSUE}
        return replace(self, common=self.common.replace(**USUAL_TISSUE), own=own)

    def log_light(self, extra: float) -> FloatArray:
        """Natural logarithm of the light that arrives over that sent; shape (rows, 2).

        Args:
            extra: Arterial blood on top of what rests, share of tissue volume.
        """
        tissue, scattering, log_weight = self._fixed
        volume = self._of("blood_volume_scale")
        absorption = (
            tissue
            + (self._site.arterial_fraction * volume + extra) * self._arterial
            + self._site.venous_fraction * volume * self._venous
        )
        thickness = self._of("thickness_scale")
        parts = self._site.log_throughput(absorption, scattering, thickness) + log_weight
        brightest = np.max(parts, axis=-1, keepdims=True)
        return np.asarray(np.log(np.sum(np.exp(parts - brightest), axis=-1)) + brightest[..., 0])

    @property
    def _site(self) -> Site:
        return SITES[self.common.site]

    def _of(self, name: str) -> FloatArray:
        """A field's values, ready for (rows, colours, wavelengths)."""
        values = self.own.get(name, np.full(1, getattr(self.common, name)))
        return np.asarray(values[:, None, None])

    @cached_property
    def _arterial(self) -> FloatArray:
        return self._blood(self.saturation[:, None, None])

    @cached_property
    def _venous(self) -> FloatArray:
        left = self.saturation[:, None, None] - self._of("venous_difference")
        return self._blood(np.maximum(left, 0.0))

    def _blood(self, saturation: FloatArray) -> FloatArray:
        common, wavelength = self.common, self._leds[0]
        haemoglobin = absorption_per_cm(
            wavelength,
            saturation,
            self._of("haemoglobin_g_per_l"),
            self._of("carboxyhaemoglobin"),
            self._of("methaemoglobin"),
            common.extinction_table,
        )
        if common.dye == NO_DYE:
            return haemoglobin
        return haemoglobin + dye_absorption_per_cm(common.dye, wavelength, common.dye_mg_per_l)

    @cached_property
    def _leds(self) -> tuple[FloatArray, FloatArray]:
        """Wavelengths and weights as in `probe.led_weights`; shape (rows or 1, 2, 31)."""
        colours = (("red_peak_nm", RED_FWHM_NM), ("infrared_peak_nm", INFRARED_FWHM_NM))
        leds = [self._one_led(name, width) for name, width in colours]
        wavelength, weight = (np.broadcast_arrays(*pair) for pair in zip(*leds, strict=True))
        return np.stack(wavelength, axis=1), np.stack(weight, axis=1)

    def _one_led(self, name: str, fwhm_nm: float) -> tuple[FloatArray, FloatArray]:
        peaks, temperature = self._of(name)[:, 0, 0], self.common.led_temperature_c
        centre = np.array([warm_peak_nm(float(peak), temperature) for peak in peaks])
        reach = SPECTRAL_REACH * fwhm_nm
        last = np.minimum(centre + reach, LONGEST_NM)
        # rows lie in one piece, so that sums come out as they do for one person
        wavelength = np.ascontiguousarray(
            np.linspace(centre - reach, last, POINTS_PER_LED, axis=-1)
        )
        away = (wavelength - centre[:, None]) / fwhm_nm
        power = np.exp(-4.0 * math.log(2.0) * away**2)
        power /= np.trapezoid(power, wavelength, axis=-1)[:, None]  # as `led_spectrum` does
        seen = power * silicon_responsivity_a_per_w(wavelength)
        return wavelength, seen / np.sum(seen, axis=-1, keepdims=True)

    @cached_property
    def _fixed(self) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Bloodless absorption, scattering [1/cm], and the log of weight times filters."""
        site, common = self._site, self.common
        wavelength, weight = self._leds
        absorption = site.water_fraction * water_absorption_per_cm(
            wavelength
        ) + site.fat_fraction * fat_absorption_per_cm(wavelength)
        in_the_way_cm = self._of("melanin_fraction") * site.epidermis_cm
        filters = in_the_way_cm * melanin_absorption_per_cm(wavelength) + site.varnished * math.log(
            10.0
        ) * varnish_absorbance(common.varnish, wavelength, common.varnish_coats)
        scattering = site.reduced_scattering_per_cm(wavelength) * self._of("scattering_scale")
        return absorption, scattering, np.log(weight) - filters


def _over_all(
    reckon: Callable[[_Rows], FloatArray],
    people: Mapping[str, ArrayLike],
    saturation: ArrayLike,
    common: Scenario | None,
) -> FloatArray:
    """Reckon in blocks of rows, and bring the result into the shape (people, m, …)."""
    own = {name: _checked(name, values) for name, values in people.items()}
    count = _number_of_people(own)
    wanted = np.atleast_1d(np.asarray(saturation, dtype=np.float64))
    each = np.broadcast_to(wanted, (count, wanted.shape[-1]))
    person = np.repeat(np.arange(count), each.shape[1])
    blocks = [
        reckon(_Rows(common or Scenario(), {n: v[who] for n, v in own.items()}, each.ravel()[rows]))
        for rows in np.array_split(np.arange(person.size), -(-person.size // ROWS_AT_ONCE))
        for who in [person[rows]]
    ]
    joined = np.concatenate(blocks)
    return joined.reshape(*each.shape, *joined.shape[1:])


def _checked(name: str, values: ArrayLike) -> FloatArray:
    if name not in PERSONAL:
        raise ValueError(f"unknown field {name!r}; people may differ in {', '.join(PERSONAL)}")
    spec = cast(Quantity, SPECS[name])
    require_within(name, cast(FloatArray, values), spec.low, spec.high, spec.unit)
    return np.asarray(values, dtype=np.float64)


def _number_of_people(own: Mapping[str, FloatArray]) -> int:
    shapes = {name: values.shape for name, values in own.items()}
    sizes = set(shapes.values())
    if len(sizes) != 1 or len(next(iter(sizes))) != 1 or 0 in next(iter(sizes)):
        raise ValueError(
            f"people has columns of shape {shapes}; give one or more, each a row with as many "
            "numbers as there are people"
        )
    return int(next(iter(sizes))[0])
