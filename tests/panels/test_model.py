"""The bench's state without any widget."""

import pytest
import traitlets
from hypothesis import given, settings
from hypothesis import strategies as st

from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.meter.curve import TEXTBOOK
from oximetry_workbook.panels.model import BenchModel
from oximetry_workbook.teach.reading import PROBE_CURVE


@pytest.fixture
def model():
    return BenchModel()


def count_changes(model):
    seen = {"scenario": 0, "reading": 0}
    for name in seen:
        model.observe(lambda change: seen.update({change["name"]: seen[change["name"]] + 1}), name)
    return seen


def test_it_starts_from_the_scenario_given():
    assert BenchModel().scenario == Scenario()
    scenario = Scenario(arterial_saturation=0.8)
    model = BenchModel(scenario)
    assert model.scenario is scenario
    assert model.reading.scenario is scenario
    assert model.reference is None


def test_one_change_makes_one_reading(model):
    seen = count_changes(model)
    model.set("arterial_saturation", 0.85)
    assert seen == {"scenario": 1, "reading": 1}
    assert model.reading.scenario == Scenario(arterial_saturation=0.85)


def test_the_same_value_again_makes_no_reading(model):
    seen = count_changes(model)
    model.set("arterial_saturation", model.scenario.arterial_saturation)
    assert seen == {"scenario": 0, "reading": 0}


@pytest.mark.parametrize(
    ("name", "value"),
    [("heart_rate_bpm", 400.0), ("arterial_saturation", 97), ("site", "toe"), ("pulse", 1.0)],
)
def test_a_refused_value_leaves_everything_as_it_was(model, name, value):
    scenario, reading = model.scenario, model.reading
    with pytest.raises(ValueError, match=name):
        model.set(name, value)
    assert model.scenario is scenario
    assert model.reading is reading


def test_a_scenario_of_another_kind_is_refused(model):
    with pytest.raises(traitlets.TraitError):
        model.scenario = {"arterial_saturation": 0.9}
    assert model.scenario == Scenario()


def test_another_curve_reads_the_same_scenario_anew(model):
    before = model.reading
    model.curve = TEXTBOOK.name
    assert model.reading.measurement.curve is TEXTBOOK
    assert model.reading.scenario is before.scenario
    assert model.reading.measurement.ratio == pytest.approx(before.measurement.ratio)


def test_a_reference_stays_while_the_reading_moves_on(model):
    model.keep_reference()
    kept = model.reading
    model.set("arterial_saturation", 0.7)
    assert model.reference is kept
    assert model.reading is not kept


def test_starting_from_ordinary_keeps_curve_and_reference(model):
    model.set("arterial_saturation", 0.7)
    model.curve = TEXTBOOK.name
    model.keep_reference()
    kept = model.reference
    model.start_from_ordinary()
    assert model.scenario == Scenario()
    assert model.reading.scenario == Scenario()
    assert model.curve == TEXTBOOK.name
    assert model.reference is kept


@given(st.data())
@settings(max_examples=20)
def test_reset_goes_back_from_anywhere(any_scenario, data):
    model, fresh = BenchModel(), BenchModel()
    model.scenario = data.draw(any_scenario)
    model.curve = TEXTBOOK.name
    model.keep_reference()
    model.reset()
    assert model.scenario == Scenario()
    assert model.curve == PROBE_CURVE
    assert model.reference is None
    measured, expected = model.reading.measurement, fresh.reading.measurement
    assert (measured.spo2_percent, measured.ratio) == (expected.spo2_percent, expected.ratio)
