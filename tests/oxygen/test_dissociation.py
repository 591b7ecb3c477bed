"""Properties of the dissociation curve, and what it refuses."""

import math
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from oximetry_workbook.oxygen.dissociation import (
    MMHG_PER_KPA,
    RANGES,
    p50_mmhg,
    po2_mmhg,
    saturation,
)


def within(name):
    low, high, _ = RANGES[name]
    return st.floats(low, high)


pressures_mmhg = within("po2_mmhg")
fractions = st.floats(0.0, 0.999)
bloods = st.fixed_dictionaries(
    {name: within(name) for name in ("ph", "temperature_c", "pco2_mmhg", "dpg_mmol_per_l")}
)


@given(pressures_mmhg, bloods)
def test_a_number_gives_a_fraction(po2, blood):
    fraction = saturation(po2, **blood)
    assert type(fraction) is float
    assert 0.0 <= fraction < 1.0


@given(pressures_mmhg, pressures_mmhg, bloods)
def test_more_pressure_never_means_less_saturation(first, second, blood):
    low, high = sorted((first, second))
    assert saturation(low, **blood) <= saturation(high, **blood)


@given(st.floats(1.0, 300.0), bloods)
def test_a_little_more_pressure_means_more_saturation(po2, blood):
    assert saturation(po2 * 1.01, **blood) > saturation(po2, **blood)


@given(st.floats(0.001, 300.0), bloods)
def test_the_pressure_comes_back(po2, blood):
    assert po2_mmhg(saturation(po2, **blood), **blood) == pytest.approx(po2, rel=1e-9)


@given(fractions, bloods)
def test_the_saturation_comes_back(fraction, blood):
    po2 = po2_mmhg(fraction, **blood)
    assert type(po2) is float
    if po2 <= RANGES["po2_mmhg"][1]:
        assert saturation(po2, **blood) == pytest.approx(fraction, rel=1e-9, abs=1e-12)


@given(st.integers(1, 760))
def test_the_equation_in_exact_arithmetic(po2):
    # Severinghaus 1979, equation 1, as printed
    exact = 1 / (Fraction(23_400, po2**3 + 150 * po2) + 1)
    assert saturation(po2) == pytest.approx(float(exact), rel=1e-13)


def test_no_oxygen_no_saturation():
    assert saturation(0.0) == 0.0
    assert po2_mmhg(0.0) == 0.0


@given(pressures_mmhg)
def test_kilopascals_are_another_way_to_say_it(po2):
    kpa = min(po2 / MMHG_PER_KPA, RANGES["po2_kpa"][1])
    assert saturation(po2_kpa=kpa) == pytest.approx(saturation(po2), rel=1e-12)


def test_the_kilopascal_is_the_defined_one():
    # 1 mmHg = 133.322387415 Pa (its definition: 13.5951 g/cm³ × 9.80665 m/s² × 1 mm)
    assert pytest.approx(1000 / 133.322387415, rel=1e-7) == MMHG_PER_KPA


@pytest.mark.parametrize(
    ("name", "lower", "higher", "to_the_right"),
    [
        ("ph", 7.2, 7.6, False),
        ("temperature_c", 34.0, 40.0, True),
        ("pco2_mmhg", 25.0, 60.0, True),
        ("dpg_mmol_per_l", 2.0, 8.0, True),
    ],
)
def test_acid_warmth_carbon_dioxide_and_dpg_let_oxygen_go(name, lower, higher, to_the_right):
    # the direction of each shift is in every physiology text (common practice)
    rises = p50_mmhg(**{name: higher}) > p50_mmhg(**{name: lower})
    assert rises is to_the_right
    assert (saturation(30.0, **{name: higher}) < saturation(30.0, **{name: lower})) is to_the_right


@given(bloods)
def test_half_saturation_is_at_p50(blood):
    assert saturation(p50_mmhg(**blood), **blood) == pytest.approx(0.5, rel=1e-12)


@given(bloods, fractions)
def test_a_shift_multiplies_every_pressure_alike(blood, fraction):
    factor = p50_mmhg(**blood) / p50_mmhg()
    assert po2_mmhg(fraction, **blood) == pytest.approx(factor * po2_mmhg(fraction), rel=1e-12)


def test_all_quantities_broadcast():
    po2 = np.linspace(10.0, 100.0, 7)
    ph = np.array([[7.2], [7.4], [7.6]])
    together = saturation(po2, ph=ph)
    assert together.shape == (3, 7)
    assert together[2, 4] == saturation(float(po2[4]), ph=7.6)
    assert po2_mmhg(np.full(5, 0.9), ph=ph).shape == (3, 5)
    assert p50_mmhg(ph=[7.2, 7.4]).shape == (2,)
    assert saturation([40, 60]).shape == (2,)
    assert saturation(np.array([])).shape == (0,)


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ({}, "neither of po2_mmhg and po2_kpa is given; give exactly one"),
        ({"po2_mmhg": 60.0, "po2_kpa": 8.0}, "both of po2_mmhg and po2_kpa is given"),
        ({"po2_mmhg": -1.0}, "po2_mmhg is -1 mmHg; choose a value from 0 to 760 mmHg"),
        ({"po2_mmhg": 761.0}, "po2_mmhg is 761 mmHg"),
        ({"po2_mmhg": math.nan}, "po2_mmhg is nan"),
        ({"po2_mmhg": [40.0, math.inf]}, "po2_mmhg is inf"),
        ({"po2_mmhg": "much"}, "po2_mmhg is 'much'; it must be a number"),
        ({"po2_kpa": 102.0}, "po2_kpa is 102 kPa; choose a value from 0 to 101.325 kPa"),
        ({"po2_mmhg": 60.0, "ph": 6.7}, "ph is 6.7; choose a value from 6.8 to 7.8"),
        ({"po2_mmhg": 60.0, "temperature_c": 98.6}, "temperature_c is 98.6 °C"),
        ({"po2_mmhg": 60.0, "pco2_mmhg": 5.3}, "pco2_mmhg is 5.3 mmHg"),
        ({"po2_mmhg": 60.0, "dpg_mmol_per_l": -0.1}, "dpg_mmol_per_l is -0.1 mmol/L"),
    ],
)
def test_blood_that_cannot_be_is_refused(arguments, message):
    with pytest.raises(ValueError, match=message):
        saturation(**arguments)


@pytest.mark.parametrize("fraction", [1.0, 97.0, -0.01, math.nan, [0.5, 1.0]])
def test_a_saturation_without_a_pressure_is_refused(fraction):
    with pytest.raises(ValueError, match="choose a fraction from 0 to below 1"):
        po2_mmhg(fraction)
