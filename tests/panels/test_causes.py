"""The drawer of causes: every field once, situations on top of one another, headings that tell."""

import asyncio

import pytest

from oximetry_workbook.body.scenario import SPECS, Scenario
from oximetry_workbook.meter.curve import TEXTBOOK
from oximetry_workbook.panels.bench import MAIN_CONTROLS
from oximetry_workbook.panels.causes import GROUPS, doubts
from oximetry_workbook.panels.prose import html
from oximetry_workbook.teach.situations import SITUATIONS, doubt_row

NAMED = {each.name: each for each in SITUATIONS}


def click(wire, button):
    data = {"method": "custom", "content": {"event": "click"}}
    before = len(wire.messages)
    button.comm.handle_msg({"content": {"data": data}, "buffers": []})
    return wire.messages[before:]


def choose(bench, wire, name):
    return click(wire, bench.causes.situations.buttons[name])


def start_from_ordinary(bench, wire):
    (row,) = [w for w in bench.causes.widget.children if "ow-actions" in w._dom_classes]
    click(wire, row.children[0])


def marked(bench):
    buttons = bench.causes.situations.buttons
    names = {name for name, each in buttons.items() if each.description == f"✓ {name}"}
    assert names == {name for name, each in buttons.items() if "ow-holds" in each._dom_classes}
    return names


def test_every_field_is_in_the_drawer_once_or_a_main_control():
    grouped = [name for fields in GROUPS.values() for name in fields]
    assert sorted([*grouped, *MAIN_CONTROLS]) == sorted(SPECS)


@pytest.mark.parametrize("name", NAMED)
def test_a_situation_sets_the_scenario_and_tells_its_cause(bench, wire, name):
    choose(bench, wire, name)
    assert bench.model.scenario == NAMED[name].applied_to(Scenario())
    words = bench.causes.words.value
    assert html(NAMED[name].cause) in words
    assert html(NAMED[name].usual_response) in words
    assert "Local protocols decide" in words


def test_situations_pile_up_and_say_so_until_reset(bench, wire):
    choose(bench, wire, "Cold hand")
    assert "Cold hand, alone." in bench.causes.words.value
    choose(bench, wire, "Smoke")
    assert NAMED["Cold hand"].holds_in(bench.model.scenario)
    assert NAMED["Smoke"].holds_in(bench.model.scenario)
    assert "Smoke, on top of: Cold hand." in bench.causes.words.value
    assert marked(bench) == {"Cold hand", "Smoke"}
    bench.model.reset()
    assert bench.causes.latest is None
    assert marked(bench) == set()
    assert "Everything is as usual." in bench.causes.words.value
    assert html(NAMED["Smoke"].cause) not in bench.causes.words.value


def test_from_ordinary_one_can_be_tried_alone(bench, wire):
    bench.model.keep_reference()
    bench.model.curve = TEXTBOOK.name
    kept = bench.model.reference
    choose(bench, wire, "Cold hand")
    wire.hear(bench.controls["heart_rate_bpm"].slider, value=90.0)
    start_from_ordinary(bench, wire)
    assert bench.model.scenario == Scenario()
    choose(bench, wire, "Smoke")
    assert bench.model.scenario == NAMED["Smoke"].applied_to(Scenario())
    assert "Smoke, alone." in bench.causes.words.value
    assert bench.model.reference is kept
    assert bench.model.curve == TEXTBOOK.name


def test_what_else_is_changed_is_told(bench, wire):
    wire.hear(bench.controls["heart_rate_bpm"].slider, value=90.0)
    assert html("Changed: Heart rate 90 /min.") in bench.causes.words.value
    choose(bench, wire, "Smoke")
    assert html("Changed besides: Heart rate 90 /min.") in bench.causes.words.value


def test_a_situation_that_no_longer_holds_is_forgotten(bench, wire):
    choose(bench, wire, "Smoke")
    wire.hear(bench.controls["heart_rate_bpm"].slider, value=90.0)
    assert bench.causes.latest is NAMED["Smoke"]
    wire.hear(bench.controls["carboxyhaemoglobin"].slider, value=10.0)
    assert bench.causes.latest is None
    assert marked(bench) == set()


def test_a_situation_is_pressed_again_after_reset(bench, wire):
    """A list that still showed it would send nothing; a button tells of every press."""
    for _ in range(2):
        choose(bench, wire, "Smoke")
        assert NAMED["Smoke"].holds_in(bench.model.scenario)
        bench.model.reset()


def test_a_situation_that_holds_already_is_told_when_it_is_pressed(bench, wire):
    wire.hear(bench.controls["arterial_saturation"].slider, value=60.0)
    assert bench.causes.latest is None
    assert marked(bench) == {"Very low saturation"}
    choose(bench, wire, "Very low saturation")
    assert html(NAMED["Very low saturation"].cause) in bench.causes.words.value


def test_no_news_from_the_kernel_sets_a_value_that_somebody_chooses(bench, wire):
    """What is sent to the buttons is how they look; no late message can undo a press."""
    buttons = {each.model_id for each in bench.causes.situations.buttons.values()}
    sent = [*choose(bench, wire, "Cold hand"), *choose(bench, wire, "Smoke")]
    told = set().union(*(each.names for each in sent if each.comm_id in buttons))
    assert told == {"description", "_dom_classes"}


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
    for situation in SITUATIONS:
        assert all(html(words) in table for words in doubt_row(situation))
    assert "…" not in table


def test_the_page_need_not_wait_for_the_table():
    """With an event loop, as a kernel has one, the table is there at once and fills itself."""

    async def opened():
        shown = doubts().children[-1]
        at_once = shown.value
        while "…" in shown.value:
            await asyncio.sleep(0.01)
        return at_once, shown.value

    at_once, later = asyncio.run(asyncio.wait_for(opened(), 60.0))
    assert at_once.count("…") == len(SITUATIONS)
    assert later == doubts().children[-1].value
