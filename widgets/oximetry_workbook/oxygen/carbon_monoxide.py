"""What carbon monoxide does to the haemoglobin it leaves free: it holds its oxygen tighter.

Haldane's first law: to haemoglobin, carbon monoxide counts as so much more oxygen. Bound oxygen
and carbon monoxide together follow the ordinary curve S, taken at the pressure of oxygen that
would stand for both, and they share it as their pressures do (Roughton and Darling, Am J Physiol
1944; 141:17, not opened, citation from memory; the abstract of Collier, J Appl Physiol 1976;
40:487, names both their principle and Haldane's as classical). With a share c of haemoglobin
taken by carbon monoxide and t = c + (1 − c) × saturation of the rest,

    PO2 = P(t) × (t − c) / t,  P the inverse of S.

Curves measured up to c = 0.5 agree with curves so reckoned over most of their length; beyond it
the measured ones lie further to the left (Zwart and others, J Appl Physiol 1984; 57:14: abstract
read as PubMed 6432749, authors, volume and page from memory).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from oximetry_workbook.oxygen import dissociation
from oximetry_workbook.oxygen.checks import FloatArray, plain, within

RANGES = {
    "saturation": (0.0, 1.0 - 1e-12, ""),
    "po2_mmhg": (0.0, 760.0, "mmHg"),
    "carboxyhaemoglobin": (0.0, 0.6, ""),
}
"""Lowest and highest value allowed, and the unit."""

HALVINGS = 34
"""Each halves the interval in which the saturation lies: to less than 1e-10 in the end."""


def po2_beside_co_mmhg(
    saturation: ArrayLike,
    carboxyhaemoglobin: ArrayLike = 0.0,
    ph: ArrayLike = 7.4,
    temperature_c: ArrayLike = 37.0,
    pco2_mmhg: ArrayLike = 40.0,
    dpg_mmol_per_l: ArrayLike = 5.0,
) -> float | FloatArray:
    """Oxygen pressure at which the haemoglobin left free by carbon monoxide has a saturation.

    All quantities broadcast as numpy arrays do.

    Args:
        saturation: Functional saturation, HbO2 / (HbO2 + HHb), from 0 to below 1.
        carboxyhaemoglobin: Share of haemoglobin taken by carbon monoxide, 0 to 0.6.
        ph: pH, as in `dissociation.saturation`, like the others.
        temperature_c: Temperature of the blood [°C].
        pco2_mmhg: Partial pressure of carbon dioxide [mmHg].
        dpg_mmol_per_l: 2,3-diphosphoglycerate in the red cells [mmol/L].

    Returns:
        Partial pressure of oxygen [mmHg]; a float when all inputs are numbers. At a saturation
        of 0.5 it is the P50 of the haemoglobin that is left.

    Raises:
        ValueError: A value is out of range; the message names it.

    Source: the head of this module.
    """
    free = within("saturation", saturation, RANGES)
    taken = within("carboxyhaemoglobin", carboxyhaemoglobin, RANGES)
    total = taken + (1.0 - taken) * free
    alone = dissociation.po2_mmhg(
        np.minimum(total, 1.0 - 1e-15), ph, temperature_c, pco2_mmhg, dpg_mmol_per_l
    )
    share = np.divide((1.0 - taken) * free, total, out=np.zeros_like(total), where=total > 0.0)
    return plain(np.asarray(alone * share))


def saturation_beside_co(
    po2_mmhg: ArrayLike,
    carboxyhaemoglobin: ArrayLike = 0.0,
    ph: ArrayLike = 7.4,
    temperature_c: ArrayLike = 37.0,
    pco2_mmhg: ArrayLike = 40.0,
    dpg_mmol_per_l: ArrayLike = 5.0,
) -> float | FloatArray:
    """Functional saturation of the haemoglobin that carbon monoxide left free.

    Args:
        po2_mmhg: Partial pressure of oxygen [mmHg], 0 to 760.
        carboxyhaemoglobin: As in `po2_beside_co_mmhg`, like the others.
        ph: pH.
        temperature_c: Temperature of the blood [°C].
        pco2_mmhg: Partial pressure of carbon dioxide [mmHg].
        dpg_mmol_per_l: 2,3-diphosphoglycerate in the red cells [mmol/L].

    Returns:
        HbO2 / (HbO2 + HHb) as a fraction; a float when all inputs are numbers.

    Raises:
        ValueError: A value is out of range; the message names it.
    """
    pressure = within("po2_mmhg", po2_mmhg, RANGES)
    place = (ph, temperature_c, pco2_mmhg, dpg_mmol_per_l)
    if np.ndim(carboxyhaemoglobin) == 0 and carboxyhaemoglobin == 0.0:  # needs no search
        return dissociation.saturation(pressure, None, *place)
    blood = (carboxyhaemoglobin, *place)
    shape = np.broadcast(pressure, *(np.asarray(each) for each in blood)).shape
    low, high = np.zeros(shape), np.full(shape, RANGES["saturation"][1])
    for _ in range(HALVINGS):  # pressure rises with saturation, and has no plain inverse
        middle = 0.5 * (low + high)
        short = po2_beside_co_mmhg(middle, *blood) < pressure
        low, high = np.where(short, middle, low), np.where(short, high, middle)
    return plain(low)
