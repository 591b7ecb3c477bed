"""Panels of the oxygen chapter: each control moves what depends on it, in few messages."""

from collections import Counter

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from oximetry_workbook.body.quantities import specs_of
from oximetry_workbook.panels.altitude import (
    AltitudeNumbers,
    ExpectedPlot,
    PressuresPlot,
    altitude,
)
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.oxygen_on_board import (
    ContentPlot,
    DissociationPlot,
    OxygenNumbers,
    oxygen,
)
from oximetry_workbook.panels.state_panel import StatePanel
from oximetry_workbook.teach.altitude import MEASURED_M, MEASURED_PERCENT, Ascent
from oximetry_workbook.teach.oxygen_on_board import STANDARD, OxygenOnBoard

MOST_BYTES = 60_000
"""Budget for what one move of a slider may send."""

OXYGEN_MOVES = {
    "po2_mmhg": (50.0, {"numbers", "first", "second"}),
    "haemoglobin_g_per_l": (80.0, {"numbers", "second"}),
    "carboxyhaemoglobin": (30.0, {"numbers", "first", "second"}),
    "cardiac_output_l_per_min": (8.0, {"numbers"}),
    "ph": (7.2, {"numbers", "first", "second"}),
    "paco2_mmhg": (90.0, {"numbers", "first", "second"}),
    "temperature_c": (39.0, {"numbers", "first", "second"}),
    "dpg_mmol_per_l": (8.0, {"numbers", "first", "second"}),
}
ALTITUDE_MOVES = {
    "altitude_m": (5000.0, {"numbers", "first", "second"}),
    "paco2_mmhg": (25.0, {"numbers", "first", "second"}),
    "ph": (7.5, {"numbers", "first"}),
    "difference_mmhg": (20.0, {"numbers", "first", "second"}),
    "oxygen_fraction": (40.0, {"numbers", "first", "second"}),
}
"""A place to move each slider to, and the views that depend on it."""

MOVES = [("oxygen", *move) for move in OXYGEN_MOVES.items()] + [
    ("altitude", *move) for move in ALTITUDE_MOVES.items()
]
every_move = pytest.mark.parametrize(("which", "name", "move"), MOVES)


def panel_of(which):
    if which == "oxygen":
        return StatePanel(
            OxygenOnBoard(), lambda n: (OxygenNumbers(), DissociationPlot(n), ContentPlot(n))
        )
    return StatePanel(Ascent(), lambda n: (AltitudeNumbers(), ExpectedPlot(n), PressuresPlot(n)))


def drawing(view):
    if hasattr(view, "figure"):
        return [(mark.x.tolist(), mark.y.tolist()) for mark in view.figure.marks]
    return view.numbers.value


def drawings(panel):
    return dict(zip(("numbers", "first", "second"), map(drawing, panel.views), strict=True))


def test_every_field_has_a_move():
    assert set(OXYGEN_MOVES) == set(specs_of(OxygenOnBoard))
    assert set(ALTITUDE_MOVES) == set(specs_of(Ascent))


@every_move
def test_a_slider_moves_what_depends_on_it_and_nothing_else(wire, which, name, move):
    panel = panel_of(which)
    before = drawings(panel)
    wire.hear(panel.controls[name].slider, value=move[0])
    share = 100.0 if specs_of(panel.model.state)[name].fraction else 1.0
    assert getattr(panel.model.state, name) == pytest.approx(move[0] / share)
    after = drawings(panel)
    assert {view for view in before if before[view] != after[view]} == move[1]
    assert panel.notice.value == ""


@every_move
def test_a_move_sends_one_message_a_widget(wire, which, name, move):
    panel = panel_of(which)
    slider = panel.controls[name].slider
    sent = wire.hear(slider, value=move[0])
    count = Counter(each.comm_id for each in sent if each.method == "update")
    assert max(count.values()) == 1
    assert sum(each.size for each in sent) < MOST_BYTES


@pytest.mark.parametrize("which", ["oxygen", "altitude"])
def test_reset_goes_back(wire, which):
    panel = panel_of(which)
    before = drawings(panel)
    for name, (value, _) in (OXYGEN_MOVES if which == "oxygen" else ALTITUDE_MOVES).items():
        wire.hear(panel.controls[name].slider, value=value)
    assert drawings(panel) != before
    panel.reset()
    assert drawings(panel) == before


def test_marks_are_those_of_the_blood(wire):
    panel = panel_of("oxygen")
    panel.model.state = blood = OxygenOnBoard(po2_mmhg=45.0, carboxyhaemoglobin=0.2, ph=7.3)
    _, dissociation, content = panel.views
    np.testing.assert_array_equal(dissociation.curve.y, blood.curve_percent)
    np.testing.assert_array_equal(dissociation.standard.y, STANDARD.curve_percent)
    assert dissociation.half.x[1] == blood.p50_mmhg
    assert (dissociation.shoulder.x[1], dissociation.shoulder.y[1]) == (blood.shoulder_mmhg, 90.0)
    np.testing.assert_array_equal(content.curve.y, blood.content_curve_ml_per_dl)
    np.testing.assert_array_equal(content.standard.y, STANDARD.content_curve_ml_per_dl)
    assert (content.point.x[0], content.point.y[0]) == (45.0, blood.content_ml_per_dl)


def test_marks_are_those_of_the_ascent(wire):
    panel = panel_of("altitude")
    panel.model.state = ascent = Ascent(altitude_m=6000.0, paco2_mmhg=20.0, ph=7.5)
    _, expected, pressures = panel.views
    np.testing.assert_array_equal(expected.curve.y, ascent.curve_percent)
    np.testing.assert_array_equal(expected.measured.x, MEASURED_M)
    np.testing.assert_array_equal(expected.measured.y, MEASURED_PERCENT)
    drawn = [line.y for line in pressures.lines]
    np.testing.assert_array_equal(drawn, ascent.pressure_curves_mmhg)
    assert pressures.points.y.tolist() == [
        ascent.inspired_mmhg,
        ascent.alveolar_mmhg,
        ascent.arterial_mmhg,
    ]


def test_a_height_where_nobody_lives_shows_no_number(wire):
    panel = panel_of("altitude")
    panel.model.state = Ascent(altitude_m=8850.0)
    assert '<div class="ow-value">–</div>' in panel.views[0].numbers.value


def any_of(kind):
    fields = {name: st.floats(spec.low, spec.high) for name, spec in specs_of(kind).items()}
    return st.builds(kind, **fields)


@settings(max_examples=40)
@given(any_of(OxygenOnBoard), any_of(Ascent))
def test_any_state_can_be_drawn(blood, ascent):
    for view in VIEWS["oxygen"]:
        view.show(blood)
    for view in VIEWS["altitude"]:
        view.show(ascent)
    plots = [view for views in VIEWS.values() for view in views if hasattr(view, "figure")]
    for mark in (mark for plot in plots for mark in plot.figure.marks):
        assert mark.x.size == mark.y.size > 0
        assert np.all(np.isfinite(mark.x))
        assert np.all(np.isfinite(mark.y))
    for plot in plots:
        assert plot.says.value.endswith(".")
        highest = plot.figure.marks[-1].scales["y"].max
        assert max(mark.y.max() for mark in plot.figure.marks) <= highest


@pytest.fixture(scope="module", autouse=True)
def views():
    notice = Notice()
    VIEWS["oxygen"] = (OxygenNumbers(), DissociationPlot(notice), ContentPlot(notice))
    VIEWS["altitude"] = (AltitudeNumbers(), ExpectedPlot(notice), PressuresPlot(notice))
    yield
    VIEWS.clear()


VIEWS = {}


def test_the_panels_can_be_made(wire):
    assert len(oxygen().children) == len(altitude().children) == 3
