"""The panel of late news: each control moves what it should; the hours run, grow and stop."""

import asyncio
from collections import Counter
from importlib import import_module

import ipywidgets as widgets
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from oximetry_workbook.body.circulation import PLACES
from oximetry_workbook.body.quantities import Choice, specs_of
from oximetry_workbook.panels.late_news import EventPlot, Summary, TradePlot, late_news
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.prose import html
from oximetry_workbook.panels.state_panel import StatePanel
from oximetry_workbook.study.alarms import trades, watched_hour
from oximetry_workbook.teach.late_news import (
    FIRST_HOURS,
    TIME_S,
    LateNews,
    dips_below,
    first_hours,
)
from oximetry_workbook.teach.late_news_words import event_sentence, trade_sentence, verdict

FIELDS = specs_of(LateNews)
MOST_BYTES = 60_000
MOVES = {
    "hold_s": (90.0, {"truth", "shown", "hold", "alarms"}),
    "depth_points": (20.0, {"truth", "shown", "alarms"}),
    "averaging_s": (16.0, {"shown", "alarms"}),
    "threshold_percent": (93.0, {"threshold", "alarms"}),
    "wait_s": (8.0, {"alarms"}),
    "place": ("finger", set()),
}
"""A place to move each control to, and the marks of the breath-hold that must follow."""

panel_module = import_module("oximetry_workbook.panels.late_news")
"""The module: the package's own name for it is its public function."""


def make_views(notice):
    return EventPlot(notice), Summary(), TradePlot(notice)


@pytest.fixture
def panel(wire):
    return StatePanel(LateNews(), make_views)


@pytest.fixture
def few_hours(monkeypatch):
    monkeypatch.setattr(panel_module, "HOURS", 5)
    return 5


def marks_of(panel):
    event = panel.views[0]
    return {
        "truth": event.truth.y,
        "hold": event.hold.x,
        "threshold": event.threshold.y,
        "shown": np.concatenate([np.interp(TIME_S, li.x, li.y) for li in event.shown.values()]),
        "alarms": np.concatenate([np.append(a.x, a.y) for a in event.alarms.values()]),
    }


def told(state, hours):
    if not hours:
        return html(trade_sentence(state, ()))
    found = trades(hours, state.threshold_percent, state.wait_s)
    return html(trade_sentence(state, found, dips_below(hours, state.threshold_percent)))


def move(panel, wire, name):
    return wire.set(panel.controls[name], MOVES[name][0])


def test_every_field_has_a_control_and_a_move_here(panel):
    assert set(panel.controls) == set(FIELDS) == set(MOVES)


@pytest.mark.parametrize("name", MOVES)
def test_a_control_moves_the_marks_that_depend_on_it(panel, wire, name):
    before = marks_of(panel)
    sent = move(panel, wire, name)
    after = marks_of(panel)
    moved = {mark for mark in before if np.abs(after[mark] - before[mark]).max() > 0.2}
    assert moved == MOVES[name][1]
    assert getattr(panel.model.state, name) == MOVES[name][0]
    assert panel.notice.value == ""
    updates = Counter(each.comm_id for each in sent if each.method == "update")
    assert updates
    assert set(updates.values()) == {1}
    assert sum(each.size for each in sent) < MOST_BYTES


@pytest.mark.parametrize("name", MOVES)
def test_marks_and_words_are_those_of_the_state(panel, wire, name):
    move(panel, wire, name)
    event, summary, trade = panel.views
    state = panel.model.state
    np.testing.assert_allclose(event.truth.y, state.true_percent, rtol=1e-6)
    for place in PLACES:
        there = np.isfinite(state.shown_percent[place])
        np.testing.assert_array_equal(event.shown[place].x, TIME_S[there])
        np.testing.assert_allclose(
            event.shown[place].y, state.shown_percent[place][there], rtol=1e-6
        )
        alarm = event.alarms[place]
        assert alarm.visible == (state.alarm_s(place) is not None)
        if alarm.visible:
            assert (alarm.x[0], alarm.y[0]) == (state.alarm_s(place), state.threshold_percent)
    assert event.says.value == html(event_sentence(state))
    assert html(verdict(state)) in summary.widget.children[-1].value
    hours = first_hours() if state.place == "ear" else ()
    assert trade.says.value == told(state, hours)


def test_the_first_hours_are_there_at_first_sight(panel):
    trade = panel.views[2]
    found = trades(first_hours(), 90.0, 0.0)
    assert all(mark.visible for mark in trade.marks)
    np.testing.assert_allclose(trade.spots.x, [t.false_per_hour.value for t in found])
    np.testing.assert_allclose(trade.spots.y, [t.missed_percent.value for t in found])
    assert trade.says.value == told(panel.model.state, first_hours())


def test_before_any_hour_at_a_place_the_trade_is_empty(panel):
    panel.model.set("place", "finger")
    assert not any(mark.visible for mark in panel.views[2].marks)


def test_the_button_goes_on_from_the_first_hours(panel, monkeypatch):
    monkeypatch.setattr(panel_module, "HOURS", FIRST_HOURS + 2)
    watched = []

    def watch(place, seed):
        watched.append(seed)
        return watched_hour(place, seed)

    monkeypatch.setattr(panel_module, "watched_hour", watch)
    trade = panel.views[2]
    trade.work.button.click()
    assert watched == [FIRST_HOURS, FIRST_HOURS + 1]
    assert f"{FIRST_HOURS + 2} hours at the ear" in trade.says.value.replace("\u00a0", " ")
    trade.work.button.click()  # all were watched: once more, from the first
    assert watched[2:] == list(range(FIRST_HOURS + 2))


def test_the_hours_run_and_the_trade_is_theirs(panel, few_hours):
    trade = panel.views[2]
    panel.model.set("place", "finger")
    trade.work.button.click()
    hours = [watched_hour(PLACES["finger"], seed) for seed in range(few_hours)]
    found = trades(hours, 90.0, 0.0)
    assert all(mark.visible for mark in trade.marks)
    np.testing.assert_allclose(trade.spots.x, [t.false_per_hour.value for t in found])
    np.testing.assert_allclose(trade.spots.y, [t.missed_percent.value for t in found])
    assert (trade.now.x[0], trade.now.y[0]) == (trade.spots.x[2], trade.spots.y[2])
    for row, each in enumerate(found):
        bars_x = trade.spread.x.reshape(4, 6)[row]
        assert (bars_x.min(), bars_x.max()) == pytest.approx(
            (each.false_per_hour.low, each.false_per_hour.high)
        )
        bars_y = trade.spread.y.reshape(4, 6)[row]
        assert (bars_y.min(), bars_y.max()) == pytest.approx(
            (each.missed_percent.low, each.missed_percent.high)
        )
    assert trade.figure.axes[0].scale.max > trade.spread.x.max()
    assert trade.says.value == told(panel.model.state, hours)


def test_threshold_and_wait_move_the_trade_without_new_hours(panel, few_hours, monkeypatch):
    trade = panel.views[2]
    trade.work.button.click()
    monkeypatch.setattr(panel_module, "watched_hour", None)
    before = trade.spots.x.copy()
    panel.model.set("wait_s", 10.0)
    assert trade.spots.x[0] < before[0]
    middle = trade.spots.y.copy()
    panel.model.set("threshold_percent", 85.0)
    assert not np.array_equal(trade.spots.y, middle)
    assert panel.notice.value == ""


def test_each_place_has_hours_of_its_own(panel, few_hours):
    trade = panel.views[2]
    panel.model.set("place", "finger")
    trade.work.button.click()
    finger = trade.spots.y.copy()
    panel.model.set("place", "cold finger")
    assert not trade.spots.visible
    trade.work.button.click()
    assert not np.array_equal(trade.spots.y, finger)
    panel.model.set("place", "finger")
    np.testing.assert_array_equal(trade.spots.y, finger)


def test_a_place_changed_on_the_way_gets_no_other_places_hours(wire, monkeypatch):
    monkeypatch.setattr(panel_module, "HOURS", 3)

    async def run():
        panel = StatePanel(LateNews(place="finger"), make_views)
        trade = panel.views[2]
        trade.work.button.click()
        while not trade.spots.visible:
            await asyncio.sleep(0.001)
        panel.model.set("place", "cold finger")
        while trade.work.running:
            await asyncio.sleep(0.001)
        return panel

    panel = asyncio.run(run())
    assert not panel.views[2].spots.visible
    panel.model.set("place", "finger")
    assert "3 hours at the finger" in panel.views[2].says.value


def test_cancel_keeps_the_hours_so_far(wire):
    async def run():
        panel = StatePanel(LateNews(place="finger"), make_views)
        trade = panel.views[2]
        trade.work.button.click()
        while "2 hours" not in trade.says.value:
            await asyncio.sleep(0.001)
        trade.work.stop_button.click()
        kept = trade.says.value
        await asyncio.sleep(0.2)
        return trade, kept

    trade, kept = asyncio.run(run())
    assert trade.says.value == kept
    assert "of the dips missed" in kept
    assert not trade.work.running


def test_an_averaging_that_was_not_watched_has_no_mark_of_its_own(panel, few_hours):
    trade = panel.views[2]
    trade.work.button.click()
    panel.model.set("averaging_s", 5.0)
    assert not trade.now.visible
    assert trade.spots.visible


def test_reset_goes_back(panel, wire):
    before = marks_of(panel)
    for name in MOVES:
        move(panel, wire, name)
    panel.reset()
    for mark, values in marks_of(panel).items():
        np.testing.assert_array_equal(values, before[mark])


def test_the_places_differ_by_line_and_mark_too(panel):
    event = panel.views[0]
    assert len({line.line_style for line in event.shown.values()}) == len(PLACES)
    assert len({mark.marker for mark in event.alarms.values()}) == len(PLACES)


def _values_of(spec):
    if isinstance(spec, Choice):
        return st.sampled_from(spec.options)
    return st.integers(int(spec.low), int(spec.high)).map(float)


@pytest.fixture(scope="module")
def views():
    yield make_views(Notice())
    widgets.Widget.close_all()


@given(st.data())
@settings(max_examples=40, deadline=None)
def test_any_state_can_be_drawn_within_its_axes(views, data):
    state = LateNews(**{name: data.draw(_values_of(spec)) for name, spec in FIELDS.items()})
    for view in views:
        view.show(state)
    event = views[0]
    up = event.figure.axes[1].scale
    for line in (event.truth, *event.shown.values()):
        assert np.all(np.isfinite(line.y))
        assert up.min < line.y.min()
        assert line.y.max() <= up.max


def test_the_public_function_shows_the_panel(wire):
    assert "ow-panel" in late_news()._dom_classes
