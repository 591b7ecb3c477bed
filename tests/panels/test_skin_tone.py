"""The panel of skin tone: controls move what they should; long work is drawn and dropped."""

import asyncio
from collections import Counter

import ipywidgets as widgets
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from oximetry_workbook.body.quantities import specs_of
from oximetry_workbook.panels import skin_tone_errors
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.prose import html
from oximetry_workbook.panels.skin_tone import make_views, skin_tone
from oximetry_workbook.panels.state_panel import StatePanel
from oximetry_workbook.teach.skin_tone import SkinTone, filter_passes
from oximetry_workbook.teach.skin_tone_readings import STUDY_PERCENT, many_readings
from oximetry_workbook.teach.skin_tone_words import PRESS, errors_sentence, filter_sentence, verdict

MOST_BYTES = 60_000
MOVES = {
    "melanin_fraction": (45.0, {"quiet", "dark", "numbers"}),
    "arterial_saturation": (80.0, {"numbers"}),
    "perfusion_index_percent": (0.3, {"numbers"}),
    "noise_percent": (0.5, {"numbers"}),
}
"""Where each control goes, and what must follow. The filter and the error without noise know
nothing of pulse and noise."""


@pytest.fixture
def panel(wire, monkeypatch):
    def few(state):
        return many_readings(state, seeds=3)

    monkeypatch.setattr(skin_tone_errors, "many_readings", few)
    return StatePanel(SkinTone(), make_views)


def marks_of(panel):
    errors, summary, shown_filter, _ = panel.views
    return {
        "quiet": errors.quiet.y.tolist(),
        "dark": shown_filter.dark.y.tolist(),
        "light": shown_filter.light.y.tolist(),
        "found": [mark.y.tolist() for mark in errors.found],
        "numbers": summary.widget.children[1].value,
    }


def work_of(panel):
    return panel.views[0]._repeats.work


@pytest.mark.parametrize("name", MOVES)
def test_a_control_moves_what_it_should_and_nothing_else(panel, wire, name):
    value, expected = MOVES[name]
    before = marks_of(panel)
    sent = wire.hear(panel.controls[name].number, value=value)
    after = marks_of(panel)
    assert {mark for mark in before if before[mark] != after[mark]} == expected
    assert panel.notice.value == ""
    updates = Counter(each.comm_id for each in sent if each.method == "update")
    assert set(updates.values()) == {1}
    assert sum(each.size for each in sent) < MOST_BYTES


def test_marks_and_sentences_are_the_state(panel):
    panel.model.set("melanin_fraction", 0.45)
    state, (errors, summary, shown_filter, _) = panel.model.state, panel.views
    np.testing.assert_array_equal(errors.quiet.y, state.quiet_errors(STUDY_PERCENT))
    np.testing.assert_array_equal(
        shown_filter.dark.y, 100.0 * filter_passes(0.45, shown_filter.dark.x)
    )
    assert shown_filter.says.value == html(filter_sentence(state))
    assert summary.widget.children[2].value == html(verdict(state))


def test_the_study_stands_beside_the_engine_with_its_spread(panel):
    (light_bar, light), (dark_bar, dark) = (panel.views[0].found[i : i + 2] for i in (0, 2))
    assert [light.y[0], dark.y[0]] == [0.37, 3.56]
    np.testing.assert_allclose(np.ptp(light_bar.y), 2 * 3.20)
    np.testing.assert_allclose(np.ptp(dark_bar.y), 2 * 2.45)
    assert light.colors != dark.colors


def test_many_readings_are_drawn_with_their_intervals(panel):
    errors, _, _, melanin = panel.views
    assert not any(line.visible for line in (*errors.means.values(), *melanin.means))
    work_of(panel).button.click()
    for _, many in many_readings(SkinTone(), seeds=3):
        expected = many
    for skin, repeated in (("light", expected.light), ("dark", expected.dark)):
        line, bars = errors.means[skin], errors.bars[skin]
        assert line.visible
        np.testing.assert_array_equal(line.y[:-1], repeated.mean)
        np.testing.assert_allclose(np.diff(bars.y)[:, 0], 2 * repeated.half_width)
        assert np.all(np.abs(line.x[:-1] - STUDY_PERCENT) < 0.5)
    assert errors.says.value == html(errors_sentence(expected))
    for line, row in zip(melanin.means, expected.swept.mean, strict=True):
        np.testing.assert_array_equal(line.y[:-1], row)


def test_moving_the_skin_drops_the_readings_and_the_saturation_keeps_them(panel):
    errors, *_, melanin = panel.views
    work_of(panel).button.click()
    panel.model.set("arterial_saturation", 0.9)
    assert errors.means["dark"].visible
    panel.model.set("melanin_fraction", 0.1)
    assert not any(line.visible for line in (*errors.means.values(), *melanin.means))
    assert errors.says.value == html(PRESS)


def test_moving_the_skin_ends_work_that_is_under_way(panel):
    async def run():
        work_of(panel).button.click()
        assert work_of(panel).running
        panel.model.set("noise_percent", 0.2)
        await asyncio.sleep(0.05)
        return work_of(panel).running

    assert not asyncio.run(run())
    assert not panel.views[0].means["dark"].visible


def test_cancel_ends_it(panel):
    async def run():
        work_of(panel).button.click()
        work_of(panel).stop_button.click()
        await asyncio.sleep(0.05)
        return work_of(panel).running

    assert not asyncio.run(run())
    assert panel.notice.value == ""


def test_where_all_is_withheld_nothing_is_drawn(panel):
    panel.model.state = SkinTone(0.45, 0.65, 0.05, 1.0)
    work_of(panel).button.click()
    assert not panel.views[0].means["dark"].visible
    assert "withholds" in panel.views[0].says.value
    assert panel.notice.value == ""


def test_wide_intervals_stay_on_the_axis(panel):
    panel.model.state = SkinTone(0.45, 0.65, 0.15, 0.05)
    work_of(panel).button.click()
    for view in (panel.views[0], panel.views[3]):
        scale = view.figure.axes[1].scale
        bars = view.bars.values() if isinstance(view.bars, dict) else view.bars
        for each in bars:
            if each.visible:
                assert scale.min <= each.y.min()
                assert each.y.max() <= scale.max


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
        SkinTone, **{name: st.floats(s.low, s.high) for name, s in specs_of(SkinTone).items()}
    )
)
@settings(max_examples=50)
def test_any_state_can_be_drawn(views, state):
    for view in views:
        view.show(state)
    for view in (views[0], views[2], views[3]):
        for mark in view.figure.marks:
            assert np.all(np.isfinite(mark.y))
    assert "nan" not in views[1].widget.children[1].value


def test_the_public_function_shows_the_panel(wire):
    assert "ow-panel" in skin_tone()._dom_classes
