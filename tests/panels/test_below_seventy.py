"""The panel below 70 %: controls move what they should, in few messages."""

from collections import Counter

import ipywidgets as widgets
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from oximetry_workbook.panels.below_seventy import (
    DRAWN,
    HIGHEST_PERCENT,
    LEAST_OFF,
    LOWEST_SHOWN,
    MOST_OFF,
    below_seventy,
    make_views,
)
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.prose import html
from oximetry_workbook.panels.state_panel import StatePanel
from oximetry_workbook.teach.below_seventy import (
    MARKED_PERCENT,
    OWN,
    TRUE_PERCENT,
    BelowSeventy,
)
from oximetry_workbook.teach.below_seventy_words import (
    shown_sentence,
    spread_sentence,
    trend_sentence,
    verdict,
)

MOST_BYTES = 60_000
TISSUE = {"own", "published", "fitted", "spots", "band", "bars", "crosses", "trend", "numbers"}
MOVES = {
    "arterial_saturation": (60.0, {"look_up", "spots", "course", "trend", "numbers"}),
    "blood_volume_scale": (2.0, TISSUE),
    "thickness_scale": (1.3, TISSUE),
    "draw": (5.0, {"fitted", "spots", "bars", "trend"}),
}


@pytest.fixture
def panel(wire):
    return StatePanel(BelowSeventy(), make_views)


def marks_of(panel):
    shown, summary, spread, trend = panel.views
    return {
        "own": shown.lines[OWN].y.tolist(),
        "published": shown.lines["line 114.9 − 33.437 R"].y.tolist(),
        "fitted": shown.lines["line"].y.tolist(),
        "spots": (shown.spots.x.tolist(), shown.spots.y.tolist()),
        "look_up": shown.look_up.x.tolist(),
        "band": shown.band.y.tolist(),
        "bars": [bar.y.tolist() for bar in spread.bars.values()],
        "crosses": spread.others.y.tolist(),
        "course": trend.truth.y.tolist(),
        "trend": [line.y.tolist() for line in trend.lines.values()],
        "numbers": summary.widget.children[1].value,
    }


@pytest.mark.parametrize("name", MOVES)
def test_a_control_moves_what_it_should_and_nothing_else(panel, wire, name):
    value, expected = MOVES[name]
    before = marks_of(panel)
    sent = wire.hear(panel.controls[name].number, value=value)
    after = marks_of(panel)
    changed = {mark for mark in before if before[mark] != after[mark]}
    # the strip shows the lowest and highest: another draw may leave it as it was
    assert changed - {"numbers"} == expected - {"numbers"}
    assert expected & {"numbers"} <= changed
    assert panel.notice.value == ""
    updates = Counter(each.comm_id for each in sent if each.method == "update")
    assert set(updates.values()) == {1}
    assert sum(each.size for each in sent) < MOST_BYTES


def test_marks_and_sentences_are_the_state(panel):
    panel.model.set("arterial_saturation", 0.45)
    state, (shown, summary, spread, trend) = panel.model.state, panel.views
    for name in DRAWN:
        expected = np.interp(
            shown.lines[name].x, TRUE_PERCENT[::-1], state.said(state.curves[name])[::-1]
        )
        np.testing.assert_allclose(shown.lines[name].y, expected)
    for name, bar in spread.bars.items():
        off = state.spread(MARKED_PERCENT)[name] - MARKED_PERCENT
        np.testing.assert_allclose(bar.y.T, np.clip(off, LEAST_OFF, MOST_OFF))
    off = [
        curve(ratio) - true
        for curve in state.others.values()
        for true, ratio in zip(TRUE_PERCENT, state.ratios, strict=True)
        if true in MARKED_PERCENT
    ]
    seen = [each for each in off if LEAST_OFF <= each <= MOST_OFF]
    np.testing.assert_allclose(np.sort(spread.others.y), np.sort(seen))
    assert len(seen) < len(off)  # the odd one leaves the plot
    np.testing.assert_array_equal(trend.truth.y, state.course)
    for view, say in ((shown, shown_sentence), (spread, spread_sentence), (trend, trend_sentence)):
        assert view.says.value == html(say(state))
    assert summary.widget.children[2].value == html(verdict(state))


def test_every_line_differs_by_style_or_colour(panel):
    looks = [(line.colors[0], line.line_style) for line in panel.views[0].lines.values()]
    assert len(set(looks)) == len(looks)


def test_reset_goes_back(panel, wire):
    before = marks_of(panel)
    for name, (value, _) in MOVES.items():
        wire.hear(panel.controls[name].number, value=value)
    panel.reset()
    assert marks_of(panel) == before


@pytest.fixture(scope="module")
def views():
    yield make_views(Notice())
    widgets.Widget.close_all()


@given(
    st.builds(
        BelowSeventy,
        arterial_saturation=st.floats(0.4, 1.0),
        blood_volume_scale=st.sampled_from([0.3, 1.0, 3.0]),
        thickness_scale=st.sampled_from([0.7, 1.0, 1.5]),
        draw=st.integers(1, 50),
    )
)
@settings(max_examples=40)
def test_any_state_can_be_drawn(views, state):
    for view in views:
        view.show(state)
    for view in (views[0], views[2], views[3]):
        for mark in view.figure.marks:
            assert mark.y.size > 0
            assert np.all(np.isfinite(mark.y))
    for line in views[0].lines.values():
        assert line.y.size > 1
        assert line.y.min() >= LOWEST_SHOWN
        assert line.y.max() <= HIGHEST_PERCENT


def test_the_public_function_shows_the_panel(wire):
    assert "ow-panel" in below_seventy()._dom_classes
