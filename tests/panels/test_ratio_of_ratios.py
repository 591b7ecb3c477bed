"""The panel of the ratio of ratios: what each control moves, and what stays."""

import re
from collections import Counter

import ipywidgets as widgets
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from oximetry_workbook.body.quantities import specs_of
from oximetry_workbook.panels import look
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.prose import html
from oximetry_workbook.panels.ratio_of_ratios import START_LIMIT, _views, ratios
from oximetry_workbook.panels.state_panel import StatePanel
from oximetry_workbook.teach.ratio_of_ratios import (
    SAME_WORDS,
    START,
    TwoLights,
    change_words,
    divided_sentence,
    light_sentence,
    slope_sentence,
    steps_sentence,
)

MOST_BYTES = 60_000
SPECS = specs_of(TwoLights)
MOVES = {
    "arterial_saturation": (85.0, {"light", "divided", "slope"}),
    "red_brightness": (10.0, {"light"}),
    "infrared_brightness": (0.1, {"light"}),
    "perfusion_index_percent": (1.0, {"light", "divided", "slope"}),
    "thickness_scale": (0.7, {"light", "divided", "slope"}),
    "melanin_fraction": (45.0, {"light"}),
    "haemoglobin_g_per_l": (80.0, {"light", "divided", "slope"}),
}
"""Where the browser puts each slider, and the plots that depend on it."""

every_move = pytest.mark.parametrize("name", MOVES)
any_state = st.builds(
    TwoLights, **{name: st.floats(spec.low, spec.high) for name, spec in SPECS.items()}
)


@pytest.fixture
def panel(wire):
    return StatePanel(START, _views)


@pytest.fixture(scope="module")
def views():
    yield _views(Notice())
    widgets.Widget.close_all()


def move(panel, wire, name):
    return wire.hear(panel.controls[name].slider, value=MOVES[name][0])


def lines_of(view):
    return [view.samples, view.slope] if hasattr(view, "samples") else view.lines


def drawings(panel):
    plots = dict(zip(("light", "divided", "slope"), panel.views[1:], strict=True))
    return {
        name: np.concatenate([np.concatenate([line.x, line.y]) for line in lines_of(view)])
        for name, view in plots.items()
    }


def rows_of(panel):
    """Return what the table says has become of DC, AC, AC/DC and R."""
    table = panel.views[0].table.value
    marks = re.findall(r'<span class="ow-(same|changed)">([^<]+)</span>', table)
    assert len(marks) == 7
    for kind, words in marks:
        assert (kind == "same") == (words == SAME_WORDS)
    return [words for _, words in marks]


@every_move
def test_a_slider_moves_the_plots_that_depend_on_it(panel, wire, name):
    before = drawings(panel)
    move(panel, wire, name)
    assert panel.notice.value == ""
    assert getattr(panel.model.state, name) != getattr(START, name)
    after = drawings(panel)
    # a thousandth of what is drawn is less than a pixel
    moved = {
        plot
        for plot in before
        if not np.allclose(before[plot], after[plot], rtol=1e-3, atol=1e-3 * START_LIMIT)
    }
    assert moved == MOVES[name][1]


@every_move
def test_the_marks_and_words_are_those_of_the_state(panel, wire, name):
    move(panel, wire, name)
    state = panel.model.state
    table, light, divided, slope = panel.views
    for k in range(2):
        np.testing.assert_allclose(light.lines[k].y, 1000.0 * state.shown_light[k], rtol=1e-6)
        np.testing.assert_allclose(divided.lines[k].y, state.shown_change_percent[k], atol=1e-5)
    np.testing.assert_allclose(np.diff(slope.slope.y) / np.diff(slope.slope.x), state.ratio)
    np.testing.assert_allclose(np.diff(slope.ghost.y) / np.diff(slope.ghost.x), START.ratio)
    sentences = (steps_sentence, light_sentence, divided_sentence, slope_sentence)
    for view, sentence in zip((table, light, divided, slope), sentences, strict=True):
        assert view.says.value == html(sentence(state))
    factors = [*(state.numbers / START.numbers).ravel(), state.ratio / START.ratio]
    assert rows_of(panel) == [change_words(factor) for factor in factors]


def test_the_ends_of_the_light_lie_on_the_slope(panel, wire):
    """From peak to trough the light runs along R exactly; in between it bends a little."""
    wire.hear(panel.controls["perfusion_index_percent"].number, value=20.0)
    samples = panel.views[3].samples
    rise = np.ptp(samples.y) / np.ptp(samples.x)
    assert rise == pytest.approx(panel.model.state.ratio, rel=0.005)


@pytest.mark.parametrize(
    ("name", "changed"),
    [
        ("red_brightness", [0, 2]),
        ("infrared_brightness", [1, 3]),
        ("perfusion_index_percent", [2, 3, 4, 5]),
        ("melanin_fraction", [0, 1, 2, 3]),
        ("haemoglobin_g_per_l", [0, 1, 2, 3, 4, 6]),
    ],
)
def test_one_sees_at_which_row_a_change_drops_out(panel, wire, name, changed):
    """Cells: DC red, DC infrared, AC red, AC infrared, AC/DC red, AC/DC infrared, R."""
    move(panel, wire, name)
    marks = rows_of(panel)
    # a weaker pulse also lifts the mean light, by about half the pulse
    found = [k for k, words in enumerate(marks) if words not in (SAME_WORDS, "× 1.01")]
    assert found == changed


@every_move
def test_one_move_sends_one_message_a_widget_and_few_bytes(panel, wire, name):
    sent = move(panel, wire, name)
    slider = panel.controls[name].slider.model_id
    echoes = [each.comm_id for each in sent if each.method == "echo_update"]
    assert echoes == [slider]
    updates = Counter(each.comm_id for each in sent if each.method == "update")
    assert set(updates.values()) == {1}
    assert slider not in updates
    assert sum(each.size for each in sent) < MOST_BYTES


@every_move
def test_ghosts_of_the_start_and_times_are_not_sent_again(panel, wire, name):
    _, light, divided, _ = panel.views
    ghosts = {ghost.model_id for view in (light, divided) for ghost in view.ghosts}
    lines = {line.model_id for view in (light, divided) for line in view.lines}
    sent = move(panel, wire, name)
    assert not [each for each in sent if each.comm_id in ghosts and "y" in each.names]
    assert all(each.names == {"y"} for each in sent if each.comm_id in lines)


def test_ghosts_are_the_start(panel):
    _, light, divided, _ = panel.views
    for k in range(2):
        np.testing.assert_allclose(light.ghosts[k].y, light.lines[k].y)
        np.testing.assert_allclose(divided.ghosts[k].y, divided.lines[k].y)


def test_ghosts_far_beyond_the_axis_are_hidden_and_come_back(panel, wire):
    ghosts = panel.views[2].ghosts
    assert all(ghost.visible for ghost in ghosts)
    wire.hear(panel.controls["perfusion_index_percent"].number, value=0.05)
    assert not any(ghost.visible for ghost in ghosts)
    panel.reset()
    assert all(ghost.visible for ghost in ghosts)


def test_reset_brings_everything_back(panel, wire):
    before, table = drawings(panel), panel.views[0].table.value
    for name in MOVES:
        move(panel, wire, name)
    panel.reset()
    after = drawings(panel)
    for plot, drawn in before.items():
        np.testing.assert_array_equal(after[plot], drawn)
    assert panel.views[0].table.value == table
    assert rows_of(panel) == [SAME_WORDS] * 7


@pytest.mark.parametrize("name", SPECS)
@pytest.mark.parametrize("end", ["low", "high"])
def test_every_control_can_go_to_its_end(panel, wire, name, end):
    value = getattr(SPECS[name], end)
    wire.hear(panel.controls[name].number, value=value * (100.0 if SPECS[name].fraction else 1.0))
    assert getattr(panel.model.state, name) == pytest.approx(value)
    assert panel.notice.value == ""


@given(any_state)
@settings(max_examples=80, deadline=None)
def test_any_state_fits_into_its_axes(views, state):
    for view in views:
        view.show(state)
    assert not re.search(r"None|nan|inf\b", views[0].table.value)
    for view in views[1:]:
        for line in lines_of(view):
            assert line.y.size == line.x.size > 0
            assert np.all(np.isfinite(line.x))
            low, high = line.scales["y"].min, line.scales["y"].max
            slack = 1e-6 * (high - low)
            assert low - slack <= line.y.min() <= line.y.max() <= high + slack
        for axis in view.figure.axes:
            ticks = axis.tick_values
            assert axis.scale.min <= ticks.min() < ticks.max() <= axis.scale.max


def test_red_and_infrared_differ_by_line_style_too(panel):
    for view in panel.views[1:3]:
        assert [line.line_style for line in view.lines] == ["solid", "dashed"]
        assert [line.colors for line in view.lines] == [[look.RED], [look.INFRARED]]


def test_the_panel_is_shown_as_a_widget_of_the_workbook(wire):
    assert "ow-panel" in ratios()._dom_classes
