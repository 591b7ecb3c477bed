"""Steady and pulsing: the same light as the simulator's, layers that add up, plain sentences."""

import re
from dataclasses import fields, replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from oximetry_workbook.body.calibration import diffusion_calibration
from oximetry_workbook.body.probe import Probe
from oximetry_workbook.body.quantities import Choice, specs_of
from oximetry_workbook.body.scenario import SPECS, Scenario
from oximetry_workbook.body.simulate import pulse_optics, simulate
from oximetry_workbook.body.sites import SITES
from oximetry_workbook.meter.measure import measure
from oximetry_workbook.meter.recording import Recording
from oximetry_workbook.teach.steady_and_pulsing import (
    BEATS,
    MOVES,
    STILL,
    TAKEN_OUT,
    TIME_S,
    VENOUS_MOVEMENT,
    SteadyAndPulsing,
)
from oximetry_workbook.teach.steady_and_pulsing_words import (
    light_sentence,
    numbers,
    points,
    shares_sentence,
    stack_sentence,
    verdict,
)

SENTENCES = (stack_sentence, light_sentence, shares_sentence, verdict)
FIELDS = specs_of(SteadyAndPulsing)
SILENT = SteadyAndPulsing(arterial_blood=STILL)
VENOUS_TOO = SteadyAndPulsing(venous_blood=MOVES)
VEINLESS = SteadyAndPulsing(venous_blood=TAKEN_OUT)


def _values_of(spec):
    if isinstance(spec, Choice):
        return st.sampled_from(spec.options)
    return st.floats(spec.low, spec.high)


any_state = st.fixed_dictionaries({name: _values_of(spec) for name, spec in FIELDS.items()}).map(
    lambda values: SteadyAndPulsing(**values)
)


def check_plain(sentence):
    assert re.fullmatch(r"[A-Z\d][^<>{}&\n]*\.", sentence), sentence
    assert "  " not in sentence
    assert not re.search(r"\b(None|nan|inf|array|True|False)\b", sentence), sentence
    assert not re.search(r"\de[+-]?\d|(?<!\w)-\d", sentence), sentence


@given(any_state)
@settings(max_examples=150)
def test_every_state_has_finite_figures_and_plain_sentences(state):
    for values in (state.layers, state.light_percent, state.shares_percent, state.swing_percent):
        assert np.all(np.isfinite(values))
    assert np.all(state.layers >= 0.0)
    assert state.light_percent.max() <= 100.0 + 1e-9
    assert state.light_percent.min() > 0.0
    for sentence in SENTENCES:
        check_plain(sentence(state))
    for value in numbers(state).values():
        assert re.fullmatch(r"\d+(\.\d+)? %|–", value)


@given(any_state)
@settings(max_examples=100)
def test_layers_add_up_to_the_light_lost_at_the_height_of_the_pulse(state):
    at_the_top = state.probe.log_light(
        state.probe.resting_arterial_fraction + np.array([state.moving_volumes[0]]),
        state.probe.resting_venous_fraction + np.array([state.moving_volumes[1]]),
    )[:, 0]
    np.testing.assert_allclose(state.layers.sum(axis=0), -at_the_top / np.log(10.0), rtol=1e-9)


@given(any_state)
@settings(max_examples=100)
def test_shares_add_up_to_a_hundred_where_there_is_anything(state):
    whole, moving = state.shares_percent.sum(axis=1)
    np.testing.assert_allclose(whole, 100.0)
    np.testing.assert_allclose(moving, 0.0 if state.ratio is None else 100.0)


@pytest.mark.parametrize("site", sorted(SITES))
@pytest.mark.parametrize("perfusion", [0.05, 3.0, 20.0])
def test_the_infrared_swing_is_the_perfusion_index_asked_for(site, perfusion):
    state = SteadyAndPulsing(site=site, perfusion_index_percent=perfusion, blood_volume_scale=0.3)
    assert state.swing_percent[1] == pytest.approx(perfusion, rel=0.005)


@pytest.mark.parametrize("saturation", [1.0, 0.85, 0.7])
def test_ratio_and_reading_are_those_of_the_meter_on_the_simulated_recording(saturation):
    state = SteadyAndPulsing(arterial_saturation=saturation)
    scenario = Scenario(arterial_saturation=saturation, noise_percent=0.0)
    measurement = measure(simulate(scenario, duration_s=20.0))
    assert state.ratio == pytest.approx(measurement.ratio, rel=0.02)
    assert state.read_percent == pytest.approx(measurement.spo2_percent, abs=1.0)


@pytest.mark.parametrize(
    "state",
    [SteadyAndPulsing(), VENOUS_TOO, VEINLESS, replace(VENOUS_TOO, arterial_blood=STILL)],
    ids=["ordinary", "venous too", "veinless", "venous alone"],
)
def test_the_reading_is_what_the_meter_makes_of_the_light_on_screen(state):
    red, infrared = state.light_percent / 200.0
    recording = Recording(TIME_S, red, infrared, None, diffusion_calibration(state.site))
    assert state.read_percent == pytest.approx(measure(recording).spo2_percent, abs=1.0)


def test_the_light_beats_at_the_heart_rate():
    light = SteadyAndPulsing(heart_rate_bpm=120.0).light_percent[1]
    at_foot = np.isclose(light[:500], 100.0, atol=1e-9)
    np.testing.assert_allclose(TIME_S[:500][at_foot], np.arange(0.0, 5.0, 0.5), atol=1e-9)


def test_the_blood_of_a_beat_gives_the_depth_that_the_simulator_uses():
    for perfusion in (0.05, 3.0, 20.0):
        state = SteadyAndPulsing(perfusion_index_percent=perfusion)
        scenario = Scenario(perfusion_index_percent=perfusion)
        depth = Probe(scenario).added_loss(np.array([state.beat_volume]), np.zeros(1))[:, 0]
        np.testing.assert_allclose(depth, pulse_optics(scenario).depth, rtol=0.003)


def test_a_filter_of_pigment_takes_light_and_leaves_the_swing():
    light, dark = (SteadyAndPulsing(melanin_fraction=share) for share in (0.0, 0.45))
    assert np.all(dark.layers[1] - light.layers[1] > 0.15)
    np.testing.assert_allclose(dark.swing_percent, light.swing_percent, rtol=1e-3)


def test_without_veins_their_layer_is_gone_and_the_others_are_there():
    np.testing.assert_allclose(VEINLESS.layers[2], 0.0, atol=1e-12)
    np.testing.assert_allclose(VEINLESS.layers[:2], SteadyAndPulsing().layers[:2])
    assert VEINLESS.beat_volume == SteadyAndPulsing().beat_volume
    assert np.all(VEINLESS.layers[3] > SteadyAndPulsing().layers[3])  # less light lost on long ways


def test_what_moves_is_what_was_told_to_move():
    for arterial in (BEATS, STILL):
        for venous in (STILL, MOVES, TAKEN_OUT):
            state = SteadyAndPulsing(arterial_blood=arterial, venous_blood=venous)
            assert np.all((state.layers[4] > 0.0) == (arterial == BEATS))
            assert np.all((state.layers[5] > 0.0) == (venous == MOVES))
    beat = VENOUS_TOO.beat_volume
    assert VENOUS_TOO.moving_volumes == (beat, VENOUS_MOVEMENT * beat)


def test_nothing_that_moves_means_nothing_to_read():
    assert SILENT.ratio is None
    assert SILENT.read_percent is None
    assert np.all(SILENT.light_percent == 100.0)
    assert numbers(SILENT)["Meter reads"] == "–"


@pytest.mark.parametrize("name", ["arterial_saturation", "perfusion_index_percent", "site"])
def test_shared_fields_have_the_bounds_and_words_of_a_scenario(name):
    assert FIELDS[name] is SPECS[name]


def test_every_field_refuses_what_is_out_of_range():
    for field in fields(SteadyAndPulsing):
        bad = "elsewhere" if isinstance(FIELDS[field.name], Choice) else 1e9
        with pytest.raises(ValueError, match=field.name):
            SteadyAndPulsing(**{field.name: bad})


@pytest.mark.parametrize(
    ("state", "words"),
    [
        (SteadyAndPulsing(), "What stands still has divided out"),
        (SteadyAndPulsing(blood_volume_scale=3.0), "that leaves"),
        (VEINLESS, "Taking all venous blood out moves the reading by"),
        (VENOUS_TOO, "Venous blood moves too"),
        (replace(VENOUS_TOO, arterial_blood=STILL), "Only venous blood moves"),
        (SILENT, "Nothing moves"),
        (SteadyAndPulsing(arterial_saturation=0.5), "Below 70 % any curve is a guess"),
        (SteadyAndPulsing(perfusion_index_percent=0.05), "would likely withhold the number"),
    ],
)
def test_the_verdict_names_each_case(state, words):
    assert words in verdict(state)


def test_a_bar_taller_than_its_axis_is_said_to_be_cut():
    tallest = SteadyAndPulsing().layers[-2:].sum(axis=0).max()
    assert "is cut" in stack_sentence(SteadyAndPulsing(), 0.99 * tallest)
    assert "is cut" not in stack_sentence(SteadyAndPulsing(), 1.01 * tallest)


def test_one_point_is_singular():
    assert [points(value) for value in (0.5, 1.0, 1.04, 2.0)] == [
        "0.5 points",
        "1 point",
        "1 point",
        "2 points",
    ]


@pytest.mark.parametrize(
    ("magnification", "words"),
    [(1.0, "turn the magnification up"), (20.0, "parts in 100 of the height."), (200.0, "down")],
)
def test_the_view_is_judged_by_how_much_of_it_is_filled(magnification, words):
    state = SteadyAndPulsing(magnification=magnification)
    assert words in light_sentence(state)
    assert 100.0 - state.lowest_shown_percent == pytest.approx(100.0 / magnification)
