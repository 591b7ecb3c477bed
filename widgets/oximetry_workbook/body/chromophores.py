"""What else in the tissue absorbs: water, fat, and the melanin of the skin."""

from __future__ import annotations

from typing import overload

import numpy as np

from oximetry_workbook.body.tables import FloatArray, look_up, require_within


@overload
def water_absorption_per_cm(wavelength_nm: float) -> float: ...
@overload
def water_absorption_per_cm(wavelength_nm: FloatArray) -> FloatArray: ...
def water_absorption_per_cm(wavelength_nm: float | FloatArray) -> float | FloatArray:
    """Absorption coefficient of liquid water; weigh it with the volume fraction of water.

    Args:
        wavelength_nm: Wavelength from 395 to 1109 nm, a number or an array of any shape.

    Returns:
        Absorption coefficient [cm⁻¹], natural logarithm; a float for a number.

    Raises:
        ValueError: A wavelength lies outside the table.

    Source: Segelstein 1981; the head of data/water.csv gives it in full.
    """
    return look_up("water", 1, wavelength_nm)


@overload
def fat_absorption_per_cm(wavelength_nm: float) -> float: ...
@overload
def fat_absorption_per_cm(wavelength_nm: FloatArray) -> FloatArray: ...
def fat_absorption_per_cm(wavelength_nm: float | FloatArray) -> float | FloatArray:
    """Absorption coefficient of pure fat; weigh it with the volume fraction of fat.

    Args:
        wavelength_nm: Wavelength from 430 to 1098 nm, a number or an array of any shape.

    Returns:
        Absorption coefficient [cm⁻¹], natural logarithm; a float for a number.

    Raises:
        ValueError: A wavelength lies outside the table.

    Source: van Veen and others 2005; the head of data/fat.csv gives it in full.
    """
    return look_up("fat", 1, wavelength_nm)


@overload
def melanin_absorption_per_cm(wavelength_nm: float) -> float: ...
@overload
def melanin_absorption_per_cm(wavelength_nm: FloatArray) -> FloatArray: ...
def melanin_absorption_per_cm(wavelength_nm: float | FloatArray) -> float | FloatArray:
    """Absorption coefficient inside a melanosome, 1.70e12 λ^−3.48 (λ in nm).

    Weigh it with the share of the epidermis that melanosomes fill. Other published fits differ
    from this one by a quarter.

    Args:
        wavelength_nm: Wavelength from 250 to 1200 nm, a number or an array of any shape.

    Returns:
        Absorption coefficient [cm⁻¹], natural logarithm; a float for a number.

    Raises:
        ValueError: A wavelength lies outside the range.

    Source: S. L. Jacques, "Optical absorption of melanin", omlc.org, 1998.
    """
    require_within("wavelength_nm", wavelength_nm, 250.0, 1200.0, "nm")
    absorption = 1.70e12 * np.power(wavelength_nm, -3.48, dtype=np.float64)
    return absorption if np.ndim(wavelength_nm) else float(absorption)
