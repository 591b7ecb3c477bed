"""Altitude: what it computes, and sentences that are right in every state."""

import re

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from oximetry_workbook.body.quantities import specs_of
from oximetry_workbook.oxygen.altitude import alveolar_po2_mmhg, barometric_pressure_mmhg
from oximetry_workbook.oxygen.dissociation import saturation
from oximetry_workbook.teach.altitude import (
    MEASURED_M,
    MEASURED_PERCENT,
    SHOWN_M,
    UNCHANGED,
    Ascent,
    main_sentence,
    pressures_sentence,
    saturation_sentence,
)

SENTENCES = (main_sentence, saturation_sentence, pressures_sentence)

any_ascent = st.builds(
    Ascent, **{name: st.floats(spec.low, spec.high) for name, spec in specs_of(Ascent).items()}
)


@given(any_ascent)
def test_all_is_finite_and_said(ascent):
    curves = ascent.pressure_curves_mmhg
    assert curves.shape == (3, SHOWN_M.size)
    assert np.all(np.isfinite(curves))
    assert np.all(np.diff(curves, axis=0) <= 0.0)
    assert np.all(np.diff(ascent.curve_percent) <= 1e-9)
    for sentence in SENTENCES:
        words = sentence(ascent)
        assert words.endswith(".")
        assert not re.search(r"nan|None|inf|e-|-\d", words)


@given(any_ascent)
def test_the_points_lie_on_their_curves(ascent):
    found = [np.interp(ascent.altitude_m, SHOWN_M, each) for each in ascent.pressure_curves_mmhg]
    steps = [ascent.inspired_mmhg, ascent.alveolar_mmhg, ascent.arterial_mmhg]
    np.testing.assert_allclose(found, steps, atol=0.2)
    shown = np.interp(ascent.altitude_m, SHOWN_M, ascent.curve_percent)
    assert shown == pytest.approx(ascent.saturation_percent, abs=1.0)


def test_the_way_of_oxygen_is_that_of_the_engine():
    ascent = Ascent(altitude_m=3000.0, paco2_mmhg=34.0, ph=7.45, difference_mmhg=8.0)
    alveolar = alveolar_po2_mmhg(barometric_pressure_mmhg(3000.0), 34.0, 0.21)
    expected = 100.0 * saturation(alveolar - 8.0, ph=7.45, pco2_mmhg=34.0)
    assert ascent.saturation_percent == pytest.approx(expected)


def test_measured_people_lie_between_calm_and_hard_breathing():
    """Nobody measured breathed as at sea level, nor down to a PaCO2 of 12 mmHg below 7500 m
    (13.3 mmHg was the mean at 8400 m: Grocott and others 2009)."""
    calm = np.interp(MEASURED_M, SHOWN_M, UNCHANGED.curve_percent)
    hard = np.interp(MEASURED_M, SHOWN_M, Ascent(paco2_mmhg=12.0, ph=7.55).curve_percent)
    assert np.all(calm < MEASURED_PERCENT)
    assert np.all(hard > MEASURED_PERCENT)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"altitude_m": 0.0}, "At sea level"),
        ({"altitude_m": 0.0}, "breathing as at sea level."),
        ({"altitude_m": 4000.0}, "Who stays here breathes more"),
        ({"altitude_m": 4000.0, "paco2_mmhg": 30.0}, "They breathe more"),
        ({"altitude_m": 8850.0}, "nobody could breathe like this"),
        ({"altitude_m": 8850.0, "paco2_mmhg": 12.0}, "no oxygen left at all"),
        ({"altitude_m": 0.0, "paco2_mmhg": 80.0}, "They breathe less"),
        ({"altitude_m": 0.0, "paco2_mmhg": 80.0, "oxygen_fraction": 0.3}, "hides it"),
    ],
)
def test_breathing_is_told(change, words):
    assert words in main_sentence(Ascent(**change))


@pytest.mark.parametrize("altitude_m", [2500.0, 5000.0])
def test_a_loss_beyond_the_usual_is_named_as_the_cause(altitude_m):
    ill = Ascent(altitude_m=altitude_m, difference_mmhg=60.0)
    assert ill.alveolar_mmhg > 20.0
    assert "Less must be lost" in main_sentence(ill)
    assert "lost before the arteries" in pressures_sentence(ill)
    assert "room" in main_sentence(Ascent(altitude_m=8850.0, difference_mmhg=60.0))


def test_extra_oxygen_hides_shallow_breathing():
    """Both by the same equation: hypoventilation shows on air and hides on 30 % oxygen."""
    on_air = Ascent(altitude_m=0.0, paco2_mmhg=80.0)
    on_oxygen = Ascent(altitude_m=0.0, paco2_mmhg=80.0, oxygen_fraction=0.3)
    assert on_air.saturation_percent < 90.0 < 95.0 < on_oxygen.saturation_percent
    assert "hides" not in main_sentence(on_air)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({}, "falls below 90 % near"),
        ({"oxygen_fraction": 1.0}, "stays above 90 %"),
        ({"paco2_mmhg": 80.0}, "below 90 % even at the sea"),
    ],
)
def test_the_shoulder_is_told(change, words):
    assert words in saturation_sentence(Ascent(**change))


def test_wrong_values_are_refused():
    with pytest.raises(ValueError, match="altitude_m is 12000; allowed is 0 to 8850 m"):
        Ascent(altitude_m=12_000.0)
