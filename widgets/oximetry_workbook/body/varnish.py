"""Nail varnish as a coloured filter in the way of the light."""

from __future__ import annotations

import math
from typing import overload

import numpy as np

from oximetry_workbook.body.tables import FloatArray, require_within

VARNISHES = ("none", "red", "blue", "green", "black")
"""Colours to choose from; "none" is a bare nail."""

SHORTEST_NM = 380.0
"""Where the spectra begin [nm]."""

LONGEST_NM = 1100.0
"""Where the spectra end [nm]."""

MOST_COATS = 5.0
"""Most coats one on another."""

PIGMENT_SCATTER = 0.03
"""Absorbance of one coat of any colour at every wavelength: pigment and binder scatter a little
out of the way (invented)."""

BLACK_ABSORBANCE = 0.5
"""Absorbance of one coat of black varnish at `BLACK_REFERENCE_NM` (invented)."""

BLACK_REFERENCE_NM = 660.0
"""Where black varnish has `BLACK_ABSORBANCE`; soot absorbs as one over the wavelength (common
practice) [nm]."""

_BANDS = {
    "none": (),
    "red": ((470.0, 190.0, 1.2),),
    "blue": ((610.0, 110.0, 1.0),),
    "green": ((430.0, 110.0, 0.9), (650.0, 110.0, 0.9)),
    "black": (),
}
"""Centre [nm], full width at half height [nm] and absorbance of one coat at the centre. Invented:
each colour absorbs what it does not show (common practice), and no published transmission of nail
varnish was found to fit them to. Real varnishes of one colour differ widely."""


@overload
def varnish_absorbance(colour: str, wavelength_nm: float, coats: float) -> float: ...
@overload
def varnish_absorbance(
    colour: str, wavelength_nm: FloatArray, coats: float | FloatArray
) -> FloatArray: ...
@overload
def varnish_absorbance(colour: str, wavelength_nm: float, coats: FloatArray) -> FloatArray: ...
def varnish_absorbance(
    colour: str, wavelength_nm: float | FloatArray, coats: float | FloatArray
) -> float | FloatArray:
    """Decadic absorbance of coats of nail varnish; they let through 10**(-absorbance).

    Smooth, idealised bands, not measurements: the table of bands says where they come from.
    Wavelengths and coats broadcast against each other as numpy arrays do.

    Args:
        colour: One of `VARNISHES`.
        wavelength_nm: Wavelength from 380 to 1100 nm.
        coats: How many coats, from 0 to 5; half a coat is a thin one.

    Returns:
        Absorbance, without unit; a float when wavelength and coats are both numbers.

    Raises:
        ValueError: Unknown colour, or a value outside its range; the message names it.
    """
    if colour not in VARNISHES:
        raise ValueError(f"colour is {colour!r}; choose one of {', '.join(VARNISHES)}")
    require_within("wavelength_nm", wavelength_nm, SHORTEST_NM, LONGEST_NM, "nm")
    require_within("coats", coats, 0.0, MOST_COATS)
    absorbance = np.asarray(coats) * _one_coat(colour, np.asarray(wavelength_nm, dtype=np.float64))
    return absorbance if np.ndim(absorbance) else float(absorbance)


def _one_coat(colour: str, wavelength_nm: FloatArray) -> FloatArray:
    absorbance = np.full(wavelength_nm.shape, 0.0 if colour == "none" else PIGMENT_SCATTER)
    for centre_nm, fwhm_nm, height in _BANDS[colour]:
        away = (wavelength_nm - centre_nm) / fwhm_nm
        absorbance = absorbance + height * np.exp(-4.0 * math.log(2.0) * away**2)
    if colour == "black":
        absorbance = absorbance + BLACK_ABSORBANCE * BLACK_REFERENCE_NM / wavelength_nm
    return absorbance
