"""Blood on board: what it computes, and sentences that are right in every state."""

import re

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from oximetry_workbook.body.quantities import specs_of
from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.oxygen.dissociation import p50_mmhg, saturation
from oximetry_workbook.teach.oxygen_on_board import (
    SHOWN_MMHG,
    STANDARD,
    OxygenOnBoard,
    content_sentence,
    dissociation_sentence,
    main_sentence,
)
from oximetry_workbook.teach.reading import read

SENTENCES = (main_sentence, dissociation_sentence, content_sentence)

any_blood = st.builds(
    OxygenOnBoard,
    **{name: st.floats(spec.low, spec.high) for name, spec in specs_of(OxygenOnBoard).items()},
)


@given(any_blood)
def test_all_is_finite_and_said(blood):
    for array in (blood.curve_percent, blood.content_curve_ml_per_dl):
        assert array.shape == SHOWN_MMHG.shape
        assert np.all(np.isfinite(array))
        assert np.all(np.diff(array) > -1e-7)
    assert 0.0 <= blood.oximeter_percent <= 100.0
    assert 0.0 < blood.p50_mmhg < blood.shoulder_mmhg
    for sentence in SENTENCES:
        words = sentence(blood)
        assert words.endswith(".")
        assert not re.search(r"nan|None|inf|e-|-\d", words)
    assert "saturation only" in main_sentence(blood)


@given(any_blood)
def test_the_point_lies_on_its_curves(blood):
    on_curve = np.interp(blood.po2_mmhg, SHOWN_MMHG, blood.curve_percent)
    assert on_curve == pytest.approx(100.0 * blood.saturation, abs=0.5)
    on_content = np.interp(blood.po2_mmhg, SHOWN_MMHG, blood.content_curve_ml_per_dl)
    assert on_content == pytest.approx(blood.content_ml_per_dl, abs=0.15)


def test_standard_blood_is_that_of_the_engine():
    assert STANDARD.saturation == saturation(95.0)
    assert STANDARD.p50_mmhg == pytest.approx(p50_mmhg())
    assert STANDARD.saturation_at(STANDARD.shoulder_mmhg) == pytest.approx(0.9)


@pytest.mark.parametrize("change", [{}, {"carboxyhaemoglobin": 0.3}, {"po2_mmhg": 45.0}])
def test_the_oximeter_is_that_of_the_bench_without_noise(change):
    blood = OxygenOnBoard(**change)
    scenario = Scenario(
        arterial_saturation=blood.saturation,
        carboxyhaemoglobin=blood.carboxyhaemoglobin,
        noise_percent=0.0,
    )
    shown = read(scenario).measurement.spo2_percent
    assert blood.oximeter_percent == pytest.approx(shown, abs=1.0)


def test_anaemia_hides_from_the_oximeter():
    anaemic = OxygenOnBoard(haemoglobin_g_per_l=75.0)
    assert abs(anaemic.oximeter_percent - STANDARD.oximeter_percent) < 1.5
    assert anaemic.content_ml_per_dl == pytest.approx(0.51 * STANDARD.content_ml_per_dl, rel=0.01)
    assert "51 % of what standard blood does" in main_sentence(anaemic)


def test_carbon_monoxide_hides_from_the_oximeter():
    poisoned = OxygenOnBoard(carboxyhaemoglobin=0.4)
    assert poisoned.oximeter_percent > 90.0
    assert poisoned.carrying_percent < 60.0
    assert "carbon monoxide" in main_sentence(poisoned)
    assert "59 % carries oxygen (fractional saturation)" in main_sentence(poisoned)
    assert "99.0 % does (functional" in main_sentence(poisoned)
    assert "carbon monoxide" not in main_sentence(STANDARD)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({}, "as in standard blood"),
        ({"ph": 7.2}, "to the right"),
        ({"paco2_mmhg": 80.0}, "to the right"),
        ({"temperature_c": 40.0}, "to the right"),
        ({"dpg_mmol_per_l": 8.0}, "to the right"),
        ({"ph": 7.6}, "to the left"),
        ({"temperature_c": 33.0}, "to the left"),
        ({"carboxyhaemoglobin": 0.2}, "to the left"),
        ({"haemoglobin_g_per_l": 80.0}, "as in standard blood"),
    ],
)
def test_shifts_are_told(change, words):
    assert words in dissociation_sentence(OxygenOnBoard(**change))


@pytest.mark.parametrize(("po2", "words"), [(95.0, "On the plateau"), (45.0, "On the slope")])
def test_plateau_and_slope_are_told(po2, words):
    assert dissociation_sentence(OxygenOnBoard(po2_mmhg=po2)).startswith(words)


def test_no_number_is_promised_below_the_validated_range():
    assert "no meter is validated" in main_sentence(OxygenOnBoard(po2_mmhg=30.0))
    assert "no meter is validated" not in main_sentence(OxygenOnBoard(po2_mmhg=60.0))


@given(any_blood)
def test_delivery_is_content_times_output(blood):
    litre_ml = 10.0 * blood.content_ml_per_dl
    assert blood.delivery_ml_per_min == pytest.approx(litre_ml * blood.cardiac_output_l_per_min)


def test_wrong_values_are_refused():
    with pytest.raises(ValueError, match=r"carboxyhaemoglobin is 40; .*write 0\.4 for 40 %"):
        OxygenOnBoard(carboxyhaemoglobin=40)
