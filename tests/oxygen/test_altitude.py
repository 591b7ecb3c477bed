"""Properties of air pressure and alveolar oxygen, and what they refuse."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from oximetry_workbook.oxygen.altitude import (
    alveolar_po2_mmhg,
    barometric_pressure_mmhg,
    inspired_po2_mmhg,
)

heights = st.floats(0.0, 11_000.0)
pressures = st.floats(47.0, 2000.0)
fractions = st.floats(0.0, 1.0)
carbon_dioxides = st.floats(0.0, 150.0)


@given(heights, heights)
def test_pressure_falls_with_height(first, second):
    low, high = sorted((first, second))
    assert type(barometric_pressure_mmhg(low)) is float
    assert barometric_pressure_mmhg(high) <= barometric_pressure_mmhg(low)


@given(pressures, carbon_dioxides, fractions)
def test_the_lungs_hold_no_more_than_the_windpipe(pressure, paco2, fraction):
    alveolar = alveolar_po2_mmhg(pressure, paco2, fraction)
    assert type(alveolar) is float
    assert 0.0 <= alveolar <= inspired_po2_mmhg(pressure, fraction)


@given(pressures, carbon_dioxides)
def test_in_pure_oxygen_carbon_dioxide_takes_just_its_own_room(pressure, paco2):
    """With no nitrogen, oxygen, carbon dioxide and water fill the lungs, whatever R is."""
    expected = max(pressure - 47.0 - paco2, 0.0)
    assert alveolar_po2_mmhg(pressure, paco2, 1.0) == pytest.approx(expected, abs=1e-9)


@given(st.floats(300.0, 800.0), st.floats(1.0, 40.0))
def test_gas_balance_in_the_lungs(pressure, paco2):
    """R is carbon dioxide given off over oxygen taken up, nitrogen in = nitrogen out.

    The equation solved the other way round, from volumes: for one volume of dry gas breathed out,
    nitrogen tells how much was breathed in.
    """
    dry = pressure - 47.0
    alveolar = alveolar_po2_mmhg(pressure, paco2)
    oxygen, carbon_dioxide = alveolar / dry, paco2 / dry
    breathed_in = (1.0 - oxygen - carbon_dioxide) / (1.0 - 0.2095)
    taken_up = 0.2095 * breathed_in - oxygen
    if alveolar > 0.0:
        assert carbon_dioxide / taken_up == pytest.approx(0.8)


def test_arrays_broadcast():
    pressure = barometric_pressure_mmhg(np.array([0.0, 5000.0]))
    alveolar = alveolar_po2_mmhg(pressure, np.array([[40.0], [20.0]]))
    assert alveolar.shape == (2, 2)
    assert np.all(np.diff(alveolar, axis=1) < 0.0)
    assert np.all(np.diff(alveolar, axis=0) > 0.0)


def test_no_less_than_nothing():
    assert alveolar_po2_mmhg(236.0, 40.0) == 0.0


@pytest.mark.parametrize("height", [-1.0, 11_001.0, np.nan])
def test_heights_out_of_range_are_refused(height):
    with pytest.raises(ValueError, match=r"altitude_m is .*; choose a value from 0 to 11000 m"):
        barometric_pressure_mmhg(height)


def test_percent_for_a_fraction_is_refused():
    with pytest.raises(ValueError, match="oxygen_fraction is 21; choose a value from 0 to 1"):
        inspired_po2_mmhg(760.0, 21.0)


def test_kilopascals_for_millimetres_are_refused_where_they_show():
    with pytest.raises(ValueError, match=r"pressure_mmhg is 36\.3 mmHg"):
        alveolar_po2_mmhg(36.3)
    with pytest.raises(ValueError, match="paco2_mmhg is -5 mmHg"):
        alveolar_po2_mmhg(760.0, -5.0)
