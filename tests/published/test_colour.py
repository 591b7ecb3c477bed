"""Colours against colour-science, which integrates at 1 nm with its own tables and matrices."""

import colour
import numpy as np
import pytest

from oximetry_workbook.body.blood import absorption_per_cm
from oximetry_workbook.body.colour import blood_colour, transmission_to_srgb
from oximetry_workbook.body.tables import load_table

OBSERVER = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]
DAYLIGHT = colour.SDS_ILLUMINANTS["D65"].copy().align(OBSERVER.shape)
EVERY_NM = np.arange(360.0, 831.0, 1.0)


def reference_srgb(wavelength_nm, transmission):
    """The same colour by colour-science: CIE 015 integration at 1 nm, sRGB of IEC 61966-2-1."""
    filter_spectrum = colour.SpectralDistribution(transmission, wavelength_nm)
    xyz = colour.sd_to_XYZ(filter_spectrum, OBSERVER, DAYLIGHT, method="Integration") / 100.0
    return np.rint(255.0 * np.clip(colour.XYZ_to_sRGB(xyz), 0.0, 1.0)).astype(int)


def channels(text):
    return [int(text[place : place + 2], 16) for place in (1, 3, 5)]


@pytest.mark.parametrize("saturation", [0.0, 0.3, 0.5, 0.7, 0.85, 1.0])
@pytest.mark.parametrize("depth_mm", [0.05, 0.2, 1.0, 5.0])
def test_blood_as_colour_science_computes_it(saturation, depth_mm):
    """Within 1 of 255 in each channel: 5 nm against 1 nm and rounding."""
    absorption = absorption_per_cm(EVERY_NM, saturation)
    expected = reference_srgb(EVERY_NM, np.exp(-absorption * depth_mm / 10.0))
    found = channels(blood_colour(saturation, depth_mm))
    assert np.max(np.abs(found - expected)) <= 1


@pytest.mark.parametrize(("saturation", "printed"), [(1.0, (236, 36, 8)), (0.5, (201, 27, 43))])
def test_blood_at_a_fifth_of_a_millimetre(saturation, printed):
    """colour-science 0.4.7, D65, 150 g/L, 0.2 mm, worked out before this module was written."""
    assert channels(blood_colour(saturation, 0.2)) == pytest.approx(printed, abs=1)


@pytest.mark.parametrize("centre_nm", [450.0, 500.0, 550.0, 600.0, 650.0])
def test_a_coloured_filter_as_colour_science_computes_it(centre_nm):
    transmission = np.exp(-(((EVERY_NM - centre_nm) / 40.0) ** 2))
    found = transmission_to_srgb(EVERY_NM, transmission)
    assert np.max(np.abs(found - reference_srgb(EVERY_NM, transmission))) <= 1


def test_what_a_screen_cannot_show_is_cut_at_its_brightest():
    beyond = 1.0 / (1.0 + np.exp((555.0 - EVERY_NM) / 8.0))  # redder than a screen can be
    found = transmission_to_srgb(EVERY_NM, beyond)
    assert np.max(np.abs(found - reference_srgb(EVERY_NM, beyond))) <= 1
    assert found[0] == 255


@pytest.mark.parametrize(("share", "grey"), [(0.0015, 5), (0.0025, 8), (0.003, 10)])
def test_near_black_is_encoded_in_proportion(share, grey):
    """IEC 61966-2-1: 12.92 times the light, where that is at most 0.0031308."""
    assert transmission_to_srgb(EVERY_NM, np.full(EVERY_NM.size, share)) == (grey,) * 3


@pytest.mark.parametrize(
    ("wavelength_nm", "values"),
    [
        (450, (0.3362, 0.0380, 1.77211, 117.008)),
        (555, (0.512050, 1.0, 0.00575, 102.023)),
        (600, (1.0622, 0.631, 0.0008, 90.0062)),
    ],
)
def test_rows_of_the_standard(wavelength_nm, values):
    """ISO/CIE 11664-1 (observer) and -2 (D65): rows as the tables of colour-science 0.4.7 give
    them, the standards themselves not opened."""
    columns = load_table("cie_1931")
    row = int(np.flatnonzero(columns[0] == wavelength_nm)[0])
    assert [column[row] for column in columns[1:]] == pytest.approx(values, rel=1e-3)


def test_white_point_of_the_table():
    """D65 with the 2° observer: x 0.3127, y 0.3290 (ISO/CIE 11664-2; IEC 61966-2-1, white)."""
    _, x_bar, y_bar, z_bar, d65 = load_table("cie_1931")
    xyz = np.array([x_bar @ d65, y_bar @ d65, z_bar @ d65])
    assert np.round(xyz[:2] / xyz.sum(), 4).tolist() == pytest.approx([0.3127, 0.3290], abs=1e-4)
