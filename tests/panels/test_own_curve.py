"""The learner's own curve in the panels: kept, found, opened, used, forgotten; and no leaks."""

import ipywidgets as widgets
import numpy as np
import pytest

from oximetry_workbook.meter.curve import TEXTBOOK, Curve
from oximetry_workbook.panels.below_seventy import make_views
from oximetry_workbook.panels.bench import Bench
from oximetry_workbook.panels.curves_together import CurvesList, CurvesPlot
from oximetry_workbook.panels.own_curve import KEY, OWN_CURVE, OwnCurvePanel
from oximetry_workbook.panels.own_recording import OwnRecording
from oximetry_workbook.panels.own_study import OwnStudyPanel
from oximetry_workbook.panels.prose import html
from oximetry_workbook.teach.below_seventy import BelowSeventy
from oximetry_workbook.teach.curves_together import CurvesTogether
from oximetry_workbook.teach.invented_recording import INVENTED_NAME, invented_csv
from oximetry_workbook.teach.own_curve import NOT_SHARED
from oximetry_workbook.teach.reading import CURVE_NAMES, PROBE_CURVE

OWN = Curve.polynomial("my <line>", [112.0, -28.0], "eleven volunteers", (72.0, 99.0))
OTHER = Curve.polynomial("my <line>", [111.0, -27.0], "eleven volunteers", (72.0, 99.0))
FOLLOWING = (
    lambda: Bench().curves,
    lambda: OwnRecording().curves,
)


def find(own, wire, text):
    """Pretend that the browser has found a text among what it keeps."""
    wire.hear(own.kept, found=text)


def labels(curves):
    return [words for words, _ in curves.dropdown.options]


def use_own(curves, wire):
    return wire.hear(curves.dropdown, index=len(CURVE_NAMES))


@pytest.mark.parametrize("make", FOLLOWING)
def test_a_curve_found_comes_into_the_list_and_changes_nothing_yet(wire, make):
    curves = make()
    assert len(labels(curves)) == len(CURVE_NAMES)
    wire.hear(curves.dropdown, index=1)
    find(curves.own, wire, OWN.to_json())
    assert labels(curves)[-1] == "Your own: my <line>"
    assert curves.curve == CURVE_NAMES[1]
    use_own(curves, wire)
    assert curves.curve is curves.own.curve
    assert curves.curve.numbers == OWN.numbers


def test_the_bench_reads_and_draws_with_it(bench, wire):
    find(bench.curves.own, wire, OWN.to_json())
    use_own(bench.curves, wire)
    measurement = bench.model.reading.measurement
    assert measurement.curve is bench.curves.own.curve
    assert measurement.spo2_percent == pytest.approx(112.0 - 28.0 * measurement.ratio)
    np.testing.assert_allclose(bench.curve.checked.y, 112.0 - 28.0 * bench.curve.checked.x)
    assert bench.curve.checked.y.max() <= 99.0
    above = bench.curve.guessed_above
    assert above.visible
    assert above.y.min() < 99.0 < above.y.max() <= 100.0
    bench.model.set("arterial_saturation", 0.6)
    assert bench.model.reading.measurement.extrapolated
    assert "beyond the volunteers" in bench.curve.says.value


def test_a_new_fit_of_the_same_name_is_drawn_anew(bench, wire):
    find(bench.curves.own, wire, OWN.to_json())
    use_own(bench.curves, wire)
    content = memoryview(OTHER.to_json().encode())
    about = {"name": "c.json", "type": "", "size": len(content), "last_modified": 0}
    wire.hear(bench.curves.own.upload, value=[{**about, "content": content}])
    assert bench.model.reading.measurement.curve.numbers == OTHER.numbers
    np.testing.assert_allclose(bench.curve.checked.y, 111.0 - 27.0 * bench.curve.checked.x)
    assert bench.curves.own.kept.text == OTHER.to_json()
    assert bench.notice.value == ""


def test_forgetting_gives_the_probe_its_own_curve_back(bench, wire):
    find(bench.curves.own, wire, OWN.to_json())
    use_own(bench.curves, wire)
    bench.curves.own.forget_button.click()
    assert bench.model.curve == PROBE_CURVE
    assert len(labels(bench.curves)) == len(CURVE_NAMES)
    assert bench.curves.own.kept.text == ""
    assert bench.curves.own.forget_button.disabled


@pytest.mark.parametrize("text", ["{}", "nonsense", OWN.to_json().replace("112.0", "NaN")])
def test_a_damaged_one_is_left_alone_told_and_can_be_forgotten(bench, wire, text):
    before = len(wire.messages)
    find(bench.curves.own, wire, text)
    sent = [m for m in wire.messages[before:] if m.comm_id == bench.curves.own.kept.model_id]
    assert not any("text" in each.names for each in sent)
    assert "that this browser keeps cannot be used" in bench.notice.value
    assert "Traceback" not in bench.notice.value
    assert len(labels(bench.curves)) == len(CURVE_NAMES)
    assert bench.model.curve == PROBE_CURVE
    assert not bench.curves.own.forget_button.disabled
    bench.curves.own.forget_button.click()
    sent = [m for m in wire.messages[before:] if m.comm_id == bench.curves.own.kept.model_id]
    assert any("text" in each.names for each in sent)


def test_reset_leaves_the_curve_in_the_list(bench, wire):
    find(bench.curves.own, wire, OWN.to_json())
    use_own(bench.curves, wire)
    bench.model.reset()
    assert bench.curves.dropdown.value == PROBE_CURVE
    assert labels(bench.curves)[-1].startswith("Your own")


def test_two_benches_of_one_kernel_do_not_share_it(wire):
    one, other = Bench(), Bench()
    find(one.curves.own, wire, OWN.to_json())
    use_own(one.curves, wire)
    assert other.curves.own.curve is None
    assert len(labels(other.curves)) == len(CURVE_NAMES)
    assert other.model.reading.measurement.curve.name != OWN.name
    assert len(CURVE_NAMES) == len(set(CURVE_NAMES))


def test_the_share_box_says_that_it_is_left_out(bench, wire):
    find(bench.curves.own, wire, OWN.to_json())
    assert bench.share.left_out.value == ""
    use_own(bench.curves, wire)
    assert html(NOT_SHARED) in bench.share.left_out.value
    assert "curve" not in bench.share.address.state
    wire.hear(bench.curves.dropdown, index=0)
    assert bench.share.left_out.value == ""


def test_a_curve_set_by_a_line_of_python_is_listed_for_this_page_only(bench):
    bench.model.curve = OWN
    assert bench.curves.dropdown.value == OWN_CURVE
    assert "On this page only" in bench.curves.own.says.value
    assert bench.curves.own.kept.text == ""


def test_chapter_15_keeps_its_fit_and_forgets_it(wire):
    panel = OwnStudyPanel()
    own = panel.data.own
    press = next(b for b in own.widget.children[0].children if isinstance(b, widgets.Button))
    assert press.description == "Use this curve in the workbook"
    assert own.kept.key == KEY
    press.click()
    assert own.kept.text == panel.model.state.calibration.curve.to_json()
    assert "Kept in this browser" in own.says.value
    panel.model.set("form", "linear")
    assert own.curve.name == "quadratic curve"  # the one kept stays until the button is pressed
    press.click()
    assert own.curve.name == "linear curve"
    before = len(wire.messages)
    press.click()  # another page may have forgotten it meanwhile
    sent = [m for m in wire.messages[before:] if m.comm_id == own.kept.model_id]
    assert any("text" in each.names for each in sent)
    own.forget_button.click()
    assert own.kept.text == ""
    assert panel.notice.value == ""


def test_the_recording_is_measured_with_it(wire):
    panel = OwnRecording()
    panel.open(INVENTED_NAME, invented_csv())
    panel.work.begin()
    find(panel.curves.own, wire, OWN.to_json())
    assert panel.readings.curve.numbers != OWN.numbers
    use_own(panel.curves, wire)
    assert panel.readings.curve.numbers == OWN.numbers
    panel.curves.own.forget_button.click()
    assert panel.readings.curve.numbers != OWN.numbers


def test_curves_side_by_side_show_it_too(wire):
    panel = OwnCurvePanel(CurvesTogether(), lambda notice: (CurvesPlot(notice), CurvesList()))
    plot, rows = panel.views
    assert not plot.own.visible
    find(panel.own, wire, OWN.to_json())
    assert plot.own.visible
    np.testing.assert_allclose(plot.own.y, 112.0 - 28.0 * plot.own.x)
    panel.model.set("ratio", 1.2)
    text = rows._own_row.value
    assert "my &lt;line&gt;" in text
    assert html(f"says {112.0 - 28.0 * 1.2:.0f} %") in text
    panel.own.forget()
    assert not plot.own.visible
    assert rows._own_row.value == ""


def test_below_seventy_shows_it_as_a_guess(wire):
    panel = OwnCurvePanel(BelowSeventy(), make_views)
    plot = panel.views[0]
    find(panel.own, wire, TEXTBOOK.to_json())
    assert plot.own.visible
    np.testing.assert_allclose(plot.own.y, plot.lines[TEXTBOOK.name].y)
    assert "a guess" in plot.says_own.value
    panel.own.forget()
    assert not plot.own.visible
    assert plot.says_own.value == ""
