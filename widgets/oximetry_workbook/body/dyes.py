"""Dyes given into the blood: how much light they take away from an oximeter."""

from __future__ import annotations

import math
from typing import overload

import numpy as np

from oximetry_workbook.body.tables import FloatArray, look_up, require_within

DYES = ("none", "methylene blue", "indocyanine green", "indigo carmine")
"""Dyes to choose from; "none" absorbs nothing."""

MOLAR_MASS_G_PER_MOL = {
    "methylene blue": 319.85,
    "indocyanine green": 774.96,
    "indigo carmine": 466.36,
}
"""From the formulas C16H18ClN3S (without water of crystallisation), C43H47N2NaO6S2 and
C16H8N2Na2O8S2 with the IUPAC standard atomic weights [g/mol]. A dose of the hydrated powder holds
less: 319.85 of 373.90 g for methylene blue with three molecules of water."""

SHORTEST_NM = 450.0
"""Where the spectra begin [nm]."""

LONGEST_NM = 1000.0
"""Where the spectra end [nm]."""

MOST_MG_PER_L = 200.0
"""Most dye that the formulas are trusted for (common practice) [mg per litre of blood]."""

INDIGO_CARMINE_PEAK_NM = 610.0
"""Peak in water (Commission Regulation (EU) 231/2012, E 132, from memory; other handbooks give
608 to 612 nm) [nm]."""

INDIGO_CARMINE_PEAK_EXTINCTION = 480.0 / 10.0 * 466.36
"""Height of the peak, from the specific absorbance 480 of a solution of 1 % (10 g/L) through 1 cm
(same regulation, from memory) [cm⁻¹ per mol/L]."""

INDIGO_CARMINE_FWHM_NM = 80.0
"""Full width of the band at half its height (from memory, an approximation) [nm]."""

_TABLES = {"methylene blue": "methylene_blue", "indocyanine green": "indocyanine_green"}


@overload
def dye_extinction(dye: str, wavelength_nm: float) -> float: ...
@overload
def dye_extinction(dye: str, wavelength_nm: FloatArray) -> FloatArray: ...
def dye_extinction(dye: str, wavelength_nm: float | FloatArray) -> float | FloatArray:
    """Decadic molar extinction coefficient of a dye.

    Methylene blue was measured in water, from 450 to 760 nm, and is 0 beyond. A very dilute
    solution of it reaches some 95 000 at the peak (from memory), a quarter more than the table.
    Indocyanine green is, by its peak, the protein-bound form, measured from 660 nm on; below, its
    fall is continued. Indigo carmine is no measurement but a Gaussian band of known peak and
    height: how much it absorbs at 660 nm follows from the width assumed and is a rough figure.

    Args:
        dye: One of `DYES`.
        wavelength_nm: Wavelength from 450 to 1000 nm, a number or an array of any shape.

    Returns:
        Extinction [cm⁻¹ per mol/L]; a float for a number, else an array of the same shape.

    Raises:
        ValueError: Unknown dye, or a wavelength outside the range.

    Source: Prahl, omlc.org; PATATO package; the heads of the tables in data/ give them in full.
    Indigo carmine: `INDIGO_CARMINE_PEAK_NM`.
    """
    _require_dye(dye)
    require_within("wavelength_nm", wavelength_nm, SHORTEST_NM, LONGEST_NM, "nm")
    if dye in _TABLES:
        return look_up(_TABLES[dye], 1, wavelength_nm)
    height = INDIGO_CARMINE_PEAK_EXTINCTION if dye == "indigo carmine" else 0.0
    away = (np.asarray(wavelength_nm) - INDIGO_CARMINE_PEAK_NM) / INDIGO_CARMINE_FWHM_NM
    band = height * np.exp(-4.0 * math.log(2.0) * away**2)
    return band if np.ndim(band) else float(band)


@overload
def dye_absorption_per_cm(
    dye: str, wavelength_nm: float, concentration_mg_per_l: float
) -> float: ...
@overload
def dye_absorption_per_cm(
    dye: str, wavelength_nm: FloatArray, concentration_mg_per_l: float | FloatArray
) -> FloatArray: ...
@overload
def dye_absorption_per_cm(
    dye: str, wavelength_nm: float, concentration_mg_per_l: FloatArray
) -> FloatArray: ...
def dye_absorption_per_cm(
    dye: str, wavelength_nm: float | FloatArray, concentration_mg_per_l: float | FloatArray
) -> float | FloatArray:
    """Absorption coefficient that a dye adds to the blood it is in.

    Add it to that of the blood's haemoglobin. The dye counts as spread evenly through the blood
    and as obeying Beer's law; at high concentrations real dyes pair up and absorb less than that
    at their peaks (indocyanine green in albumin above some 7.5 mg/L: Experientia 38:1441, 1982).

    Wavelengths and concentrations broadcast against each other as numpy arrays do.

    Args:
        dye: One of `DYES`.
        wavelength_nm: Wavelength from 450 to 1000 nm.
        concentration_mg_per_l: Dye per litre of whole blood, from 0 to 200 mg/L. As a yardstick,
            50 mg spread through 5 litres of blood make 10 mg/L; shortly after the injection,
            before it has mixed, there is more.

    Returns:
        Absorption coefficient [cm⁻¹], natural logarithm; a float when both are numbers.

    Raises:
        ValueError: Unknown dye, or a value outside its range; the message names it.

    Source: as for `dye_extinction`.
    """
    require_within("concentration_mg_per_l", concentration_mg_per_l, 0.0, MOST_MG_PER_L, "mg/L")
    extinction = dye_extinction(dye, wavelength_nm)
    mol_per_l = np.asarray(concentration_mg_per_l) / 1000.0 / MOLAR_MASS_G_PER_MOL.get(dye, 1.0)
    absorption = math.log(10.0) * extinction * mol_per_l
    return absorption if np.ndim(absorption) else float(absorption)


def _require_dye(dye: str) -> None:
    if dye not in DYES:
        raise ValueError(f"dye is {dye!r}; choose one of {', '.join(DYES)}")
