"""A scenario taken through the chain, and what can be taken home from it."""

import io

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.body.simulate import simulate
from oximetry_workbook.meter.curve import TEXTBOOK, published_curves
from oximetry_workbook.meter.files.table import exact_reading
from oximetry_workbook.teach.reading import (
    CAUTION,
    CURVE_NAMES,
    PROBE_CURVE,
    beer_lambert_curve,
    curve_named,
    read,
    recording_csv,
)
from oximetry_workbook.teach.words import main_sentence


def test_a_reading_keeps_what_it_was_made_of():
    scenario = Scenario(arterial_saturation=0.9)
    reading = read(scenario)
    assert reading.scenario is scenario
    np.testing.assert_array_equal(reading.recording.red, simulate(scenario).red)
    assert reading.carried_percent == pytest.approx(90.0)
    shown = reading.measurement.spo2_percent
    assert reading.error_points == pytest.approx(shown - 90.0)


def test_a_withheld_number_has_no_error(readings):
    assert readings["withheld"].measurement.spo2_percent is None
    assert readings["withheld"].error_points is None


def test_the_chosen_curve_is_used():
    measurement = read(Scenario(), TEXTBOOK.name).measurement
    assert measurement.curve is TEXTBOOK
    assert measurement.spo2_percent == pytest.approx(110.0 - 25.0 * measurement.ratio)


def test_every_published_curve_and_the_probes_own_can_be_chosen():
    assert set(CURVE_NAMES) == {PROBE_CURVE, *published_curves}
    assert curve_named(PROBE_CURVE) is None
    for name, curve in published_curves.items():
        assert curve_named(name) is curve


@pytest.mark.parametrize("make", [curve_named, lambda name: read(Scenario(), name)])
@pytest.mark.parametrize("name", ["", "my curve", "textbook"])
def test_an_unknown_curve_is_named_beside_the_known_ones(make, name):
    with pytest.raises(ValueError, match=f"^curve is '{name}'; choose one of") as caught:
        make(name)
    for known in CURVE_NAMES:
        assert known in str(caught.value)


@given(st.data())
@settings(max_examples=60)
def test_light_change_is_about_its_mean(any_scenario, data):
    reading = read(data.draw(any_scenario))
    change = reading.light_change_percent
    assert change.shape == (2, reading.recording.time_s.size)
    np.testing.assert_allclose(change.mean(axis=1), 0.0, atol=1e-9)
    red = reading.recording.red
    np.testing.assert_allclose(red.mean() * (1.0 + change[0] / 100.0), red, rtol=1e-9)


@given(st.data())
@settings(max_examples=60)
def test_layers_and_paths_are_finite_and_never_negative(any_scenario, data):
    reading = read(data.draw(any_scenario))
    assert reading.absorbance_layers.shape == (5, 2)
    assert np.all(np.isfinite(reading.absorbance_layers))
    assert np.all(reading.absorbance_layers >= 0.0)
    assert np.all(reading.absorbance_layers[-1] > 0.0)
    assert np.all(np.isfinite(reading.path_length_cm))
    assert np.all(reading.path_length_cm > 0.0)


def test_beats_are_those_of_the_meter(readings):
    times = readings["ordinary"].beat_times_s
    np.testing.assert_array_equal(times, readings["ordinary"].measurement.beats["time_s"])
    assert readings["withheld"].beat_times_s.size == len(readings["withheld"].measurement.beats)


def test_plain_beer_lambert_gives_the_ratio_of_the_extinctions():
    """Prahl's compiled spectra of haemoglobin (omlc.org), full saturation, at 660 and 940 nm.

    HbO2 319.6 and 1214 per cm per mol/L: R = 319.6 / 1214 = 0.263. The LEDs are not single
    lines, so the two agree to a few percent only.
    """
    curve = beer_lambert_curve(Scenario())
    assert curve.ratio_at(100.0) == pytest.approx(319.6 / 1214.0, rel=0.06)


def csv_of(scenario):
    reading = read(scenario)
    return reading, recording_csv(reading)


def comment_lines(text):
    return [line for line in text.splitlines() if line.startswith("#")]


@given(st.data())
@settings(max_examples=30)
def test_csv_reads_back(any_scenario, data):
    reading, text = csv_of(data.draw(any_scenario))
    table = pd.read_csv(io.StringIO(text), comment="#", **exact_reading())
    assert list(table) == ["time_s", "red", "infrared", "reference_percent"]
    for name in table:
        np.testing.assert_allclose(table[name], getattr(reading.recording, name), rtol=1e-14)


@given(st.data())
@settings(max_examples=30)
def test_csv_carries_the_scenario_that_made_it(any_scenario, data):
    scenario = data.draw(any_scenario)
    _, text = csv_of(scenario)
    [line] = [line for line in comment_lines(text) if line.startswith("# scenario: ")]
    assert Scenario.from_json(line.removeprefix("# scenario: ")) == scenario


def test_csv_warns_and_names_every_column():
    _, text = csv_of(Scenario())
    head = "\n".join(comment_lines(text))
    assert CAUTION in head
    for column in ("time_s", "red", "infrared", "reference_percent"):
        assert column in head
    assert text.startswith(head)


@pytest.mark.parametrize(("field", "lost"), [("carboxyhaemoglobin", 0.3), ("methaemoglobin", 0.2)])
def test_haemoglobin_that_cannot_carry_oxygen_counts_as_lost(field, lost):
    """Fractional against functional saturation: FO2Hb = SaO2 (1 - COHb - MetHb), the definition
    of both (Zijlstra and others 1991, Clin Chem 37:1633)."""
    reading = read(Scenario(arterial_saturation=0.97, **{field: lost}))
    assert reading.carried_percent == pytest.approx(97.0 * (1.0 - lost))
    assert reading.error_points > 5.0
    assert "cannot tell" in main_sentence(reading)
    assert "too high" in main_sentence(reading)
