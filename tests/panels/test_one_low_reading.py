"""The panel of one low reading: each control moves what it should, in few messages."""

from collections import Counter

import ipywidgets as widgets
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from oximetry_workbook.body.quantities import Quantity, specs_of
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.one_low_reading import (
    BeliefPlot,
    HundredPlot,
    MonthPlot,
    Summary,
    one_low_reading,
)
from oximetry_workbook.panels.prose import html
from oximetry_workbook.panels.state_panel import StatePanel
from oximetry_workbook.teach.one_low_reading import OneLowReading
from oximetry_workbook.teach.one_low_reading_words import (
    belief_sentence,
    hundred_sentence,
    meter_sentence,
    month_sentence,
    verdict,
)

FIELDS = specs_of(OneLowReading)
MOST_BYTES = 60_000
ALL = {"earlier", "now", "hundred", "seen", "all new"}
MOVES = {
    "reading_percent": (90.0, ALL - {"earlier"}),
    "a_rms_points": (3.0, ALL - {"earlier"}),
    "prevalence": (30.0, {"earlier", "now", "hundred"}),
    "repeats": (2.0, {"now", "hundred"}),
    "repeats_show_percent": (92.0, {"now", "hundred"}),
    "repeats_when": ("each on another day", {"now", "hundred"}),
    "person_share": (60.0, {"now", "hundred", "seen"}),
    "sitting_share": (0.0, {"now", "hundred"}),
    "checks_a_day": (8.0, {"seen", "all new"}),
}
"""A place to move each control to, and the marks that must follow, once there is a repeat of 93.
Where all of the error is new at each check, it does not matter how it is split; and where each
check is a sitting of its own, how the part is split that does not stay with the person."""

LEAST_MOVE = {"earlier": 0.2, "now": 0.2, "hundred": 0.5, "seen": 0.5, "all new": 0.5}
"""What the eye could see: people of 100 a point, a person, percent."""

every_move = pytest.mark.parametrize("name", MOVES)
START = OneLowReading(repeats=1, repeats_show_percent=93)


def make_views(notice):
    return Summary(), HundredPlot(notice), BeliefPlot(notice), MonthPlot(notice)


@pytest.fixture
def panel(wire):
    return StatePanel(START, make_views)


def marks_of(panel):
    _, hundred, belief, month = panel.views
    return {
        "earlier": belief.earlier.y,
        "now": belief.now.y,
        "hundred": np.array([len(band.x) if band.visible else 0 for band in hundred.bands]),
        "seen": month.seen.y,
        "all new": month.all_new.y,
    }


def move(panel, wire, name):
    return wire.set(panel.controls[name], MOVES[name][0])


def test_every_field_has_a_control_and_a_move_here(panel):
    assert set(panel.controls) == set(FIELDS) == set(MOVES)


@every_move
def test_a_control_moves_the_marks_that_depend_on_it(panel, wire, name):
    before = marks_of(panel)
    move(panel, wire, name)
    after = marks_of(panel)
    moved = {m for m in ALL if np.abs(after[m] - before[m]).max() > LEAST_MOVE[m]}
    expected = MOVES[name][1]
    assert moved == expected
    share = 100.0 if getattr(FIELDS[name], "fraction", False) else 1.0
    value = MOVES[name][0]
    held = value if isinstance(value, str) else pytest.approx(value / share)
    assert getattr(panel.model.state, name) == held
    assert panel.notice.value == ""


@every_move
def test_marks_and_words_are_those_of_the_state(panel, wire, name):
    move(panel, wire, name)
    state, marks = panel.model.state, marks_of(panel)
    np.testing.assert_allclose([marks["earlier"], marks["now"]], state.curves, rtol=1e-6, atol=1e-9)
    assert tuple(marks["hundred"]) == state.of_hundred
    np.testing.assert_allclose(marks["seen"][1:], state.by_day, rtol=1e-6)
    np.testing.assert_allclose(marks["all new"][1:], state.by_day_all_new, rtol=1e-6)
    summary, hundred, belief, month = panel.views
    assert belief.shown.x[0] == state.reading_percent
    for view, sentence in (
        (hundred, hundred_sentence),
        (belief, belief_sentence),
        (month, month_sentence),
    ):
        assert view.says.value == html(sentence(state))
    written = [each.value for each in summary.widget.children]
    assert {html(verdict(state)), html(meter_sentence(state))} <= set(written)


@every_move
def test_one_move_sends_one_message_a_widget_and_few_bytes(panel, wire, name):
    sent = move(panel, wire, name)
    updates = Counter(each.comm_id for each in sent if each.method == "update")
    assert updates
    assert set(updates.values()) == {1}
    assert sum(each.size for each in sent) < MOST_BYTES


def test_the_hundred_stand_each_in_a_place_of_their_own(panel, wire):
    move(panel, wire, "prevalence")
    bands = [band for band in panel.views[1].bands if band.visible]
    places = {tuple(place) for band in bands for place in np.transpose([band.x, band.y])}
    assert len(bands) == 3
    assert len(places) == 100


def test_bands_differ_by_shape_as_well_as_colour(panel):
    bands = panel.views[1].bands
    assert len({band.marker for band in bands}) == len({band.colors[0] for band in bands}) == 3


def test_half_a_repeat_is_refused_in_words(panel, wire):
    wire.hear(panel.controls["repeats"].number, value=1.5)
    assert "whole numbers" in panel.notice.value
    assert panel.model.state == START


def test_reset_goes_back(panel, wire):
    before = marks_of(panel)
    for name in MOVES:
        move(panel, wire, name)
    panel.reset()
    for mark, values in marks_of(panel).items():
        np.testing.assert_array_equal(values, before[mark])


def value_of(spec):
    if not isinstance(spec, Quantity):
        return st.sampled_from(spec.options)
    if spec.whole:
        return st.integers(int(spec.low), int(spec.high)).map(float)
    return st.floats(spec.low, spec.high)


@pytest.fixture(scope="module")
def views():
    yield make_views(Notice())
    widgets.Widget.close_all()


@given(st.fixed_dictionaries({name: value_of(spec) for name, spec in FIELDS.items()}))
@settings(max_examples=60)
def test_any_state_can_be_drawn(views, values):
    state = OneLowReading(**values)
    for view in views:
        view.show(state)
    for view in views[1:]:
        for mark in view.figure.marks:
            assert len(mark.x) == len(mark.y) > 0
            assert np.all(np.isfinite(mark.y))
    belief = views[2]
    assert belief.now.y.max() <= belief.figure.axes[1].scale.max
    assert belief.earlier.y.max() <= belief.figure.axes[1].scale.max


def test_the_public_function_shows_the_panel(wire):
    assert "ow-panel" in one_low_reading()._dom_classes
