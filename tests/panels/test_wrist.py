"""The panel of finger and wrist: pulses follow at once, readings follow in slices."""

import asyncio

import ipywidgets as widgets
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from oximetry_workbook.body.quantities import specs_of
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.prose import html
from oximetry_workbook.panels.state_panel import StatePanel
from oximetry_workbook.panels.wrist import (
    HEAD_PERCENT,
    ManyReadingsPlot,
    PlacePulsePlot,
    Summary,
    wrist,
)
from oximetry_workbook.teach.wrist import PLACES, READINGS, FingerAndWrist
from oximetry_workbook.teach.wrist_words import many_sentence, pulse_sentence, verdict

FIELDS = specs_of(FingerAndWrist)
MOST_BYTES = 60_000
ALL = {"finger light", "wrist light", "finger shown", "wrist shown"}
FINGER = {"finger light", "finger shown"}
MOVES = {
    "arterial_saturation": (85.0, ALL),
    "finger_perfusion_index_percent": (0.5, FINGER),
    "wrist_perfusion_index_percent": (1.5, ALL - FINGER),
    "coupling_percent": (0.2, ALL),
    "motion_percent": (0.2, ALL),
    "noise_percent": (0.08, ALL),
    "heart_rate_bpm": (110.0, ALL),
}
"""A place to move each control to, and the marks that must follow."""

every_move = pytest.mark.parametrize("name", MOVES)


def make_views(notice):
    summary = Summary()
    pulses = [PlacePulsePlot(place, notice) for place in PLACES]
    return summary, ManyReadingsPlot(summary, notice), *pulses


@pytest.fixture
def panel(wire):
    return StatePanel(FingerAndWrist(), make_views)


def marks_of(panel):
    _, many, *pulses = panel.views
    lights = {f"{p.place} light": np.array([line.y for line in p.lines]) for p in pulses}
    return lights | {f"{place} shown": many.given[place].y for place in PLACES}


def move(panel, wire, name):
    return wire.set(panel.controls[name], MOVES[name][0])


def test_every_field_has_a_control_and_a_move_here(panel):
    assert set(panel.controls) == set(FIELDS) == set(MOVES)


@every_move
def test_a_control_moves_the_marks_that_depend_on_it(panel, wire, name):
    before = marks_of(panel)
    move(panel, wire, name)
    after = marks_of(panel)
    moved = {mark for mark in ALL if not np.array_equal(before[mark], after[mark])}
    assert moved == MOVES[name][1]
    assert panel.notice.value == ""


@every_move
def test_marks_and_words_are_those_of_the_state(panel, wire, name):
    move(panel, wire, name)
    state = panel.model.state
    *_, (_, read) = state.read_in_slices()
    summary, many, *pulses = panel.views
    assert many.says.value == html(many_sentence(read))
    assert html(verdict(state, read)) in [each.value for each in summary.widget.children]
    for place, pulse in zip(PLACES, pulses, strict=True):
        np.testing.assert_array_equal(many.given[place].y, read[place].given)
        assert pulse.says.value == html(pulse_sentence(state, place))
        light = state.first[place].light_change_percent
        np.testing.assert_allclose(pulse.lines[1].y, light[1, : pulse.lines[1].y.size], rtol=1e-5)
    assert many.truth.y[0] == pytest.approx(100.0 * state.arterial_saturation)


def test_withheld_readings_are_marked_at_the_foot(panel, wire):
    many = panel.views[1]
    assert not any(mark.visible for mark in many.withheld.values())
    wire.hear(panel.controls["noise_percent"].number, value=0.12)
    assert many.withheld["wrist"].visible
    assert not many.given["wrist"].visible
    assert many.withheld["wrist"].x.size == READINGS
    foot = many.figure.axes[1].scale.min
    assert foot < many.withheld["wrist"].y[0] < foot + 0.2 * (HEAD_PERCENT - foot)
    assert not many.withheld["finger"].visible


def test_a_running_reading_lets_the_kernel_breathe_and_can_be_cancelled(panel, wire):
    """With an event loop, as in a kernel: the pulses are drawn before the forty are read."""
    many, finger = panel.views[1], panel.views[2]
    before = finger.lines[0].y

    async def use():
        wire.hear(panel.controls["finger_perfusion_index_percent"].number, value=1.0)
        assert many.work.running
        assert not np.array_equal(finger.lines[0].y, before)
        while many.given["finger"].y.size == READINGS:
            await asyncio.sleep(0.001)
        many.work.stop_button.click()
        seen = many.given["finger"].y.size
        await asyncio.sleep(0.05)
        assert not many.work.running
        assert many.given["finger"].y.size == seen < READINGS
        many.work.button.click()
        while many.work.running:
            await asyncio.sleep(0.001)

    asyncio.run(use())
    assert many.given["finger"].y.size == READINGS


@every_move
def test_a_move_sends_few_bytes(panel, wire, name):
    many = panel.views[1]
    sent = []

    async def use():
        sent.extend(move(panel, wire, name))
        many.work.cancel()

    asyncio.run(use())
    assert sent
    assert sum(each.size for each in sent) < MOST_BYTES


def test_red_and_infrared_differ_by_line_style_and_places_by_shape(panel):
    _, many, *pulses = panel.views
    for pulse in pulses:
        assert [line.line_style for line in pulse.lines] == ["solid", "dashed"]
    assert many.given["finger"].marker != many.given["wrist"].marker


def test_reset_goes_back(panel, wire):
    before = marks_of(panel)
    for name in MOVES:
        move(panel, wire, name)
    panel.reset()
    for mark, values in marks_of(panel).items():
        np.testing.assert_array_equal(values, before[mark])


@pytest.fixture(scope="module")
def views():
    yield make_views(Notice())
    widgets.Widget.close_all()


@given(st.fixed_dictionaries({n: st.floats(s.low, s.high) for n, s in FIELDS.items()}))
@settings(max_examples=10)
def test_any_state_can_be_drawn(views, values):
    state = FingerAndWrist(**values)
    for view in views:
        view.show(state)
    for view in views[1:]:
        up = view.figure.axes[1]
        assert up.scale.min < up.scale.max
        for mark in view.figure.marks:
            if mark.visible:
                assert len(mark.x) == len(mark.y) > 0
                assert np.all((mark.y >= up.scale.min) & (mark.y <= up.scale.max))


def test_the_public_function_shows_the_panel(wire):
    assert "ow-panel" in wrist()._dom_classes
