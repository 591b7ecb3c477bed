"""The weak pulse at four places: the engine's own figures, many readings, plain sentences."""

import re
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from oximetry_workbook.body.quantities import specs_of
from oximetry_workbook.body.scenario import SPECS, Scenario
from oximetry_workbook.body.simulate import simulate
from oximetry_workbook.body.sites import SITES
from oximetry_workbook.meter.measure import measure
from oximetry_workbook.teach.many_readings import ManyReadings
from oximetry_workbook.teach.weak_pulse import (
    NARROWING,
    PLACES,
    ManySites,
    WeakPulse,
    alike,
    many_sites,
    pulse_left_percent,
)
from oximetry_workbook.teach.weak_pulse_words import (
    MANY_COLUMNS,
    SINGLE_COLUMNS,
    errors_sentence,
    many_table,
    published_sentence,
    pulse_sentence,
    quality_sentence,
    single_table,
    verdict,
)

FIELDS = specs_of(WeakPulse)
COLD = WeakPulse(vasoconstriction=1.0, noise_percent=0.1, minutes=2.0)

any_state = st.builds(
    WeakPulse,
    vasoconstriction=st.floats(0.0, 1.0),
    noise_percent=st.floats(0.0, 1.0),
    arterial_saturation=st.floats(0.4, 1.0),
)


def check_plain(sentence):
    assert re.fullmatch(r"[A-Z\d][^<>{}&\n]*\.", sentence), sentence
    assert "  " not in sentence
    assert not re.search(r"\b(None|nan|inf|array|True|False)\b", sentence), sentence
    assert not re.search(r"\de[+-]?\d|(?<!\w)-\d", sentence), sentence


@given(any_state)
@settings(max_examples=60)
def test_every_state_has_plain_sentences_and_a_full_table(state):
    for sentence in (pulse_sentence, quality_sentence, verdict):
        check_plain(sentence(state))
    rows = single_table(state)
    assert [row[0] for row in rows] == list(PLACES)
    for row in rows:
        assert len(row) == 1 + len(SINGLE_COLUMNS)
        assert all(re.fullmatch(r"\d+(\.\d+)? %|–", cell) for cell in row[1:])


@given(any_state)
@settings(max_examples=10)
def test_many_readings_of_any_state_are_told_plainly(state):
    *_, (share, many) = many_sites(replace(state, minutes=2.0))
    assert share == 1.0
    check_plain(errors_sentence(many, 20.0))
    for row in many_table(many):
        assert len(row) == 1 + len(MANY_COLUMNS)
        assert not re.search("nan|None", " ".join(row))


def test_the_pulse_left_is_what_the_simulator_makes():
    for narrowing in (0.0, 0.5, 1.0):
        state = WeakPulse(vasoconstriction=narrowing, noise_percent=0.0)
        for place, left in zip(PLACES, state.perfusion_index_percent, strict=True):
            found = measure(simulate(state.scenario(place), 30.0)).perfusion_index_percent
            assert left == pytest.approx(found, rel=0.05)
            column = np.interp(narrowing, NARROWING, pulse_left_percent()[PLACES.index(place)])
            assert column == pytest.approx(left)


def test_single_readings_are_the_chain_at_each_place():
    for place, made in zip(PLACES, COLD.single, strict=True):
        site = SITES[place]
        scenario = Scenario(
            site=place,
            perfusion_index_percent=site.usual_perfusion_index_percent * site.constricted_share,
            noise_percent=0.1,
        )
        again = measure(simulate(scenario))
        assert (made.spo2_percent is None) == (again.spo2_percent is None)
        assert made.quality == pytest.approx(again.quality, abs=0.05)


def test_many_readings_are_those_of_the_chain():
    *_, (_, many) = many_sites(COLD)
    for k, place in enumerate(PLACES):
        made = [measure(simulate(COLD.scenario(place), seed=seed)) for seed in range(12)]
        errors = [np.nan if m.spo2_percent is None else m.spo2_percent - 97.0 for m in made]
        np.testing.assert_allclose(many.errors.values[k], errors)
        np.testing.assert_allclose(many.quality.values[k], [m.quality for m in made])
    assert many.minutes == 2


def test_work_comes_in_slices_that_grow():
    shares, results = zip(*many_sites(replace(COLD, minutes=3.0)), strict=True)
    np.testing.assert_allclose(shares, [1 / 3, 2 / 3, 1.0])
    assert [each.errors.values.shape for each in results] == [(4, 6), (4, 12), (4, 18)]


def test_minutes_alone_keep_what_was_read():
    assert alike(COLD, replace(COLD, minutes=60.0))
    assert not alike(COLD, replace(COLD, noise_percent=0.2))


def test_the_verdict_names_the_places_that_are_silent():
    assert "All four places give a number" in verdict(WeakPulse())
    silent = verdict(COLD)
    assert "No number at the wrist" in silent
    assert "Still a number at the finger and the ear and the forehead" in silent
    assert "No place is left" in verdict(WeakPulse(noise_percent=1.0, vasoconstriction=1.0))


def test_only_pulses_near_the_noise_are_named():
    assert quality_sentence(WeakPulse()).startswith("All pulses stand clear")
    named = quality_sentence(COLD)
    assert "finger" in named
    assert "wrist" in named
    assert "ear" not in named.replace("clear", "")


def sites_with(errors):
    values = np.array(errors, float)
    return ManySites(ManyReadings(values), ManyReadings(np.ones_like(values)), 1)


@pytest.mark.parametrize(
    ("first", "words"),
    [
        ([4.0, 5.0, 7.0, 4.0], "leans upward and jumps"),
        ([-4.0, -5.0, -7.0, -4.0], "leans downward and jumps"),
        ([-2.0, 2.0, -2.0, 2.0], "is right on average and jumps"),
        ([0.1, -0.1, 0.1, -0.1], "is right on average and holds still"),
        ([np.nan] * 4, "Too few numbers at the finger"),
    ],
)
def test_the_errors_are_judged_by_their_interval_and_scatter(first, words):
    calm = [0.01, -0.01, 0.01, -0.01]
    assert words in errors_sentence(sites_with([first, calm, calm, calm]), 20.0)


def test_nothing_read_yet_and_nothing_to_read():
    assert "Press the button" in errors_sentence(None, 20.0)
    assert "no place gave enough" in errors_sentence(sites_with(np.full((4, 4), np.nan)), 20.0)


def test_the_published_figures_are_told_beside_the_models():
    sentence = published_sentence().replace("\N{NO-BREAK SPACE}", " ")
    check_plain(sentence)
    for words in ("48 ± 19 %", "2 ± 10 %", "Awad and others 2001", "more than was measured"):
        assert words in sentence


def test_fields_have_the_bounds_of_a_scenario_and_refuse_more():
    for name in ("vasoconstriction", "noise_percent", "arterial_saturation"):
        assert FIELDS[name] is SPECS[name]
    for name in FIELDS:
        with pytest.raises(ValueError, match=name):
            WeakPulse(**{name: 1e9})
