"""Situations: each does what its words say, by the engine."""

import re

import pytest

from oximetry_workbook.body.scenario import SPECS, Scenario
from oximetry_workbook.teach.reading import read
from oximetry_workbook.teach.situations import (
    FAINT_PERCENT,
    ROUGH_POINTS,
    SITUATIONS,
    Situation,
    doubt_table,
    sight,
)

NAMED = {each.name: each for each in SITUATIONS}
every_situation = pytest.mark.parametrize("situation", SITUATIONS, ids=NAMED)


def reading_of(name):
    return read(NAMED[name].applied_to(Scenario()))


@every_situation
def test_a_situation_changes_what_it_names_and_nothing_else(situation):
    scenario = situation.applied_to(Scenario())
    changed = {n for n in SPECS if getattr(scenario, n) != getattr(Scenario(), n)}
    assert changed == set(situation.changes)
    assert situation.holds_in(scenario)
    assert not situation.holds_in(Scenario())


def test_situations_can_be_combined():
    both = NAMED["Smoke"].applied_to(NAMED["Cold hand"].applied_to(Scenario()))
    assert NAMED["Smoke"].holds_in(both)
    assert NAMED["Cold hand"].holds_in(both)


def test_what_cannot_be_together_is_refused():
    with pytest.raises(ValueError, match=r"at most 0\.9"):
        Situation("x", {"carboxyhaemoglobin": 0.6}, "", "").applied_to(Scenario(methaemoglobin=0.5))


@pytest.mark.parametrize("name", ["Shivering hand", "Flickering lamp"])
def test_what_moves_both_colours_alike_draws_the_reading_towards_that_of_r_1(name):
    reading = reading_of(name)
    at_one = float(reading.measurement.curve(1.0))
    assert at_one - 1.0 < reading.measurement.spo2_percent < 97.0 - ROUGH_POINTS


@pytest.mark.parametrize("name", ["Swinging arm", "Leaking heart valve", "Dye just given"])
def test_what_darkens_the_pulse_in_red_makes_the_reading_too_low(name):
    assert reading_of(name).error_points < -ROUGH_POINTS


@pytest.mark.parametrize("name", ["Smoke", "Methaemoglobin"])
def test_blood_that_carries_no_oxygen_is_not_seen(name):
    """Barker and Tremper 1987, Anesthesiology 66:677; Barker and others 1989, 70:112: too high."""
    assert reading_of(name).error_points > 10.0


@pytest.mark.parametrize("name", ["Cold hand", "Wearable on the wrist", "Dark skin, weak pulse"])
def test_a_weak_pulse_is_seen_as_one(name):
    reading = reading_of(name)
    assert reading.measurement.perfusion_index_percent < FAINT_PERCENT
    assert "a weak pulse" in sight(reading)


@pytest.mark.parametrize("name", ["Anaemia", "Irregular heart"])
def test_a_number_that_is_right_is_called_right(name):
    reading = reading_of(name)
    assert abs(reading.error_points) <= ROUGH_POINTS
    assert "about right" in sight(reading)


def test_no_number_is_told_as_such():
    hopeless = read(Scenario(perfusion_index_percent=0.05, noise_percent=1.0))
    assert sight(hopeless) == "No number is shown."


def test_the_table_has_a_full_row_for_each():
    table = doubt_table()
    assert [row[0] for row in table] == list(NAMED)
    for row in table:
        assert len(row) == 4
        assert all(words.endswith(".") for words in row[1:])
        assert not re.search(r"nan|None", " ".join(row))
