"""Finger and wrist: the same heart, the simulated chain, and what is said of it."""

import re
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from oximetry_workbook.body.quantities import specs_of
from oximetry_workbook.body.simulate import simulate
from oximetry_workbook.meter.measure import measure
from oximetry_workbook.teach.wrist import PLACES, READINGS, FingerAndWrist, gathered, read_many
from oximetry_workbook.teach.wrist_words import (
    many_sentence,
    place_numbers,
    pulse_sentence,
    verdict,
)

REST = FingerAndWrist()
FIELDS = specs_of(FingerAndWrist)
SITUATIONS = {
    "rest": REST,
    "probe": replace(REST, coupling_percent=0.1),
    "venous": replace(REST, motion_percent=0.05),
    "noise": replace(REST, noise_percent=0.12),
}


def all_read(state):
    return list(state.read_in_slices())[-1][1]


@pytest.fixture(scope="module")
def read():
    return {name: all_read(state) for name, state in SITUATIONS.items()}


def error(readings):
    return readings.given.mean() - 97.0


def test_slices_give_what_one_go_gives(read):
    shares, sofar = zip(*REST.read_in_slices(), strict=True)
    assert shares == pytest.approx(np.arange(1, 9) / 8)
    assert [each["wrist"].quality.size for each in sofar] == list(range(5, READINGS + 1, 5))
    for place in PLACES:
        whole = read_many(REST.scenario(place))
        np.testing.assert_array_equal(read["rest"][place].shown_percent, whole.shown_percent)


def test_readings_are_those_of_the_chain(read):
    scenario = SITUATIONS["venous"].scenario("wrist")
    assert (scenario.site, scenario.motion_percent) == ("wrist", 0.05)
    expected = [measure(simulate(scenario, seed=seed)).spo2_percent for seed in range(4)]
    np.testing.assert_array_equal(read["venous"]["wrist"].shown_percent[:4], expected)


def test_both_places_have_the_beats_of_one_heart():
    finger, wrist = (REST.first[place].beat_times_s for place in PLACES)
    np.testing.assert_allclose(finger, wrist, atol=0.05)
    ratio = np.divide(*(REST.first[p].measurement.perfusion_index_percent for p in PLACES))
    assert ratio == pytest.approx(REST.times_smaller, rel=0.1)


def test_at_rest_both_read_well_and_the_wrist_spreads_more(read):
    finger, wrist = (read["rest"][place] for place in PLACES)
    assert finger.withheld == wrist.withheld == 0
    assert abs(error(finger)) < 0.2
    assert abs(error(wrist)) < 0.3
    assert wrist.given.std() > 2.0 * finger.given.std()


def test_the_same_motion_spoils_the_wrist_and_not_the_finger(read):
    for name in ("probe", "venous"):
        finger, wrist = (read[name][place] for place in PLACES)
        assert abs(error(finger)) < 1.0
        assert error(wrist) < -4.0
        assert wrist.low > 30
        assert finger.low == 0


def test_noise_makes_the_wrist_fall_silent_and_not_the_finger(read):
    assert read["noise"]["wrist"].withheld == READINGS
    assert read["noise"]["finger"].withheld == 0
    assert read["noise"]["wrist"].mean_percent is None


def test_with_the_same_pulse_both_do_equally_well():
    state = replace(REST, finger_perfusion_index_percent=2.0, wrist_perfusion_index_percent=2.0)
    finger, wrist = (all_read(state)[place] for place in PLACES)
    assert wrist.given.std() == pytest.approx(finger.given.std(), rel=0.5)
    assert abs(error(wrist) - error(finger)) < 0.2


def test_the_interval_is_that_of_the_mean(read):
    given_percent = read["venous"]["wrist"].given
    mean, half = read["venous"]["wrist"].mean_percent
    assert mean == pytest.approx(np.mean(given_percent))
    assert half == pytest.approx(1.96 * np.std(given_percent, ddof=1) / np.sqrt(READINGS))


def test_low_readings_are_counted_as_shown():
    measurement = REST.first["finger"].measurement
    made = [replace(measurement, spo2_percent=each) for each in (92.4, 92.6, 80.0, None)]
    readings = gathered(made)
    assert (readings.low, readings.withheld) == (2, 1)


def test_what_is_said_follows_what_was_read(read):
    said = {name: verdict(SITUATIONS[name], many) for name, many in read.items()}
    assert "10 times smaller" in said["rest"]
    assert "within 2 points of the truth" in said["rest"]
    assert "does not notice" in said["probe"]
    assert "none is shown" in said["noise"]
    assert f"{READINGS} of {READINGS} withheld" in many_sentence(read["noise"])
    assert place_numbers(REST, read["noise"])["Wrist, mean"] == "–"
    assert "No number is shown" in pulse_sentence(SITUATIONS["noise"], "wrist")


@given(st.fixed_dictionaries({n: st.floats(s.low, s.high) for n, s in FIELDS.items()}))
@settings(max_examples=25)
def test_any_state_is_told_in_plain_words(values):
    state = FingerAndWrist(**values)
    many = next(state.read_in_slices())[1]
    texts = [pulse_sentence(state, place) for place in PLACES]
    texts += [many_sentence(many), verdict(state, many), *place_numbers(state, many).values()]
    for text in texts:
        assert text.strip()
        assert not re.search(r"\b(None|nan|inf|array)\b|  ", text), text
