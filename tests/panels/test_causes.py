"""The drawer of causes: every field once, situations on top of one another, headings that tell."""

import pytest

from oximetry_workbook.body.scenario import SPECS, Scenario
from oximetry_workbook.panels.bench import MAIN_CONTROLS
from oximetry_workbook.panels.causes import GROUPS, doubts
from oximetry_workbook.panels.prose import html
from oximetry_workbook.teach.situations import SITUATIONS, doubt_table

NAMED = {each.name: each for each in SITUATIONS}


def choose(bench, wire, name):
    labels = [label for label, _ in bench.causes.situations.options]
    return wire.hear(bench.causes.situations, index=labels.index(name))


def test_every_field_is_in_the_drawer_once_or_a_main_control():
    grouped = [name for fields in GROUPS.values() for name in fields]
    assert sorted([*grouped, *MAIN_CONTROLS]) == sorted(SPECS)


@pytest.mark.parametrize("name", NAMED)
def test_a_situation_sets_the_scenario_and_tells_its_cause(bench, wire, name):
    choose(bench, wire, name)
    assert bench.model.scenario == NAMED[name].applied_to(Scenario())
    words = bench.causes.widget.children[1].value
    assert html(NAMED[name].cause) in words
    assert html(NAMED[name].usual_response) in words
    assert "Local protocols decide" in words


def test_situations_pile_up_until_reset(bench, wire):
    choose(bench, wire, "Cold hand")
    choose(bench, wire, "Smoke")
    assert NAMED["Cold hand"].holds_in(bench.model.scenario)
    assert NAMED["Smoke"].holds_in(bench.model.scenario)
    bench.model.reset()
    assert bench.causes.situations.value is None
    assert bench.causes.widget.children[1].value == ""


def test_a_situation_that_no_longer_holds_is_forgotten(bench, wire):
    choose(bench, wire, "Smoke")
    wire.hear(bench.controls["heart_rate_bpm"].slider, value=90.0)
    assert bench.causes.situations.value is NAMED["Smoke"]
    wire.hear(bench.controls["carboxyhaemoglobin"].slider, value=10.0)
    assert bench.causes.situations.value is None


def test_no_situation_is_ever_refused():
    """Whatever went before: each field's own range and the sum of COHb and MetHb allow them."""
    for first in SITUATIONS:
        for second in SITUATIONS:
            worst = Scenario(carboxyhaemoglobin=0.3, methaemoglobin=0.6)
            assert second.holds_in(second.applied_to(first.applied_to(worst)))


def test_headings_fold_and_count_what_is_changed(bench, wire):
    group = bench.causes.groups["Light"]
    assert group.toggle.description == "Light"
    assert "ow-folded" in group.widget.children[1]._dom_classes
    wire.hear(group.toggle, value=True)
    assert "ow-folded" not in group.widget.children[1]._dom_classes
    choose(bench, wire, "Flickering lamp")
    assert group.toggle.description == "Light, 2 changed"
    bench.model.reset()
    assert group.toggle.description == "Light"


def test_the_table_of_doubts_shows_every_row():
    table = doubts().children[-1].value
    for row in doubt_table():
        assert all(html(words) in table for words in row)
