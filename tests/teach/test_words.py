"""Every sentence: its numbers are the reading's, with their units, in plain text."""

import math
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.meter.display import rounded
from oximetry_workbook.teach.reading import CURVE_NAMES, read
from oximetry_workbook.teach.words import (
    CLOSE_POINTS,
    curve_sentence,
    figure,
    layers_sentence,
    main_sentence,
    percent,
    pulses_sentence,
    ratio_sentence,
    signed,
)

SENTENCES = (main_sentence, layers_sentence, pulses_sentence, ratio_sentence, curve_sentence)
NUMBER = r"(\d+(?:\.\d+)?)"


def numbers_in(pattern, sentence):
    """Return the numbers that a sentence of the given form holds."""
    found = re.search(pattern.replace("NUMBER", NUMBER), sentence)
    assert found, sentence
    return [float(group) for group in found.groups()]


def check_plain(sentence):
    assert re.fullmatch(r"[A-Z\d][^<>{}&\n]*\.", sentence), sentence
    assert "  " not in sentence
    assert not re.search(r"\b(None|nan|inf|NaN|array|True|False)\b", sentence), sentence
    assert not re.search(r"\de[+-]?\d", sentence), f"exponent: {sentence}"
    assert not re.search(r"(?<!\w)-\d", sentence), f"hyphen for a minus: {sentence}"


@pytest.mark.parametrize(
    ("state", "words"),
    [
        ("ordinary", "move with the heart"),
        ("withheld", "No number is shown. The pulse is drowned in noise"),
        ("extrapolated", "This part of the curve is guessed"),
        ("weak pulse", "on a very weak pulse"),
        ("too high", "points too high"),
        ("too low", "points too low"),
    ],
)
def test_the_main_sentence_names_each_state(readings, state, words):
    sentence = main_sentence(readings[state])
    check_plain(sentence)
    assert words in sentence
    others = {"points too high", "points too low", "very weak pulse", "guessed", "No number"}
    others -= {other for other in others if other in words}
    assert not any(other in sentence for other in others), sentence


@pytest.mark.parametrize("state", ["ordinary", "extrapolated", "weak pulse", "too high", "too low"])
def test_the_main_sentence_tells_the_readings_own_numbers(readings, state):
    reading = readings[state]
    shown, true = numbers_in(
        "The meter shows NUMBER %; the blood carries NUMBER %\\.", main_sentence(reading)
    )
    assert shown == rounded(reading.measurement.spo2_percent)
    assert true == rounded(reading.carried_percent)


@pytest.mark.parametrize(("state", "sign"), [("too high", 1), ("too low", -1)])
def test_the_error_is_told_with_size_and_direction(readings, state, sign):
    reading = readings[state]
    [points] = numbers_in("It reads NUMBER points too", main_sentence(reading))
    assert points == pytest.approx(sign * reading.error_points, rel=0.05)
    assert points > CLOSE_POINTS


@pytest.mark.parametrize("state", ["ordinary", "weak pulse"])
def test_the_perfusion_is_told(readings, state):
    reading = readings[state]
    [parts] = numbers_in("NUMBER parts in a hundred", main_sentence(reading))
    assert parts == pytest.approx(reading.measurement.perfusion_index_percent, rel=0.05)


def test_a_withheld_number_is_told_with_the_meters_reason(readings):
    reading = readings["withheld"]
    assert reading.measurement.reason in main_sentence(reading)
    assert pulses_sentence(reading) == "No credible pulse is found in these ten seconds."
    assert "no slope" in ratio_sentence(reading)
    assert "withholds R" in curve_sentence(reading)


def test_a_pulse_can_be_told_although_the_saturation_is_withheld():
    """Bright blood and a long red: the red pulse drowns in noise before the infrared one does."""
    reading = read(
        Scenario(
            arterial_saturation=1.0,
            perfusion_index_percent=0.5,
            noise_percent=0.18,
            red_peak_nm=690.0,
        )
    )
    assert reading.measurement.spo2_percent is None
    assert reading.measurement.heart_rate_bpm is not None
    assert "The colours disagree" in main_sentence(reading)
    assert "per minute" in pulses_sentence(reading)


def test_the_layers_sentence_tells_the_shares_of_the_pulse(readings):
    for reading in readings.values():
        layers = reading.absorbance_layers
        red, infrared, ratio = numbers_in(
            "NUMBER % of all that red loses and NUMBER % of what infrared loses.*: NUMBER\\.$",
            layers_sentence(reading),
        )
        shares = 100.0 * layers[-1] / layers.sum(axis=0)
        assert [red, infrared] == pytest.approx(shares, rel=0.06)
        assert ratio == pytest.approx(layers[-1, 0] / layers[-1, 1], abs=0.0051)


def test_the_pulses_sentence_counts_the_beats_and_tells_the_rate(readings):
    reading = readings["ordinary"]
    count, rate = numbers_in(
        "^NUMBER whole beats found, NUMBER per minute", pulses_sentence(reading)
    )
    assert count == len(reading.measurement.beats)
    assert rate == rounded(reading.measurement.heart_rate_bpm)


@pytest.mark.parametrize("state", ["ordinary", "extrapolated", "weak pulse", "too high", "too low"])
def test_the_ratio_and_curve_sentences_tell_r_and_where_it_leads(readings, state):
    measurement = readings[state].measurement
    ratio, red = numbers_in(
        "R = NUMBER: for each 1 % .* red moves NUMBER %", ratio_sentence(readings[state])
    )
    assert ratio == red == pytest.approx(measurement.ratio, abs=0.0051)
    sentence = curve_sentence(readings[state])
    ratio, shown = numbers_in("R = NUMBER the curve says NUMBER %", sentence)
    assert ratio == pytest.approx(measurement.ratio, abs=0.0051)
    assert shown == rounded(measurement.spo2_percent)
    assert ("beyond the volunteers’ range" in sentence) == measurement.extrapolated
    assert ("in the checked range" in sentence) != measurement.extrapolated


@given(st.data())
@settings(max_examples=200)
def test_any_scenario_can_be_read_and_told(any_scenario, data):
    scenario, curve = data.draw(any_scenario), data.draw(st.sampled_from(CURVE_NAMES))
    reading = read(scenario, curve)
    for sentence in SENTENCES:
        check_plain(sentence(reading))
    measurement = reading.measurement
    assert (measurement.spo2_percent is None) == ("No number is shown" in main_sentence(reading))
    if measurement.spo2_percent is not None:
        assert percent(measurement.spo2_percent) in main_sentence(reading)


@given(st.floats(1e-4, 1e9), st.integers(1, 4))
def test_figures_keep_their_digits_and_have_no_exponent(value, digits):
    written = figure(value, digits)
    assert re.fullmatch(r"\d{1,3}(\u202f|\u00a0| |\d{3})*(\.\d+)?", written), written
    read_back = float(re.sub(r"\s", "", written))
    assert read_back == pytest.approx(value, rel=0.5000001 * 10.0 ** (1 - digits))


@pytest.mark.parametrize(
    ("value", "written"),
    [
        (0.0, "0.0"),
        (0.04, "0.0"),
        (-0.04, "0.0"),
        (0.06, "+0.1"),
        (-0.06, "−0.1"),
        (12.34, "+12.3"),
    ],
)
def test_differences_carry_a_sign_unless_they_are_none(value, written):
    assert signed(value) == written


@given(st.floats(-100.0, 100.0))
def test_differences_read_back(value):
    assert abs(float(signed(value).replace("−", "-")) - value) <= 0.05 + 1e-9


@given(st.floats(0.0, 100.0))
def test_a_saturation_is_written_in_whole_percent(value):
    assert percent(value) == f"{math.floor(value + 0.5)} %"


def test_a_withheld_saturation_is_a_dash():
    assert percent(None) == "–"
