"""The panel of the moving hand: controls, slopes, lines with bands, and few messages."""

from collections import Counter
from importlib import import_module

import ipywidgets as widgets
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from oximetry_workbook.body.quantities import specs_of
from oximetry_workbook.panels.moving_hand import (
    BeatsPlot,
    LinesPlot,
    SlopesPlot,
    Summary,
    moving_hand,
)
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.prose import html
from oximetry_workbook.panels.state_panel import StatePanel
from oximetry_workbook.teach.many_readings import ManyReadings
from oximetry_workbook.teach.moving_hand import SIZES_PERCENT, MovingHand, many_sweeps
from oximetry_workbook.teach.moving_hand_words import (
    beats_sentence,
    lines_sentence,
    slopes_sentence,
    verdict,
)

FIELDS = specs_of(MovingHand)
MOST_BYTES = 60_000
ALL = {"lines", "cloud", "arterial", "venous", "measured", "light", "now"}
MOTION = {"cloud", "measured", "light", "now"}
MOVES = {
    "motion_percent": (2.0, MOTION),
    "coupling_percent": (2.0, MOTION),
    "venous_pulse": (50.0, MOTION | {"lines"}),
    "irregularity_percent": (25.0, {"cloud", "light", "lines"}),
    "arterial_saturation": (80.0, ALL),
    "venous_difference": (10.0, ALL),
    "perfusion_index_percent": (1.0, {"cloud", "light", "lines"}),
}
"""A place to move each control to, and the marks that must follow: motion leaves the lines over
motion, rhythm and a smaller pulse leave the slope."""

LEAST_MOVE = {
    "lines": 0.5,
    "cloud": 0.1,
    "arterial": 0.01,
    "venous": 0.01,
    "measured": 0.02,
    "light": 0.1,
    "now": 0.5,
}
"""What the eye could see: points, percent, slopes, slopes, slopes, percent, points."""

every_move = pytest.mark.parametrize("name", MOVES)


def make_views(notice):
    return LinesPlot(notice), SlopesPlot(notice), Summary(), BeatsPlot(notice)


@pytest.fixture
def panel(wire):
    return StatePanel(MovingHand(), make_views)


def slope(line):
    return float(line.y[-1] / line.x[-1])


def marks_of(panel):
    lines, slopes, _, beats = panel.views
    return {
        "lines": np.array([line.y[:8] for line in lines.lines]),
        "cloud": np.array([slopes.samples.x, slopes.samples.y]),
        "arterial": slope(slopes.pure[0]),
        "venous": slope(slopes.pure[2]),
        "measured": slope(slopes.measured),
        "light": np.array([line.y for line in beats.lines]),
        "now": np.array(lines.now.y),
    }


def move(panel, wire, name):
    return wire.set(panel.controls[name], MOVES[name][0])


@every_move
def test_a_control_moves_the_marks_that_depend_on_it(panel, wire, name):
    assert set(panel.controls) == set(FIELDS) == set(MOVES)
    before = marks_of(panel)
    move(panel, wire, name)
    after = marks_of(panel)
    moved = {m for m in ALL if np.max(np.abs(after[m] - before[m])) > LEAST_MOVE[m]}
    assert moved == MOVES[name][1]
    assert panel.notice.value == ""


@every_move
def test_marks_and_words_are_those_of_the_state(panel, wire, name):
    move(panel, wire, name)
    state, (lines, slopes, summary, beats) = panel.model.state, panel.views
    assert [slope(line) for line in slopes.pure] == pytest.approx(
        [state.slopes[0], 1.0, state.slopes[1]]
    )
    assert slope(slopes.measured) == pytest.approx(state.reading.measurement.ratio)
    np.testing.assert_allclose([line.y[:8] for line in lines.lines], state.quick_lines)
    assert lines.true.y[0] == pytest.approx(100.0 * state.arterial_saturation)
    assert lines.now.y[0] == pytest.approx(state.reading.measurement.spo2_percent)
    np.testing.assert_allclose(beats.beats.x, state.reading.beat_times_s)
    assert lines.says.value == html(lines_sentence(state, None))
    assert slopes.says.value == html(slopes_sentence(state))
    assert beats.says.value == html(beats_sentence(state))
    assert summary.widget.children[-1].value == html(verdict(state))


@every_move
def test_one_move_sends_one_message_a_widget_and_few_bytes(panel, wire, name):
    sent = move(panel, wire, name)
    updates = Counter(each.comm_id for each in sent if each.method == "update")
    assert set(updates.values()) == {1}
    assert sum(each.size for each in sent) < MOST_BYTES


def draw(panel, seeds):
    *_, (_, many) = many_sweeps(panel.model.state, seeds)
    panel.views[0]._draw_many(many)
    return many


def test_many_readings_are_drawn_with_a_band(panel):
    many, lines = draw(panel, 5), panel.views[0]
    for k, (line, band) in enumerate(zip(lines.lines, lines.bands, strict=True)):
        known = np.isfinite(many.mean[k])
        np.testing.assert_allclose(line.y[: known.sum()], many.mean[k][known])
        assert band.visible
        np.testing.assert_allclose(band.x, SIZES_PERCENT[known])
        np.testing.assert_allclose(np.ptp(band.y, axis=0), 2.0 * many.half_width[k][known])
    assert lines.says.value == html(lines_sentence(panel.model.state, many))


def test_motion_keeps_what_was_averaged_and_another_state_drops_it(panel):
    draw(panel, 4)
    bands = panel.views[0].bands
    panel.model.set("motion_percent", 3.0)
    assert all(band.visible for band in bands)
    panel.model.set("arterial_saturation", 0.9)
    assert not any(band.visible for band in bands)


def test_the_button_averages_and_shows_its_bands(panel, monkeypatch):
    module = import_module("oximetry_workbook.panels.moving_hand")
    monkeypatch.setattr(module, "many_sweeps", lambda state: many_sweeps(state, 4))
    panel.views[0].work.button.click()
    assert all(band.visible for band in panel.views[0].bands)
    assert "4 readings of" in panel.views[0].says.value


def test_low_readings_stay_on_the_axis(panel):
    lines = panel.views[0]
    assert lines.figure.axes[1].scale.min == 40.0
    panel.model.set("arterial_saturation", 0.6)
    assert lines.figure.axes[1].scale.min == 0.0
    panel.reset()
    assert lines.figure.axes[1].scale.min == 40.0


def test_where_all_is_withheld_nothing_is_drawn(panel):
    lines = panel.views[0]
    lines._draw_many(ManyReadings(np.full((2, 8, 5), np.nan)))
    assert not any(band.visible for band in lines.bands)
    panel.model.set("perfusion_index_percent", 0.05)
    for mark in lines.figure.marks:
        assert np.all(np.isfinite(mark.y))


def test_red_and_infrared_and_the_kinds_differ_by_line_style_too(panel):
    lines, _, _, beats = panel.views
    for pair in (lines.lines, beats.lines):
        assert len({line.line_style for line in pair}) == 2
        assert pair[0].colors != pair[1].colors


@pytest.fixture(scope="module")
def views():
    yield make_views(Notice())
    widgets.Widget.close_all()


@given(st.fixed_dictionaries({n: st.floats(s.low, s.high) for n, s in FIELDS.items()}))
@settings(max_examples=30)
def test_any_state_can_be_drawn(views, values):
    for view in views:
        view.show(MovingHand(**values))
    for view in (views[0], views[1], views[3]):
        for mark in view.figure.marks:
            assert np.all(np.isfinite(mark.y))
            assert mark.x.size > 0
    scale = views[0].figure.axes[1].scale
    for line in views[0].lines:
        assert not line.visible or scale.min <= line.y.min() <= line.y.max() <= scale.max


def test_the_public_function_shows_the_panel(wire):
    assert "ow-panel" in moving_hand()._dom_classes
