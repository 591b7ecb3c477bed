"""Plots as pictures without a browser: every panel's, with all that they must say."""

import inspect
import io
import re
import subprocess
import sys
import xml.etree.ElementTree as ElementTree
from importlib.resources import files
from itertools import combinations

import bqplot
import ipywidgets as widgets
import numpy as np
import pytest
from matplotlib.font_manager import FontProperties
from matplotlib.textpath import TextPath
from PIL import Image

from oximetry_workbook import panels
from oximetry_workbook.panels import look
from oximetry_workbook.panels.still import CAUTION, SOURCE, WIDTH, Still
from oximetry_workbook.panels.still_axes import ticks
from oximetry_workbook.panels.still_page import LINE_STYLES, SANS, SERIF, SYMBOLS, Style, wrapped
from oximetry_workbook.panels.still_scales import Plot

SVG = "{http://www.w3.org/2000/svg}"
NAMES = [
    name
    for name in panels.__all__
    if all(
        each.default is not each.empty
        for each in inspect.signature(getattr(panels, name)).parameters.values()
    )
]
"""Panels that need nothing to be told; the others are questions, without plots."""


@pytest.fixture(scope="module", params=NAMES)
def panel(request):
    yield getattr(panels, request.param)()
    widgets.Widget.close_all()


@pytest.fixture(scope="module")
def cards(panel):
    return [(card, card.still(), read(card.still().svg())) for card in look.stills(panel)]


@pytest.fixture
def figure():
    scales = {"x": bqplot.LinearScale(min=0, max=2), "y": bqplot.LinearScale(min=0, max=1)}
    line = bqplot.Lines(x=[0.0, 1.0, 2.0], y=[0.0, 1.0, 0.5], scales=scales, colors=[look.RED])
    axes = [
        look.axis(scales["x"], "time, $s$ < & >", tick_values=np.arange(3)),
        look.axis(scales["y"], "light", vertical=True, tick_values=np.array([0.0, 0.5, 1.0])),
    ]
    yield look.figure([line], axes)
    widgets.Widget.close_all()


def read(svg):
    return ElementTree.fromstring(svg)


def texts(root):
    return [each.text for each in root.iter(f"{SVG}text")]


def everything(widget):
    yield widget
    for child in getattr(widget, "children", ()):
        yield from everything(child)


def test_every_figure_of_a_panel_is_on_a_card_that_gives_a_still(panel, cards):
    drawn = [each for _, still, _ in cards for each in still.figures]
    there = [each for each in everything(panel) if isinstance(each, bqplot.Figure)]
    assert drawn == there


def test_a_still_carries_all_words_of_its_card(cards):
    for card, still, root in cards:
        written = texts(root)
        assert root.find(f"{SVG}title").text == card.title
        lines = " ".join(written)
        for words in (still.title, still.source, still.caution, *still.caption.splitlines()):
            assert words in lines
        for entry in still.key:
            assert entry[2] in written
        assert still.caption
        assert CAUTION in root.find(f"{SVG}desc").text


def test_a_still_has_the_ticks_and_titles_of_the_page(cards):
    for _, still, root in cards:
        written = texts(root)
        for figure in still.figures:
            plot = Plot(figure, None, 500.0, 300.0)
            for axis in figure.axes:
                there = [text for _, text in ticks(plot, axis)]
                assert len(there) == len(
                    plot.names(axis.scale) if axis.tick_values is None else axis.tick_values
                )
                for text in [*there, *([axis.label] if axis.label else [])]:
                    written.remove(text)


def test_a_still_has_every_mark_that_the_page_shows(cards):
    """matplotlib writes a path for each line, area and bar, and a path or use for each symbol."""
    for _, still, root in cards:
        marks = [mark for figure in still.figures for mark in figure.marks if mark.visible]
        written = sum(each.tag in (f"{SVG}path", f"{SVG}use") for each in root.iter())
        symbols = sum(mark.x.size for mark in marks if isinstance(mark, bqplot.Scatter))
        lines = [mark for mark in marks if isinstance(mark, bqplot.Lines) and mark.stroke_width]
        bars = sum(np.atleast_2d(m.y).size for m in marks if isinstance(m, bqplot.Bars))
        assert written >= symbols + bars + sum(len(np.atleast_2d(mark.y)) for mark in lines)


def boxes(root):
    """Yield where the ink of each text is: its words and left, top, right, bottom, in points."""
    for each in root.iter(f"{SVG}text"):
        css = dict(pair.split(": ", 1) for pair in each.get("style").split("; "))
        family = SERIF if "Serif" in css["font-family"] else SANS
        weight = "bold" if css.get("font-weight") == "700" else "normal"
        size = float(css["font-size"].removesuffix("px"))
        font = FontProperties(family=list(family), size=size, weight=weight)
        ink = TextPath((0, 0), each.text, prop=font).get_extents()
        width = Style(size, family=family, weight=weight).width(each.text)
        start = width * {"start": 0.0, "middle": 0.5, "end": 1.0}[css["text-anchor"]]
        x, y = float(each.get("x")), float(each.get("y"))
        along, over, under = (ink.x0 - start, ink.x1 - start), ink.y1, ink.y0
        if "rotate(-90" in each.get("transform"):
            yield each.text, (x - over, y - along[1], x - under, y - along[0])
        else:
            yield each.text, (x + along[0], y - over, x + along[1], y - under)


def test_no_words_of_a_still_overlap_or_leave_it(cards):
    for _, still, root in cards:
        height = float(root.get("height").removesuffix("pt"))
        found = list(boxes(root))
        for words, (left, top, right, bottom) in found:
            assert 0.0 <= left < right <= WIDTH, (still.title, words)
            assert 0.0 <= top < bottom <= height, (still.title, words)
        for (one, a), (other, b) in combinations(found, 2):
            apart = a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]
            assert apart, (still.title, one, other)


def test_a_picture_is_sharp_enough_for_a_slide_and_says_what_it_is(figure):
    still = Still([figure], "Light", caption="It rises.")
    picture = Image.open(io.BytesIO(still.png()))
    assert picture.size[0] == round(200 * WIDTH / 72) == 2000
    assert picture.text["Title"] == "Light"
    assert "It rises." in picture.text["Description"]
    assert CAUTION in picture.text["Description"]
    assert SOURCE in picture.text["Description"]
    assert Image.open(io.BytesIO(still.png(dpi=100))).size[0] == 1000


def test_the_line_is_drawn_in_the_colour_of_the_light_theme(figure):
    sheet = (files("oximetry_workbook.panels") / "static" / "look.css").read_text("utf-8")
    red = re.search("--ow-red: #(.{6});", sheet)[1]  # the first is that of the light theme
    wanted = [int(red[k : k + 2], 16) for k in (0, 2, 4)]
    pixels = np.asarray(Image.open(io.BytesIO(Still([figure], "Light").png())).convert("RGB"))
    assert (pixels == wanted).all(axis=2).sum() > 1000
    assert f"stroke: #{red}" in Still([figure], "Light").svg()


@pytest.mark.filterwarnings("ignore:Glyph")
def test_nothing_that_words_hold_can_break_a_still(figure):
    nasty = 'a <b>&amp; "c" $x_1^2$ \\alpha \x07 ]]> -- 日本'
    still = Still([figure], nasty, [(look.RED, "line", nasty)], nasty, nasty, nasty, [nasty])
    root = read(still.svg())
    wanted = nasty.replace("\x07", "\N{REPLACEMENT CHARACTER}")
    assert texts(root).count(wanted) == 6
    assert "time, $s$ < & >" in texts(root)
    assert root.find(f"{SVG}title").text == wanted
    assert root.find(f"{SVG}desc").text.count(wanted) == 4
    assert still.png().startswith(b"\x89PNG")


def test_a_still_is_the_same_each_time_and_has_no_date(figure):
    still = Still([figure], "Light", [(look.RED, "line", "red")], "It rises.")
    assert still.svg() == still.svg()
    assert still.png() == still.png()
    assert "date" not in still.svg()


def test_a_still_shows_the_figure_as_it_is_when_asked(figure):
    still = Still([figure], "Light")
    before = still.svg()
    figure.marks[0].y = np.array([1.0, 0.0, 1.0])
    assert still.svg() != before


def test_what_a_user_set_in_matplotlib_changes_nothing_and_stays(figure):
    import matplotlib

    still = Still([figure], "Light")
    before = still.svg()
    with matplotlib.rc_context({"lines.linestyle": ":", "svg.fonttype": "path", "font.size": 30}):
        assert still.svg() == before
        assert matplotlib.rcParams["font.size"] == 30


def test_nothing_but_a_still_loads_matplotlib_and_nothing_loads_pyplot():
    code = """
import sys
from oximetry_workbook.panels import altitude, look
panel = altitude()
assert not any(name.startswith("matplotlib") for name in sys.modules)
look.stills(panel)[0].still().png()
assert "matplotlib" in sys.modules
assert "matplotlib.pyplot" not in sys.modules
"""
    subprocess.run([sys.executable, "-c", code], check=True)


def test_figures_stand_side_by_side_under_their_headings(figure):
    one, two = ((k + 0.5) * (WIDTH - 52.0) / 2.0 + 26.0 for k in range(2))
    root = read(Still([figure, figure], "Light", headings=["left", "right"]).svg())
    places = {each.text: float(each.get("x")) for each in root.iter(f"{SVG}text")}
    assert (places["left"], places["right"]) == pytest.approx((one, two))


def test_the_key_knows_every_kind_of_the_style_sheet():
    sheet = (files("oximetry_workbook.panels") / "static" / "panels.css").read_text("utf-8")
    kinds = set(re.findall(r"\.ow-key-([\w-]+)", sheet)) | {"line"}
    assert kinds <= set(LINE_STYLES) | set(SYMBOLS)


def test_an_unknown_kind_of_key_is_refused(figure):
    with pytest.raises(NotImplementedError, match=r"kind 'wavy'; it has line, dashed"):
        Still([figure], "Light", [(look.RED, "wavy", "red")]).svg()


def test_lines_break_at_blanks_but_never_between_a_number_and_its_unit():
    style = Style(10.0)
    text = "from 70\N{NO-BREAK SPACE}% to 100\N{NO-BREAK SPACE}% of it all"
    lines = wrapped(text, style, style.width("from 7"))
    assert lines == [
        "from",
        "70\N{NO-BREAK SPACE}%",
        "to",
        "100\N{NO-BREAK SPACE}%",
        "of it",
        "all",
    ]
    assert wrapped(text, style, 1000.0) == [text]
    assert wrapped("", style, 100.0) == []
