"""Calibration curves against what is printed about them.

Absorption: Zijlstra, Buursma and van Assendelft, Visible and Near Infrared Absorption Spectra of
Human and Animal Haemoglobin, 2000, 17-wavelength series, L/(mmol(haem) cm) at 660 and 940 nm.
"""

import numpy as np
import pytest

from oximetry_workbook.meter.curve import Curve, published_curves

HBO2 = np.array([0.080, 0.294])
HHB = np.array([0.814, 0.183])
COHB = np.array([0.061, 0.001])
METHB = np.array([0.819, 0.729])

# S = (HHb_r − R HHb_i)/((HHb_r − HbO2_r) + R (HbO2_i − HHb_i)): Beer and Lambert, equal paths
BEER_LAMBERT = Curve.rational(
    "Beer–Lambert",
    100 * np.array([HHB[0], -HHB[1]]),
    [HHB[0] - HBO2[0], HBO2[1] - HHB[1]],
    "Zijlstra 2000",
)
TEXTBOOK = published_curves["textbook line 110 − 25 R"]


def ratio_of(**fractions):
    species = {"hbo2": HBO2, "hhb": HHB, "cohb": COHB, "methb": METHB}
    red, infrared = sum(share * species[name] for name, share in fractions.items())
    return red / infrared


@pytest.mark.parametrize(("ratio", "percent"), [(0.4, 100), (1.0, 85), (2.0, 60), (2.4, 50)])
def test_textbook_line(ratio, percent):
    # R 1 for 85 %: Royal College of Emergency Medicine, learning module on methaemoglobinaemia.
    # R 0.4 for 100 %: teaching texts (common practice, from memory).
    assert TEXTBOOK(ratio) == percent
    assert TEXTBOOK.ratio_at(percent) == pytest.approx(ratio)


@pytest.mark.parametrize("name", published_curves)
def test_published_curves_are_valid_where_volunteers_are_desaturated(name):
    # FDA guidance of 4 March 2013, docket FDA-2007-D-0205: accuracy is shown over 70 to 100 %.
    assert published_curves[name].valid_percent == (70.0, 100.0)


def test_published_curves_agree_near_full_saturation_and_part_below():
    # Printed coefficients, worked by hand at R = 0.5 and R = 1: four curves, several points apart.
    at_half = [curve(0.5) for curve in published_curves.values()]
    at_one = [curve(1.0) for curve in published_curves.values()]
    np.testing.assert_allclose(at_half, [97.5, 98.18, 95.76, 98.76], atol=0.005)
    np.testing.assert_allclose(at_one, [85.0, 81.46, 79.63, 80.14], atol=0.005)


@pytest.mark.parametrize("saturation", [0.0, 0.5, 0.7, 0.85, 1.0])
def test_beer_lambert_curve_undoes_the_mixture(saturation):
    ratio = ratio_of(hbo2=saturation, hhb=1 - saturation)
    assert BEER_LAMBERT(ratio) == pytest.approx(100 * saturation)
    assert BEER_LAMBERT.ratio_at(100 * saturation) == pytest.approx(ratio)


def test_methaemoglobin_turns_at_seventy_percent():
    # Zijlstra 1991, Clinical Chemistry 37:1633: with methaemoglobin readings move towards some
    # 70 %, where they stay; 35 % of it brings 100 down to 82.5 (worked from the table above).
    assert round(BEER_LAMBERT(ratio_of(methb=1))) in (70, 71)
    assert BEER_LAMBERT(ratio_of(methb=0.35, hbo2=0.65)) == pytest.approx(82.5, abs=0.05)
    turning = BEER_LAMBERT(ratio_of(methb=1)) / 100
    mixed = ratio_of(methb=0.35, hbo2=0.65 * turning, hhb=0.65 * (1 - turning))
    assert BEER_LAMBERT(mixed) == pytest.approx(100 * turning)


def test_carbon_monoxide_hides_from_the_textbook_line():
    # Barker and Tremper 1987, Anesthesiology 66:677: meters read over 90 % with under 30 % HbO2.
    assert TEXTBOOK(ratio_of(cohb=0.71, hbo2=0.29)) > 90
