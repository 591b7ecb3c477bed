"""Properties of content and delivery, and what they refuse."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from oximetry_workbook.oxygen.content import (
    RANGES,
    oxygen_content_ml_per_dl,
    oxygen_delivery_ml_per_min,
)

shares = st.floats(0.0, 1.0)
halves = st.floats(0.0, 0.5)
pressures = st.floats(0.0, 760.0)
haemoglobins = st.floats(0.0, 250.0)


@given(shares, pressures, haemoglobins, halves, halves)
def test_a_number_gives_a_number(saturation, po2, haemoglobin, co, met):
    content = oxygen_content_ml_per_dl(saturation, po2, haemoglobin, co, met)
    assert type(content) is float
    assert 0.0 <= content <= RANGES["content_ml_per_dl"][1]


@given(shares, haemoglobins, halves, halves)
def test_dyshaemoglobins_count_as_haemoglobin_that_is_not_there(saturation, haemoglobin, co, met):
    left = oxygen_content_ml_per_dl(saturation, 0.0, haemoglobin * (1.0 - co - met))
    content = oxygen_content_ml_per_dl(saturation, 0.0, haemoglobin, co, met)
    assert content == pytest.approx(left, abs=1e-9)


@given(shares, pressures, haemoglobins)
def test_bound_and_dissolved_add_up(saturation, po2, haemoglobin):
    bound = oxygen_content_ml_per_dl(saturation, 0.0, haemoglobin)
    dissolved = oxygen_content_ml_per_dl(0.0, po2, haemoglobin)
    assert oxygen_content_ml_per_dl(saturation, po2, haemoglobin) == pytest.approx(
        bound + dissolved
    )


@given(st.floats(0.0, 40.0), st.floats(0.0, 40.0))
def test_delivery_grows_with_both(content, output):
    delivery = oxygen_delivery_ml_per_min(content, output)
    assert type(delivery) is float
    assert oxygen_delivery_ml_per_min(content, output / 2.0) == pytest.approx(delivery / 2.0)
    assert oxygen_delivery_ml_per_min(content / 3.0, output) == pytest.approx(delivery / 3.0)


def test_arrays_broadcast():
    content = oxygen_content_ml_per_dl(np.array([0.5, 1.0]), 100.0, np.array([[100.0], [150.0]]))
    assert content.shape == (2, 2)
    assert np.all(np.diff(content, axis=0) > 0.0)
    assert np.all(np.diff(content, axis=1) > 0.0)


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"saturation": 97.0}, "saturation is 97; choose a value from 0 to 1"),
        ({"po2_mmhg": -1.0}, "po2_mmhg is -1 mmHg; choose a value from 0 to 760 mmHg"),
        ({"haemoglobin_g_per_l": np.nan}, "haemoglobin_g_per_l is nan g/L"),
        ({"haemoglobin_g_per_l": "much"}, "haemoglobin_g_per_l is 'much'; it must be a number"),
        ({"carboxyhaemoglobin": 1.2}, "carboxyhaemoglobin is 1.2"),
        ({"carboxyhaemoglobin": 0.6, "methaemoglobin": 0.6}, "carboxyhaemoglobin \\+ methaemog"),
    ],
)
def test_wrong_blood_is_refused(wrong, words):
    with pytest.raises(ValueError, match=words):
        oxygen_content_ml_per_dl(**({"saturation": 0.9, "po2_mmhg": 60.0} | wrong))


def test_wrong_output_is_refused():
    with pytest.raises(ValueError, match="cardiac_output_l_per_min is 5000 L/min"):
        oxygen_delivery_ml_per_min(20.0, 5000.0)
