"""The panel of other blood: each control moves what it should, in few messages."""

from collections import Counter

import ipywidgets as widgets
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from oximetry_workbook.body.quantities import Quantity, specs_of
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.other_blood import make_views, other_blood
from oximetry_workbook.panels.prose import html
from oximetry_workbook.panels.state_panel import StatePanel
from oximetry_workbook.teach.other_blood import ORDINARY, OtherBlood
from oximetry_workbook.teach.other_blood_words import (
    content_sentence,
    dye_sentence,
    main_sentence,
    methaemoglobin_sentence,
    monoxide_sentence,
    shares_sentence,
)

FIELDS = specs_of(OtherBlood)
MOST_BYTES = 60_000
READINGS = {"meter", "meter pair", "CO point", "Met point", "dye point"}
MOVES = {
    "arterial_saturation": (
        80.0,
        READINGS
        | {"all", "can carry", "content", "CO line", "Met line", "dye line"}
        | {"CO carried", "Met carried", "dye carried", "dogs", "rule", "smokers"},
    ),
    "carboxyhaemoglobin": (
        40.0,
        READINGS
        | {"all", "content", "Met line", "low line", "dye line"}
        | {"Met carried", "dye carried"},
    ),
    "methaemoglobin": (
        30.0,
        READINGS
        | {"all", "content", "CO line", "dye line"}
        | {"CO carried", "dye carried", "dogs", "rule", "smokers"},
    ),
    "haemoglobin_g_per_l": (
        60.0,
        READINGS | {"content", "CO line", "Met line", "low line", "dye line"},
    ),
    "dye": ("indocyanine green", {"dye line", "published dye"}),
    "dye_mg_per_l": (20.0, READINGS | {"CO line", "Met line", "low line"}),
}
"""A place to move each control to, and the marks that must follow. At the start there is nothing
of the dye in the blood, so that another one moves its own plot alone."""

LEAST_MOVE = 0.3
"""What the eye could see: parts of 100, or millilitres."""

every_move = pytest.mark.parametrize("name", MOVES)


@pytest.fixture
def panel(wire):
    return StatePanel(OtherBlood(), make_views)


def marks_of(panel):
    _, shares, content, monoxide, met, dye, _ = panel.views
    dogs, rule, smokers, _ = monoxide.published
    low, _ = met.published
    points = {"CO": monoxide.point, "Met": met.point, "dye": dye.point}
    drawn = {
        "all": shares.parts.y[:, 0],
        "can carry": shares.parts.y[:, 1],
        "meter": shares.meter.y,
        "content": content.content.y,
        "meter pair": content.meter.y,
        "CO line": monoxide.chain.y,
        "Met line": met.chain.y,
        "low line": low.y,
        "dye line": dye.chain.y,
        "CO carried": monoxide.carried.y,
        "Met carried": met.carried.y,
        "dye carried": dye.carried.y,
        "dogs": dogs.y,
        "rule": rule.y,
        "smokers": smokers.y,
        "published dye": np.append(dye.published[0].y, 100.0 * dye.published[0].visible),
    }
    return drawn | {f"{name} point": np.append(p.x, p.y) for name, p in points.items()}


def move(panel, wire, name, value=None):
    return wire.set(panel.controls[name], MOVES[name][0] if value is None else value)


def moved_marks(before, after):
    return {
        mark
        for mark, values in after.items()
        if values.shape != before[mark].shape or np.max(np.abs(values - before[mark])) > LEAST_MOVE
    }


def test_every_field_has_a_control_and_a_move_here(panel):
    assert set(panel.controls) == set(FIELDS) == set(MOVES)


@every_move
def test_a_control_moves_the_marks_that_depend_on_it(panel, wire, name):
    before = marks_of(panel)
    move(panel, wire, name)
    assert moved_marks(before, marks_of(panel)) == MOVES[name][1]
    assert panel.notice.value == ""


@every_move
def test_marks_and_words_are_those_of_the_state(panel, wire, name):
    move(panel, wire, name)
    state, marks = panel.model.state, marks_of(panel)
    np.testing.assert_allclose(marks["all"], state.shares_percent)
    assert marks["can carry"][0] == pytest.approx(state.functional_percent)
    np.testing.assert_allclose(marks["meter"], [[state.shown_percent]])
    contents = [ORDINARY.content_ml_per_dl, state.content_ml_per_dl]
    np.testing.assert_allclose(marks["content"], contents)
    np.testing.assert_array_equal(marks["CO line"], state.monoxide_line.percent)
    np.testing.assert_array_equal(marks["Met line"], state.methaemoglobin_line.percent)
    np.testing.assert_array_equal(marks["dye line"], state.dye_line.percent)
    summary, *plots, _ = panel.views
    sentences = (
        shares_sentence,
        content_sentence,
        monoxide_sentence,
        methaemoglobin_sentence,
        dye_sentence,
    )
    for view, sentence in zip(plots, sentences, strict=True):
        assert view.says.value == html(sentence(state))
    assert summary.sentence.value == html(main_sentence(state))


@every_move
def test_one_move_sends_one_message_a_widget_and_few_bytes(panel, wire, name):
    sent = move(panel, wire, name)
    updates = Counter(each.comm_id for each in sent if each.method == "update")
    assert set(updates.values()) <= {1}
    assert sum(each.size for each in sent) < MOST_BYTES


def test_too_much_together_is_refused_and_said(panel, wire):
    move(panel, wire, "carboxyhaemoglobin", 60.0)
    move(panel, wire, "methaemoglobin", 50.0)
    assert "60 % and MetHb 50 % add up to 110 %" in panel.notice.value.replace("\u00a0", " ")
    assert panel.model.state.methaemoglobin == 0.0
    assert panel.controls["methaemoglobin"].number.value == 0.0


def test_reset_goes_back(panel, wire):
    before = marks_of(panel)
    for name in MOVES:
        move(panel, wire, name)
    panel.reset()
    assert moved_marks(before, marks_of(panel)) == set()


def test_the_four_spectra_are_drawn_apart(panel):
    spectra = panel.views[-1]
    lines = [*spectra.lines.values(), *spectra.others.values()]
    assert len({line.line_style for line in lines}) == len({line.colors[0] for line in lines}) == 4
    for line in lines:
        assert np.all(np.isfinite(np.log10(line.y)))


def _values_of(spec):
    if isinstance(spec, Quantity):
        return st.floats(spec.low, spec.high)
    return st.sampled_from(spec.options)


@pytest.fixture(scope="module")
def views():
    yield make_views(Notice())
    widgets.Widget.close_all()


@given(st.data())
@settings(max_examples=20)
def test_any_blood_can_be_drawn_within_its_axes(views, data):
    values = {name: data.draw(_values_of(spec)) for name, spec in FIELDS.items()}
    values["methaemoglobin"] = min(values["methaemoglobin"], 0.9 - values["carboxyhaemoglobin"])
    state = OtherBlood(**values)
    for view in views:
        view.show(state)
    _, shares, content, *plots, _ = views
    for figure in (shares.figure, *content.figures, *(each.figure for each in plots)):
        top = figure.axes[1].scale.max
        for mark in figure.marks:
            assert np.all(np.isfinite(mark.y))
            if mark.visible:
                assert -3.0 <= np.min(mark.y) <= np.max(mark.y) <= top


def test_the_public_function_shows_the_panel(wire):
    assert "ow-panel" in other_blood()._dom_classes
