"""From height to the oxygen in the lungs: air pressure, inspired and alveolar oxygen.

Air pressure is that of the standard atmosphere, which ISO 2533, the ICAO and the US Standard
Atmosphere 1976 share up here: 1013.25 hPa and 288.15 K at sea level, 6.5 K colder for each
kilometre of geopotential height, up to 11 km. It is a mean for the middle latitudes. Over high
mountains near the equator the air presses harder: 253 mmHg were measured on top of Mount Everest
(West and others, J Appl Physiol 1983; 54:1188), where the standard says 236.

In the lungs the air is moist (47 mmHg of water vapour at 37 °C) and shares its room with carbon
dioxide. The alveolar gas equation (Fenn, Rahn and Otis, Am J Physiol 1946; 146:637):

    PAO2 = FiO2 (PB − 47) − PaCO2 (FiO2 + (1 − FiO2) / R).

How much a person breathes at altitude, and with it PaCO2, is not predicted here: it differs with
the person and with the days spent there.
"""

from __future__ import annotations

from typing import overload

import numpy as np
from numpy.typing import ArrayLike

from oximetry_workbook.oxygen.checks import FloatArray, plain, within
from oximetry_workbook.oxygen.dissociation import MMHG_PER_KPA

OXYGEN_IN_AIR = 0.2095
"""Share of oxygen in dry air (US Standard Atmosphere 1976, table 3: 0.209476)."""

WATER_VAPOUR_MMHG = 47.0
"""Vapour pressure of water at 37 °C [mmHg] (steam tables: 6.28 kPa)."""

EXCHANGE_RATIO = 0.8
"""Carbon dioxide given off over oxygen taken up, on a mixed diet at rest (common practice)."""

SEA_LEVEL_KPA, SEA_LEVEL_K, LAPSE_K_PER_M = 101.325, 288.15, 0.0065
GRAVITY_M_PER_S2, AIR_KG_PER_MOL, GAS_J_PER_MOL_K = 9.80665, 0.0289644, 8.31432
EARTH_RADIUS_M = 6_356_766.0
"""Constants of the US Standard Atmosphere 1976, table 2 and section 1.2."""

RANGES = {
    "altitude_m": (0.0, 11_000.0, "m"),
    "pressure_mmhg": (WATER_VAPOUR_MMHG, 2000.0, "mmHg"),
    "oxygen_fraction": (0.0, 1.0, ""),
    "paco2_mmhg": (0.0, 150.0, "mmHg"),
}
"""Lowest and highest value allowed, and the unit."""


@overload
def barometric_pressure_mmhg(altitude_m: float) -> float: ...
@overload
def barometric_pressure_mmhg(altitude_m: ArrayLike) -> float | FloatArray: ...
def barometric_pressure_mmhg(altitude_m: ArrayLike) -> float | FloatArray:
    """Pressure of the standard atmosphere.

    Args:
        altitude_m: Height above the sea, as a map gives it [m], 0 to 11 000.

    Returns:
        Pressure [mmHg]; a float for a number.

    Raises:
        ValueError: The height is out of range.

    Source: US Standard Atmosphere 1976, equations 18, 23 and 33a.
    """
    height = within("altitude_m", altitude_m, RANGES)
    geopotential_m = EARTH_RADIUS_M * height / (EARTH_RADIUS_M + height)
    colder = 1.0 - LAPSE_K_PER_M * geopotential_m / SEA_LEVEL_K
    exponent = GRAVITY_M_PER_S2 * AIR_KG_PER_MOL / (GAS_J_PER_MOL_K * LAPSE_K_PER_M)
    return plain(SEA_LEVEL_KPA * MMHG_PER_KPA * colder**exponent)


@overload
def inspired_po2_mmhg(pressure_mmhg: float, oxygen_fraction: float = ...) -> float: ...
@overload
def inspired_po2_mmhg(
    pressure_mmhg: ArrayLike, oxygen_fraction: ArrayLike = ...
) -> float | FloatArray: ...
def inspired_po2_mmhg(
    pressure_mmhg: ArrayLike, oxygen_fraction: ArrayLike = OXYGEN_IN_AIR
) -> float | FloatArray:
    """Oxygen pressure of the air in the windpipe, warm and moist.

    Args:
        pressure_mmhg: Air pressure [mmHg], 47 to 2000.
        oxygen_fraction: Share of oxygen in the dry gas breathed, FiO2.

    Returns:
        Partial pressure of oxygen [mmHg]; a float when both inputs are numbers.

    Raises:
        ValueError: A value is out of range; the message names it.
    """
    pressure = within("pressure_mmhg", pressure_mmhg, RANGES)
    fraction = within("oxygen_fraction", oxygen_fraction, RANGES)
    return plain(np.asarray(fraction * (pressure - WATER_VAPOUR_MMHG)))


@overload
def alveolar_po2_mmhg(
    pressure_mmhg: float, paco2_mmhg: float = ..., oxygen_fraction: float = ...
) -> float: ...
@overload
def alveolar_po2_mmhg(
    pressure_mmhg: ArrayLike, paco2_mmhg: ArrayLike = ..., oxygen_fraction: ArrayLike = ...
) -> float | FloatArray: ...
def alveolar_po2_mmhg(
    pressure_mmhg: ArrayLike,
    paco2_mmhg: ArrayLike = 40.0,
    oxygen_fraction: ArrayLike = OXYGEN_IN_AIR,
) -> float | FloatArray:
    """Oxygen pressure in the air sacs of the lungs, by the alveolar gas equation with R = 0.8.

    Args:
        pressure_mmhg: Air pressure [mmHg], 47 to 2000.
        paco2_mmhg: Partial pressure of carbon dioxide in arterial blood [mmHg], 0 to 150; it
            stands for that of the air sacs.
        oxygen_fraction: Share of oxygen in the dry gas breathed, FiO2.

    Returns:
        Partial pressure of oxygen [mmHg], 0 where nobody could breathe so and live (the
        equation gives less than nothing there); a float when all inputs are numbers.

    Raises:
        ValueError: A value is out of range; the message names it.

    Source: Fenn, Rahn and Otis 1946, see the head of this module.
    """
    fraction = within("oxygen_fraction", oxygen_fraction, RANGES)
    used = fraction + (1.0 - fraction) / EXCHANGE_RATIO
    inspired = inspired_po2_mmhg(pressure_mmhg, fraction)
    return plain(np.maximum(inspired - within("paco2_mmhg", paco2_mmhg, RANGES) * used, 0.0))
