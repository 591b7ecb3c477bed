"""Properties of the curve beside carbon monoxide, and what it refuses."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from oximetry_workbook.oxygen.carbon_monoxide import po2_beside_co_mmhg, saturation_beside_co
from oximetry_workbook.oxygen.dissociation import po2_mmhg, saturation

pressures = st.floats(0.0, 760.0)
taken = st.floats(0.0, 0.6)
phs = st.floats(6.8, 7.8)


@given(pressures, taken, phs)
def test_a_number_gives_a_fraction(po2, co, ph):
    fraction = saturation_beside_co(po2, co, ph=ph)
    assert type(fraction) is float
    assert 0.0 <= fraction < 1.0


@given(pressures, phs)
def test_without_carbon_monoxide_it_is_the_ordinary_curve(po2, ph):
    ordinary = saturation(po2, ph=ph)
    assert saturation_beside_co(po2, 0.0, ph=ph) == ordinary
    searched = saturation_beside_co(np.array([po2]), np.array([0.0]), ph=ph)
    assert searched == pytest.approx(np.array([ordinary]), abs=1e-9)


@given(st.floats(0.0, 0.99), taken, phs)
def test_the_saturation_comes_back(fraction, co, ph):
    po2 = po2_beside_co_mmhg(fraction, co, ph=ph)
    assert saturation_beside_co(po2, co, ph=ph) == pytest.approx(fraction, abs=1e-9)


@given(st.floats(5.0, 150.0), taken, phs)
def test_haldanes_law_holds(po2, co, ph):
    """What binds in all is what the ordinary curve gives at the pressure that stands for both."""
    bound = (1.0 - co) * saturation_beside_co(po2, co, ph=ph)
    standing_for_both = po2 * (bound + co) / bound
    assert po2_mmhg(bound + co, ph=ph) == pytest.approx(standing_for_both, rel=1e-5)


@given(st.floats(0.01, 0.99), taken, taken)
def test_more_carbon_monoxide_never_moves_the_curve_to_the_right(fraction, first, second):
    less, more = sorted((first, second))
    assert po2_beside_co_mmhg(fraction, more) <= po2_beside_co_mmhg(fraction, less) * (1 + 1e-12)


def test_arrays_broadcast():
    curve = saturation_beside_co(np.linspace(0.0, 150.0, 16), np.array([[0.0], [0.3]]))
    assert curve.shape == (2, 16)
    assert np.all(curve[1, 1:] > curve[0, 1:])
    assert np.all(np.diff(curve, axis=1) > 0.0)


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"carboxyhaemoglobin": 30.0}, "carboxyhaemoglobin is 30; choose a value from 0 to 0.6"),
        ({"po2_mmhg": -1.0}, "po2_mmhg is -1 mmHg"),
        ({"ph": 9.0}, "ph is 9"),
    ],
)
def test_wrong_blood_is_refused(wrong, words):
    with pytest.raises(ValueError, match=words):
        saturation_beside_co(**({"po2_mmhg": 60.0, "carboxyhaemoglobin": 0.1} | wrong))


def test_full_saturation_is_refused():
    with pytest.raises(ValueError, match="saturation is 1"):
        po2_beside_co_mmhg(1.0, 0.1)
