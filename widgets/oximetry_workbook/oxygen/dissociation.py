"""The oxygen dissociation curve of human blood: saturation from oxygen pressure, and back.

The curve is Severinghaus's (Simple, accurate equations for human blood O2 dissociation
computations, J Appl Physiol 1979; 46:599-602):

    S = x / (x + 23 400),  x = P³ + 150 P,  P in mmHg at pH 7.4, 37 °C and 40 mmHg CO2.

It stays within 0.0055 of his table of adult blood. Acid, carbon dioxide, warmth and 2,3-DPG move
it to the right: the oxygen pressure is first brought to the standard state,

    log10 P = log10 PO2 + 0.024 (37 − T) + 0.40 (pH − 7.4) − 0.06 log10(PCO2 / 40)
              − 0.07 (DPG − 5) / ln 10.

The first three terms: Kelman, J Appl Physiol 1966; 21:1375-1376. The last: Siggaard-Andersen and
others, Clin Chem 1984; 30:1646-1651 (their 0.07 per mmol/L, taken as a plain shift of ln P; other
authors find the effect of 2,3-DPG half as large, from memory).

Severinghaus gives coefficients of his own for pH and temperature. They are for other questions:
that for pH, (P/26.6)^0.184 − 2.2, is for acid that comes with its carbon dioxide, which is a
variable of its own here; that for temperature, 0.058/(0.243 (P/100)^3.88 + 1) + 0.013, is for
a sealed sample, whose pH changes as it cools. The tests show that both agree with this module
when they are asked the same question.

The numbers are for teaching: real blood differs from person to person, and carbon monoxide,
methaemoglobin and fetal haemoglobin change the shape of the curve, which is not modelled here.
"""

from __future__ import annotations

import math
from typing import overload

import numpy as np
from numpy.typing import ArrayLike

from oximetry_workbook.oxygen.checks import FloatArray, as_numbers, plain, within

MMHG_PER_KPA = 7.500616
"""Conventional millimetres of mercury in a kilopascal: 1 mmHg is the pressure of 1 mm of a liquid
of 13.5951 g/cm³ under 9.80665 m/s², 133.322 387 Pa."""

STANDARD_DPG_MMOL_PER_L = 5.0
"""2,3-diphosphoglycerate in the red cells to which the curve belongs (Siggaard-Andersen 1984)."""

RANGES = {
    "po2_mmhg": (0.0, 760.0, "mmHg"),
    "po2_kpa": (0.0, 760.0 / MMHG_PER_KPA, "kPa"),
    "ph": (6.8, 7.8, ""),
    "temperature_c": (25.0, 42.0, "°C"),
    "pco2_mmhg": (10.0, 150.0, "mmHg"),
    "dpg_mmol_per_l": (0.0, 10.0, "mmol/L"),
}
"""Lowest and highest value allowed, and the unit: up to pure oxygen at sea level, and what is seen
in patients (common practice)."""


@overload
def saturation(
    po2_mmhg: float | None = ...,
    po2_kpa: float | None = ...,
    ph: float = ...,
    temperature_c: float = ...,
    pco2_mmhg: float = ...,
    dpg_mmol_per_l: float = ...,
) -> float: ...
@overload
def saturation(
    po2_mmhg: ArrayLike | None = ...,
    po2_kpa: ArrayLike | None = ...,
    ph: ArrayLike = ...,
    temperature_c: ArrayLike = ...,
    pco2_mmhg: ArrayLike = ...,
    dpg_mmol_per_l: ArrayLike = ...,
) -> float | FloatArray: ...
def saturation(
    po2_mmhg: ArrayLike | None = None,
    po2_kpa: ArrayLike | None = None,
    ph: ArrayLike = 7.4,
    temperature_c: ArrayLike = 37.0,
    pco2_mmhg: ArrayLike = 40.0,
    dpg_mmol_per_l: ArrayLike = STANDARD_DPG_MMOL_PER_L,
) -> float | FloatArray:
    """Functional saturation, HbO2 / (HbO2 + HHb), of blood at an oxygen pressure.

    Give the pressure once, in mmHg or in kPa. All quantities broadcast as numpy arrays do.

    Args:
        po2_mmhg: Partial pressure of oxygen [mmHg], 0 to 760.
        po2_kpa: The same in kPa, instead.
        ph: pH of the plasma at the temperature of the blood, 6.8 to 7.8.
        temperature_c: Temperature of the blood [°C], 25 to 42.
        pco2_mmhg: Partial pressure of carbon dioxide [mmHg], 10 to 150. It has a small effect of
            its own beside that of the pH that it changes: change both.
        dpg_mmol_per_l: 2,3-diphosphoglycerate in the red cells [mmol/L], 0 to 10.

    Returns:
        Saturation as a fraction, from 0 to below 1; a float when all inputs are numbers.

    Raises:
        ValueError: Both or neither of the two pressures are given, or a value is out of range.

    Source: the head of this module.
    """
    pressure_mmhg = _one_pressure(po2_mmhg, po2_kpa)
    standard_mmhg = pressure_mmhg / _shift(ph, temperature_c, pco2_mmhg, dpg_mmol_per_l)
    bound = standard_mmhg * (standard_mmhg**2 + 150.0)
    return plain(bound / (bound + 23_400.0))


@overload
def po2_mmhg(
    saturation: float,
    ph: float = ...,
    temperature_c: float = ...,
    pco2_mmhg: float = ...,
    dpg_mmol_per_l: float = ...,
) -> float: ...
@overload
def po2_mmhg(
    saturation: ArrayLike,
    ph: ArrayLike = ...,
    temperature_c: ArrayLike = ...,
    pco2_mmhg: ArrayLike = ...,
    dpg_mmol_per_l: ArrayLike = ...,
) -> float | FloatArray: ...
def po2_mmhg(
    saturation: ArrayLike,
    ph: ArrayLike = 7.4,
    temperature_c: ArrayLike = 37.0,
    pco2_mmhg: ArrayLike = 40.0,
    dpg_mmol_per_l: ArrayLike = STANDARD_DPG_MMOL_PER_L,
) -> float | FloatArray:
    """Oxygen pressure at which blood has a saturation: the exact inverse of `saturation`.

    On the flat top of the curve a small error of the saturation is a large one of the pressure:
    a saturation of 95 to 99 % allows anything from 76 to 132 mmHg.

    Args:
        saturation: Functional saturation as a fraction, from 0 to below 1.
        ph: As in `saturation`, like the others.
        temperature_c: Temperature of the blood [°C].
        pco2_mmhg: Partial pressure of carbon dioxide [mmHg].
        dpg_mmol_per_l: 2,3-diphosphoglycerate in the red cells [mmol/L].

    Returns:
        Partial pressure of oxygen [mmHg]; a float when all inputs are numbers.

    Raises:
        ValueError: A value is out of range; the message names it.

    Source: the real root of the cubic, as Ellis gave it (J Appl Physiol 1989; 67:902), written
    with hyperbolic functions, which lose no digits at either end.
    """
    fraction = _fraction(saturation)
    ratio = 11_700.0 * fraction / (1.0 - fraction)
    standard_mmhg = 2 * math.sqrt(50.0) * np.sinh(np.arcsinh(ratio / 50.0**1.5) / 3)
    return plain(standard_mmhg * _shift(ph, temperature_c, pco2_mmhg, dpg_mmol_per_l))


@overload
def p50_mmhg(
    ph: float = ...,
    temperature_c: float = ...,
    pco2_mmhg: float = ...,
    dpg_mmol_per_l: float = ...,
) -> float: ...
@overload
def p50_mmhg(
    ph: ArrayLike = ...,
    temperature_c: ArrayLike = ...,
    pco2_mmhg: ArrayLike = ...,
    dpg_mmol_per_l: ArrayLike = ...,
) -> float | FloatArray: ...
def p50_mmhg(
    ph: ArrayLike = 7.4,
    temperature_c: ArrayLike = 37.0,
    pco2_mmhg: ArrayLike = 40.0,
    dpg_mmol_per_l: ArrayLike = STANDARD_DPG_MMOL_PER_L,
) -> float | FloatArray:
    """Oxygen pressure at half saturation, the usual measure of where the curve lies.

    Args:
        ph: As in `saturation`, like the others.
        temperature_c: Temperature of the blood [°C].
        pco2_mmhg: Partial pressure of carbon dioxide [mmHg].
        dpg_mmol_per_l: 2,3-diphosphoglycerate in the red cells [mmol/L].

    Returns:
        P50 [mmHg], 26.86 in the standard state; a float when all inputs are numbers.

    Raises:
        ValueError: A value is out of range; the message names it.
    """
    return po2_mmhg(0.5, ph, temperature_c, pco2_mmhg, dpg_mmol_per_l)


def _shift(
    ph: ArrayLike, temperature_c: ArrayLike, pco2_mmhg: ArrayLike, dpg_mmol_per_l: ArrayLike
) -> FloatArray:
    """How many times the standard pressure gives the same saturation in this blood."""
    acid = 0.40 * (7.4 - within("ph", ph, RANGES))
    warmth = 0.024 * (within("temperature_c", temperature_c, RANGES) - 37.0)
    carbon_dioxide = 0.06 * np.log10(within("pco2_mmhg", pco2_mmhg, RANGES) / 40.0)
    above_dpg = within("dpg_mmol_per_l", dpg_mmol_per_l, RANGES) - STANDARD_DPG_MMOL_PER_L
    phosphate = 0.07 * above_dpg / math.log(10.0)
    return np.asarray(10.0 ** (acid + warmth + carbon_dioxide + phosphate))


def _one_pressure(po2_mmhg: ArrayLike | None, po2_kpa: ArrayLike | None) -> FloatArray:
    if po2_mmhg is not None and po2_kpa is None:
        return within("po2_mmhg", po2_mmhg, RANGES)
    if po2_kpa is not None and po2_mmhg is None:
        return within("po2_kpa", po2_kpa, RANGES) * MMHG_PER_KPA
    given = "neither" if po2_mmhg is None else "both"
    raise ValueError(f"{given} of po2_mmhg and po2_kpa is given; give exactly one of them")


def _fraction(saturation: ArrayLike) -> FloatArray:
    fraction = as_numbers("saturation", saturation)
    wrong = ~((fraction >= 0.0) & (fraction < 1.0))
    if np.any(wrong):
        raise ValueError(
            f"saturation is {fraction[wrong].flat[0]:g}; choose a fraction from 0 to below 1 "
            "(divide percent by 100; full saturation has no finite pressure)"
        )
    return fraction
