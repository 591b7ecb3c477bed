"""The panel of steady and pulsing: each control moves what it should, in few messages."""

from collections import Counter

import ipywidgets as widgets
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from oximetry_workbook.body.quantities import Quantity, specs_of
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.prose import html
from oximetry_workbook.panels.state_panel import StatePanel
from oximetry_workbook.panels.steady_and_pulsing import (
    MOVING,
    LightPlot,
    SharesPlot,
    StackPlot,
    Summary,
    layers,
    round_ticks,
)
from oximetry_workbook.teach.steady_and_pulsing import SteadyAndPulsing
from oximetry_workbook.teach.steady_and_pulsing_words import (
    light_sentence,
    shares_sentence,
    stack_sentence,
    verdict,
)

FIELDS = specs_of(SteadyAndPulsing)
MOST_BYTES = 60_000
ALL = {"stack", "top", "light", "whole", "moving"}
MOVES = {
    "magnification": (20.0, set()),
    "arterial_blood": ("stands still", ALL),
    "venous_blood": ("moves too", ALL),
    "arterial_saturation": (80.0, ALL - {"moving"}),
    "perfusion_index_percent": (1.0, ALL - {"moving"}),
    "heart_rate_bpm": (110.0, {"light"}),
    "blood_volume_scale": (2.0, ALL - {"moving"}),
    "thickness_scale": (1.2, {"stack", "whole"}),
    "melanin_fraction": (30.0, {"stack", "whole"}),
    "site": ("ear", ALL - {"moving"}),
}
"""A place to move each control to, and the marks that must follow. Moving blood that is all
arterial stays all arterial; a thicker finger or a filter leaves the swing as it is."""

LEAST_MOVE = {"stack": 0.003, "top": 0.05, "light": 0.02, "whole": 0.1, "moving": 0.1}
"""What the eye could see: absorbance, thousandths, percent, parts of 100, parts of 100."""

every_move = pytest.mark.parametrize("name", MOVES)


def make_views(notice):
    return StackPlot(notice), LightPlot(notice), SharesPlot(notice), Summary()


@pytest.fixture
def panel(wire):
    return StatePanel(SteadyAndPulsing(), make_views)


def marks_of(panel):
    stack, light, shares, _ = panel.views
    return {
        "stack": stack.stack.y,
        "top": stack.top.y,
        "light": np.array([line.y for line in light.lines]),
        "whole": shares.whole.y,
        "moving": shares.moving.y,
    }


def move(panel, wire, name):
    return wire.set(panel.controls[name], MOVES[name][0])


def axis_ends(plot_scales):
    return [(scale.min, scale.max) for scale in plot_scales]


def test_every_field_has_a_control_and_a_move_here(panel):
    assert set(panel.controls) == set(FIELDS) == set(MOVES)


@every_move
def test_a_control_moves_the_marks_that_depend_on_it(panel, wire, name):
    before = marks_of(panel)
    move(panel, wire, name)
    after = marks_of(panel)
    moved = {mark for mark in ALL if np.ptp(after[mark] - before[mark]) > LEAST_MOVE[mark]}
    assert moved == MOVES[name][1]
    share = 100.0 if getattr(FIELDS[name], "fraction", False) else 1.0
    value = MOVES[name][0]
    expected = value if isinstance(value, str) else pytest.approx(value / share)
    assert getattr(panel.model.state, name) == expected
    assert panel.notice.value == ""


@every_move
def test_marks_and_words_are_those_of_the_state(panel, wire, name):
    move(panel, wire, name)
    state, marks = panel.model.state, marks_of(panel)
    np.testing.assert_array_equal(marks["stack"], state.layers)
    np.testing.assert_allclose(marks["top"], 1000.0 * state.layers[-MOVING:])
    np.testing.assert_allclose(marks["light"], state.light_percent, rtol=1e-6)
    np.testing.assert_array_equal([marks["whole"], marks["moving"]], state.shares_percent)
    stack, light, shares, summary = panel.views
    for view, sentence in zip((light, shares), (light_sentence, shares_sentence), strict=True):
        assert view.says.value == html(sentence(state))
    end = stack.top.scales["y"].max / 1000.0
    assert stack.says.value == html(stack_sentence(state, end))
    assert ("is cut" in stack.says.value) == (marks["top"].sum(axis=0).max() > 1000.0 * end)
    assert html(verdict(state)) in summary.widget.children[-1].value


@every_move
def test_one_move_sends_one_message_a_widget_and_few_bytes(panel, wire, name):
    sent = move(panel, wire, name)
    updates = Counter(each.comm_id for each in sent if each.method == "update")
    assert updates
    assert set(updates.values()) == {1}
    assert sum(each.size for each in sent) < MOST_BYTES


def test_the_magnifier_moves_two_axes_and_sends_no_marks(panel, wire):
    stack, light, shares, _ = panel.views
    lines = {each.model_id for each in (stack.stack, stack.top, *light.lines)}
    lines |= {each.model_id for each in (shares.whole, shares.moving)}
    for magnification in (1.0, 20.0, 200.0):
        sent = wire.hear(panel.controls["magnification"].number, value=magnification)
        assert not lines & {each.comm_id for each in sent}
        low, high = light.figure.axes[1].scale.min, light.figure.axes[1].scale.max
        assert low == pytest.approx(100.0 - 100.0 / magnification)
        assert 100.0 < high < 100.0 + 0.05 * (100.0 - low)
        whole, top = (figure.axes[1].scale.max for figure in stack.figures)
        assert 1000.0 * whole / top == pytest.approx(magnification)


def test_at_no_magnification_the_whole_light_is_in_sight(panel):
    axis = panel.views[1].figure.axes[1]
    assert (axis.scale.min, axis.tick_values[0], axis.tick_values[-1]) == (0.0, 0.0, 100.0)


def test_reset_goes_back(panel, wire):
    before = marks_of(panel)
    for name in MOVES:
        move(panel, wire, name)
    panel.reset()
    for mark, values in marks_of(panel).items():
        np.testing.assert_array_equal(values, before[mark])


def test_red_and_infrared_differ_by_line_style_too(panel):
    red, infrared = panel.views[1].lines
    assert (red.line_style, infrared.line_style) == ("solid", "dashed")
    assert red.colors != infrared.colors


def _values_of(spec):
    if isinstance(spec, Quantity):
        return st.floats(spec.low, spec.high)
    return st.sampled_from(spec.options)


@pytest.fixture(scope="module")
def views():
    yield make_views(Notice())
    widgets.Widget.close_all()


@given(st.data())
@settings(max_examples=100)
def test_any_state_can_be_drawn(views, data):
    values = {name: data.draw(_values_of(spec)) for name, spec in FIELDS.items()}
    state = SteadyAndPulsing(**values)
    for view in views:
        view.show(state)
    stack, light, shares, _ = views
    for figure in (*stack.figures, light.figure, *shares.figures):
        for mark in figure.marks:
            assert np.all(np.isfinite(mark.y))
        up = figure.axes[1]
        assert up.scale.min < up.scale.max
        assert 3 <= up.tick_values.size <= 7
        assert np.all((up.tick_values >= up.scale.min) & (up.tick_values <= up.scale.max))
    assert stack.stack.y.sum(axis=0).max() <= stack.figures[0].axes[1].scale.max


@given(st.floats(-1e3, 1e3), st.floats(1e-3, 1e4))
def test_ticks_are_round_even_and_within(low, span):
    ticks = round_ticks(low, low + span)
    steps = np.diff(ticks)
    assert 3 <= ticks.size <= 7
    np.testing.assert_allclose(steps, steps[0], rtol=1e-4)
    lead = steps[0] / 10.0 ** np.floor(np.log10(steps[0] * 1.0001))
    assert min(abs(lead - round_one) for round_one in (1.0, 2.0, 2.5, 5.0)) < 1e-3
    room = 1e-5 * span
    assert low - room <= ticks[0]
    assert ticks[-1] <= low + span + room


def test_the_public_function_shows_the_panel(wire):
    shown = layers()
    assert "ow-panel" in shown._dom_classes
