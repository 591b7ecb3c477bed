"""Calibration curves: kinds, inverses, bounds."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import make_interp_spline

from oximetry_workbook.meter.curve import TEXTBOOK, Curve, published_curves

RATIOS = st.floats(0.35, 2.5)
TABLE = Curve.table("points", [0.4, 0.7, 1.0, 1.6], [100, 93, 85, 70], "made up for the test")
RATIONAL = Curve.rational("rational", [81.4, -18.3], [0.734, 0.111], "made up for the test")
ALL = [*published_curves.values(), TABLE, RATIONAL]


@pytest.mark.parametrize("curve", ALL, ids=lambda curve: curve.name)
def test_scalar_in_scalar_out_array_in_array_out(curve):
    assert isinstance(curve(0.7), float)
    assert isinstance(curve.extrapolated(0.7), bool)
    assert isinstance(curve.ratio_at(90), float)
    grid = np.array([[0.5, 0.8], [1.1, np.nan]])
    assert curve(grid).shape == curve.extrapolated(grid).shape == grid.shape
    assert curve(grid)[0, 1] == curve(0.8)
    assert np.isnan(curve(grid)[1, 1])
    assert curve.extrapolated(grid)[1, 1]


@pytest.mark.parametrize("curve", ALL, ids=lambda curve: curve.name)
@given(ratio=RATIOS)
def test_ratio_at_undoes_the_curve(curve, ratio):
    assert curve.ratio_at(curve(ratio)) == pytest.approx(ratio, abs=1e-6)


@pytest.mark.parametrize("curve", ALL, ids=lambda curve: curve.name)
@given(ratios=st.tuples(RATIOS, RATIOS))
def test_saturation_falls_as_the_ratio_rises(curve, ratios):
    low, high = sorted(ratios)
    assert curve(low) >= curve(high)


@pytest.mark.parametrize("curve", ALL, ids=lambda curve: curve.name)
@given(ratio=st.floats(-1, 5))
def test_extrapolated_means_outside_the_valid_range(curve, ratio):
    assert curve.extrapolated(ratio) == (not 70 <= curve(ratio) <= 100)


def test_the_ends_of_the_valid_range_belong_to_it():
    line = Curve.polynomial("line", [110, -20], "made up", (70, 90))
    np.testing.assert_array_equal(line.extrapolated([0.99, 1, 2, 2.01]), [True, False, False, True])
    assert Curve.polynomial("whole", [100, -25], "made up", (0, 100)).valid_percent == (0, 100)


def test_curves_are_not_clipped():
    assert TEXTBOOK(0) == 110
    assert TEXTBOOK(5) == -15


def test_a_quadratic_is_inverted_on_its_falling_branch():
    curve = published_curves["94.845 + 30.354 R − 45.06 R²"]
    # 94.845 % is reached at R = 0, rising, and again at 30.354/45.060, falling
    assert curve.ratio_at(94.845) == pytest.approx(30.354 / 45.060)
    assert np.isnan(curve.ratio_at(100))  # its vertex stays below 100 %


def test_of_several_ratios_the_smallest_that_falls_is_meant():
    """80 % is met at 1, 2 and 3, falling at the first and the last (worked by hand)."""
    wave = Curve.polynomial("wave", [86, -11, 6, -1], "80 − (R − 1)(R − 2)(R − 3)")
    assert wave.ratio_at(80) == pytest.approx(1.0)


def test_a_pair_of_complex_roots_is_no_ratio():
    """80 − ((R − 0.5)² + 0.25)(R − 2): 80 % at R = 2 and at 0.5 ± 0.5 i (worked by hand)."""
    curve = Curve.polynomial("bend", [81, -2.5, 3, -1], "made up for the test")
    assert curve.ratio_at(80) == pytest.approx(2.0)


def test_a_denominator_may_change_its_sign():
    """(100 − 300 R)/(1 − 2 R) falls through 50 % at R = 0.25 (worked by hand)."""
    curve = Curve.rational("steep", [100, -300], [1, -2], "made up for the test")
    assert curve.ratio_at(50) == pytest.approx(0.25)


def test_a_curve_that_rises_has_no_ratio_to_give():
    assert np.isnan(Curve.polynomial("rising", [50, 0.5], "made up").ratio_at(50.25))


def test_no_ratio_is_negative():
    assert TEXTBOOK.ratio_at(110) == 0
    assert np.isnan(TEXTBOOK.ratio_at(111))
    assert np.isnan(TEXTBOOK.ratio_at(np.nan))


@given(st.floats(-1, 4))
def test_table_is_scipys_straight_spline(ratio):
    # Reference: scipy's B-spline of degree 1, which goes straight on at both ends.
    spline = make_interp_spline([0.4, 0.7, 1.0, 1.6], [100, 93, 85, 70], k=1)
    assert TABLE(ratio) == pytest.approx(float(spline(ratio)))


def test_a_rising_table_has_an_inverse_too():
    swapped = Curve.table("swapped", [0.6, 1.0, 2.5], [70, 85, 100], "made up for the test")
    assert swapped.ratio_at(77.5) == pytest.approx(0.8)


def test_published_curves_cannot_be_changed():
    with pytest.raises(TypeError):
        published_curves["mine"] = TEXTBOOK
    assert all(name == curve.name and curve.source for name, curve in published_curves.items())


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: Curve.polynomial("c", [85.0], "s"), "constant"),
        (lambda: Curve.polynomial("c", [85.0, 0.0], "s"), "constant"),
        (lambda: Curve.polynomial("c", [110, np.inf], "s"), "finite"),
        (lambda: Curve.polynomial("c", ["a"], "s"), "numerator"),
        (lambda: Curve.rational("c", [1, 2], [0, 0], "s"), "denominator is zero"),
        (lambda: Curve.table("c", [0.4, 0.4], [100, 90], "s"), "ratio does not rise at point 1"),
        (lambda: Curve.table("c", [0.4, 0.5, 0.6], [100, 90, 95], "s"), "percent .* at point 2"),
        (lambda: Curve.table("c", [0.4], [100], "s"), "2 or more"),
        (lambda: Curve.table("c", [0.4, 0.5], [100, 90, 80], "s"), "same length"),
        (lambda: Curve.table("c", [0.4, np.nan], [100, 90], "s"), "finite"),
        (lambda: Curve.table("c", [0.4, 0.5], [100, np.nan], "s"), "finite"),
        (
            lambda: Curve.table("c", [0.4, 0.5, 0.5], [9, 8, 7], "s"),
            "ratio does not rise at point 2",
        ),
        (lambda: Curve.polynomial("c", [110, -25], "s", (100, 70)), "valid_percent"),
        (lambda: Curve.polynomial("c", [110, -25], "s", (70, 70)), "valid_percent"),
        (lambda: Curve.polynomial("c", [110, -25], "s", (70, 100.5)), "valid_percent"),
        (lambda: Curve.polynomial("c", [110, -25], "s", (-0.5, 100)), "valid_percent"),
        (lambda: TEXTBOOK("R"), "^ratio"),
        (lambda: TEXTBOOK.extrapolated("R"), "^ratio"),
        (lambda: TEXTBOOK.ratio_at("S"), "^percent"),
        (lambda: Curve.table("c", ["R"], [1.0], "s"), "^ratio"),
        (lambda: Curve.table("c", [1.0], ["S"], "s"), "^percent"),
        (lambda: Curve.table("c", [1, 2, 3], [9, 8, 8.5], "s"), "go on in one direction"),
        (lambda: Curve.polynomial("c", [[110, -25]], "s"), "numerator"),
        (lambda: Curve.polynomial("c", [], "s"), "numerator"),
    ],
)
def test_bad_curves_are_named(make, message):
    with pytest.raises(ValueError, match=message):
        make()


def test_a_constant_term_of_nought_stays():
    assert Curve.polynomial("c", [0.0, 50.0], "s")(1.5) == pytest.approx(75.0)
    assert Curve.rational("c", [90.0], [0.0, 1.0], "s")(1.5) == pytest.approx(60.0)


def test_a_table_keeps_its_points():
    points = Curve.table("c", [0.4, 1.0], [100, 85], "s").numbers
    assert points == {"ratio": (0.4, 1.0), "percent": (100.0, 85.0)}
    with pytest.raises(TypeError):
        points["ratio"] = (0.4, 2.0)


def test_a_polynomial_keeps_its_name_and_source():
    curve = Curve.polynomial("Mine", [110.0, -25.0], source="a lecture")
    assert (curve.name, curve.source) == ("Mine", "a lecture")
