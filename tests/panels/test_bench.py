"""The bench as a whole: one way from control to marks, few messages, nothing lost in a handler."""

import base64
import io
import logging
import re
from collections import Counter

import ipywidgets as widgets
import numpy as np
import pandas as pd
import pytest

from oximetry_workbook.body.quantities import Quantity
from oximetry_workbook.body.scenario import SPECS, Scenario
from oximetry_workbook.meter.curve import TEXTBOOK
from oximetry_workbook.panels import look
from oximetry_workbook.panels.bench import MAIN_CONTROLS, bench
from oximetry_workbook.panels.prose import html
from oximetry_workbook.panels.pulse_plot import SHOWN_S
from oximetry_workbook.panels.still_words import said
from oximetry_workbook.teach.reading import CURVE_NAMES, PROBE_CURVE, read
from oximetry_workbook.teach.words import main_sentence

MOST_BYTES = 60_000
"""Budget for what one move of a slider may send."""

PLOTS = ("layers", "pulses", "ratio", "curve")
MOVES = {
    "arterial_saturation": (85.0, PLOTS),
    "perfusion_index_percent": (1.0, PLOTS),
    "heart_rate_bpm": (110.0, ("pulses", "ratio")),
    "noise_percent": (0.2, ("pulses", "ratio")),
}
"""A place to move each slider to, and the plots that depend on it."""

every_move = pytest.mark.parametrize("name", MOVES)


def figures_of(plot):
    return plot.figures if hasattr(plot, "figures") else [plot.figure]


def marks_of(plot):
    return [mark for figure in figures_of(plot) for mark in figure.marks]


def drawing(plot):
    """Return all that a plot shows, as text to compare."""
    return [(mark.visible, mark.x.tolist(), mark.y.tolist()) for mark in marks_of(plot)]


def drawings(bench):
    return {name: drawing(getattr(bench, name)) for name in PLOTS}


def move(bench, wire, name):
    return wire.hear(bench.controls[name].slider, value=MOVES[name][0])


def button(bench, words):
    found = [
        widget
        for widget in bench_widgets(bench.widget)
        if isinstance(widget, widgets.Button | widgets.ToggleButton) and widget.description == words
    ]
    assert found, words
    return found[0]


def press(bench, wire, words):
    found = button(bench, words)
    data = {"method": "custom", "content": {"event": "click"}}
    found.comm.handle_msg({"content": {"data": data}, "buffers": []})


def bench_widgets(box):
    yield box
    for child in getattr(box, "children", ()):
        yield from bench_widgets(child)


def strip_text(bench):
    return " ".join(each.value for each in bench.numbers.widget.children)


@every_move
def test_a_slider_moves_scenario_reading_and_the_plots_that_depend_on_it(bench, wire, name):
    before = drawings(bench)
    value, dependent = MOVES[name]
    move(bench, wire, name)
    share = 100.0 if SPECS[name].fraction else 1.0
    assert getattr(bench.model.scenario, name) == pytest.approx(value / share)
    assert bench.model.reading.scenario is bench.model.scenario
    after = drawings(bench)
    assert {plot for plot in dependent if before[plot] != after[plot]} == set(dependent)
    assert bench.notice.value == ""


@every_move
def test_the_marks_are_those_of_the_reading(bench, wire, name):
    move(bench, wire, name)
    reading = bench.model.reading
    measurement = reading.measurement
    shown = reading.recording.time_s <= SHOWN_S
    for line, change in zip(bench.pulses.lines, reading.light_change_percent, strict=True):
        np.testing.assert_allclose(line.y, change[shown], rtol=1e-6, atol=1e-6)
    np.testing.assert_array_equal(bench.layers.stack.y, reading.absorbance_layers)
    np.testing.assert_allclose(bench.layers.top.y[0], 1000.0 * reading.absorbance_layers[-1])
    slope = np.diff(bench.ratio.slope.y) / np.diff(bench.ratio.slope.x)
    assert slope == pytest.approx([measurement.ratio])
    assert bench.curve.look_up.x.tolist() == [measurement.ratio, measurement.ratio, 0.0]
    assert bench.curve.look_up.y[-1] == measurement.spo2_percent
    assert bench.curve.truth.y == pytest.approx([reading.carried_percent])


@every_move
def test_numbers_and_sentences_follow(bench, wire, name):
    before = strip_text(bench)
    move(bench, wire, name)
    after = strip_text(bench)
    assert after != before
    assert html(main_sentence(bench.model.reading)) in after
    assert f"{bench.model.reading.measurement.ratio:.2f}" in after
    assert "None" not in after
    assert "nan" not in after


@every_move
def test_one_move_sends_one_message_a_widget_and_few_bytes(bench, wire, name):
    sent = move(bench, wire, name)
    echoes = [each for each in sent if each.method == "echo_update"]
    assert [each.comm_id for each in echoes] == [bench.controls[name].slider.model_id]
    updates = Counter(each.comm_id for each in sent if each.method == "update")
    assert updates
    assert set(updates.values()) == {1}
    assert bench.controls[name].slider.model_id not in updates
    assert sum(each.size for each in sent) < MOST_BYTES


@every_move
def test_what_a_move_does_not_touch_is_not_sent(bench, wire, name):
    told = {each.comm_id for each in move(bench, wire, name)}
    still = [
        mark
        for plot in PLOTS
        if plot not in (*MOVES[name][1], "curve")
        for mark in marks_of(getattr(bench, plot))
    ]
    still += [bench.curve.textbook, bench.curve.beer_lambert, bench.curve.checked]
    still += [bench.curve.guessed, bench.curve.shade, bench.curves.dropdown, bench.layers.ghost]
    still += [*bench.pulses.ghosts, bench.ratio.ghost, bench.curve.ghost]
    others = [bench.controls[field] for field in SPECS if field != name]
    for control in others:
        still += [
            getattr(control, kind)
            for kind in ("slider", "number", "dropdown")
            if hasattr(control, kind)
        ]
    assert [widget for widget in still if widget.model_id in told] == []


@every_move
def test_the_times_of_samples_are_sent_once(bench, wire, name):
    lines = {line.model_id for line in bench.pulses.lines}
    sent = [each for each in move(bench, wire, name) if each.comm_id in lines]
    assert [each.names for each in sent] == [{"y"}, {"y"}]


def test_the_browser_snapping_the_slider_does_not_move_the_state(bench, wire):
    control = bench.controls["arterial_saturation"]
    wire.hear(control.number, value=91.3)
    sent = wire.hear(control.slider, value=91.5)
    assert bench.model.scenario.arterial_saturation == pytest.approx(0.913)
    assert control.number.value == 91.3
    assert [each.method for each in sent] == ["echo_update"]


def test_nothing_a_view_holds_flows_back(bench):
    scenario, reading = bench.model.scenario, bench.model.reading
    bench.pulses.lines[0].y = np.zeros(3)
    bench.curve.truth.y = np.array([50.0])
    bench.numbers.show(read(Scenario(arterial_saturation=0.6)))
    assert bench.model.scenario is scenario
    assert bench.model.reading is reading


def test_setting_the_scenario_from_a_cell_moves_every_control(bench):
    scenario = Scenario(arterial_saturation=0.813, perfusion_index_percent=0.7, site="ear")
    bench.model.scenario = scenario
    for name, spec in SPECS.items():
        control, value = bench.controls[name], getattr(scenario, name)
        if isinstance(spec, Quantity):
            shown = value * (100.0 if spec.fraction else 1.0)
            assert control.number.value == pytest.approx(shown, rel=0.005)
            notch = 0.025 if spec.logarithmic else None
            step = control.slider.step
            assert control.slider.value == pytest.approx(shown, rel=notch, abs=0.51 * step)
        else:
            assert control.dropdown.value == value
    assert bench.model.scenario is scenario


def test_every_field_of_the_scenario_has_a_control_on_the_page(bench):
    assert set(bench.controls) == set(MAIN_CONTROLS)  # what is folded away is not made yet
    for group in bench.causes.groups.values():
        group.toggle.value = True
    on_page = set(bench_widgets(bench.widget))
    assert set(bench.controls) == set(SPECS)
    for control in bench.controls.values():
        assert control.widget in on_page


@pytest.mark.parametrize("name", [name for name in SPECS if isinstance(SPECS[name], Quantity)])
@pytest.mark.parametrize("end", ["low", "high"])
def test_every_slider_can_go_to_its_end(bench, wire, name, end):
    value = getattr(SPECS[name], end)
    control = bench.controls[name]
    wire.hear(control.number, value=value * (100.0 if SPECS[name].fraction else 1.0))
    assert getattr(bench.model.scenario, name) == pytest.approx(value)
    assert bench.notice.value == ""
    assert html(main_sentence(bench.model.reading))[:20] in strip_text(bench)


def test_a_control_made_late_shows_the_present_state(bench):
    bench.model.scenario = Scenario(haemoglobin_g_per_l=80.0, site="ear")
    assert not {"haemoglobin_g_per_l", "site"} & set(bench.controls)
    assert bench.controls["haemoglobin_g_per_l"].number.value == 80.0
    assert bench.controls["site"].dropdown.value == "ear"
    bench.model.scenario = Scenario(haemoglobin_g_per_l=120.0)
    assert bench.controls["haemoglobin_g_per_l"].slider.value == 120.0


def test_what_a_scenario_refuses_is_told_and_neither_kept_nor_shown(bench, wire):
    wire.hear(bench.controls["carboxyhaemoglobin"].slider, value=60.0)
    scenario, before = bench.model.scenario, drawings(bench)
    met = bench.controls["methaemoglobin"]
    wire.hear(met.slider, value=50.0)
    assert "may be at most 0.9" in bench.notice.value
    assert bench.model.scenario is scenario
    assert drawings(bench) == before
    assert (met.slider.value, met.number.value) == (0.0, 0.0)
    wire.hear(met.slider, value=20.0)
    assert bench.notice.value == ""
    assert bench.model.scenario.methaemoglobin == pytest.approx(0.2)


def test_a_value_out_of_range_is_told_with_the_range(bench):
    scenario = bench.model.scenario
    bench.notice.guard(bench.model.set)("heart_rate_bpm", 400.0)
    assert html("heart_rate_bpm is 400; allowed is 30 to 220 /min.") in bench.notice.value
    assert bench.model.scenario is scenario


def test_a_number_typed_beyond_the_range_ends_at_the_bound(bench, wire):
    wire.hear(bench.controls["heart_rate_bpm"].number, value=400.0)
    assert bench.model.scenario.heart_rate_bpm == 220.0
    assert bench.controls["heart_rate_bpm"].slider.value == 220.0


def test_a_failing_view_is_logged_and_told_and_reset_recovers(bench, wire, caplog, monkeypatch):
    def broken(reading):
        raise RuntimeError("out of paint")

    with monkeypatch.context() as patch, caplog.at_level(logging.ERROR):
        patch.setattr(bench.ratio, "show", broken)
        move(bench, wire, "arterial_saturation")
    assert "out of paint" in caplog.text
    assert "Something went wrong" in bench.notice.value
    assert "out of paint" not in bench.notice.value
    press(bench, wire, "Reset")
    assert bench.notice.value == ""
    assert bench.model.reading.scenario == Scenario()
    assert bench.controls["arterial_saturation"].slider.value == 97.0


def ghosts_of(bench):
    return [bench.layers.ghost, *bench.pulses.ghosts, bench.ratio.ghost, bench.curve.ghost]


def test_a_kept_reference_stays_as_a_ghost(bench, wire):
    assert not any(ghost.visible for ghost in ghosts_of(bench))
    lines = [line.y.copy() for line in bench.pulses.lines]
    look_up, top = bench.curve.look_up.y.copy(), bench.layers.top.y.copy()
    press(bench, wire, "Keep as reference")
    assert all(ghost.visible for ghost in ghosts_of(bench))
    move(bench, wire, "arterial_saturation")
    for ghost, line in zip(bench.pulses.ghosts, lines, strict=True):
        np.testing.assert_array_equal(ghost.y, line)
    np.testing.assert_array_equal(bench.curve.ghost.y, look_up)
    np.testing.assert_array_equal(bench.layers.ghost.y, top)
    kept = re.findall(r"kept: ([^<]+)<", strip_text(bench))
    assert kept[:2] == [html("97 %")] * 2
    assert "kept" in strip_text(bench)


def test_reset_removes_the_ghost_and_goes_back(bench, wire):
    before = drawings(bench)
    press(bench, wire, "Keep as reference")
    bench.curves.dropdown.value = TEXTBOOK.name
    for name in MOVES:
        move(bench, wire, name)
    press(bench, wire, "Reset")
    assert not any(ghost.visible for ghost in ghosts_of(bench))
    assert "kept" not in strip_text(bench)
    assert bench.model.scenario == Scenario()
    assert bench.curves.dropdown.value == PROBE_CURVE
    visible = [[each for each in after if each[0]] for after in drawings(bench).values()]
    assert visible == [[each for each in drawn if each[0]] for drawn in before.values()]
    for name in MAIN_CONTROLS:
        share = 100.0 if SPECS[name].fraction else 1.0
        assert bench.controls[name].number.value == share * getattr(Scenario(), name)


def test_a_withheld_reading_can_be_kept_too(bench, wire):
    bench.model.scenario = Scenario(noise_percent=1.0, perfusion_index_percent=0.3)
    press(bench, wire, "Keep as reference")
    assert bench.notice.value == ""
    assert "kept: –" in strip_text(bench)
    assert all(ghost.visible for ghost in bench.pulses.ghosts)
    assert not bench.ratio.ghost.visible
    assert not bench.curve.ghost.visible


def test_another_curve_is_drawn_and_read(bench, wire):
    before = drawing(bench.curve)
    wire.hear(bench.curves.dropdown, index=CURVE_NAMES.index(TEXTBOOK.name))
    assert bench.model.reading.measurement.curve is TEXTBOOK
    assert drawing(bench.curve) != before
    checked = bench.curve.checked
    np.testing.assert_allclose(checked.y, 110.0 - 25.0 * checked.x)


def test_saved_data_are_the_recording_on_screen(bench, wire):
    move(bench, wire, "arterial_saturation")
    press(bench, wire, "Save data")
    found = re.search(
        r'download="recording\.csv" href="data:text/csv;base64,([^"]+)"', bench.csv.link.value
    )
    text = base64.b64decode(found.group(1)).decode()
    table = pd.read_csv(io.StringIO(text), comment="#")
    np.testing.assert_allclose(table["red"], bench.model.reading.recording.red, rtol=1e-14)
    assert bench.model.scenario.to_json() in text
    move(bench, wire, "heart_rate_bpm")
    assert bench.csv.link.value == ""


def test_a_saved_plot_is_the_one_on_screen(bench, wire):
    move(bench, wire, "arterial_saturation")
    cards = look.stills(bench.widget)
    assert len(cards) == len(PLOTS)
    for card, plot in zip(cards, bench.plots, strict=True):
        as_svg = card.pictures[1]
        as_svg.button.click()
        name, content = re.search(r'download="(.*?)".*base64,(.*?)"', as_svg.link.value).groups()
        assert re.fullmatch(r"[a-z0-9-]+\.svg", name)
        picture = base64.b64decode(content).decode()
        assert said(plot.says.value).text in " ".join(re.findall(r">([^<]*)</text>", picture))
    move(bench, wire, "heart_rate_bpm")
    assert cards[0].pictures[1].link.value  # the layers are what they were: so is their picture
    assert not cards[1].pictures[1].link.value


def test_causes_of_doubt_fold_in_and_out(bench, wire):
    toggle = button(bench, "Causes of doubt")
    assert "ow-folded" in bench.causes.widget._dom_classes
    wire.hear(toggle, value=True)
    assert "ow-folded" not in bench.causes.widget._dom_classes
    wire.hear(toggle, value=False)
    assert "ow-folded" in bench.causes.widget._dom_classes


def test_nothing_is_made_anew_while_moving(bench, wire):
    places = np.linspace(41.0, 99.0, 50)
    figures = [figure for plot in bench.plots for figure in figures_of(plot)]
    marks = [mark for plot in bench.plots for mark in marks_of(plot)]
    count = len(widgets.widget._instances)
    opened = len(wire.messages)
    for place in places:
        wire.hear(bench.controls["arterial_saturation"].slider, value=float(place))
    assert [figure for plot in bench.plots for figure in figures_of(plot)] == figures
    assert [mark for plot in bench.plots for mark in marks_of(plot)] == marks
    assert len(widgets.widget._instances) == count
    assert {each.method for each in wire.messages[opened:]} == {"update", "echo_update"}


def test_no_output_widget_is_made(bench):
    kinds = {type(each) for each in widgets.widget._instances.values()}
    assert widgets.Output not in kinds


def test_the_public_function_starts_from_the_scenario_given(wire):
    shown = bench(Scenario(arterial_saturation=0.8))
    sentences = [w.value for w in bench_widgets(shown) if isinstance(w, widgets.HTML)]
    assert any(html("the blood carries 80 %") in sentence for sentence in sentences)
