"""Each plot alone: what it draws for any reading, and what it takes away when there is nothing."""

import bqplot
import ipywidgets as widgets
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.meter.curve import TEXTBOOK
from oximetry_workbook.panels import look
from oximetry_workbook.panels.curve_plot import CurvePlot
from oximetry_workbook.panels.layers_plot import LayersPlot
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.numbers import NumbersStrip
from oximetry_workbook.panels.prose import html
from oximetry_workbook.panels.pulse_plot import SHOWN_S, PulsePlot
from oximetry_workbook.panels.ratio_plot import RatioPlot
from oximetry_workbook.teach.reading import CURVE_NAMES, read
from oximetry_workbook.teach.words import (
    curve_sentence,
    layers_sentence,
    pulses_sentence,
    ratio_sentence,
)

WITHHELD = Scenario(noise_percent=1.0, perfusion_index_percent=0.3)
FLAT = Scenario(ambient_light_percent=200.0)


@pytest.fixture(scope="module")
def plots():
    notice = Notice()
    made = {
        layers_sentence: LayersPlot(notice),
        pulses_sentence: PulsePlot(notice),
        ratio_sentence: RatioPlot(notice),
        curve_sentence: CurvePlot(TEXTBOOK, notice),
    }
    yield made
    widgets.Widget.close_all()


@pytest.fixture(scope="module")
def layers(plots):
    return plots[layers_sentence]


@pytest.fixture(scope="module")
def pulses(plots):
    return plots[pulses_sentence]


@pytest.fixture(scope="module")
def ratio(plots):
    return plots[ratio_sentence]


@pytest.fixture(scope="module")
def curve(plots):
    return plots[curve_sentence]


def figures_of(plot):
    return plot.figures if hasattr(plot, "figures") else [plot.figure]


def marks_of(plot):
    return [mark for figure in figures_of(plot) for mark in figure.marks]


def check_drawable(mark):
    """Empty arrays break axes (bqplot issue 1614); NaN breaks lines and is always sent anew."""
    assert mark.y.size > 0
    assert mark.x.shape[-1] == mark.y.shape[-1]
    assert np.all(np.isfinite(mark.y)), mark
    if mark.x.dtype.kind == "f":
        assert np.all(np.isfinite(mark.x)), mark


def check_scales(plot):
    for figure in figures_of(plot):
        for axis in figure.axes:
            if hasattr(axis.scale, "min"):
                assert axis.scale.min < axis.scale.max
                ticks = axis.tick_values
                assert np.all((ticks >= axis.scale.min) & (ticks <= axis.scale.max))


@given(st.data())
@settings(max_examples=150)
def test_any_reading_can_be_drawn(plots, any_scenario, data):
    scenario, name = data.draw(any_scenario), data.draw(st.sampled_from(CURVE_NAMES))
    reading = read(scenario, name)
    for sentence, plot in plots.items():
        plot.show(reading)
        plot.show_reference(data.draw(st.sampled_from([reading, None])))
        for mark in marks_of(plot):
            check_drawable(mark)
        check_scales(plot)
        assert plot.says.value == html(sentence(reading))


@given(st.data())
@settings(max_examples=100)
def test_pulses_and_bars_fit_into_their_axes(layers, pulses, ratio, any_scenario, data):
    reading = read(data.draw(any_scenario))
    for plot in (layers, pulses, ratio):
        plot.show(reading)
    for line in pulses.lines:
        assert np.abs(line.y).max() <= line.scales["y"].max
    assert np.abs(ratio.samples.x).max() <= ratio.samples.scales["x"].max
    assert np.abs(ratio.samples.y).max() <= ratio.samples.scales["y"].max
    for bars in (layers.stack, layers.top):
        assert bars.y.sum(axis=0).max() <= bars.scales["y"].max


def test_beats_sit_on_the_infrared_line(pulses):
    reading = read(Scenario())
    pulses.show(reading)
    assert pulses.beats.visible
    times = reading.beat_times_s[reading.beat_times_s <= SHOWN_S]
    np.testing.assert_allclose(pulses.beats.x, times)
    drawn = np.interp(pulses.beats.x, pulses.lines[1].x, pulses.lines[1].y)
    np.testing.assert_allclose(pulses.beats.y, drawn, atol=1e-5)


def test_a_withheld_number_leaves_no_slope_and_no_look_up(ratio, curve):
    for plot in (ratio, curve):
        plot.show(read(Scenario()))
        plot.show(read(WITHHELD))
    assert not ratio.slope.visible
    assert not curve.look_up.visible
    assert not curve.point.visible
    assert curve.truth.visible


def test_what_was_hidden_comes_back(ratio, curve, pulses):
    for plot in (ratio, curve, pulses):
        plot.show(read(FLAT))
    assert not pulses.beats.visible
    for plot in (ratio, curve, pulses):
        plot.show(read(Scenario()))
    assert ratio.slope.visible
    assert curve.look_up.visible
    assert curve.point.visible
    assert pulses.beats.visible


def test_a_flat_recording_is_drawn_on_an_axis_that_can_be_read(pulses, ratio):
    """Light that never changes must not be blown up until its axis reads in millionths."""
    reading = read(FLAT)
    assert np.abs(reading.light_change_percent).max() == 0.0
    pulses.show(reading)
    ratio.show(reading)
    for line in (pulses.lines[0], ratio.samples):
        assert line.scales["y"].max == look.LEAST_LIMIT


@pytest.mark.parametrize("name", CURVE_NAMES)
def test_the_curve_is_solid_where_checked_and_dashed_where_guessed(curve, name):
    reading = read(Scenario(), name)
    curve.show(reading)
    low, high = reading.measurement.curve.valid_percent
    assert curve.checked.line_style == "solid"
    assert curve.guessed.line_style == "dashed"
    assert np.all((curve.checked.y >= low) & (curve.checked.y <= high))
    assert np.all(curve.guessed.y < low + 1.0)
    for line in (curve.checked, curve.guessed):
        np.testing.assert_allclose(line.y, reading.measurement.curve(line.x))
        assert np.all(np.diff(line.x) > 0)


def test_the_textbook_line_is_drawn_as_printed(curve):
    """The line 110 - 25 R, in every textbook of the trade (common practice)."""
    np.testing.assert_allclose(curve.textbook.y, 110.0 - 25.0 * curve.textbook.x)


def test_another_probe_redraws_the_curve_and_the_same_does_not(curve):
    curve.show(read(Scenario()))
    solid = curve.checked.y
    curve.show(read(Scenario(arterial_saturation=0.8)))
    assert curve.checked.y is solid
    curve.show(read(Scenario(site="forehead")))
    assert not np.array_equal(curve.checked.y, solid)


def test_red_and_infrared_differ_by_line_style_too(pulses):
    red, infrared = pulses.lines
    assert (red.line_style, infrared.line_style) == ("solid", "dashed")
    assert red.colors != infrared.colors


def test_the_strip_shows_dashes_for_what_is_withheld():
    strip = NumbersStrip()
    strip.show(read(WITHHELD))
    numbers, sentence = (each.value for each in strip.widget.children)
    assert numbers.count(">–<") == 5
    assert "None" not in numbers + sentence
    assert "nan" not in numbers + sentence


@given(st.floats(look.LEAST_LIMIT, 1e6))
def test_a_nice_limit_is_close_above(value):
    limit = look.nice_limit(value)
    assert value <= limit * (1.0 + 1e-5)
    assert limit <= 2.0 * value * (1.0 + 1e-5)


@given(st.floats(1e-4, 1e4), st.floats(1e-4, 1e4))
def test_nice_limits_keep_the_order(one, other):
    low, high = sorted((one, other))
    assert look.nice_limit(low) <= look.nice_limit(high)


def test_a_range_that_stays_is_not_set_again():
    scale, changes = bqplot.LinearScale(min=0.0, max=1.0), []
    axis = look.axis(scale, "x")
    look.set_range(scale, axis, 0.0, 2.0)
    assert axis.tick_values.tolist() == [0.0, 0.5, 1.0, 1.5, 2.0]
    scale.observe(changes.append)
    axis.observe(changes.append)
    look.set_range(scale, axis, 0.0, 2.0)
    assert changes == []
