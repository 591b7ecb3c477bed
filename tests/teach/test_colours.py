"""Two samples of blood, a pair of wavelengths, and the window in tissue."""

import re

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from oximetry_workbook.body.blood import absorption_per_cm, molar_extinction
from oximetry_workbook.body.colour import blood_colour
from oximetry_workbook.teach.colours import (
    PAIR_SATURATION,
    BloodSamples,
    colours_sentence,
    contrast,
    pair_ratio,
    pair_sentence,
    pair_swing,
    red_light_passed,
    spectra_sentence,
    tissue_absorption_per_cm,
    window_sentence,
)

samples_of_blood = st.builds(
    BloodSamples,
    arterial_saturation=st.floats(0.0, 1.0),
    venous_saturation=st.floats(0.0, 1.0),
    depth_mm=st.floats(0.02, 5.0),
    first_nm=st.floats(600.0, 1000.0),
    second_nm=st.floats(600.0, 1000.0),
    extinction_table=st.sampled_from(["Prahl", "Zijlstra"]),
)


@given(samples_of_blood)
def test_any_samples_can_be_told(samples):
    for tell in (colours_sentence, spectra_sentence, pair_sentence):
        sentence = tell(samples)
        assert re.fullmatch(r"[A-Z][^<>{}\n]*\.", sentence)
        assert not re.search(r"\b(nan|None|inf)\b|\de[+-]?\d", sentence), sentence


def test_the_ratio_of_a_pair_by_hand():
    ratio = pair_ratio(660.0, 940.0)
    at_100 = molar_extinction("HbO2", 660.0) / molar_extinction("HbO2", 940.0)
    assert ratio[-1] == pytest.approx(at_100)
    assert ratio.shape == PAIR_SATURATION.shape
    assert pair_swing(660.0, 940.0) == pytest.approx(1.0 / pair_swing(940.0, 660.0))


def test_a_pair_at_the_crossing_is_called_useless():
    assert "hardly knows about oxygen" in pair_sentence(BloodSamples(first_nm=797, second_nm=797))
    assert "falls as oxygen falls" in pair_sentence(BloodSamples(first_nm=940, second_nm=660))


def test_colours_and_contrast_are_the_engines():
    samples = BloodSamples(venous_saturation=0.6, depth_mm=0.5)
    assert samples.venous_colour == blood_colour(0.6, 0.5)
    assert contrast(660.0).times == pytest.approx(3226.56 / 319.6)
    assert contrast(660.0).stronger == "without oxygen"
    assert contrast(940.0).stronger == "with oxygen"
    expected = np.exp(-absorption_per_cm(660.0, 0.6) * 0.05)
    assert red_light_passed(0.6, 0.5) == pytest.approx(expected)


def test_the_window_is_where_blood_and_water_take_least():
    parts = tissue_absorption_per_cm()
    wavelength, blood = parts["arterial blood"]
    total = blood + np.interp(wavelength, *parts["water"])
    least = wavelength[np.argmin(total)]
    assert f"near {least:.0f} nm" in window_sentence()
    assert 650.0 < least < 720.0


@pytest.mark.parametrize(
    ("field", "value"), [("depth_mm", 9.0), ("first_nm", 500.0), ("extinction_table", "x")]
)
def test_what_cannot_be_is_refused(field, value):
    with pytest.raises(ValueError, match=field):
        BloodSamples(**{field: value})
