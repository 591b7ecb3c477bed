"""The panel of a desaturation study: controls, a file read or refused, long work, downloads."""

import base64
import io
import json
import re
from collections import Counter

import numpy as np
import pandas as pd
import pytest

from oximetry_workbook.meter.curve import Curve
from oximetry_workbook.panels.own_study import OF_INVENTED, OwnStudyPanel, own_study
from oximetry_workbook.panels.prose import html
from oximetry_workbook.teach import own_study_words as words
from oximetry_workbook.teach.own_study import METERS_OWN, OWN_FILE, OwnStudy, leave_each_out

MOST_BYTES = 60_000
READING = {"errors", "deciles", "histogram", "limits", "numbers"}
EVERYTHING = READING | {"pairs", "curve"}
SLIDERS = {
    "subjects": (8, EVERYTHING),
    "spread": (2.0, EVERYTHING | {"swings"}),
    "lowest_percent": (80.0, EVERYTHING),
    "seed": (5, EVERYTHING),
}
LISTS = {
    "form": ("linear", READING | {"curve"}),
    "method": ("robust", READING | {"curve"}),
    "judged": (METERS_OWN, READING),
}
"""Where each control goes, and what must follow."""


@pytest.fixture
def panel(wire):
    return OwnStudyPanel()


def marks_of(panel):
    curve, deciles, errors, bland_altman, statement, histogram, swings, _ = panel.views
    return {
        "pairs": curve.points.x.tolist(),
        "curve": curve.beyond.y.tolist(),
        "errors": errors.points.y.tolist(),
        "deciles": [bar.y.tolist() for bar in deciles.bars],
        "histogram": histogram.counts.y.tolist(),
        "limits": bland_altman.limits.y.tolist(),
        "numbers": statement.texts[0],
        "swings": swings.bars.y.tolist(),
    }


def downloaded(button):
    button.offer()
    return base64.b64decode(re.search(r'base64,([^"]*)"', button.link.value)[1]).decode()


def changed(before, after):
    return {name for name in before if before[name] != after[name]}


@pytest.mark.parametrize("name", SLIDERS)
def test_a_slider_moves_what_it_should_and_nothing_else(panel, wire, name):
    value, expected = SLIDERS[name]
    before = marks_of(panel)
    sent = wire.hear(panel.controls[name].number, value=value)
    assert changed(before, marks_of(panel)) == expected
    assert panel.notice.value == ""
    assert sum(each.size for each in sent) < MOST_BYTES


@pytest.mark.parametrize("name", LISTS)
def test_a_list_moves_what_it_should_and_nothing_else(panel, name):
    value, expected = LISTS[name]
    before = marks_of(panel)
    panel.controls[name].dropdown.value = value
    assert changed(before, marks_of(panel)) == expected
    assert panel.notice.value == ""


def test_points_go_over_the_line_once(panel, wire):
    points = [panel.views[k].points.comm.comm_id for k in (0, 2, 3)]
    sent = wire.hear(panel.controls["seed"].number, value=5)
    updates = Counter(each.comm_id for each in sent if each.method == "update")
    assert [updates[each] for each in points] == [1, 1, 1]


def test_marks_are_the_state(panel):
    study = panel.model.state
    curve, deciles, errors, bland_altman, statement, _, swings, _ = panel.views
    np.testing.assert_array_equal(errors.points.y, study.errors)
    np.testing.assert_allclose(curve.inside.y, study.calibration.curve(curve.inside.x))
    low, high = study.calibration.curve.valid_percent
    assert low <= curve.inside.y.min() < curve.inside.y.max() <= high
    assert curve.shade.y.tolist() == [low, low]
    np.testing.assert_allclose(curve.band.y, study.calibration.band(curve.band.x))
    for bar, reach, part in zip(deciles.bars, deciles.reach, study.result.deciles, strict=True):
        assert bar.y[1][0] == part.agreement.a_rms
        assert tuple(reach.y) == part.agreement.intervals["a_rms"]
    # FDA guidance of 4 March 2013; ISO 80601-2-61:2019 as quoted in JMIR Form Res 2024, e54256
    assert [line.y[0] for line in deciles.limits] == [3.0, 4.0]
    it = study.result.overall
    assert bland_altman.bias.y.tolist() == [it.bias] * 2
    # Bland and Altman, Lancet 1986: bias ± 1.96 standard deviations
    expected = [[it.bias + z * it.sd] * 2 for z in (-1.96, 1.96)]
    np.testing.assert_allclose(bland_altman.limits.y, expected)
    np.testing.assert_allclose(bland_altman.band.y[:, 0], it.intervals["bias"])
    assert swings.bars.x[-1] == study.swings["label"][0]
    assert html(words.NOT_SKIN) in statement.texts[2]


def test_a_file_is_taken_and_told(panel, hand_over):
    panel.model.set("seed", 7)
    text = downloaded(panel.data.pairs)
    panel.reset()
    hand_over(panel.data.upload, text.encode())
    state = panel.model.state
    assert state.source == panel.controls["source"].dropdown.value == OWN_FILE
    pd.testing.assert_frame_equal(state.pairs.table, OwnStudy(seed=7).pairs.table)
    assert panel.notice.value == ""
    assert "outside the range" in panel.data.findings.value
    assert {panel.controls[name].widget.layout.display for name in OF_INVENTED} == {"none"}
    panel.reset()
    assert {panel.controls[name].widget.layout.display for name in OF_INVENTED} == {None}


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"who,what\n1,2\n", "no column subject"),
        (b"\xff\xfe\x00", "no UTF-8 text"),
        (b"", "no table of columns"),
        (b"subject,sao2,spo2\n1,0.9,0.9\n2,0.8,0.8\n", "multiply by 100"),
        (b"subject,sao2,spo2\n1,90,91\n1,80,82\n", "only the label"),
        (b"subject,sao2,ratio\n1,90,0.8\n2,80,1.2\n", "too few"),
        (b"subject,sao2,spo2\n1,60,61\n2,50,54\n", "no pair has a reading"),
    ],
)
def test_a_file_that_will_not_do_is_refused_whole(panel, content, told, hand_over):
    before, state = marks_of(panel), panel.model.state
    hand_over(panel.data.upload, content)
    assert told in panel.notice.value
    assert "Traceback" not in panel.notice.value
    assert "went wrong" not in panel.notice.value
    assert panel.model.state is state
    assert marks_of(panel) == before


def test_a_file_without_ratio_hides_the_curve(panel, hand_over):
    table = OwnStudy().pairs.table.drop(columns="ratio")
    hand_over(panel.data.upload, table.to_csv(index=False).encode())
    assert panel.notice.value == ""
    assert not any(mark.visible for mark in panel.views[0].figure.marks)
    panel.data.curve.widget.children[0].click()
    assert "no column ratio" in panel.notice.value
    assert panel.data.curve.link.value == ""
    panel.views[4].work.button.click()
    assert "no column ratio" in panel.notice.value
    assert not panel.views[4].work.running


def test_own_file_before_there_is_one_is_refused(panel):
    panel.controls["source"].dropdown.value = OWN_FILE
    assert "no file was read" in panel.notice.value
    assert panel.model.state.invented
    assert panel.controls["source"].dropdown.value != OWN_FILE


def test_the_curve_and_the_pairs_come_back_from_their_files(panel):
    study = panel.model.state
    text = downloaded(panel.data.curve)
    ratio = np.linspace(0.5, 1.5, 11)
    np.testing.assert_allclose(Curve.from_json(text)(ratio), study.calibration.curve(ratio))
    assert json.loads(text)
    table = pd.read_csv(io.StringIO(downloaded(panel.data.pairs)))
    np.testing.assert_allclose(table["ratio"], study.pairs.table["ratio"])
    panel.model.set("seed", 9)
    assert panel.data.curve.link.value == panel.data.pairs.link.value == ""


def test_leaving_subjects_out_is_told_and_dropped_with_the_next_study(panel):
    statement = panel.views[4]
    assert statement.left_out.value == html(words.PRESS)
    statement.work.button.click()
    *_, (_, expected) = leave_each_out(OwnStudy())
    assert statement.left_out.value == html(words.left_out_sentence(expected))
    panel.model.set("seed", 3)
    assert statement.left_out.value == html(words.PRESS)


EXTREMES = [
    {"subjects": 4, "spread": 0.0},
    {"subjects": 30, "spread": 2.0, "lowest_percent": 50.0},
    {"lowest_percent": 90.0, "judged": METERS_OWN},
    {"form": "rational", "method": "robust"},
]


@pytest.mark.parametrize("fields", EXTREMES, ids=str)
def test_extremes_stay_on_their_axes(panel, fields):
    panel.model.state = OwnStudy(**fields)
    for view in panel.views[:4]:
        for mark in view.figure.marks:
            assert np.all(np.isfinite(mark.y))
    for view in (panel.views[2], panel.views[3]):
        scales = view.points.scales
        assert scales["y"].min <= view.points.y.min() <= view.points.y.max() <= scales["y"].max
        assert scales["x"].min <= view.points.x.min() <= view.points.x.max() <= scales["x"].max
    for reach in panel.views[1].reach:
        assert not reach.visible or reach.y.max() <= reach.scales["y"].max


def test_reset_goes_back(panel, wire):
    before = marks_of(panel)
    for name, (value, _) in SLIDERS.items():
        wire.hear(panel.controls[name].number, value=value)
    panel.reset()
    assert marks_of(panel) == before


def test_the_public_function_shows_the_panel(wire):
    assert "ow-panel" in own_study()._dom_classes


def test_a_picture_says_whether_its_people_are_invented_or_from_a_file(panel, hand_over):
    card = panel.views[0].widget
    assert "simulated" in card.still().source
    rows = [f"{who},{97 - who - k},{0.5 + 0.04 * k}" for who in range(4) for k in range(6)]
    hand_over(panel.data.upload, "\n".join(["subject,sao2,ratio", *rows]).encode(), "pairs.csv")
    assert panel.notice.value == ""
    assert "read from pairs.csv" in card.still().source
    panel.reset()
    assert "simulated" in card.still().source
