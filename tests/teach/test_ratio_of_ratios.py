"""Two divisions: what each removes, what is left, and what the sentences make of it."""

import re
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from oximetry_workbook.body.calibration import small_pulse_ratio
from oximetry_workbook.body.quantities import specs_of
from oximetry_workbook.body.scenario import SPECS, Scenario
from oximetry_workbook.body.simulate import pulse_optics, simulate
from oximetry_workbook.meter.measure import measure
from oximetry_workbook.teach.leftovers import CHANGES, leftover, leftovers_list
from oximetry_workbook.teach.ratio_of_ratios import (
    BEAT_S,
    SAME,
    SAME_WORDS,
    START,
    TIME_S,
    TwoLights,
    change_words,
    digits,
    divided_sentence,
    is_same,
    light_sentence,
    slope_sentence,
    steps_sentence,
    worked_number,
)

SENTENCES = (steps_sentence, light_sentence, divided_sentence, slope_sentence)
any_state = st.builds(
    TwoLights,
    **{name: st.floats(spec.low, spec.high) for name, spec in specs_of(TwoLights).items()},
)
any_brightness = st.floats(0.1, 10.0)


@given(any_state, any_brightness, any_brightness)
@settings(max_examples=100, deadline=None)
def test_brightness_scales_the_light_and_drops_out_of_the_first_ratio(state, red, infrared):
    other = replace(state, red_brightness=red, infrared_brightness=infrared)
    factors = np.array([red / state.red_brightness, infrared / state.infrared_brightness])
    np.testing.assert_allclose(other.steady, factors * state.steady, rtol=1e-12)
    np.testing.assert_allclose(other.pulsing, factors * state.pulsing, rtol=1e-9)
    np.testing.assert_allclose(other.modulation_percent, state.modulation_percent, rtol=1e-9)
    assert other.ratio == pytest.approx(state.ratio, rel=1e-9)


@given(any_state)
@settings(max_examples=100, deadline=None)
def test_ac_is_the_swing_and_dc_the_mean_of_the_light_on_screen(state):
    light = state.shown_light
    assert light.shape == (2, TIME_S.size)
    assert np.all(light > 0.0)
    # whole beats without the last sample, which begins the next one
    np.testing.assert_allclose(light[:, :-1].mean(axis=1), state.steady, rtol=1e-3)
    np.testing.assert_allclose(np.ptp(light, axis=1), state.pulsing, rtol=0.01)
    swing = np.ptp(state.shown_change_percent, axis=1)
    np.testing.assert_allclose(swing, state.modulation_percent, rtol=0.01)


@given(any_state)
@settings(max_examples=100, deadline=None)
def test_the_infrared_first_ratio_is_the_perfusion_index(state):
    """Held by the search for a beat's blood, which ends within half a percent."""
    assert state.modulation_percent[1] == pytest.approx(state.perfusion_index_percent, rel=0.006)


@given(any_state)
@settings(max_examples=100, deadline=None)
def test_more_blood_never_lets_more_light_through(state):
    light = state.light(np.linspace(0.0, 1.0, 101))
    assert np.all(np.diff(light, axis=1) < 0.0)


@pytest.mark.parametrize("saturation", [1.0, 0.85, 0.7, 0.5])
def test_a_stronger_pulse_drops_out_of_the_second_ratio(saturation):
    """Exactly so for a vanishing pulse; within 1 % up to a perfusion index of 3 %."""
    small = small_pulse_ratio(Scenario(), saturation)
    for perfusion, share in ((0.05, 0.001), (0.3, 0.003), (3.0, 0.01)):
        state = TwoLights(arterial_saturation=saturation, perfusion_index_percent=perfusion)
        assert state.ratio == pytest.approx(small, rel=share)


def test_a_very_strong_pulse_does_not_drop_out_in_full():
    strong = TwoLights(perfusion_index_percent=20.0)
    assert 0.01 < strong.ratio / START.ratio - 1.0 < 0.05


@pytest.mark.parametrize("saturation", [0.97, 0.85, 0.72])
def test_the_meter_finds_the_same_ratio_in_a_recording(saturation):
    """The other way round: simulate with breathing and a converter, find beats, divide there."""
    scenario = Scenario(arterial_saturation=saturation, noise_percent=0.0)
    found = measure(simulate(scenario)).ratio
    assert TwoLights(arterial_saturation=saturation).ratio == pytest.approx(found, rel=0.02)


def test_ratio_falls_steadily_with_saturation():
    ratios = [TwoLights(arterial_saturation=s).ratio for s in np.linspace(0.4, 1.0, 25)]
    assert np.all(np.diff(ratios) < 0.0)


def test_the_probes_curve_reads_an_ordinary_finger_right():
    for saturation in (0.5, 0.7, 0.85, 0.97):
        state = TwoLights(arterial_saturation=saturation, perfusion_index_percent=0.3)
        assert state.curve_percent == pytest.approx(100.0 * saturation, abs=0.1)


def test_fields_shared_with_a_scenario_have_its_bounds():
    shared = set(specs_of(TwoLights)) - {"red_brightness", "infrared_brightness"}
    assert len(shared) == 5
    for name in shared:
        assert specs_of(TwoLights)[name] is SPECS[name]
        assert getattr(START, name) == getattr(Scenario(), name)


@pytest.mark.parametrize("name", ["red_brightness", "infrared_brightness"])
def test_a_brightness_out_of_range_is_refused(name):
    with pytest.raises(ValueError, match=f"{name} is 20; allowed is 0.1 to 10"):
        replace(START, **{name: 20.0})


def test_times_on_screen_are_whole_beats():
    assert TIME_S[0] == 0.0
    assert TIME_S[-1] / BEAT_S == pytest.approx(round(TIME_S[-1] / BEAT_S))


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({}, "This is the start"),
        ({"red_brightness": 10.0}, "The first division takes it out"),
        ({"infrared_brightness": 0.1}, "The first division takes it out"),
        ({"melanin_fraction": 0.45}, "The first division takes it out"),
        ({"perfusion_index_percent": 0.3}, "The second division takes out"),
        ({"perfusion_index_percent": 0.3, "red_brightness": 3.0}, "The second division takes out"),
        ({"red_brightness": 1.001}, "too little to see"),
        ({"arterial_saturation": 0.85}, "and nothing else did"),
        ({"arterial_saturation": 0.85, "red_brightness": 3.0}, "and nothing else did"),
        ({"arterial_saturation": 0.9701}, "too small to see, or something else hides it"),
        ({"haemoglobin_g_per_l": 80.0}, "Saturation is what it was"),
        ({"thickness_scale": 0.7}, "Saturation is what it was"),
        ({"perfusion_index_percent": 20.0}, "Saturation is what it was"),
        ({"arterial_saturation": 0.7, "haemoglobin_g_per_l": 80.0}, "Saturation alone would make"),
    ],
)
def test_the_sentence_names_the_step_at_which_a_change_drops_out(changes, words):
    assert words in steps_sentence(replace(START, **changes))


def test_the_sentence_tells_r_before_now_and_by_saturation_alone():
    state = TwoLights(arterial_saturation=0.7, haemoglobin_g_per_l=80.0)
    alone = TwoLights(arterial_saturation=0.7)
    told = [float(n) for n in re.findall(r"\d+\.\d{3}", steps_sentence(state))]
    assert told == pytest.approx([START.ratio, state.ratio, alone.ratio], abs=0.0006)


def test_the_sentences_tell_the_states_own_numbers():
    state = TwoLights(arterial_saturation=0.85, red_brightness=2.0)
    told = [float(n) for n in re.findall(r"\d+\.?\d*", light_sentence(state))]
    expected = [*(1000.0 * state.steady), *state.modulation_percent]
    assert told == pytest.approx(expected, rel=0.03)
    told = [float(n) for n in re.findall(r"\d+\.?\d*", divided_sentence(state))]
    assert told == pytest.approx(state.modulation_percent.tolist(), rel=0.003)
    told = [float(n) for n in re.findall(r"\d+\.?\d*", slope_sentence(state))]
    assert told == pytest.approx([state.ratio, state.ratio, 1.0, 85.0, 85.0], abs=0.5)


def test_below_the_volunteers_the_curve_is_called_a_guess():
    assert "is a guess" in slope_sentence(TwoLights(arterial_saturation=0.69))
    assert "is a guess" not in slope_sentence(TwoLights(arterial_saturation=0.71))


def test_a_reading_below_the_volunteers_is_called_a_guess_whatever_the_blood():
    state = TwoLights(arterial_saturation=0.75, haemoglobin_g_per_l=40.0)
    assert state.curve_percent < 70.0
    assert "is a guess" in slope_sentence(state)


@given(any_state)
@settings(max_examples=150, deadline=None)
def test_any_state_can_be_told(state):
    assert np.all(np.isfinite(state.numbers))
    assert np.isfinite(state.ratio)
    for sentence in SENTENCES:
        told = sentence(state)
        assert re.fullmatch(r"[A-Z][^<>{}&\n]*\.", told), told
        assert not re.search(r"\b(None|nan|inf|True|False)\b|\de[+-]?\d|  ", told), told


@pytest.mark.parametrize(
    ("factor", "words"),
    [
        (1.0, SAME_WORDS),
        (1.0 + 0.9 * SAME, SAME_WORDS),
        (10.0, "× 10"),
        (0.98, "× 0.98"),
        (0.1, "÷ 10"),
        (1.0 / 5290.0, "÷ 5290"),
    ],
)
def test_changes_in_words(factor, words):
    assert re.sub(r"[\u202f\u00a0]", " ", change_words(factor)) == words


@given(st.floats(1e-4, 1e4))
def test_a_change_reads_back(factor):
    words = re.sub(r"[\u202f\u00a0\s]", "", change_words(factor))
    if words == SAME_WORDS.replace(" ", ""):
        assert is_same(factor)
    else:
        number = float(words[1:])
        read_back = number if words[0] == "×" else 1.0 / number
        assert read_back == pytest.approx(factor, rel=0.0051)


@given(st.floats(1e-4, 1e4))
def test_digits_read_back(value):
    assert float(re.sub(r"\s", "", digits(value))) == pytest.approx(value, rel=0.0051)


def test_the_worked_number_can_be_redone_from_what_it_prints():
    first, second = worked_number(TwoLights(arterial_saturation=0.85)).splitlines()
    divisions = re.findall(r"([\d.]+) / ([\d.]+) = ([\d.]+)", first)
    assert len(divisions) == 2
    for ac, dc, percent in divisions:
        assert 100.0 * float(ac) / float(dc) == pytest.approx(float(percent), abs=0.02)
    red, infrared, ratio = map(float, re.findall(r"\d+\.\d+", second))
    assert [f"{red:.2f}", f"{infrared:.2f}"] == [percent for *_, percent in divisions]
    assert red / infrared == pytest.approx(ratio, abs=0.006)


@pytest.mark.parametrize("name", CHANGES)
@pytest.mark.parametrize("saturation", [0.97, 0.70])
def test_leftovers_by_the_other_path(name, saturation):
    """Through the search for a weak beat's blood, and the slope of the curve in between."""
    changed, ordinary = (
        pulse_optics(Scenario(arterial_saturation=saturation, perfusion_index_percent=0.05, **each))
        for each in (CHANGES[name], {})
    )
    change = np.divide(*changed.depth) - np.divide(*ordinary.depth)
    found = leftover(name, saturation)
    assert found.ratio_change == pytest.approx(change, abs=0.001)
    near = [small_pulse_ratio(Scenario(), saturation + step) for step in (-0.03, 0.03)]
    slope = 6.0 / (near[1] - near[0])
    assert found.error_points == pytest.approx(slope * change, abs=0.4)


def test_the_list_of_leftovers_names_every_change_once():
    lines = leftovers_list().splitlines()
    assert [line.split(":")[0] for line in lines] == list(CHANGES)
    for line, name in zip(lines, CHANGES, strict=True):
        told = re.findall(r"([+−]?[\d.]+) \(([+−]?[\d.]+)\) at (\d+) %", line)
        assert [percent for *_, percent in told] == ["97", "70"]
        for ratio, points, percent in told:
            found = leftover(name, float(percent) / 100.0)
            assert float(ratio.replace("−", "-")) == pytest.approx(found.ratio_change, abs=0.0006)
            assert float(points.replace("−", "-")) == pytest.approx(found.error_points, abs=0.06)


def test_near_full_saturation_less_is_left_over_than_at_seventy():
    """What the chapter says: under one point at 97 %."""
    for name in CHANGES:
        high, low = leftover(name, 0.97), leftover(name, 0.70)
        assert abs(high.error_points) < 1.0
        assert abs(high.ratio_change) <= abs(low.ratio_change)
