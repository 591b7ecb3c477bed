"""How strongly blood absorbs light: the spectra of haemoglobin in four states."""

from __future__ import annotations

import math
from typing import overload

import numpy as np

from oximetry_workbook.body.tables import FloatArray, load_table, look_up, require_within

SPECIES = ("HbO2", "HHb", "COHb", "MetHb")
"""Oxy-, deoxy-, carboxy- and methaemoglobin."""

TABLES = ("Prahl", "Zijlstra")
"""Published spectra to choose from. They differ: HHb at 940 nm is 693 in the first, 732 in the
second (cm⁻¹ per mol/L), and other laboratories found up to 802."""

MOLAR_MASS_G_PER_MOL = 64_500.0
"""Mass of the haemoglobin tetramer, four haems (Prahl 1998) [g/mol]."""

_COLUMNS = {
    "Prahl": {"HbO2": ("haemoglobin_prahl", 1), "HHb": ("haemoglobin_prahl", 2)},
    "Zijlstra": {
        name: ("haemoglobin_zijlstra", column) for column, name in enumerate(SPECIES, start=1)
    },
}


@overload
def molar_extinction(species: str, wavelength_nm: float, table: str = ...) -> float: ...
@overload
def molar_extinction(species: str, wavelength_nm: FloatArray, table: str = ...) -> FloatArray: ...
def molar_extinction(
    species: str, wavelength_nm: float | FloatArray, table: str = "Prahl"
) -> float | FloatArray:
    """Decadic molar extinction coefficient of a haemoglobin species.

    A layer of d centimetres with c mol/L lets through 10**(-extinction * c * d) of the light.

    Args:
        species: "HbO2", "HHb", "COHb" or "MetHb".
        wavelength_nm: Wavelength [nm], a number or an array of any shape.
        table: "Prahl" (250 to 1000 nm) or "Zijlstra" (450 to 1000 nm). The first has HbO2 and
            HHb only: COHb and MetHb come from the second whichever is chosen.

    Returns:
        Extinction [cm⁻¹ per mol/L of haemoglobin tetramer], interpolated linearly; a float for
        a number, else an array of the same shape.

    Raises:
        ValueError: Unknown species or table, or a wavelength outside the table.

    Source: Gratzer and Kollias, compiled by Prahl, 1998; Zijlstra, Buursma and van Assendelft,
    2000. The heads of the tables in data/ give both in full.
    """
    name, column = _column(species, table)
    return look_up(name, column, wavelength_nm)


@overload
def absorption_per_cm(
    wavelength_nm: float,
    saturation: float,
    haemoglobin_g_per_l: float = ...,
    carboxyhaemoglobin: float = ...,
    methaemoglobin: float = ...,
    table: str = ...,
) -> float: ...
@overload
def absorption_per_cm(
    wavelength_nm: FloatArray,
    saturation: float | FloatArray,
    haemoglobin_g_per_l: float | FloatArray = ...,
    carboxyhaemoglobin: float | FloatArray = ...,
    methaemoglobin: float | FloatArray = ...,
    table: str = ...,
) -> FloatArray: ...
@overload
def absorption_per_cm(
    wavelength_nm: float,
    saturation: FloatArray,
    haemoglobin_g_per_l: float | FloatArray = ...,
    carboxyhaemoglobin: float | FloatArray = ...,
    methaemoglobin: float | FloatArray = ...,
    table: str = ...,
) -> FloatArray: ...
def absorption_per_cm(
    wavelength_nm: float | FloatArray,
    saturation: float | FloatArray,
    haemoglobin_g_per_l: float | FloatArray = 150.0,
    carboxyhaemoglobin: float | FloatArray = 0.0,
    methaemoglobin: float | FloatArray = 0.0,
    table: str = "Prahl",
) -> float | FloatArray:
    """Absorption coefficient of blood: ln 10 times the sum of extinction times concentration.

    A layer of d centimetres lets through exp(-absorption * d) of the light. Blood counts here
    as a clear solution of haemoglobin: cells scatter too, which is the tissue's part.

    All quantities broadcast against each other as numpy arrays do: wavelengths of shape (n,)
    with saturations of shape (m, 1) give a result of shape (m, n).

    Args:
        wavelength_nm: Wavelength [nm].
        saturation: Functional saturation, HbO2 / (HbO2 + HHb), from 0 to 1.
        haemoglobin_g_per_l: All haemoglobin in the blood [g/L].
        carboxyhaemoglobin: COHb as a fraction of all haemoglobin, from 0 to 1.
        methaemoglobin: MetHb as a fraction of all haemoglobin, from 0 to 1.
        table: As in `molar_extinction`.

    Returns:
        Absorption coefficient [cm⁻¹], natural logarithm; a float when all inputs are numbers.

    Raises:
        ValueError: Unknown table, or a value outside its range; the message names it.
    """
    require_within("saturation", saturation, 0.0, 1.0)
    require_within("haemoglobin_g_per_l", haemoglobin_g_per_l, 0.0, 1000.0, "g/L")
    dysfunctional = _checked_sum(carboxyhaemoglobin, methaemoglobin)
    deoxy = molar_extinction("HHb", wavelength_nm, table)
    oxy = molar_extinction("HbO2", wavelength_nm, table)
    extinction = (1.0 - dysfunctional) * (deoxy + saturation * (oxy - deoxy))
    for species, share in (("COHb", carboxyhaemoglobin), ("MetHb", methaemoglobin)):
        if np.any(share):  # the wavelength need not be in their table when there is none
            extinction = extinction + share * molar_extinction(species, wavelength_nm, table)
    absorption = math.log(10.0) / MOLAR_MASS_G_PER_MOL * haemoglobin_g_per_l * extinction
    return absorption if np.ndim(absorption) else float(absorption)


def isosbestic_wavelengths_nm(
    species_a: str = "HbO2",
    species_b: str = "HHb",
    table: str = "Prahl",
    low_nm: float | None = None,
    high_nm: float | None = None,
) -> FloatArray:
    """Wavelengths at which two species absorb alike, whatever their shares.

    Args:
        species_a: As in `molar_extinction`.
        species_b: The other species.
        table: As in `molar_extinction`.
        low_nm: Where to begin [nm]; without it, where both tables begin.
        high_nm: Where to end [nm]; without it, where both tables end.

    Returns:
        Crossings of the two spectra [nm], rising, by linear interpolation; shape (crossings,).

    Raises:
        ValueError: Unknown or equal species, unknown table, or a range that the tables do not
            cover or that is empty.
    """
    if species_a == species_b:
        raise ValueError(f"species_a and species_b are both {species_a!r}; choose two species")
    nodes_nm = _common_wavelengths_nm(species_a, species_b, table, low_nm, high_nm)
    difference = molar_extinction(species_a, nodes_nm, table) - molar_extinction(
        species_b, nodes_nm, table
    )
    before, after = difference[:-1], difference[1:]
    crosses = before * after < 0
    share = before[crosses] / (before - after)[crosses]
    between_nm = nodes_nm[:-1][crosses] + share * np.diff(nodes_nm)[crosses]
    return np.sort(np.concatenate([between_nm, nodes_nm[difference == 0]]))


def _column(species: str, table: str) -> tuple[str, int]:
    if table not in TABLES:
        raise ValueError(f"table is {table!r}; choose one of {', '.join(TABLES)}")
    if species not in SPECIES:
        raise ValueError(f"species is {species!r}; choose one of {', '.join(SPECIES)}")
    return _COLUMNS[table].get(species, _COLUMNS["Zijlstra"][species])


def _checked_sum(
    carboxyhaemoglobin: float | FloatArray, methaemoglobin: float | FloatArray
) -> float | FloatArray:
    """Add up the haemoglobin that carries no oxygen."""
    require_within("carboxyhaemoglobin", carboxyhaemoglobin, 0.0, 1.0)
    require_within("methaemoglobin", methaemoglobin, 0.0, 1.0)
    both = carboxyhaemoglobin + methaemoglobin
    require_within("carboxyhaemoglobin + methaemoglobin", both, 0.0, 1.0)
    return both


def _common_wavelengths_nm(
    species_a: str, species_b: str, table: str, low_nm: float | None, high_nm: float | None
) -> FloatArray:
    a_nm = load_table(_column(species_a, table)[0])[0]
    b_nm = load_table(_column(species_b, table)[0])[0]
    first, last = max(a_nm[0], b_nm[0]), min(a_nm[-1], b_nm[-1])
    low = first if low_nm is None else low_nm
    high = last if high_nm is None else high_nm
    require_within("low_nm", low, first, last, "nm")
    require_within("high_nm", high, first, last, "nm")
    if not low < high:
        raise ValueError(f"low_nm is {low:g} and high_nm {high:g} nm; low_nm must be the smaller")
    nodes_nm = np.unique(np.concatenate([a_nm, b_nm, [low, high]]))
    return nodes_nm[(nodes_nm >= low) & (nodes_nm <= high)]
