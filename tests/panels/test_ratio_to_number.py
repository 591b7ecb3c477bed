"""The chapter's two panels: each control changes what it should, with few messages."""

from collections import Counter

import ipywidgets as widgets
import numpy as np
import pytest

from oximetry_workbook.body.quantities import Choice, specs_of
from oximetry_workbook.panels import look
from oximetry_workbook.panels.curves_together import LOOKS, CurvesList, CurvesPlot
from oximetry_workbook.panels.prose import html
from oximetry_workbook.panels.ratio_to_number import (
    PEOPLE_COLOURS,
    POINT_COLOURS,
    SAMPLES,
    ErrorPlot,
    StudyPlot,
    calibration,
)
from oximetry_workbook.panels.state_panel import StatePanel
from oximetry_workbook.teach.curves_together import CurvesTogether, curves_sentence
from oximetry_workbook.teach.ratio_to_number import (
    TRUE_PERCENT,
    CalibrationStudy,
    error_sentence,
    ethics_sentence,
    study_sentence,
)

MOST_BYTES = 60_000
"""Budget for what one move of a slider may send."""

MOVES = {
    "volunteers": (40, {"points", "threads"}, {"points", "band"}),
    "spread": (0.5, {"points", "threads"}, {"points", "band"}),
    "scatter_percent": (5.0, {"points", "beyond"}, {"points", "band"}),
    "lowest_percent": (80.0, {"points", "shade", "inside"}, {"points", "band", "shade"}),
    "draw": (2, {"points", "threads", "truth"}, {"points", "band"}),
}
"""Where each slider goes, and marks of the study and of its errors that must follow."""


@pytest.fixture
def study(wire):
    return StatePanel(CalibrationStudy(), lambda notice: (StudyPlot(notice), ErrorPlot(notice)))


@pytest.fixture
def curves(wire):
    return StatePanel(CurvesTogether(), lambda notice: (CurvesPlot(notice), CurvesList()))


def marks(view):
    return {
        name: (mark.visible, mark.x.tolist(), mark.y.tolist())
        for name, mark in vars(view).items()
        if name in ("shade", "threads", "points", "other", "beyond", "inside", "truth", "band")
    }


def changed(before, after):
    return {name for name in before if before[name] != after[name]}


@pytest.mark.parametrize("name", MOVES)
def test_a_slider_moves_the_study_and_its_errors(study, wire, name):
    value, in_study, in_errors = MOVES[name]
    before = [marks(view) for view in study.views]
    wire.hear(study.controls[name].slider, value=value)
    assert getattr(study.model.state, name) == value
    after = [marks(view) for view in study.views]
    assert in_study <= changed(before[0], after[0])
    assert in_errors <= changed(before[1], after[1])
    assert study.notice.value == ""
    assert html(study_sentence(study.model.state)) in study.views[0].says.value
    assert html(error_sentence(study.model.state)) == study.views[1].says.value


def test_scatter_and_depth_leave_the_people_alone(study, wire):
    before = marks(study.views[0])
    for name in ("scatter_percent", "lowest_percent"):
        wire.hear(study.controls[name].slider, value=MOVES[name][0])
    after = marks(study.views[0])
    assert changed(before, after).isdisjoint({"threads", "truth"})


def test_the_other_form_changes_places_with_the_first(study, wire):
    before = marks(study.views[1])
    wire.hear(study.controls["fit"].dropdown, index=1)
    assert study.model.state.fit == "quadratic"
    after = marks(study.views[1])
    assert after["other"] == before["beyond"]
    assert after["beyond"] == before["other"]
    assert after["points"] != before["points"]


@pytest.mark.parametrize("fit", ["line", "quadratic"])
def test_marks_are_the_study(study, fit):
    study.model.set("fit", fit)
    state, (shown, errors) = study.model.state, study.views
    np.testing.assert_array_equal(shown.points.x, state.pairs["ratio"])
    np.testing.assert_array_equal(shown.points.y, state.pairs["sao2_percent"])
    np.testing.assert_array_equal(shown.threads.x, state.true_ratio)
    assert shown.threads.y.shape == shown.threads.x.shape
    assert shown.truth.y.tolist() == [100, 90, 80, 70, 60, 50]
    for line in (shown.inside, shown.beyond):
        np.testing.assert_allclose(line.y, state.curve(line.x))
    np.testing.assert_allclose(shown.other.y, state.other(shown.other.x))
    np.testing.assert_array_equal(errors.points.y, state.errors)
    np.testing.assert_allclose(errors.beyond.y, state.curve(state.mean_ratio) - TRUE_PERCENT)
    assert errors.band.y[1, 0] == state.agreement.a_rms


@pytest.mark.parametrize("lowest", [50.0, 70.0, 90.0])
def test_the_curve_is_solid_only_where_there_are_samples(study, lowest):
    study.model.set("lowest_percent", lowest)
    shown, errors = study.views
    assert shown.inside.y.min() >= lowest
    assert shown.beyond.y.min() < lowest
    assert errors.inside.x.min() == lowest
    assert shown.shade.y.tolist() == [lowest, lowest]
    assert errors.shade.x.tolist() == [45.0, lowest]
    assert html(ethics_sentence(study.model.state)) in shown.warns.value


def test_points_and_threads_of_a_person_share_a_colour():
    assert len(POINT_COLOURS) == SAMPLES * len(PEOPLE_COLOURS)
    for person, colour in enumerate(PEOPLE_COLOURS):
        assert set(POINT_COLOURS[person * SAMPLES : (person + 1) * SAMPLES]) == {colour}


@pytest.mark.parametrize("name", MOVES)
def test_one_move_sends_one_message_a_widget_and_few_bytes(study, wire, name):
    sent = wire.hear(study.controls[name].slider, value=MOVES[name][0])
    updates = Counter(each.comm_id for each in sent if each.method == "update")
    assert updates
    # a scale and its axis are each told of a new range once; marks once each
    assert set(updates.values()) == {1}
    assert sum(each.size for each in sent) < MOST_BYTES


@pytest.mark.parametrize(
    ("name", "end"),
    [
        (name, end)
        for name, spec in specs_of(CalibrationStudy).items()
        if not isinstance(spec, Choice)
        for end in ("low", "high")
    ],
)
def test_every_slider_can_go_to_its_end(study, wire, name, end):
    value = getattr(specs_of(CalibrationStudy)[name], end)
    wire.hear(study.controls[name].number, value=value)
    assert getattr(study.model.state, name) == value
    assert study.notice.value == ""
    for view in study.views:
        for mark in view.figure.marks:
            assert mark.x.size > 0
            assert np.isfinite(mark.x).all()
            assert np.isfinite(mark.y).all()


def test_the_wildest_study_keeps_its_points_in_the_plot(study):
    wild = {"volunteers": 40, "spread": 2.0, "scatter_percent": 10.0, "lowest_percent": 50.0}
    study.model.state = CalibrationStudy(**wild)
    for view in study.views:
        assert view._x.min <= view.points.x.min()
        assert view.points.x.max() <= view._x.max
        assert view._y.min <= view.points.y.min()
        assert view.points.y.max() <= view._y.max


def test_reset_goes_back(study, wire):
    before = [marks(view) for view in study.views]
    for name, (value, *_) in MOVES.items():
        wire.hear(study.controls[name].slider, value=value)
    study.reset()
    assert study.model.state == CalibrationStudy()
    assert [marks(view) for view in study.views] == before


def test_the_ratio_is_looked_up_in_every_curve(curves, wire):
    wire.hear(curves.controls["ratio"].slider, value=1.2)
    plot, listed = curves.views
    assert plot.look_up.x.tolist() == [1.2, 1.2]
    assert plot.points.x.tolist() == [1.2] * 9
    assert sorted(plot.points.y) == pytest.approx(sorted(curves.model.state.percents.values()))
    assert plot.says.value == html(curves_sentence(curves.model.state))
    for name in curves.model.state.curves:
        assert name in listed._rows.value


def test_answers_off_the_plot_are_left_out(curves):
    curves.model.set("ratio", 2.0)
    assert curves.views[0].points.x.size == 8
    assert "below 0 %" in curves.views[1]._rows.value


def test_spectra_move_the_calculated_curves_only(curves, wire):
    plot = curves.views[0]
    before = {name: line.y.tolist() for name, line in plot.lines.items()}
    wire.hear(curves.controls["extinction_table"].dropdown, index=1)
    moved = {name for name, line in plot.lines.items() if line.y.tolist() != before[name]}
    assert moved == {name for name in LOOKS if "diffusion" in name or "Beer" in name}


def test_lines_are_the_curves_from_the_bottom_to_full(curves):
    plot = curves.views[0]
    for name, curve in curves.model.state.curves.items():
        line = plot.lines[name]
        np.testing.assert_allclose(line.y, curve(line.x))
        assert line.y.min() >= 40.0
        assert line.y.max() <= 100.0


def test_every_curve_has_a_look_of_its_own():
    assert set(LOOKS) == set(CurvesTogether().curves)
    assert len({(colour, style) for colour, style, _ in LOOKS.values()}) == len(LOOKS)


def test_nothing_is_made_anew_while_moving(study, wire):
    count = len(widgets.widget._instances)
    for value in (5, 40, 17, 8):
        wire.hear(study.controls["volunteers"].slider, value=value)
    assert len(widgets.widget._instances) == count


def test_colours_are_the_style_sheets(study, curves):
    for view in (*study.views, curves.views[0]):
        for mark in view.figure.marks:
            assert all(colour.startswith("var(--ow-") for colour in mark.colors)
    assert look.RED not in PEOPLE_COLOURS


def test_the_function_shows_both_panels(wire):
    shown = calibration()
    assert len(shown.children) == 2
    assert all("ow-panel" in child._dom_classes for child in shown.children)
