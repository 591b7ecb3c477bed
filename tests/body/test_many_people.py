"""Many people at once: the same numbers as one person after another, and what is refused."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from oximetry_workbook.body.calibration import small_pulse_ratio
from oximetry_workbook.body.many_people import (
    PERSONAL,
    ROWS_AT_ONCE,
    many_people_noise_scales,
    many_people_ratios,
)
from oximetry_workbook.body.probe import Probe
from oximetry_workbook.body.scenario import SPECS, Scenario
from oximetry_workbook.body.sensor import noise_scale


@st.composite
def crowds(draw):
    """Fields of three people, in any selection, and what they share."""
    names = draw(st.lists(st.sampled_from(PERSONAL), min_size=1, unique=True))
    highest = {"carboxyhaemoglobin": 0.4, "methaemoglobin": 0.4}  # together at most 0.9
    people = {
        name: draw(
            st.lists(
                st.floats(SPECS[name].low, highest.get(name, SPECS[name].high)),
                min_size=3,
                max_size=3,
            )
        )
        for name in names
    }
    common = {name: draw(st.sampled_from(SPECS[name].options)) for name in ("site", "varnish")}
    common["dye"] = draw(st.sampled_from(SPECS["dye"].options))
    common["led_temperature_c"] = draw(st.floats(0.0, 60.0))
    common["extinction_table"] = draw(st.sampled_from(SPECS["extinction_table"].options))
    return people, Scenario(**common)


@settings(max_examples=60)
@given(crowds(), st.lists(st.floats(0.4, 1.0), min_size=1, max_size=3))
def test_many_at_once_are_those_one_by_one(crowd, saturation):
    people, common = crowd
    each = [common.replace(**{k: v[i] for k, v in people.items()}) for i in range(3)]
    slow = [[small_pulse_ratio(who, s) for s in saturation] for who in each]
    np.testing.assert_allclose(many_people_ratios(people, saturation, common), slow, rtol=1e-9)
    noise = [
        [
            noise_scale(now, Probe(now).log_light_at_rest())
            for now in (who.replace(arterial_saturation=s) for s in saturation)
        ]
        for who in each
    ]
    many = many_people_noise_scales(people, saturation, common)
    np.testing.assert_allclose(many, noise, rtol=1e-9)


def test_blocks_of_rows_join_in_order():
    """More rows than are reckoned at once, and no whole number of blocks."""
    thickness = np.linspace(0.7, 1.5, ROWS_AT_ONCE // 2 + 7)
    saturation = np.array([1.0, 0.8, 0.6])
    together = many_people_ratios({"thickness_scale": thickness}, saturation)
    assert together.shape == (thickness.size, 3)
    for person in (0, 340, 341, thickness.size - 1):
        alone = many_people_ratios({"thickness_scale": thickness[[person]]}, saturation)
        np.testing.assert_allclose(together[person], alone[0], rtol=1e-9)


def test_each_person_may_have_saturations_of_their_own():
    people = {"blood_volume_scale": [0.5, 1.0, 2.0]}
    same = many_people_ratios(people, [0.9, 0.8, 0.7])
    own = many_people_ratios(people, [[0.9], [0.8], [0.7]])
    np.testing.assert_allclose(own[:, 0], np.diag(same), rtol=1e-12)


@pytest.mark.parametrize(
    ("people", "saturation", "message"),
    [
        ({"age": [30.0]}, [0.9], "unknown field 'age'; people may differ in blood_volume_scale"),
        ({"site": ["ear"]}, [0.9], "unknown field 'site'"),
        ({"melanin_fraction": [0.1, 0.6]}, [0.9], "melanin_fraction is 0.6; choose a value from 0"),
        ({"melanin_fraction": [np.nan]}, [0.9], "melanin_fraction is nan"),
        ({"red_peak_nm": [500.0]}, [0.9], "red_peak_nm is 500 nm; choose a value from .* nm$"),
        ({"melanin_fraction": ["dark"]}, [0.9], "melanin_fraction is .*give a number"),
        ({}, [0.9], "people has columns of shape {}; give one or more"),
        ({"melanin_fraction": []}, [0.9], "give one or more"),
        ({"melanin_fraction": 0.1}, [0.9], "give one or more, each a row"),
        ({"melanin_fraction": [0.1], "thickness_scale": [1.0, 1.1]}, [0.9], "as many numbers"),
        ({"melanin_fraction": [0.1]}, [1.2], "saturation is 1.2"),
    ],
)
def test_what_is_refused_is_named(people, saturation, message):
    for reckon in (many_people_ratios, many_people_noise_scales):
        with pytest.raises(ValueError, match=message):
            reckon(people, saturation)
