"""Properties of nail varnish as a filter."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from oximetry_workbook.body.colour import transmission_to_srgb
from oximetry_workbook.body.varnish import PIGMENT_SCATTER, VARNISHES, varnish_absorbance

colours = st.sampled_from(VARNISHES)
wavelengths_nm = st.floats(380.0, 1100.0)
RED_NM, INFRARED_NM = 660.0, 940.0
VISIBLE_NM = np.arange(380.0, 781.0, 5.0)


def daylight_through(colour):
    """Red, green and blue of daylight behind two coats (held to colour-science elsewhere)."""
    return transmission_to_srgb(VISIBLE_NM, 10.0 ** -varnish_absorbance(colour, VISIBLE_NM, 2.0))


@given(colours, wavelengths_nm, st.floats(0.0, 5.0))
def test_absorbance_of_numbers_is_a_finite_float_not_below_zero(colour, wavelength_nm, coats):
    absorbance = varnish_absorbance(colour, wavelength_nm, coats)
    assert type(absorbance) is float
    assert math.isfinite(absorbance)
    assert absorbance >= 0.0


@given(st.sampled_from(VARNISHES[1:]), wavelengths_nm, st.floats(0.0, 4.0), st.floats(0.1, 1.0))
def test_more_coats_let_less_through(colour, wavelength_nm, coats, more):
    thin, thick = (varnish_absorbance(colour, wavelength_nm, n) for n in (coats, coats + more))
    assert thick > thin
    assert varnish_absorbance(colour, wavelength_nm, 1.0) * coats == pytest.approx(thin)


@given(colours, st.lists(wavelengths_nm, min_size=1, max_size=10))
def test_absorbance_of_an_array_is_that_of_its_numbers(colour, several_nm):
    together = varnish_absorbance(colour, np.array(several_nm), 2.0)
    alone = [varnish_absorbance(colour, nm, 2.0) for nm in several_nm]
    np.testing.assert_allclose(together, alone, rtol=1e-12)


@pytest.mark.parametrize("colour", VARNISHES)
def test_wavelengths_and_coats_broadcast(colour):
    coats = np.array([[0.0], [1.0], [3.0]])
    both = varnish_absorbance(colour, np.array([RED_NM, INFRARED_NM]), coats)
    assert both.shape == (3, 2)
    np.testing.assert_array_equal(both[0], 0.0)
    assert varnish_absorbance(colour, RED_NM, coats).shape == (3, 1)
    assert varnish_absorbance(colour, 660, 1) == varnish_absorbance(colour, RED_NM, 1.0)


@pytest.mark.parametrize(
    ("colour", "centre_nm", "fwhm_nm"), [("red", 470.0, 190.0), ("blue", 610.0, 110.0)]
)
def test_a_band_has_half_its_height_half_its_width_away(colour, centre_nm, fwhm_nm):
    """Full width at half maximum, by its definition; the bands themselves are invented."""
    wide_nm = centre_nm + fwhm_nm / 2.0 * np.array([0.0, 1.0])
    top, half = varnish_absorbance(colour, wide_nm, 1.0) - PIGMENT_SCATTER
    assert half == pytest.approx(top / 2.0, rel=1e-9)


def test_a_bare_nail_lets_everything_through():
    np.testing.assert_array_equal(varnish_absorbance("none", VISIBLE_NM, 5.0), 0.0)


@pytest.mark.parametrize(("colour", "channel"), [("red", 0), ("green", 1), ("blue", 2)])
def test_daylight_behind_a_varnish_has_its_colour(colour, channel):
    """Daylight D65, the CIE 1931 observer, sRGB of IEC 61966-2-1."""
    assert np.argmax(daylight_through(colour)) == channel


def test_black_varnish_is_darker_than_the_colours():
    brightest = {colour: max(daylight_through(colour)) for colour in VARNISHES}
    assert brightest["black"] < 0.7 * min(brightest[colour] for colour in ("red", "green", "blue"))


def test_red_varnish_passes_red_light_and_blue_varnish_does_not():
    """Why blue, green and black are the colours warned of, and red hardly matters.

    Coté and others 1988, Anesth. Analg. 67:683 (abstract read): blue, green and black lowered the
    readings, in step with absorbance at 660 nm less that at 940 nm.
    """
    at_red = {name: varnish_absorbance(name, RED_NM, 1.0) for name in VARNISHES}
    assert at_red["red"] < 0.15
    assert min(at_red["blue"], at_red["green"], at_red["black"]) > 3.0 * at_red["red"]


@pytest.mark.parametrize("colour", ["red", "blue", "green"])
def test_infrared_passes_every_varnish_but_black(colour):
    assert varnish_absorbance(colour, INFRARED_NM, 1.0) < 0.05
    assert varnish_absorbance("black", INFRARED_NM, 1.0) > 0.3


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("mauve", 660.0, 1.0), "colour is 'mauve'; choose one of none, red, blue, green, black"),
        (("red", 379.0, 1.0), "wavelength_nm is 379 nm; choose a value from 380 to 1100 nm"),
        (("none", math.nan, 1.0), "wavelength_nm is nan"),
        (("red", 660.0, -1.0), "coats is -1; choose a value from 0 to 5"),
        (("none", 660.0, 6.0), "coats is 6"),
        (("red", 660.0, "thick"), "coats is 'thick'; give a number"),
    ],
)
def test_what_makes_no_sense_is_refused(arguments, message):
    with pytest.raises(ValueError, match=message):
        varnish_absorbance(*arguments)
