"""Melanin as a filter against printed laws, and the gap between it and what studies found."""

import numpy as np
import pytest

from oximetry_workbook.body.light import INFRARED_FWHM_NM, RED_FWHM_NM
from oximetry_workbook.body.sites import SITES
from oximetry_workbook.teach.many_readings import ManyReadings
from oximetry_workbook.teach.questions import skin
from oximetry_workbook.teach.skin_tone import (
    DARK_FOUND,
    FOUND_DIFFERENCE,
    LIGHT_FOUND,
    SkinTone,
    filter_passes,
    mean_wavelength_nm,
)
from oximetry_workbook.teach.skin_tone_readings import error_points

EPIDERMIS_CM = 0.012


@pytest.mark.parametrize(
    ("nm", "melanosome_per_cm"), [(500.0, 689.0), (660.0, 262.0), (940.0, 76.6)]
)
def test_the_filter_is_jacques_law_over_a_double_epidermis(nm, melanosome_per_cm):
    """1.70e12 λ^−3.48 cm⁻¹: Jacques 1998, Optical absorption of melanin, omlc.org; figures worked
    from the printed law. Epidermis crossed twice, 60 µm each way: common practice."""
    assert SITES["finger"].epidermis_cm == EPIDERMIS_CM
    expected = np.exp(-0.3 * EPIDERMIS_CM * melanosome_per_cm)
    assert filter_passes(0.3, np.array([nm]))[0] == pytest.approx(expected, rel=2e-3)


@pytest.mark.parametrize("melanin", [0.1, 0.3, 0.45])
def test_the_mean_wavelength_moves_as_a_gaussian_behind_a_sloping_filter(melanin):
    """A Gaussian line behind a filter exp(−a(λ)) moves by −a'(λ) s² to first order: completing the
    square. s from the LEDs’ widths at half maximum; a from Jacques's law, whose slope
    is −3.48 a/λ."""
    peak, sd = np.array([660.0, 940.0]), np.array([RED_FWHM_NM, INFRARED_FWHM_NM]) / 2.3548
    loss = melanin * EPIDERMIS_CM * 1.70e12 * peak**-3.48
    expected = 3.48 * loss / peak * sd**2
    moved = mean_wavelength_nm(melanin) - mean_wavelength_nm(0.0)
    np.testing.assert_allclose(moved, expected, rtol=0.2)


def test_noise_follows_the_root_of_the_light():
    """Shot noise: the relative standard deviation of a Poisson count N is 1/√N (any textbook)."""
    for melanin in (0.0, 0.2, 0.45):
        state = SkinTone(melanin_fraction=melanin)
        np.testing.assert_allclose(state.noise_grown, state.light_left**-0.5, rtol=1e-6)


def test_the_figures_of_the_studies():
    """Bickler, Feiner and Severinghaus 2005, Anesthesiology 102:715, abstract: +3.56 ± 2.45 %
    (n = 29) and +0.37 ± 3.20 % (n = 58). Valbuena and others 2022, BMJ 378:e069775, abstract:
    19.6 % (18.6 to 20.6) and 15.6 % (15.0 to 16.1). Chesley and others 2022, Respir Care 67:1499,
    abstract: errors within a stay ranged over more than 4 points in 67 %, both signs in 75 %."""
    assert (DARK_FOUND.bias_points, DARK_FOUND.sd_points, DARK_FOUND.pairs) == (3.56, 2.45, 29)
    assert (LIGHT_FOUND.bias_points, LIGHT_FOUND.sd_points, LIGHT_FOUND.pairs) == (0.37, 3.20, 58)
    assert pytest.approx(3.19) == FOUND_DIFFERENCE
    assert skin.HIDDEN_IN_BLACK == (19.6, 18.6, 20.6)
    assert skin.HIDDEN_IN_WHITE == (15.6, 15.0, 16.1)
    within = (skin.WITHIN_POINTS, skin.WITHIN_SHARE_PERCENT, skin.BOTH_SIGNS_PERCENT)
    assert within == (4.0, 67.0, 75.0)


def test_the_red_pulse_shrinks_less_than_a_simulation_in_print_says():
    """Al-Halawani and others 2025, Sensors 25:372: from light to dark skin the red pulse over its
    steady light is 3 to 4 % smaller at 660 nm, less than 0.2 % at 940 nm. A filter in front takes
    nothing of it; the page gives both. R may move by no more than that study's."""
    light, dark = (
        SkinTone(melanin_fraction=m).ratios(np.array([97.0, 65.0])) for m in (0.03, 0.45)
    )
    assert np.all(np.abs(dark / light - 1.0) < 0.04)


def test_the_engine_does_not_reproduce_the_study_and_says_so():
    """The published difference, 3.19 points, lies far outside the engine's interval."""
    dark = SkinTone(melanin_fraction=0.45, arterial_saturation=0.65)
    found = ManyReadings(
        np.array([error_points(dark, s) - error_points(dark.light_skin, s) for s in range(20)])
    )
    assert found.mean + found.half_width < FOUND_DIFFERENCE - LIGHT_FOUND.sd_points / np.sqrt(58)
    assert abs(found.mean) < 0.3
