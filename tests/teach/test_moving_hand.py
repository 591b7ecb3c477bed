"""The moving hand: slopes, lines over motion, beats, and sentences for every state."""

import re
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from oximetry_workbook.body.quantities import specs_of
from oximetry_workbook.body.scenario import SPECS, Scenario
from oximetry_workbook.body.simulate import simulate
from oximetry_workbook.meter.measure import measure
from oximetry_workbook.teach.many_readings import ManyReadings
from oximetry_workbook.teach.moving_hand import (
    ALIKE,
    KINDS,
    SIZES_PERCENT,
    MovingHand,
    many_sweeps,
    one_sweep,
    same_lines,
)
from oximetry_workbook.teach.moving_hand_words import (
    beats_sentence,
    kind_words,
    lines_sentence,
    numbers,
    slopes_sentence,
    verdict,
)

FIELDS = specs_of(MovingHand)
any_state = st.fixed_dictionaries(
    {name: st.floats(spec.low, spec.high) for name, spec in FIELDS.items()}
).map(lambda values: MovingHand(**values))


def check_plain(sentence):
    assert re.fullmatch(r"[A-Z\d][^<>{}&\n]*\.", sentence), sentence
    assert "  " not in sentence
    assert not re.search(r"\b(None|nan|inf|array|True|False)\b", sentence), sentence
    assert not re.search(r"\de[+-]?\d|(?<!\w)-\d", sentence), sentence


@given(any_state)
@settings(max_examples=60)
def test_every_state_has_finite_slopes_and_plain_sentences(state):
    assert all(np.isfinite(state.slopes))
    for sentence in (verdict, slopes_sentence, beats_sentence):
        check_plain(sentence(state))
    check_plain(lines_sentence(state, None))
    for value in numbers(state).values():
        assert re.fullmatch(r"[+−]?\d+(\.\d+)?( %)?|–", value)


@pytest.mark.parametrize("kind", KINDS)
def test_lines_are_the_chain_with_one_kind_of_motion_alone(kind):
    state = MovingHand(motion_percent=3.0, coupling_percent=3.0, venous_pulse=0.1)
    for seed in (0, 1):
        found = one_sweep(state.still, seed)[KINDS.index(kind)]
        for size, read in zip(SIZES_PERCENT, found, strict=True):
            scenario = Scenario(venous_pulse=0.1, **{kind: float(size)})
            assert measure(simulate(scenario, seed=seed)).spo2_percent == read


def test_many_sweeps_grow_seed_by_seed():
    shares, results = zip(*many_sweeps(MovingHand(), 4), strict=True)
    np.testing.assert_allclose(shares, [0.25, 0.5, 0.75, 1.0])
    assert [each.values.shape for each in results] == [(2, 8, n) for n in (1, 2, 3, 4)]
    for seed in range(4):
        np.testing.assert_array_equal(
            results[-1].values[..., seed], one_sweep(MovingHand().still, seed)
        )


def test_a_shifting_probe_ends_where_one_reads_and_venous_blood_lower():
    *_, (_, many) = many_sweeps(MovingHand(), 10)
    venous, probe = many.mean
    assert probe[-1] == pytest.approx(MovingHand().reads_percent(ALIKE), abs=0.5)
    assert venous[-2] == pytest.approx(MovingHand().reads_percent(MovingHand().slopes[1]), abs=2.0)
    assert venous[-2] < MovingHand().venous_percent < probe[-1]


def test_slopes_are_what_the_meter_finds_when_one_thing_swings():
    still, moved = MovingHand(), MovingHand(motion_percent=8.0)
    assert still.reading.measurement.ratio == pytest.approx(still.slopes[0], rel=0.02)
    assert moved.reading.measurement.ratio == pytest.approx(moved.slopes[1], rel=0.05)
    shifted = MovingHand(coupling_percent=8.0)
    assert shifted.reading.measurement.ratio == pytest.approx(ALIKE, rel=0.03)


def test_venous_blood_without_extraction_has_the_arteries_slope():
    arterial, venous = MovingHand(venous_difference=0.0).slopes
    assert venous == pytest.approx(arterial, rel=1e-3)


def test_lines_depend_on_all_but_the_motion():
    assert same_lines(MovingHand(), MovingHand(motion_percent=5.0, coupling_percent=1.0))
    assert not same_lines(MovingHand(), MovingHand(venous_pulse=0.2))


def test_an_irregular_rhythm_scatters_intervals_and_leaves_the_ratio():
    even, uneven = (MovingHand(irregularity_percent=share) for share in (0.0, 30.0))
    assert uneven.beats[1].std() > 4.0 * even.beats[1].std()
    assert uneven.reading.measurement.ratio == pytest.approx(
        even.reading.measurement.ratio, abs=0.01
    )


@pytest.mark.parametrize(
    ("state", "words"),
    [
        (MovingHand(), "That is close."),
        (MovingHand(motion_percent=4.0), "venous blood that moves with the hand"),
        (MovingHand(motion_percent=4.0), "It does not notice"),
        (MovingHand(motion_percent=4.0), "Below 70 % the curve itself is a guess"),
        (MovingHand(motion_percent=4.0), "the motion is in it"),
        (MovingHand(coupling_percent=8.0), "a probe that shifts"),
        (MovingHand(coupling_percent=8.0, arterial_saturation=0.7), "points too high"),
        (MovingHand(venous_pulse=0.5), "veins that pulse"),
        (MovingHand(venous_difference=0.0), "points too low, and nothing moves"),
        (MovingHand(venous_difference=0.0), "they carry 97 %, not 72 %"),
        (MovingHand(venous_difference=0.0), "brighter, so red light wanders farther"),
        (MovingHand(venous_difference=0.3), "That is close. The veins are not as the curve takes"),
        (MovingHand(venous_difference=0.6), "darker, so red light that wanders far is lost"),
        (MovingHand(perfusion_index_percent=0.05), "No number is shown. The pulse is drowned"),
    ],
)
def test_the_verdict_names_each_case(state, words):
    assert words in verdict(state)


def test_resting_veins_turn_the_reading_by_the_way_of_red_light():
    """What the verdict gives as the reason: the brighter they are, the longer the way of red."""
    states = [MovingHand(venous_difference=taken) for taken in (0.0, 0.25, 0.5)]
    ways = [state.reading.path_length_cm[0] for state in states]
    ratios = [state.reading.measurement.ratio for state in states]
    assert ways == sorted(ways, reverse=True)
    assert ratios == sorted(ratios, reverse=True)
    assert ways[0] > 1.1 * ways[2]
    assert "veins are not" not in verdict(states[1])


def test_a_withheld_number_is_said_to_be_none():
    faint = MovingHand(perfusion_index_percent=0.05)
    assert numbers(faint)["Meter shows"] == numbers(faint)["Error, points"] == "–"
    silent = ManyReadings(np.full((2, 8, 5), np.nan))
    assert "ends at no number" in lines_sentence(faint, silent)


def test_where_numbers_end_is_told():
    values = np.full((2, 8, 5), 90.0) + np.arange(5)
    values[0, 6:] = np.nan
    sentence = lines_sentence(MovingHand(), ManyReadings(values))
    assert "from 10 % on no number" in sentence
    assert "5 readings of 10 s make each point" in sentence


def test_figures_of_the_chapters_text_are_the_engines():
    hand = MovingHand()
    assert round(hand.slopes[1], 1) == 1.9
    assert round(hand.reads_percent(hand.slopes[1])) == 59
    assert round(hand.venous_percent) == 72
    assert round(hand.reads_percent(ALIKE)) == 86
    cost = hand.reading.measurement.spo2_percent
    cost -= MovingHand(venous_pulse=0.5).reading.measurement.spo2_percent
    assert round(cost) == 12
    faint = MovingHand(perfusion_index_percent=0.05)
    assert faint.reading.measurement.spo2_percent is None
    shaken = replace(faint, coupling_percent=0.5).reading.measurement
    assert round(shaken.spo2_percent) == 86


def test_kinds_are_named_by_field():
    assert kind_words("motion_percent") == "venous blood alone"
    assert kind_words("coupling_percent") == "the probe alone"


def test_fields_are_those_of_a_scenario_and_refuse_more():
    for name in FIELDS:
        assert FIELDS[name] is SPECS[name]
        with pytest.raises(ValueError, match=name):
            replace(MovingHand(), **{name: 1e9})
