"""How much oxygen blood holds, and how much of it the heart sends round.

Content is what haemoglobin has bound and what is dissolved beside it:

    content = 1.34 × haemoglobin × share that can bind × saturation + 0.0031 × PO2,

in millilitres of oxygen (0 °C, 1 atmosphere, dry) per decilitre of blood, haemoglobin in g/dL.

The 1.34 mL/g is Hüfner's number. Chemistry gives 1.39: four times 22.4 litres of gas for each
64.5 kg of haemoglobin. Measured on all haemoglobin it is less, since some is always out of work:
1.368 (Dijkhuizen and others, Pflügers Arch 1977; 369:223), 1.366, and 1.392 once carboxy- and
methaemoglobin are counted out (Dominguez de Villota and others, Br J Anaesth 1981; 53:1325). The
customary 1.34 is used here, as in the worked examples of the tests; with 1.39 all bound oxygen
would be 3.7 % more.

0.0031 mL/dL for each mmHg: solubility at 37 °C, as textbooks round it (0.003, or 0.023 mL/dL
for each kPa). It changes with temperature, which is left out.
"""

from __future__ import annotations

from typing import overload

import numpy as np
from numpy.typing import ArrayLike

from oximetry_workbook.oxygen.checks import FloatArray, plain, within

HUEFNER_ML_PER_G = 1.34
"""Oxygen that a gram of haemoglobin binds [mL/g]; the head of this module says whose."""

SOLUBILITY_ML_PER_DL_MMHG = 0.0031
"""Oxygen dissolved in blood at 37 °C [mL/dL for each mmHg]."""

RANGES = {
    "saturation": (0.0, 1.0, ""),
    "po2_mmhg": (0.0, 760.0, "mmHg"),
    "haemoglobin_g_per_l": (0.0, 250.0, "g/L"),
    "carboxyhaemoglobin": (0.0, 1.0, ""),
    "methaemoglobin": (0.0, 1.0, ""),
    "carboxyhaemoglobin + methaemoglobin": (0.0, 1.0, ""),
    "content_ml_per_dl": (0.0, 50.0, "mL/dL"),
    "cardiac_output_l_per_min": (0.0, 40.0, "L/min"),
}
"""Lowest and highest value allowed, and the unit."""


@overload
def oxygen_content_ml_per_dl(
    saturation: float,
    po2_mmhg: float,
    haemoglobin_g_per_l: float = ...,
    carboxyhaemoglobin: float = ...,
    methaemoglobin: float = ...,
) -> float: ...
@overload
def oxygen_content_ml_per_dl(
    saturation: ArrayLike,
    po2_mmhg: ArrayLike,
    haemoglobin_g_per_l: ArrayLike = ...,
    carboxyhaemoglobin: ArrayLike = ...,
    methaemoglobin: ArrayLike = ...,
) -> float | FloatArray: ...
def oxygen_content_ml_per_dl(
    saturation: ArrayLike,
    po2_mmhg: ArrayLike,
    haemoglobin_g_per_l: ArrayLike = 150.0,
    carboxyhaemoglobin: ArrayLike = 0.0,
    methaemoglobin: ArrayLike = 0.0,
) -> float | FloatArray:
    """Oxygen in blood, bound and dissolved. All quantities broadcast as numpy arrays do.

    Args:
        saturation: Functional saturation, HbO2 / (HbO2 + HHb), as a fraction: of the haemoglobin
            that can bind oxygen.
        po2_mmhg: Partial pressure of oxygen [mmHg], 0 to 760.
        haemoglobin_g_per_l: All haemoglobin [g/L], 0 to 250.
        carboxyhaemoglobin: COHb as a fraction of all haemoglobin.
        methaemoglobin: MetHb as a fraction of all haemoglobin.

    Returns:
        Content [mL of oxygen per dL of blood]; a float when all inputs are numbers.

    Raises:
        ValueError: A value is out of range; the message names it.

    Source: the head of this module.
    """
    working = 1.0 - _out_of_work(carboxyhaemoglobin, methaemoglobin)
    grams_per_dl = within("haemoglobin_g_per_l", haemoglobin_g_per_l, RANGES) / 10.0
    bound = HUEFNER_ML_PER_G * grams_per_dl * working * within("saturation", saturation, RANGES)
    dissolved = SOLUBILITY_ML_PER_DL_MMHG * within("po2_mmhg", po2_mmhg, RANGES)
    return plain(np.asarray(bound + dissolved))


@overload
def oxygen_delivery_ml_per_min(
    content_ml_per_dl: float, cardiac_output_l_per_min: float
) -> float: ...
@overload
def oxygen_delivery_ml_per_min(
    content_ml_per_dl: ArrayLike, cardiac_output_l_per_min: ArrayLike
) -> float | FloatArray: ...
def oxygen_delivery_ml_per_min(
    content_ml_per_dl: ArrayLike, cardiac_output_l_per_min: ArrayLike
) -> float | FloatArray:
    """Oxygen that the heart sends to the body: content times output, ten decilitres a litre.

    Args:
        content_ml_per_dl: Oxygen in arterial blood [mL/dL], 0 to 50.
        cardiac_output_l_per_min: Blood that the heart pumps [L/min], 0 to 40.

    Returns:
        Delivery [mL of oxygen per minute]; a float when both inputs are numbers.

    Raises:
        ValueError: A value is out of range; the message names it.
    """
    content = within("content_ml_per_dl", content_ml_per_dl, RANGES)
    output = within("cardiac_output_l_per_min", cardiac_output_l_per_min, RANGES)
    return plain(np.asarray(10.0 * content * output))


def _out_of_work(carboxyhaemoglobin: ArrayLike, methaemoglobin: ArrayLike) -> FloatArray:
    both = within("carboxyhaemoglobin", carboxyhaemoglobin, RANGES) + within(
        "methaemoglobin", methaemoglobin, RANGES
    )
    return within("carboxyhaemoglobin + methaemoglobin", both, RANGES)
