"""Skin tone: what the state reckons, readings made many times, and what the sentences say."""

import re

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from oximetry_workbook.body.quantities import specs_of
from oximetry_workbook.body.simulate import simulate
from oximetry_workbook.meter.measure import measure
from oximetry_workbook.teach import skin_tone_words as words
from oximetry_workbook.teach.many_readings import ManyReadings
from oximetry_workbook.teach.skin_tone import LIGHT_SKIN, SkinTone, filter_passes
from oximetry_workbook.teach.skin_tone_readings import (
    MELANIN,
    STUDY_PERCENT,
    SWEPT_PERCENT,
    BothSkins,
    alike,
    error_points,
    many_readings,
)

WEAK = SkinTone(0.45, 0.65, 0.3, 0.05)
ANY_STATE = st.builds(
    SkinTone, **{name: st.floats(s.low, s.high) for name, s in specs_of(SkinTone).items()}
)


def last(states):
    for _, found in states:
        many = found
    return many


@pytest.fixture(scope="module")
def strong():
    return last(many_readings(SkinTone(0.45), seeds=5))


@pytest.fixture(scope="module")
def weak():
    return last(many_readings(WEAK, seeds=12))


@given(ANY_STATE)
@settings(max_examples=60)
def test_sentences_and_numbers_are_whole_for_any_state(state):
    said = [words.filter_sentence(state), words.verdict(state), *words.numbers(state).values()]
    for text in said:
        assert text
        assert not re.search(r"nan|None|inf\b|  ", text), text


@given(ANY_STATE)
@settings(max_examples=60)
def test_more_pigment_takes_more_light_and_more_red_than_infrared(state):
    red, infrared = state.light_left
    if state.melanin_fraction > LIGHT_SKIN:
        assert red <= infrared <= 1.0
        assert np.all(state.noise_grown >= 1.0)
        assert np.all(state.shift_nm >= 0.0)
    else:
        assert red >= infrared >= 1.0
        assert np.all(state.noise_grown <= 1.0)


def test_without_pigment_the_filter_is_clear():
    np.testing.assert_array_equal(filter_passes(0.0, np.array([600.0, 940.0])), 1.0)


def test_light_skin_differs_from_itself_in_nothing():
    state = SkinTone(LIGHT_SKIN)
    assert state.light_left.tolist() == state.noise_grown.tolist() == [1.0, 1.0]
    assert state.ratio_shift == 0.0
    assert words.verdict(state) == words.filter_sentence(state) == words.SAME_SKIN


def test_the_tiles_of_noise_are_set_against_light_skin_and_stay_short():
    loudest = SkinTone(0.45, noise_percent=1.0)
    told = words.numbers(loudest)
    assert (told["Red noise"], told["Infrared noise"]) == ("× 1.92", "× 1.22")
    assert words.numbers(SkinTone(LIGHT_SKIN))["Red noise"] == "× 1.00"


def test_ratio_hardly_moves():
    assert 0.0 < abs(SkinTone(0.45).ratio_shift) < 0.002


@pytest.mark.parametrize(("name", "value"), [("melanin_fraction", 0.5), ("noise_percent", -1.0)])
def test_values_out_of_range_are_named(name, value):
    with pytest.raises(ValueError, match=name):
        SkinTone(**{name: value})


def test_an_error_is_the_meter_less_the_blood():
    shown = measure(simulate(WEAK.scenario, seed=3)).spo2_percent
    assert error_points(WEAK, 3) == pytest.approx(shown - 65.0)
    assert np.isnan(error_points(SkinTone(0.45, 0.65, 0.05, 1.0), 0))


def test_readings_grow_seed_by_seed_and_come_to_an_end():
    steps = list(many_readings(SkinTone(), seeds=4))
    assert [share for share, _ in steps] == pytest.approx([3 / 4, 1.0])
    assert [many.seeds for _, many in steps] == [3, 4]
    many = steps[-1][1]
    assert many.light.values.shape == many.dark.values.shape == (STUDY_PERCENT.size, 4)
    assert many.swept.values.shape == (SWEPT_PERCENT.size, MELANIN.size, 4)
    np.testing.assert_array_equal(steps[0][1].dark.values, many.dark.values[:, :3])


def test_two_skins_are_compared_with_the_same_beats_and_the_same_chance(strong):
    one = many_readings(SkinTone(LIGHT_SKIN), seeds=3)
    np.testing.assert_array_equal(last(one).difference.values, 0.0)
    assert np.all(strong.difference.half_width < strong.dark.half_width)


def test_withheld_readings_are_told():
    some, none = (np.full((STUDY_PERCENT.size, 4), each) for each in (0.5, np.nan))
    half = np.concatenate([some, none], axis=1)
    swept = ManyReadings(np.zeros((SWEPT_PERCENT.size, MELANIN.size, 8)))
    both = BothSkins(ManyReadings(np.concatenate([some, some], axis=1)), ManyReadings(half), swept)
    assert "Withheld: 50 % with this skin, 0 % with light skin." in words.errors_sentence(both)


def test_the_saturation_alone_leaves_the_readings_alike():
    assert alike(SkinTone(arterial_saturation=0.9), SkinTone(arterial_saturation=0.5))
    assert not alike(SkinTone(noise_percent=0.1), SkinTone())


def test_a_strong_pulse_hardly_errs_and_a_weak_one_scatters(strong, weak):
    assert np.all(np.abs(strong.difference.mean) < 0.2)
    assert np.all(weak.dark.sd > 1.2 * weak.light.sd)
    assert WEAK.reading.measurement.quality < WEAK.light_skin.reading.measurement.quality


def test_sentences_of_many_readings_carry_their_numbers(strong, weak):
    for many in (strong, weak):
        near = STUDY_PERCENT.tolist().index(65.0)
        said = words.errors_sentence(many)
        assert words.hundredths(many.difference.mean[near]) in said
        assert f"{many.dark.sd[near]:.1f} with this skin" in said
        assert "+3.2 apart" in said
        moved = many.swept.mean[-1, -1] - many.swept.mean[-1, 0]
        assert f"{words.hundredths(moved)} at 65 %" in words.melanin_sentence(many)
    assert "other direction" in words.errors_sentence(weak)


def test_before_and_beyond_readings_the_sentences_say_so():
    assert words.errors_sentence(None) == words.PRESS
    assert words.PRESS in words.melanin_sentence(None)
    none = last(many_readings(SkinTone(0.45, 0.65, 0.05, 0.5), seeds=3))
    for text in (words.errors_sentence(none), words.melanin_sentence(none)):
        assert "nan" not in text
        assert "meter" in text


def test_the_study_is_told_with_its_spread():
    assert f"+3.6 ± {2.45:.1f} points with dark skin" in words.found_sentence()
    assert "+0.4 ± 3.2 points with light skin" in words.found_sentence()


def test_the_worked_number_is_the_mean_of_forty_pairs():
    assert words.at_65_percent(SkinTone(LIGHT_SKIN)).endswith("0.00 ± 0.00 points (95 % interval)")
