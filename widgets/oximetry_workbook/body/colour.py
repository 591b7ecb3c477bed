"""The colour of blood on a screen: spectrum, CIE 1931 observer, sRGB."""

from __future__ import annotations

import numpy as np

from oximetry_workbook.body.blood import absorption_per_cm
from oximetry_workbook.body.tables import FloatArray, load_table, require_within

XYZ_TO_SRGB = np.array(
    [
        [3.2406, -1.5372, -0.4986],
        [-0.9689, 1.8758, 0.0415],
        [0.0557, -0.2040, 1.0570],
    ]
)
"""From CIE XYZ (Y of white is 1) to linear sRGB; IEC 61966-2-1:1999."""


def transmission_to_srgb(
    wavelength_nm: FloatArray, transmission: FloatArray
) -> tuple[int, int, int]:
    """Colour of daylight after a filter, as a screen shows it.

    The light is CIE illuminant D65, the eye the CIE 1931 standard observer (2°), summed every
    5 nm; Y is 1 without the filter. Colours that a screen cannot show are clipped.

    Args:
        wavelength_nm: Wavelengths [nm], increasing, from 380 or less to 780 or more; shape (n,).
        transmission: Share of the light that the filter lets through, 0 to 1; shape (n,).

    Returns:
        Red, green and blue, 0 to 255, in the sRGB encoding of IEC 61966-2-1.

    Raises:
        ValueError: The shapes differ, the wavelengths do not increase or do not cover 380 to
            780 nm, or a transmission lies outside 0 to 1.
    """
    wavelength_nm, transmission = _checked_spectrum(wavelength_nm, transmission)
    observer_nm, x_bar, y_bar, z_bar, d65 = load_table("cie_1931")
    seen = d65 * np.interp(observer_nm, wavelength_nm, transmission)
    xyz = np.array([x_bar, y_bar, z_bar]) @ seen / (y_bar @ d65)
    red, green, blue = np.rint(255.0 * _gamma(XYZ_TO_SRGB @ xyz)).astype(int).tolist()
    return red, green, blue


def blood_colour(saturation: float, depth_mm: float, haemoglobin_g_per_l: float = 150.0) -> str:
    """Colour of daylight seen through a cuvette of haemoglobin solution (Beer–Lambert).

    The solution is clear. Blood in a vessel scatters and looks darker.

    Args:
        saturation: Functional saturation, from 0 to 1.
        depth_mm: Depth of the cuvette, from 0 to 1000 mm.
        haemoglobin_g_per_l: Haemoglobin [g/L].

    Returns:
        The colour as "#rrggbb", sRGB.

    Raises:
        ValueError: A value lies outside its range; the message names it.

    Source: extinction of Prahl's table, the only one of ours that covers all visible light.
    """
    require_within("depth_mm", depth_mm, 0.0, 1000.0, "mm")
    wavelength_nm = load_table("cie_1931")[0]
    absorption = absorption_per_cm(wavelength_nm, saturation, haemoglobin_g_per_l)
    red, green, blue = transmission_to_srgb(wavelength_nm, np.exp(-absorption * depth_mm / 10.0))
    return f"#{red:02x}{green:02x}{blue:02x}"


def _checked_spectrum(
    wavelength_nm: FloatArray, transmission: FloatArray
) -> tuple[FloatArray, FloatArray]:
    wavelengths = np.asarray(wavelength_nm, dtype=np.float64)
    values = np.asarray(transmission, dtype=np.float64)
    if wavelengths.ndim != 1 or wavelengths.size < 2 or wavelengths.shape != values.shape:
        raise ValueError(
            f"wavelength_nm has shape {wavelengths.shape} and transmission {values.shape}; "
            "give two rows of the same length"
        )
    if not np.all(np.diff(wavelengths) > 0):
        raise ValueError("wavelength_nm does not increase everywhere; sort it and remove doubles")
    if wavelengths[0] > 380.0 or wavelengths[-1] < 780.0:
        raise ValueError(
            f"wavelength_nm runs from {wavelengths[0]:g} to {wavelengths[-1]:g} nm; "
            "it must cover the visible range, 380 to 780 nm"
        )
    require_within("transmission", values, 0.0, 1.0)
    return wavelengths, values


def _gamma(linear: FloatArray) -> FloatArray:
    """Encode linear light from 0 to 1 as the sRGB standard asks."""
    clipped = np.clip(linear, 0.0, 1.0)
    return np.where(clipped <= 0.0031308, 12.92 * clipped, 1.055 * clipped ** (1 / 2.4) - 0.055)
