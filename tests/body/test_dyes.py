"""Properties of the dyes in blood."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from oximetry_workbook.body.dyes import (
    DYES,
    INDIGO_CARMINE_FWHM_NM,
    INDIGO_CARMINE_PEAK_NM,
    MOLAR_MASS_G_PER_MOL,
    dye_absorption_per_cm,
    dye_extinction,
)

dyes = st.sampled_from(DYES)
wavelengths_nm = st.floats(450.0, 1000.0)
concentrations_mg_per_l = st.floats(0.0, 100.0)


@given(dyes, wavelengths_nm, concentrations_mg_per_l)
def test_absorption_of_numbers_is_a_finite_float_not_below_zero(dye, wavelength_nm, mg_per_l):
    absorption = dye_absorption_per_cm(dye, wavelength_nm, mg_per_l)
    assert type(absorption) is float
    assert math.isfinite(absorption)
    assert absorption >= 0.0
    assert type(dye_extinction(dye, wavelength_nm)) is float


@given(dyes, wavelengths_nm, concentrations_mg_per_l)
def test_twice_the_dye_absorbs_twice_as_much(dye, wavelength_nm, mg_per_l):
    once = dye_absorption_per_cm(dye, wavelength_nm, mg_per_l)
    assert dye_absorption_per_cm(dye, wavelength_nm, 2.0 * mg_per_l) == pytest.approx(2.0 * once)


@pytest.mark.parametrize("dye", DYES)
def test_one_millimole_per_litre_is_the_extinction_over_a_thousand(dye):
    nm = np.array([620.0, 660.0, 800.0])
    tenth_mg_per_l = 0.1 * MOLAR_MASS_G_PER_MOL.get(dye, 300.0)
    expected = math.log(10.0) * dye_extinction(dye, nm) * 1e-4
    np.testing.assert_allclose(dye_absorption_per_cm(dye, nm, tenth_mg_per_l), expected)


@given(dyes, st.lists(wavelengths_nm, min_size=1, max_size=10))
def test_extinction_of_an_array_is_that_of_its_numbers(dye, several_nm):
    together = dye_extinction(dye, np.array(several_nm))
    np.testing.assert_allclose(together, [dye_extinction(dye, nm) for nm in several_nm], rtol=1e-12)


@pytest.mark.parametrize("dye", DYES)
def test_wavelengths_and_concentrations_broadcast(dye):
    nm = np.array([620.0, 660.0, 940.0])
    mg_per_l = np.array([[0.0], [10.0]])
    both = dye_absorption_per_cm(dye, nm, mg_per_l)
    assert both.shape == (2, 3)
    np.testing.assert_array_equal(both[0], 0.0)
    np.testing.assert_allclose(both[1], dye_absorption_per_cm(dye, nm, 10.0))
    assert dye_absorption_per_cm(dye, 660.0, mg_per_l).shape == (2, 1)
    assert dye_absorption_per_cm(dye, 660, 10) == dye_absorption_per_cm(dye, 660.0, 10.0)


def test_the_band_of_indigo_carmine_is_as_wide_as_it_is_said_to_be():
    half = INDIGO_CARMINE_FWHM_NM / 2.0
    peak, *sides = dye_extinction(
        "indigo carmine", INDIGO_CARMINE_PEAK_NM + half * np.arange(-1, 2)
    )[[1, 0, 2]]
    assert sides == pytest.approx([peak / 2.0, peak / 2.0])


def test_no_dye_absorbs_nothing_and_every_dye_does():
    assert dye_absorption_per_cm("none", 660.0, 100.0) == 0.0
    for dye in DYES[1:]:
        assert dye_absorption_per_cm(dye, 660.0, 1.0) > 0.0


@pytest.mark.parametrize("dye", DYES[1:])
def test_red_suffers_more_than_infrared(dye):
    assert dye_extinction(dye, 660.0) > 100.0 * dye_extinction(dye, 940.0)


def test_the_spectra_have_no_jumps():
    nm = np.arange(450.0, 1000.5, 1.0)
    for dye in DYES[1:]:
        extinction = dye_extinction(dye, nm)
        assert np.max(np.abs(np.diff(extinction))) < 0.06 * extinction.max()


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("beetroot", 660.0, 1.0), "dye is 'beetroot'; choose one of none, methylene blue"),
        (("methylene blue", 449.0, 1.0), "wavelength_nm is 449 nm; choose a value from 450 to"),
        (("indigo carmine", 1001.0, 1.0), "wavelength_nm is 1001 nm"),
        (("none", 1001.0, 1.0), "wavelength_nm is 1001 nm"),
        (("indocyanine green", math.nan, 1.0), "wavelength_nm is nan"),
        (("methylene blue", 660.0, -1.0), "concentration_mg_per_l is -1 mg/L"),
        (
            ("none", 660.0, 201.0),
            "concentration_mg_per_l is 201 mg/L; choose a value from 0 to 200",
        ),
        (("methylene blue", 660.0, "much"), "concentration_mg_per_l is 'much'; give a number"),
    ],
)
def test_what_makes_no_sense_is_refused(arguments, message):
    with pytest.raises(ValueError, match=message):
        dye_absorption_per_cm(*arguments)
