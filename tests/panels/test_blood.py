"""The panel of the colour of blood: what each control moves, what stays, what is sent."""

import re
from collections import Counter

import ipywidgets as widgets
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from oximetry_workbook.body.quantities import Choice, specs_of
from oximetry_workbook.panels import look
from oximetry_workbook.panels.blood import (
    LEAST_EXTINCTION,
    MOST_EXTINCTION,
    WindowPlot,
    blood,
    make_views,
)
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.prose import html
from oximetry_workbook.panels.state_panel import StatePanel
from oximetry_workbook.teach.colours import (
    SHOWN_NM,
    BloodSamples,
    colours_sentence,
    pair_ratio,
    pair_sentence,
    spectra_sentence,
    tissue_absorption_per_cm,
    window_sentence,
)

MOST_BYTES = 60_000
SPECS = specs_of(BloodSamples)
VIEWS = ("swatches", "spectra", "pair", "window")
MOVES = {
    "arterial_saturation": (80.0, {"arterial swatch"}),
    "venous_saturation": (40.0, {"venous swatch"}),
    "depth_mm": (1.0, {"arterial swatch", "venous swatch"}),
    "first_nm": (700.0, {"first LED", "pair"}),
    "second_nm": (880.0, {"second LED", "pair"}),
    "extinction_table": ("Zijlstra", {"HbO2", "HHb", "pair"}),
}
"""A place to move each control to, and what must follow. A screen's colours are reckoned from
Prahl's table whichever is drawn, and tissue is the same for all."""

DRAWN_BY = {
    "arterial swatch": "swatches",
    "venous swatch": "swatches",
    "HbO2": "spectra",
    "HHb": "spectra",
    "first LED": "spectra",
    "second LED": "spectra",
    "pair": "pair",
}

every_move = pytest.mark.parametrize("name", MOVES)


def _values_of(spec):
    if isinstance(spec, Choice):
        return st.sampled_from(spec.options)
    return st.floats(spec.low, spec.high)


any_samples = st.builds(BloodSamples, **{name: _values_of(spec) for name, spec in SPECS.items()})


@pytest.fixture
def panel(wire):
    return StatePanel(BloodSamples(), make_views)


@pytest.fixture(scope="module")
def views():
    yield make_views(Notice())
    widgets.Widget.close_all()


def move(panel, wire, name):
    return wire.set(panel.controls[name], MOVES[name][0])


def swatches_of(view):
    """Colour and words of each swatch, as the page has them."""
    html = view.widget.children[1].value
    return re.findall(r"background:(#[0-9a-f]{6})\"></div><span>([^<]+)</span>", html)


def line(mark):
    return np.concatenate([mark.x, mark.y])


def drawn(views):
    swatches, spectra, pair, window = views
    arterial, venous = swatches_of(swatches)
    return {
        "arterial swatch": arterial,
        "venous swatch": venous,
        "HbO2": line(spectra.lines["HbO2"]),
        "HHb": line(spectra.lines["HHb"]),
        "first LED": line(spectra.leds[0]),
        "second LED": line(spectra.leds[1]),
        "pair": line(pair.pair),
        "usual pair": line(pair.usual),
        "tissue": np.concatenate([line(mark) for mark in window.lines]),
    }


def moved(before, after):
    return {name for name in before if not np.array_equal(before[name], after[name])}


def models_of(view):
    """Every model of a view: widgets, figures, marks, axes and scales."""
    found, waiting = {}, [view.widget]
    while waiting:
        each = waiting.pop()
        if isinstance(each, widgets.Widget) and each.model_id not in found:
            found[each.model_id] = each
            for trait in ("children", "marks", "axes"):
                waiting += getattr(each, trait, ())
            waiting += [getattr(each, "scale", None), *getattr(each, "scales", {}).values()]
    return set(found)


@every_move
def test_a_control_moves_what_depends_on_it_and_nothing_else(panel, wire, name):
    before = drawn(panel.views)
    move(panel, wire, name)
    assert panel.notice.value == ""
    assert getattr(panel.model.state, name) != getattr(BloodSamples(), name)
    assert moved(before, drawn(panel.views)) == MOVES[name][1]


@every_move
def test_plots_that_a_control_does_not_touch_send_nothing(panel, wire, name):
    touched = {DRAWN_BY[part] for part in MOVES[name][1]}
    sent = {each.comm_id for each in move(panel, wire, name)}
    for title, view in zip(VIEWS, panel.views, strict=True):
        assert bool(sent & models_of(view)) == (title in touched), title


@every_move
def test_lines_that_stay_are_not_sent_again(panel, wire, name):
    _, spectra, pair, _ = panel.views
    marks = {
        "HbO2": spectra.lines["HbO2"],
        "HHb": spectra.lines["HHb"],
        "first LED": spectra.leds[0],
        "second LED": spectra.leds[1],
        "pair": pair.pair,
        "usual pair": pair.usual,
    }
    sent = {each.comm_id for each in move(panel, wire, name)}
    resent = {part for part, mark in marks.items() if mark.model_id in sent}
    assert resent == MOVES[name][1] & set(marks)


@every_move
def test_one_move_sends_one_message_a_widget_and_few_bytes(panel, wire, name):
    sent = move(panel, wire, name)
    updates = Counter(each.comm_id for each in sent if each.method == "update")
    assert set(updates.values()) == {1}
    assert sum(each.size for each in sent) < MOST_BYTES


@every_move
def test_the_sentences_are_those_of_the_state(panel, wire, name):
    move(panel, wire, name)
    state = panel.model.state
    wanted = [colours_sentence(state), spectra_sentence(state), pair_sentence(state)]
    said = [view.says.value for view in panel.views]
    assert said == [html(sentence) for sentence in (*wanted, window_sentence())]


@every_move
def test_reset_brings_everything_back(panel, wire, name):
    before = drawn(panel.views)
    move(panel, wire, name)
    panel.reset()
    assert moved(before, drawn(panel.views)) == set()
    assert panel.model.state == BloodSamples()


def test_the_swatches_say_whose_blood_they_are(panel, wire):
    move(panel, wire, "venous_saturation")
    state = panel.model.state
    assert swatches_of(panel.views[0]) == [
        (state.arterial_colour, "arterial, 97 %"),
        (state.venous_colour, "venous, 40 %"),
    ]


def test_the_spectra_are_on_their_axes_and_the_leds_stand_on_their_peaks(panel, wire):
    move(panel, wire, "first_nm")
    spectra = panel.views[1]
    for species, mark in spectra.lines.items():
        np.testing.assert_array_equal(mark.x, SHOWN_NM)
        np.testing.assert_allclose(mark.y, BloodSamples().spectrum(species))
    for mark, peak_nm in zip(spectra.leds, (700.0, 940.0), strict=True):
        assert mark.x[np.argmax(mark.y)] == pytest.approx(peak_nm, abs=1.0)
        assert mark.y.max() == 1.0


def test_the_usual_pair_is_the_one_to_start_with(panel, wire):
    pair = panel.views[2]
    np.testing.assert_allclose(pair.usual.y, pair_ratio(660.0, 940.0))
    np.testing.assert_allclose(pair.pair.y, pair.usual.y)
    move(panel, wire, "second_nm")
    np.testing.assert_allclose(pair.usual.y, pair_ratio(660.0, 940.0))
    np.testing.assert_allclose(pair.pair.y, pair_ratio(660.0, 880.0))


def test_the_window_draws_what_tissue_is_made_of(panel):
    window = panel.views[3]
    for (name, *_), mark in zip(window.STYLES, window.lines, strict=True):
        wavelength_nm, per_cm = tissue_absorption_per_cm()[name]
        np.testing.assert_array_equal(mark.x, wavelength_nm)
        np.testing.assert_array_equal(mark.y, per_cm)


@pytest.mark.parametrize("name", [name for name in SPECS if not isinstance(SPECS[name], Choice)])
@pytest.mark.parametrize("end", ["low", "high"])
def test_every_control_can_go_to_its_end(panel, wire, name, end):
    value = getattr(SPECS[name], end)
    wire.hear(panel.controls[name].number, value=value * (100.0 if SPECS[name].fraction else 1.0))
    assert getattr(panel.model.state, name) == pytest.approx(value)
    assert panel.notice.value == ""


def within(mark):
    for values, scale in ((mark.x, mark.scales["x"]), (mark.y, mark.scales["y"])):
        assert np.all(np.isfinite(values))
        assert scale.min <= values.min() <= values.max() <= scale.max


@given(any_samples)
@settings(max_examples=80)
def test_any_samples_fit_into_their_axes(views, samples):
    _, spectra, pair, _ = views
    for view in views:
        view.show(samples)
    marks = (*spectra.lines.values(), *spectra.leds, pair.pair, pair.usual)
    for mark in marks:
        within(mark)
    assert not re.search(r"None|nan|inf\b", str(swatches_of(views[0])))
    up = pair.figure.axes[1]
    assert (up.tick_values[0], up.tick_values[-1]) == (up.scale.min, up.scale.max)


def test_the_window_leaves_out_of_its_axes_only_what_is_next_to_nothing(panel):
    """Water in blue and green falls below the axis, where it adds less than 1 % to blood."""
    names = [name for name, *_ in WindowPlot.STYLES]
    marks = dict(zip(names, panel.views[3].lines, strict=True))
    water, arterial = marks.pop("water"), marks["arterial blood"]
    for mark in marks.values():
        within(mark)
    low, high = water.scales["y"].min, water.scales["y"].max
    assert water.y.max() <= high
    left_out_nm = water.x[water.y < low]
    assert np.all(np.interp(left_out_nm, arterial.x, arterial.y) > 100.0 * low)


@pytest.mark.parametrize("table", SPECS["extinction_table"].options)
def test_the_axis_of_extinction_holds_both_tables(table):
    samples = BloodSamples(extinction_table=table)
    for species in ("HbO2", "HHb"):
        drawn_values = samples.spectrum(species)
        assert LEAST_EXTINCTION <= drawn_values.min() < drawn_values.max() <= MOST_EXTINCTION


def test_the_lines_of_a_plot_differ_by_style_too(panel):
    _, spectra, pair, window = panel.views
    for lines in (list(spectra.lines.values()), [pair.usual, pair.pair], window.lines):
        assert len({mark.line_style for mark in lines}) == len(lines)
    assert [mark.colors for mark in spectra.leds] == [[look.RED], [look.INFRARED]]


def test_the_panel_is_shown_as_a_widget_of_the_workbook(wire):
    assert "ow-panel" in blood()._dom_classes
