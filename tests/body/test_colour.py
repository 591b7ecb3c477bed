"""Properties of the colours."""

import re

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from oximetry_workbook.body.colour import blood_colour, transmission_to_srgb

VISIBLE_NM = np.arange(380.0, 781.0, 10.0)
spectra = st.lists(st.floats(0.0, 1.0), min_size=VISIBLE_NM.size, max_size=VISIBLE_NM.size)


def channels(colour):
    return tuple(int(colour[place : place + 2], 16) for place in (1, 3, 5))


@given(spectra)
def test_colours_are_three_whole_numbers_a_screen_can_show(transmission):
    colour = transmission_to_srgb(VISIBLE_NM, np.array(transmission))
    assert len(colour) == 3
    assert all(type(channel) is int and 0 <= channel <= 255 for channel in colour)


@given(spectra)
def test_finer_wavelengths_of_the_same_spectrum_give_the_same_colour(transmission):
    fine_nm = np.arange(300.0, 901.0, 5.0)
    fine = np.interp(fine_nm, VISIBLE_NM, transmission)
    coarse = transmission_to_srgb(VISIBLE_NM, np.array(transmission))
    assert transmission_to_srgb(fine_nm, fine) == coarse


@given(st.floats(0.0, 1.0))
def test_a_neutral_filter_is_grey_and_no_filter_white(share):
    red, green, blue = transmission_to_srgb(VISIBLE_NM, np.full(VISIBLE_NM.size, share))
    assert max(red, green, blue) - min(red, green, blue) <= 1  # the matrix has four decimals
    assert transmission_to_srgb(VISIBLE_NM, np.ones(VISIBLE_NM.size)) == (255, 255, 255)
    assert transmission_to_srgb(VISIBLE_NM, np.zeros(VISIBLE_NM.size)) == (0, 0, 0)


@given(st.floats(0.0, 1.0), st.floats(0.0, 1000.0), st.floats(0.0, 400.0))
def test_blood_has_a_colour_however_thin_or_deep(saturation, depth_mm, g_per_l):
    assert re.fullmatch("#[0-9a-f]{6}", blood_colour(saturation, depth_mm, g_per_l))


@given(st.floats(0.0, 1.0), st.floats(0.1, 1000.0), st.floats(150.0, 400.0))
def test_undiluted_blood_is_red_first(saturation, depth_mm, g_per_l):
    """From a tenth of a millimetre on; a thinner film without oxygen does look greenish."""
    red, green, blue = channels(blood_colour(saturation, depth_mm, g_per_l))
    assert red >= max(green, blue)


@given(st.floats(0.0, 1.0), st.floats(0.01, 5.0), st.floats(50.0, 200.0))
def test_only_depth_times_concentration_counts(saturation, depth_mm, g_per_l):
    thin = channels(blood_colour(saturation, depth_mm, 2 * g_per_l))
    thick = channels(blood_colour(saturation, 2 * depth_mm, g_per_l))
    assert max(abs(a - b) for a, b in zip(thin, thick, strict=True)) <= 1  # rounding


@given(st.floats(0.0, 0.9), st.floats(0.05, 0.1), st.floats(0.1, 2.0))
def test_more_oxygen_lets_more_red_through(saturation, more, depth_mm):
    darker = channels(blood_colour(saturation, depth_mm))
    brighter = channels(blood_colour(saturation + more, depth_mm))
    assert brighter[0] >= darker[0]


@pytest.mark.parametrize(
    ("wavelength_nm", "transmission", "message"),
    [
        (VISIBLE_NM, np.ones(3), r"wavelength_nm has shape \(41,\) and transmission \(3,\)"),
        (VISIBLE_NM[::-1], np.ones(41), "wavelength_nm does not increase"),
        (np.sort([*VISIBLE_NM, 500.0]), np.ones(42), "wavelength_nm does not increase"),
        (np.array([[380.0, 780.0]]), np.ones((1, 2)), r"wavelength_nm has shape \(1, 2\)"),
        (np.array([380.5, 780.0]), np.ones(2), "runs from 380.5 to 780 nm; it must cover"),
        (VISIBLE_NM[1:], np.ones(40), "runs from 390 to 780 nm; it must cover"),
        (VISIBLE_NM, np.full(41, 1.2), "transmission is 1.2; choose a value from 0 to 1"),
        (VISIBLE_NM, np.full(41, np.nan), "transmission is nan"),
    ],
)
def test_bad_spectra_are_refused(wavelength_nm, transmission, message):
    with pytest.raises(ValueError, match=message):
        transmission_to_srgb(wavelength_nm, transmission)


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ((1.2, 1.0), "saturation is 1.2"),
        ((1.0, -1.0), "depth_mm is -1 mm; choose a value from 0 to 1000 mm"),
        ((1.0, 1.0, -150.0), "haemoglobin_g_per_l is -150 g/L"),
    ],
)
def test_bad_cuvettes_are_refused(arguments, message):
    with pytest.raises(ValueError, match=message):
        blood_colour(*arguments)
