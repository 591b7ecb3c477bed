"""The scenario's fields: bounds, messages, JSON."""

import json
import math
from dataclasses import FrozenInstanceError, dataclass, fields

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from oximetry_workbook.body.quantities import Choice, Quantity, specs_of
from oximetry_workbook.body.scenario import SCHEMA_VERSION, SPECS, Scenario, as_in_scenario

QUANTITIES = {name: spec for name, spec in SPECS.items() if isinstance(spec, Quantity)}
CHOICES = {name: spec for name, spec in SPECS.items() if isinstance(spec, Choice)}
FRACTIONS = ("arterial_saturation", "carboxyhaemoglobin", "methaemoglobin")

every_quantity = pytest.mark.parametrize(("name", "spec"), QUANTITIES.items(), ids=QUANTITIES)
every_choice = pytest.mark.parametrize(("name", "spec"), CHOICES.items(), ids=CHOICES)


def message_of(name, value):
    with pytest.raises(ValueError, match=rf"^{name} is ") as caught:
        Scenario(**{name: value})
    return str(caught.value)


def test_defaults_are_a_healthy_adult_at_rest():
    """Ordinary values (common practice), each inside its own range."""
    scenario = Scenario()
    assert (scenario.arterial_saturation, scenario.heart_rate_bpm) == (0.97, 72.0)
    assert (scenario.red_peak_nm, scenario.infrared_peak_nm) == (660.0, 940.0)
    assert (scenario.site, scenario.extinction_table) == ("finger", "Prahl")
    assert scenario.haemoglobin_g_per_l == 150.0
    for disturbance in ("ambient_light_percent", "bypass_percent", "motion_percent"):
        assert getattr(scenario, disturbance) == 0.0


def test_every_field_has_a_spec_and_a_line_of_documentation():
    assert list(SPECS) == [f.name for f in fields(Scenario)]
    for name in SPECS:
        assert f"        {name}: " in Scenario.__doc__


@every_quantity
def test_both_bounds_are_allowed_and_a_step_beyond_is_not(name, spec):
    for bound, beyond in ((spec.low, -math.inf), (spec.high, math.inf)):
        assert getattr(Scenario(**{name: bound}), name) == bound
        message_of(name, math.nextafter(bound, beyond))


@every_quantity
def test_the_message_tells_field_value_range_and_unit(name, spec):
    message = message_of(name, spec.high + 1234.5)
    assert message.startswith(f"{name} is {spec.high + 1234.5:.12g}; ")
    assert f"{spec.low:g} to {spec.high:g} {spec.unit}".rstrip() in message


def test_the_message_never_shows_a_refused_value_as_an_allowed_one():
    assert "1.0000001;" in message_of("arterial_saturation", 1.0000001)


@every_quantity
def test_the_step_of_a_slider_fits_into_the_range(name, spec):
    assert spec.low < spec.high
    assert spec.label
    assert 0.0 < spec.step <= spec.high - spec.low
    assert not (spec.logarithmic and spec.low <= 0.0)


@pytest.mark.parametrize("name", FRACTIONS)
def test_percent_for_a_fraction_gets_the_hint(name):
    assert "write 0.97 for 97 %" in message_of(name, 97)


@pytest.mark.parametrize(("value", "hinted"), [(1.5, True), (100.0, True), (100.5, False)])
def test_only_what_may_be_a_percentage_gets_the_hint(value, hinted):
    assert ("this is a fraction" in message_of("arterial_saturation", value)) == hinted


def test_a_field_in_percent_does_not_get_the_hint_for_fractions():
    assert "0.97" not in message_of("noise_percent", 97)


@every_quantity
@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf, 10**400])
def test_not_finite_is_refused(name, spec, value):
    message_of(name, value)


@every_quantity
@pytest.mark.parametrize("value", [True, False, "1", None, [1.0], 1j, np.ones(1)])
def test_what_is_no_number_is_refused(name, spec, value):
    message = message_of(name, value)
    assert "must be a number" in message
    assert f"{spec.low:g} to {spec.high:g}" in message


@every_quantity
@pytest.mark.parametrize("kind", [np.float64, np.float32, np.int64])
def test_numbers_of_numpy_become_plain_floats(name, spec, kind):
    value = kind(math.ceil(spec.low) if kind is np.int64 else (spec.low + spec.high) / 2.0)
    assert type(getattr(Scenario(**{name: value}), name)) is float


@every_choice
@pytest.mark.parametrize("value", ["toe", "", None, 1, ["finger"], np.array(["ear", "wrist"])])
def test_an_unknown_choice_lists_the_options(name, spec, value):
    message = message_of(name, value)
    for option in spec.options:
        assert option in message


@pytest.mark.parametrize(
    ("carboxy", "met", "fits"), [(0.3, 0.6, True), (0.34, 0.56, True), (0.31, 0.6, False)]
)
def test_some_haemoglobin_is_left_for_oxygen(carboxy, met, fits):
    if fits:
        Scenario(carboxyhaemoglobin=carboxy, methaemoglobin=met)
        return
    with pytest.raises(ValueError, match=r"carboxyhaemoglobin and methaemoglobin.*0\.91.*0\.9"):
        Scenario(carboxyhaemoglobin=carboxy, methaemoglobin=met)


@given(st.data())
def test_json_round_trip(any_scenario, data):
    scenario = data.draw(any_scenario)
    text = scenario.to_json()
    assert Scenario.from_json(text) == scenario
    assert json.loads(text)["schema"] == SCHEMA_VERSION


def test_fields_left_out_keep_their_defaults():
    read = Scenario.from_json('{"schema": 1, "heart_rate_bpm": 100}')
    assert read == Scenario(heart_rate_bpm=100)


@pytest.mark.parametrize("schema", ["2", "99", "0", '"1"', "null", "[1]"])
def test_another_schema_is_refused_with_what_to_do(schema):
    with pytest.raises(ValueError, match=r"schema is .*this version reads 1.*Update"):
        Scenario.from_json(f'{{"schema": {schema}}}')


def test_no_schema_is_refused():
    with pytest.raises(ValueError, match="schema is None"):
        Scenario.from_json("{}")


@pytest.mark.parametrize("text", ["", "{", "finger", "{'schema': 1}", "[" * 100_000, None])
def test_what_is_not_json_is_refused(text):
    with pytest.raises(ValueError, match="not readable JSON"):
        Scenario.from_json(text)


@pytest.mark.parametrize("text", ["[]", "1", '"x"', "null", "true"])
def test_json_that_is_no_object_is_refused(text):
    with pytest.raises(ValueError, match="must be a JSON object"):
        Scenario.from_json(text)


@pytest.mark.parametrize("name", ["spo2", "self", "", "cls", "__class__"])
def test_an_unknown_field_is_named_beside_the_known_ones(name):
    with pytest.raises(ValueError, match=rf"unknown field '{name}'.*arterial_saturation"):
        Scenario.from_json(json.dumps({"schema": 1, name: 1.0}))


@pytest.mark.parametrize("value", ["NaN", "Infinity", "1e999", "97", "null", '"0.9"', "true"])
def test_a_bad_value_in_json_is_named(value):
    with pytest.raises(ValueError, match=r"^arterial_saturation is .*0\.4 to 1"):
        Scenario.from_json(f'{{"schema": 1, "arterial_saturation": {value}}}')


def test_replace_changes_a_copy_and_checks_it():
    scenario = Scenario()
    assert scenario.replace(heart_rate_bpm=60).heart_rate_bpm == 60.0
    assert scenario == Scenario()
    with pytest.raises(ValueError, match="heart_rate_bpm is 0; allowed is 30 to 220 "):
        scenario.replace(heart_rate_bpm=0)
    with pytest.raises(ValueError, match="unknown field 'pulse'"):
        scenario.replace(pulse=60)


def test_changes_are_the_fields_that_differ_from_the_usual():
    assert Scenario().changes() == {}
    changed = {"heart_rate_bpm": 60.0, "site": "ear"}
    assert Scenario(**changed).changes() == changed


def test_a_scenario_is_frozen_and_serves_as_a_key():
    scenario = Scenario()
    with pytest.raises(FrozenInstanceError):
        scenario.heart_rate_bpm = 60.0
    assert len({scenario, Scenario(), scenario.replace(heart_rate_bpm=60)}) == 2


@pytest.mark.parametrize(
    "name", [name for name, spec in SPECS.items() if getattr(spec, "whole", 0)]
)
def test_a_count_is_a_whole_number(name):
    spec = SPECS[name]
    message = message_of(name, spec.low + 0.5)
    assert f"whole numbers, {spec.low:g} to {spec.high:g}" in message


def test_a_field_taken_over_has_the_scenarios_default_and_range():
    @dataclass(frozen=True)
    class Taken:
        haemoglobin_g_per_l: float = as_in_scenario("haemoglobin_g_per_l")
        site: str = as_in_scenario("site")

    assert Taken() == Taken(Scenario().haemoglobin_g_per_l, Scenario().site)
    assert specs_of(Taken) == {name: SPECS[name] for name in ("haemoglobin_g_per_l", "site")}
