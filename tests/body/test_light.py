"""Properties of the LED spectra and of the photodiode."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from oximetry_workbook.body.light import (
    INFRARED_FWHM_NM,
    INFRARED_PEAK_NM,
    RED_FWHM_NM,
    RED_PEAK_NM,
    led_spectrum,
    silicon_responsivity_a_per_w,
)
from oximetry_workbook.body.tables import look_up

GRID_NM = np.arange(400.0, 1100.5, 1.0)


def width_at_half_maximum_nm(grid_nm, power):
    above = grid_nm[power >= power.max() / 2]
    return above[-1] - above[0]


@given(st.floats(600.0, 900.0), st.floats(10.0, 60.0), st.floats(-40.0, 125.0))
def test_spectrum_is_positive_and_of_unit_integral(peak_nm, fwhm_nm, temperature_c):
    power = led_spectrum(GRID_NM, peak_nm, fwhm_nm, temperature_c)
    assert power.shape == GRID_NM.shape
    assert np.all(np.isfinite(power) & (power >= 0))
    assert np.trapezoid(power, GRID_NM) == pytest.approx(1.0, rel=1e-12)


def test_unit_integral_on_a_grid_of_any_step():
    grid_nm = np.concatenate([np.arange(500.0, 650.0, 2.0), np.arange(650.0, 800.0, 0.25)])
    assert np.trapezoid(led_spectrum(grid_nm, 660.0, 20.0), grid_nm) == pytest.approx(1.0)


@given(st.floats(600.0, 900.0), st.floats(10.0, 60.0))
def test_spectrum_has_the_width_and_the_peak_asked_for(peak_nm, fwhm_nm):
    grid_nm = np.arange(400.0, 1100.0, 0.1)
    power = led_spectrum(grid_nm, peak_nm, fwhm_nm)
    assert grid_nm[np.argmax(power)] == pytest.approx(peak_nm, abs=0.06)
    assert width_at_half_maximum_nm(grid_nm, power) == pytest.approx(fwhm_nm, abs=0.21)


@given(st.floats(-40.0, 125.0), st.floats(-0.5, 0.5))
def test_peak_moves_by_the_shift_given(temperature_c, shift_nm_per_c):
    moved = led_spectrum(GRID_NM, 700.0, 30.0, temperature_c, shift_nm_per_c)
    mean_nm = np.trapezoid(GRID_NM * moved, GRID_NM)
    assert mean_nm == pytest.approx(700.0 + shift_nm_per_c * (temperature_c - 25.0), abs=1e-6)


@pytest.mark.parametrize(
    ("peak_nm", "fwhm_nm", "shift_nm_per_c"),
    [(RED_PEAK_NM, RED_FWHM_NM, 0.12), (INFRARED_PEAK_NM, INFRARED_FWHM_NM, 0.25)],
)
def test_both_leds_shift_with_temperature_as_usual_in_the_trade(peak_nm, fwhm_nm, shift_nm_per_c):
    """Common practice: 0.12 nm/°C for a red LED, 0.25 nm/°C for an infrared one."""
    cool, warm = (
        np.trapezoid(GRID_NM * led_spectrum(GRID_NM, peak_nm, fwhm_nm, degrees), GRID_NM)
        for degrees in (25.0, 35.0)
    )
    assert (warm - cool) / 10.0 == pytest.approx(shift_nm_per_c, abs=0.005)


def test_three_wavelengths_half_a_width_apart_are_enough():
    power = led_spectrum(np.array([650.0, 660.0, 670.0]), 660.0, 20.0)
    np.testing.assert_allclose(power / power[1], [0.5, 1.0, 0.5], rtol=1e-12)


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ({"peak_nm": 5.0}, "peak_nm is 5 nm; choose a value from 200 to 2000 nm"),
        ({"fwhm_nm": 0.0}, "fwhm_nm is 0 nm; choose a value from 0.1 to 500 nm"),
        ({"fwhm_nm": math.nan}, "fwhm_nm is nan"),
        ({"temperature_c": 300.0}, "temperature_c is 300 °C; choose a value from -40 to 125 °C"),
        ({"peak_shift_nm_per_c": 20.0}, "peak_shift_nm_per_c is 20 nm/°C"),
        ({"peak_nm": 1200.0}, "the peak of the LED is 1200 nm; choose a value from 400 to 1100"),
        ({"fwhm_nm": 1.0}, "step of 1 nm; for a fwhm_nm of 1 nm choose steps of 0.5 nm or less"),
        ({"wavelength_nm": 660.0}, "wavelength_nm must be one row"),
        ({"wavelength_nm": GRID_NM[::-1]}, "wavelength_nm must be one row"),
        (
            {"wavelength_nm": np.array([650.0, 660.0, 660.0, 670.0])},
            "wavelength_nm must be one row",
        ),
        ({"wavelength_nm": np.array([655.0, 665.0])}, "wavelength_nm must be one row of three"),
        ({"wavelength_nm": np.array([640.0, 651.0, 660.0, 670.0])}, "has a step of 11 nm"),
        ({"peak_shift_nm_per_c": 2.05}, "peak_shift_nm_per_c is 2.05 nm/°C"),
        ({"peak_shift_nm_per_c": -2.05}, "peak_shift_nm_per_c is -2.05 nm/°C"),
    ],
)
def test_bad_leds_are_refused(arguments, message):
    with pytest.raises(ValueError, match=message):
        led_spectrum(**{"wavelength_nm": GRID_NM, "peak_nm": 660.0, "fwhm_nm": 20.0, **arguments})


@given(st.floats(400.0, 1100.0), st.floats(1.0, 2000.0))
def test_responsivity_of_a_number_is_a_positive_float_in_an_array_the_same(wavelength_nm, depth_um):
    responsivity = silicon_responsivity_a_per_w(wavelength_nm, depth_um)
    assert type(responsivity) is float
    assert 0.0 < responsivity < 1.0
    several = silicon_responsivity_a_per_w(np.full((2, 2), wavelength_nm), depth_um)
    np.testing.assert_allclose(several, np.full((2, 2), responsivity), rtol=1e-14)


@given(st.floats(400.0, 1100.0), st.floats(1.0, 1000.0))
def test_thicker_silicon_catches_more(wavelength_nm, depth_um):
    thin = silicon_responsivity_a_per_w(wavelength_nm, depth_um)
    thick = silicon_responsivity_a_per_w(wavelength_nm, 2.0 * depth_um)
    assert thin <= thick <= 2.0 * thin


@pytest.mark.parametrize("wavelength_nm", [400.0, 500.0, 660.0])
def test_thick_silicon_catches_all_that_its_surface_lets_in(wavelength_nm):
    """Fresnel at normal incidence with the complex index m = n + ik: |(m - 1) / (m + 1)|² is lost;
    the rest is one electron a photon, λ / 1239.84 nm (any textbook of optics)."""
    index = look_up("silicon", 1, wavelength_nm) + 1j * look_up("silicon", 2, wavelength_nm)
    lost = abs((index - 1.0) / (index + 1.0)) ** 2
    expected = (1.0 - lost) * wavelength_nm / 1239.84
    assert silicon_responsivity_a_per_w(wavelength_nm, 2000.0) == pytest.approx(expected, rel=1e-5)


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ((399.0,), "wavelength_nm is 399 nm; choose a value from 400 to 1100 nm"),
        ((660.0, 0.0), "thickness_um is 0 µm; choose a value from 1 to 2000 µm"),
    ],
)
def test_bad_diodes_are_refused(arguments, message):
    with pytest.raises(ValueError, match=message):
        silicon_responsivity_a_per_w(*arguments)
