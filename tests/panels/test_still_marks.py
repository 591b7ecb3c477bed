"""Marks, scales, ticks and colours of stills: where bqplot puts them, or a clear refusal."""

import bqplot
import ipywidgets as widgets
import numpy as np
import pytest
from matplotlib.colors import to_hex
from matplotlib.figure import Figure

from oximetry_workbook.panels import look
from oximetry_workbook.panels.still_axes import draw_axis, ticks
from oximetry_workbook.panels.still_colours import colour, faded, variables
from oximetry_workbook.panels.still_marks import draw, symbol
from oximetry_workbook.panels.still_numbers import tick_text
from oximetry_workbook.panels.still_scales import Plot

WIDE, HIGH = 200.0, 100.0


@pytest.fixture(autouse=True)
def closed():
    yield
    widgets.Widget.close_all()


@pytest.fixture
def scales():
    return {"x": bqplot.LinearScale(min=0, max=10), "y": bqplot.LinearScale(min=0, max=1)}


def plot_of(*marks, axes=(), size=(WIDE, HIGH)):
    figure = look.figure(list(marks), list(axes))
    drawn = Figure().add_axes((0, 0, 1, 1), xlim=(0, size[0]), ylim=(0, size[1]))
    return Plot(figure, drawn, *size)


def drawn(mark, **more):
    plot = plot_of(mark, **more)
    draw(plot, mark, 1)
    return plot.axes


def test_places_are_those_measured_in_the_browser():
    """Read off bqplot 0.13.1 in Chromium: ticks of the bench's plots, in pixels.

    The plot area was 345.61 wide and 155 high, the largest symbol 90. The browser draws each tick
    half a pixel further right and down, so that it fills whole pixels.
    """
    scales = {"x": bqplot.LinearScale(min=0, max=6), "y": bqplot.LinearScale(min=-3, max=3)}
    line = bqplot.Lines(x=[0, 1], y=[0, 1], scales=scales, stroke_width=2.5)
    spots = bqplot.Scatter(x=[0], y=[0], scales=scales, default_size=90, marker="triangle-up")
    plot = plot_of(line, spots, size=(345.609375, 155.0))
    across = plot.across(scales["x"], np.arange(7))
    up = 155.0 - plot.up(scales["y"], np.linspace(-3, 3, 5))
    seen_x = [6.243, 61.931, 117.618, 173.305, 228.992, 284.679, 340.366]
    seen_y = [149.757, 113.878, 78.0, 42.122, 6.243]
    np.testing.assert_allclose(across + 0.5, seen_x, atol=0.001)
    np.testing.assert_allclose(up + 0.5, seen_y, atol=0.001)


def test_columns_stand_where_the_browser_puts_them():
    """Read off as above: two columns, 125.41 pixels wide."""
    bars = bqplot.Bars(
        x=["red", "infrared"],
        y=[1.0, 2.0],
        scales={"x": bqplot.OrdinalScale(), "y": bqplot.LinearScale(min=0, max=2)},
        padding=0.3,
    )
    plot = plot_of(bars, size=(125.40625, 175.0))
    np.testing.assert_allclose(plot.across(bars.scales["x"], bars.x), [31.352, 94.055], atol=0.01)


def test_decades_of_a_logarithmic_scale_are_equally_far_apart():
    scale = bqplot.LogScale(min=0.01, max=100.0)
    line = bqplot.Lines(
        x=[0, 1], y=[1, 1], scales={"x": scale, "y": bqplot.LinearScale(min=0, max=1)}
    )
    line.stroke_width = 0.0
    plot = plot_of(line)
    np.testing.assert_allclose(
        plot.across(scale, [0.01, 0.1, 1.0, 10.0, 100.0]), [0, 50, 100, 150, 200]
    )
    assert np.isnan(plot.across(scale, [0.0, -1.0])).all()


def test_a_scale_can_run_backwards(scales):
    scales["x"].reverse = True
    line = bqplot.Lines(x=[0, 1], y=[0, 1], scales=scales, stroke_width=0.0)
    np.testing.assert_allclose(plot_of(line).across(scales["x"], [0.0, 10.0]), [200.0, 0.0])


def test_lines_keep_their_gaps_styles_and_colours(scales):
    mark = bqplot.Lines(
        x=[0.0, 5.0, 10.0],
        y=[[0.0, np.nan, 1.0], [1.0, 0.5, 0.0]],
        scales=scales,
        colors=[look.RED, look.INK],
        line_style="dashed",
        stroke_width=4.0,
        opacities=[0.5, 1.0],
    )
    one, two = drawn(mark).lines
    np.testing.assert_allclose(one.get_xdata(), [2.0, 100.0, 198.0])
    np.testing.assert_allclose(one.get_ydata(), [2.0, np.nan, 98.0])
    np.testing.assert_allclose(two.get_ydata(), [98.0, 50.0, 2.0])
    assert one.get_color() == faded(look.RED, 0.5)
    assert two.get_color() == colour(look.INK)
    assert one.get_linewidth() == 4.0
    # bqplot’s dashes are 10 and 10 pixels whatever the width; matplotlib counts in widths
    assert one._dash_pattern[1] == [10.0, 10.0]


def test_lines_over_places_of_their_own(scales):
    mark = bqplot.Lines(x=[[0, 1], [9, 10]], y=[[0, 1], [0, 1]], scales=scales, stroke_width=0.5)
    one, two = drawn(mark).lines
    assert one.get_xdata()[1] < 25.0 < 175.0 < two.get_xdata()[0]


@pytest.mark.parametrize(
    ("fill", "low", "high"),
    [("bottom", 0.0, 50.0), ("top", 50.0, 100.0), ("between", 50.0, 75.0)],
)
def test_areas_reach_from_the_line_to_their_end(scales, fill, low, high):
    mark = bqplot.Lines(
        x=[0.0, 10.0],
        y=[[0.5, 0.5], [0.75, 0.75]],
        scales=scales,
        fill=fill,
        fill_colors=[look.WARN, look.WARN],
        fill_opacities=[0.2, 0.2],
        stroke_width=0.0,
    )
    axes = drawn(mark)
    area = axes.collections[0]
    corners = area.get_paths()[0].vertices
    assert (corners[:, 1].min(), corners[:, 1].max()) == (low, high)
    assert tuple(area.get_facecolor()[0]) == faded(look.WARN, 0.2)
    assert not axes.lines


def test_symbols_have_the_size_and_colours_of_the_page(scales):
    mark = bqplot.Scatter(
        x=[0.0, 5.0],
        y=[0.0, 0.5],
        scales=scales,
        colors=[look.RED, look.INK],
        marker="diamond",
        default_size=90,
        opacities=[0.75],
    )
    (points,) = drawn(mark).collections
    np.testing.assert_allclose(points.get_offsets()[1], [100.0, 50.0])
    assert points.get_sizes().tolist() == [90.0]
    assert [tuple(each) for each in points.get_facecolors()] == [
        faded(look.RED, 0.75),
        faded(look.INK, 0.75),
    ]


@pytest.mark.parametrize("name", ["circle", "cross", "diamond", "square", "triangle-up"])
def test_a_symbol_of_size_one_has_an_area_of_one(name):
    """So d3 defines the size of a symbol (https://d3js.org/d3-shape/symbol#symbol_size)."""
    ((*corners, _),) = [symbol(name).to_polygons()[0]]
    x, y = np.array(corners).T
    area = abs(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1))) / 2.0
    assert area == pytest.approx(1.0, rel=1e-2)  # a circle is given as a polygon


def test_bars_stand_on_each_other_and_hang_below(scales):
    mark = bqplot.Bars(
        x=["a", "b"],
        y=[[0.25, 0.5], [0.5, -0.25], [0.25, -0.25]],
        scales={"x": bqplot.OrdinalScale(), "y": bqplot.LinearScale(min=-1, max=1)},
        colors=[look.RED, look.INK, look.WARN],
        padding=0.3,
        stroke="var(--ow-surface)",
    )
    bars = drawn(mark).patches
    seen = [(bar.get_x(), bar.get_width(), bar.get_y(), bar.get_height()) for bar in bars]
    wanted = [(15.0, 70.0, 50.0, 12.5), (115.0, 70.0, 50.0, 25.0), (15.0, 70.0, 62.5, 25.0)]
    wanted += [(115.0, 70.0, 50.0, -12.5), (15.0, 70.0, 87.5, 12.5), (115.0, 70.0, 37.5, -12.5)]
    np.testing.assert_allclose(seen, wanted)
    assert [bar.get_facecolor() for bar in bars[::2]] == [
        colour(each) for each in (look.RED, look.INK, look.WARN)
    ]


def test_lying_bars_grow_to_the_right_from_the_lowest_name():
    mark = bqplot.Bars(
        x=["low", "high"],
        y=[1.0, 2.0],
        scales={"x": bqplot.OrdinalScale(), "y": bqplot.LinearScale(min=0, max=4)},
        colors=[look.ACCENT],
        padding=0.0,
        orientation="horizontal",
    )
    low, high = drawn(mark).patches
    assert (low.get_x(), low.get_y(), low.get_width(), low.get_height()) == (0.0, 0.0, 50.0, 50.0)
    assert (high.get_y(), high.get_width()) == (50.0, 100.0)


def test_words_in_a_plot_keep_their_place(scales):
    mark = bqplot.Label(
        x=[5.0], y=[0.5], text=["2 $s$"], scales=scales, colors=[look.INK], x_offset=9, y_offset=-12
    )
    (words,) = drawn(mark).texts
    assert words.get_text() == "2 $s$"
    assert words.get_position() == (109.0, 62.0)
    assert words.get_fontsize() == 16.0


def test_what_is_hidden_on_the_page_is_not_drawn(scales):
    mark = bqplot.Lines(x=[0, 1], y=[0, 1], scales=scales, visible=False)
    assert not drawn(mark).lines


@pytest.mark.parametrize(
    ("traits", "named"),
    [
        ({"marker": "circle"}, "marker"),
        ({"interpolation": "basis"}, "interpolation"),
        ({"fill": "inside"}, "fill"),
        ({"close_path": True}, "close_path"),
        ({"color": np.array([1.0])}, "color"),
    ],
)
def test_a_line_that_cannot_be_drawn_is_refused(scales, traits, named):
    mark = bqplot.Lines(x=[0, 1], y=[0, 1], scales=scales, **traits)
    with pytest.raises(NotImplementedError, match=f"cannot draw {named}"):
        drawn(mark)


def test_other_marks_and_scales_are_refused(scales):
    with pytest.raises(NotImplementedError, match="cannot draw bqplot’s Pie"):
        draw(plot_of(), bqplot.Pie(sizes=[1]), 1)
    with pytest.raises(NotImplementedError, match="cannot draw the symbol 'plus'"):
        symbol("plus")
    dates = {"x": bqplot.DateScale(), "y": scales["y"]}
    with pytest.raises(NotImplementedError, match="cannot draw bqplot’s DateScale"):
        drawn(bqplot.Lines(x=[0, 1], y=[0, 1], scales=dates))
    open_ends = {"x": bqplot.LinearScale(), "y": scales["y"]}
    with pytest.raises(NotImplementedError, match="set min and max"):
        drawn(bqplot.Lines(x=[0, 1], y=[0, 1], scales=open_ends))
    grouped = bqplot.Bars(x=["a"], y=[1.0], scales={**scales, "x": bqplot.OrdinalScale()})
    grouped.type = "grouped"
    with pytest.raises(NotImplementedError, match="cannot draw type = 'grouped'"):
        drawn(grouped)


@pytest.mark.parametrize(
    ("traits", "named"),
    [
        ({"side": "right"}, "axis at the right"),
        ({"label_location": "end"}, "title at the end"),
        ({"grid_lines": "dashed"}, "grid_lines = 'dashed'"),
        ({"tick_rotate": 45}, "tick_rotate = 45"),
        ({"tick_values": None}, "set tick_values"),
        ({"tick_format": "+,d"}, "format “\\+,d”"),
    ],
)
def test_an_axis_that_cannot_be_drawn_is_refused(scales, traits, named):
    axis = look.axis(scales["x"], "time", **({"tick_values": np.arange(3)} | traits))
    with pytest.raises(NotImplementedError, match=named):
        draw_axis(plot_of(axes=[axis]), axis)


def test_ticks_take_their_own_words_and_leave_out_what_is_off_the_plot(scales):
    axis = look.axis(scales["x"], "", tick_values=np.array([-1.0, 0.0, 5.0, 10.0, 11.0]))
    axis.tick_labels = {"5": "ear"}
    assert list(ticks(plot_of(), axis)) == [(0.0, "0"), (100.0, "ear"), (200.0, "10")]


@pytest.mark.parametrize(
    ("form", "value", "text"),
    [
        # examples in the documentation of d3-format, https://d3js.org/d3-format
        (".0%", 0.123, "12%"),
        (".2s", 42e6, "42M"),
        ("s", 1500, "1.50000k"),
        ("~s", 1500, "1.5k"),
        (".1f", 0.1 * 3, "0.3"),
        # seen on axes of the workbook in Chromium, but for the sign: there a hyphen
        ("~g", -1.5, "−1.5"),
        ("~g", 0.0, "0"),
        ("~g", 30.0, "30"),
        ("~s", 100000.0, "100k"),
        ("~g", 0.001, "0.001"),
        # toPrecision(6) of JavaScript, which `g` is defined by (ECMA-262, 21.1.3.5)
        ("g", 0.001, "0.00100000"),
        ("g", 123.456, "123.456"),
        ("~g", 1e6, "1e+6"),
        ("g", 1.5e-7, "1.50000e-7"),
        ("", 0.1 + 0.2, "0.3"),
        (".0f", -0.4, "0"),
    ],
)
def test_numbers_at_ticks_are_written_as_by_d3(form, value, text):
    assert tick_text(value, form) == text


def test_colours_come_from_the_light_theme():
    assert to_hex(colour(look.RED)) == variables()["--ow-red"]
    assert sum(colour("var(--ow-surface)")[:3]) > 2.9
    assert colour("var(--bq-grid-color)") == colour("var(--ow-line)")
    assert colour(look.tint(look.RED)) == (*colour(look.RED)[:3], 0.25)
    assert colour("transparent")[3] == 0.0


def test_every_colour_of_the_panels_can_be_drawn():
    named = [each for each in vars(look).values() if str(each).startswith("var(")]
    assert len(named) >= 12
    assert all(colour(each)[3] == 1.0 for each in named)


@pytest.mark.parametrize("css", ["var(--ow-nothing)", "redd", "color-mix(in hsl, red, blue)"])
def test_what_is_no_colour_is_told(css):
    with pytest.raises(ValueError, match="colour"):
        colour(css)
