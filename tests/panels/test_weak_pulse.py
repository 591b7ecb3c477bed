"""The panel of the weak pulse: controls, the long work, and few messages."""

import asyncio
from collections import Counter

import ipywidgets as widgets
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from oximetry_workbook.body.quantities import specs_of
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.prose import html
from oximetry_workbook.panels.state_panel import StatePanel
from oximetry_workbook.panels.weak_pulse import (
    ErrorPlot,
    PulsePlot,
    QualityPlot,
    SitesCard,
    weak_pulse,
)
from oximetry_workbook.teach.weak_pulse import PLACES, WeakPulse, many_sites
from oximetry_workbook.teach.weak_pulse_words import (
    errors_sentence,
    pulse_sentence,
    quality_sentence,
    verdict,
)

FIELDS = specs_of(WeakPulse)
MOST_BYTES = 20_000
MOVES = {
    "vasoconstriction": (100.0, {"pulse", "quality", "table"}),
    "noise_percent": (0.2, {"quality", "table"}),
    "arterial_saturation": (80.0, {"table"}),
    "minutes": (3.0, set()),
}
"""A place to move each control to, and what must follow: the quality here is that of infrared."""

every_move = pytest.mark.parametrize("name", MOVES)


def make_views(notice):
    numbers = SitesCard()
    return PulsePlot(notice), numbers, QualityPlot(notice), ErrorPlot(numbers, notice)


@pytest.fixture
def panel(wire):
    return StatePanel(WeakPulse(), make_views)


def shown(panel):
    pulse, numbers, quality, _ = panel.views
    return {
        "pulse": [(float(spot.x[0]), float(spot.y[0])) for spot in pulse.spots],
        "quality": quality.bars.y.tolist(),
        "table": numbers.table.value,
    }


def move(panel, wire, name):
    return wire.set(panel.controls[name], MOVES[name][0])


def measure_for(panel, minutes):
    panel.model.set("minutes", minutes)
    panel.views[3].work.button.click()


@every_move
def test_a_control_moves_what_depends_on_it(panel, wire, name):
    assert set(panel.controls) == set(FIELDS) == set(MOVES)
    before = shown(panel)
    move(panel, wire, name)
    after = shown(panel)
    assert {part for part in after if after[part] != before[part]} == MOVES[name][1]
    assert panel.notice.value == ""


@every_move
def test_marks_and_words_are_those_of_the_state(panel, wire, name):
    move(panel, wire, name)
    state = panel.model.state
    pulse, numbers, quality, _ = panel.views
    left = [spot.y[0] for spot in pulse.spots]
    np.testing.assert_allclose(left, state.perfusion_index_percent)
    np.testing.assert_allclose(quality.bars.y, [100.0 * made.quality for made in state.single])
    assert pulse.says.value == html(pulse_sentence(state))
    assert quality.says.value == html(quality_sentence(state))
    assert numbers.sentence.value == html(verdict(state))


@every_move
def test_one_move_sends_one_message_a_widget_and_few_bytes(panel, wire, name):
    sent = move(panel, wire, name)
    updates = Counter(each.comm_id for each in sent if each.method == "update")
    assert set(updates.values()) == {1}
    assert sum(each.size for each in sent) < MOST_BYTES


def test_a_spot_lies_on_the_line_of_its_place(panel):
    for narrowing in (0.0, 0.5, 1.0):
        panel.model.set("vasoconstriction", narrowing)
        pulse = panel.views[0]
        for line, spot in zip(pulse.lines, pulse.spots, strict=True):
            assert spot.y[0] == pytest.approx(np.interp(100.0 * narrowing, line.x, line.y))
            assert spot.colors == line.colors


def test_many_readings_are_drawn_with_their_intervals(panel):
    panel.model.set("noise_percent", 0.1)
    panel.model.set("vasoconstriction", 1.0)
    measure_for(panel, 4.0)
    error = panel.views[3]
    *_, (_, many) = many_sites(panel.model.state)
    known = np.isfinite(many.errors.mean)
    assert 0 < known.sum() < len(PLACES)
    np.testing.assert_allclose(error.mean.x, np.flatnonzero(known))
    np.testing.assert_allclose(error.mean.y, many.errors.mean[known])
    np.testing.assert_allclose(np.ptp(error.interval.y, axis=1), 2 * many.errors.half_width[known])
    np.testing.assert_allclose(np.ptp(error.scatter.y, axis=1) / 3.92, many.errors.sd[known], 1e-3)
    assert error.says.value == html(errors_sentence(many, panel.model.state.minutes))
    assert "Withheld" in panel.views[1].many.value
    scale = error.figure.axes[1].scale
    assert scale.min <= error.scatter.y.min() < error.scatter.y.max() <= scale.max


def test_what_was_read_in_another_state_is_dropped(panel):
    measure_for(panel, 2.0)
    error, table = panel.views[3], panel.views[1].many
    assert error.mean.visible
    panel.model.set("minutes", 5.0)
    assert error.mean.visible
    assert table.value
    panel.model.set("noise_percent", 0.07)
    assert not any(mark.visible for mark in (error.mean, error.scatter, error.interval))
    assert table.value == ""
    assert error.says.value == html(errors_sentence(None, panel.model.state.minutes))


def test_cancel_keeps_what_there_is_and_a_slider_ends_the_work(panel):
    error = panel.views[3]

    async def run():
        panel.model.set("minutes", 120.0)
        error.work.button.click()
        while not error.mean.visible:
            await asyncio.sleep(0.001)
        error.work.stop_button.click()
        kept = error.says.value
        await asyncio.sleep(0.05)
        assert error.says.value == kept != html(errors_sentence(None, panel.model.state.minutes))
        error.work.button.click()
        panel.model.set("noise_percent", 0.06)
        assert not error.work.running

    asyncio.run(run())
    assert not error.mean.visible


def test_lines_differ_by_more_than_colour(panel):
    looks = {(line.line_style, line.stroke_width) for line in panel.views[0].lines}
    assert len(looks) == len(PLACES)


@pytest.fixture(scope="module")
def views():
    yield make_views(Notice())
    widgets.Widget.close_all()


@given(st.floats(0.0, 1.0), st.floats(0.0, 1.0), st.floats(0.4, 1.0))
@settings(max_examples=40)
def test_any_state_can_be_drawn(views, narrowing, noise, saturation):
    state = WeakPulse(
        vasoconstriction=narrowing, noise_percent=noise, arterial_saturation=saturation
    )
    for view in views:
        view.show(state)
    for figure in (views[0].figure, views[2].figure, views[3].figure):
        for mark in figure.marks:
            assert np.all(np.isfinite(mark.y))


def test_the_public_function_shows_the_panel(wire):
    assert "ow-panel" in weak_pulse()._dom_classes
