"""The card of a plot: what it knows of itself, and its buttons."""

import base64
import re

import bqplot
import ipywidgets as widgets
import numpy as np
import pytest

from oximetry_workbook.panels import look
from oximetry_workbook.panels.download import CsvButton, FileButton
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.prose import html
from oximetry_workbook.panels.still import SOURCE
from oximetry_workbook.panels.still_words import said

KEY = [
    (look.RED, "line", "red, 660 nm"),
    (look.tint(look.WARN), "area", "below 70 % & <less>"),
    (look.INK, "diamond", "“blood”"),
]


@pytest.fixture
def card():
    scales = {"x": bqplot.LinearScale(min=0, max=1), "y": bqplot.LinearScale(min=0, max=1)}
    line = bqplot.Lines(x=[0.0, 1.0], y=[0.0, 1.0], scales=scales)
    figure, says, over = look.figure([line], []), look.says(), widgets.HTML("10 × larger")
    over.add_class("ow-caption")
    says.value = html("It rises by 3 % < 4 %.")
    key = widgets.HTML(look.key(KEY) + "<small>Crosses: withheld.</small>")
    hidden = widgets.HTML(look.key([(look.RED, "line", "hidden")]))
    hidden.layout.display = "none"
    yield look.card("A person’s light", [figure], [key, hidden, over, figure, says], Notice())
    widgets.Widget.close_all()


def sentence(card):
    (line,) = (each for each in card.children if "ow-plot-says" in each._dom_classes)
    return line


def content(link):
    found = re.fullmatch(
        r'<a data-ow-download download="(.*?)" href="data:(.*?);base64,(.*?)">\1</a>', link.value
    )
    name, mime, coded = found.groups()
    return name, mime, base64.b64decode(coded)


def test_a_key_is_read_as_it_was_written():
    wanted = tuple((colour, kind, words.replace(" %", "\xa0%")) for colour, kind, words in KEY)
    wanted = tuple((c, k, words.replace("660 nm", "660\xa0nm")) for c, k, words in wanted)
    assert said(look.key(KEY)).key == wanted
    assert said(look.key(KEY)).text == ""


def test_a_card_tells_what_is_on_it(card):
    still = card.still()
    assert still.title == "A person’s light"
    assert still.figures == card.figures
    assert [words for _, _, words in still.key] == [
        "red, 660\xa0nm",
        "below 70\xa0% & <less>",
        "“blood”",
    ]
    assert still.caption == "It rises by 3\xa0% < 4\xa0%.\nCrosses: withheld."
    assert still.headings == ("10 × larger",)
    assert still.source == SOURCE


def test_a_card_tells_its_present_sentence_and_source(card):
    sentence(card).value = html("It falls.")
    card.source = "Your own recording"
    assert card.still().caption.startswith("It falls.")
    assert "Your own recording" in card.still().svg()


def test_cards_are_found_in_their_order_but_not_where_folded_away(card):
    folded = widgets.VBox([look.card("Folded", [], [], Notice())])
    folded.add_class("ow-folded")
    panel = widgets.VBox([widgets.HBox([card]), folded, look.card("Last", [], [], Notice())])
    assert [each.still().title for each in look.stills(panel)] == ["A person’s light", "Last"]


@pytest.mark.parametrize(
    ("k", "ending", "mime"), [(0, "png", "image/png"), (1, "svg", "image/svg+xml")]
)
def test_a_button_offers_the_still(card, k, ending, mime):
    button = card.pictures[k]
    assert button.link.layout.display == "none"
    button.button.click()
    assert button.link.layout.display is None
    name, kind, made = content(button.link)
    assert (name, kind) == (f"a-person-s-light.{ending}", mime)
    wanted = getattr(card.still(), ending)()
    assert made == (wanted if k == 0 else wanted.encode())


def test_a_picture_pressed_for_again_is_offered_again(card):
    """The browser follows a link when it appears: the same words in it would be no change."""
    button, seen = card.pictures[1], []
    button.link.observe(lambda change: seen.append(bool(change["new"])), names="value")
    button.button.click()
    button.button.click()
    assert seen == [True, False, True]


@pytest.mark.parametrize("what", ["sentence", "data"])
def test_a_link_to_an_old_picture_is_taken_away(card, what):
    card.pictures[0].button.click()
    if what == "sentence":
        sentence(card).value = html("It falls.")
    else:
        card.figures[0].marks[0].y = np.array([1.0, 0.0])
    assert card.pictures[0].link.value == ""
    assert card.pictures[0].link.layout.display == "none"


def test_buttons_say_what_they_save(card):
    assert [each.button.description for each in card.pictures] == ["Save image", "SVG"]
    assert [each.button.tooltip for each in card.pictures] == [
        "Save “a person’s light” as PNG",
        "Save “a person’s light” as SVG",
    ]


def test_a_plot_that_cannot_be_drawn_is_told_on_the_page():
    scales = {"x": bqplot.DateScale(), "y": bqplot.LinearScale(min=0, max=1)}
    figure = look.figure([bqplot.Lines(x=[0.0], y=[0.0], scales=scales)], [])
    notice = Notice()
    look.card("Dates", [figure], [figure], notice).pictures[0].button.click()
    assert "Something went wrong" in notice.value


def test_any_file_can_be_offered_and_its_name_is_escaped():
    button = FileButton(
        "Save", 'a"b<.bin', "application/octet-stream", lambda: b"\x00\xff", Notice()
    )
    button.button.click()
    name, mime, made = content(button.link)
    assert (name, mime, made) == ("a&quot;b&lt;.bin", "application/octet-stream", b"\x00\xff")
    table = CsvButton("Save", "a.csv", lambda: "µ", Notice())
    table.offer()
    assert content(table.link) == ("a.csv", "text/csv", "µ".encode())
