"""A page to take away: its order of headings, its escaping, and that it asks for nothing."""

from html import escape
from html.parser import HTMLParser
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from oximetry_workbook.teach.page import (
    Abreast,
    Bullets,
    Figure,
    Page,
    Paragraph,
    Section,
    Subheading,
    Table,
)

SVG = '<svg viewBox="0 0 2 1" xmlns="http://www.w3.org/2000/svg"><path d="M0 0L2 1"/></svg>'
VOID = {"meta", "br", "img", "link", "input", "hr", "path"}
ANY = st.text(alphabet=st.characters(exclude_categories=["Cs"]), max_size=40)
NASTY = st.sampled_from(
    ["<script>alert(1)</script>", '"><img src=x onerror=alert(1)>', "&amp;", "</title><b>", "'\"<"]
)
TEXT = ANY | NASTY


class Reader(HTMLParser):
    """What a browser would make of a page.

    Attributes:
        tags: Tags in their order, with their attributes.
        open: Tags that were not closed.
        texts: Text by the tag it stands in.
    """

    def __init__(self, page):
        super().__init__()
        self.tags, self.open, self.texts = [], [], []
        self.feed(page)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        self.texts.append((self.open[-1] if self.open else "", data))


def page_of(text="plain"):
    blocks = (
        Paragraph(text),
        Subheading(text),
        Bullets((text, text)),
        Table(text, (text, "n"), ((text, text),)),
        Figure(SVG, text, text),
    )
    return Page(text, text, (Section(text, blocks), Section("Last", ())), text, text)


PLAIN = [tag for tag, _ in Reader(page_of().html()).tags]


@given(TEXT)
def test_text_stays_text(text):
    """Whatever is written, a page has the same elements, and the text comes out as it went in."""
    read = Reader(page_of(text).html())
    assert [tag for tag, _ in read.tags] == PLAIN
    assert not read.open
    cells = "".join(each for tag, each in read.texts if tag == "td")
    assert cells == text
    alts = [attrs["aria-label"] for tag, attrs in read.tags if attrs.get("role") == "img"]
    assert alts == [text]


def test_headings_come_in_order():
    levels = [int(tag[1]) for tag, _ in Reader(page_of().html()).tags if tag in ("h1", "h2", "h3")]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after <= before + 1 for before, after in pairwise(levels))


def test_language_and_letters_are_named():
    tags = Reader(page_of().html()).tags
    assert dict(tags)["html"]["lang"] == "en-GB"
    assert any(attrs.get("charset") == "utf-8" for _, attrs in tags)


def test_it_runs_nothing_and_asks_for_nothing():
    page = page_of().html()
    tags = Reader(page).tags
    assert not {"script", "link", "iframe", "img", "object"} & {tag for tag, _ in tags}
    for _, attrs in tags:
        assert not {"src", "href"} & set(attrs)
        assert not any(name.startswith("on") for name in attrs)
    assert "url(" not in page
    assert "@import" not in page
    assert any("default-src 'none'" in (attrs.get("content") or "") for _, attrs in tags)


def test_a_writer_of_text_is_used_for_all_of_it():
    read = Reader(page_of("seen").html(lambda text: text.upper()))
    shown = [each for _, each in read.texts if "seen" in each.lower()]
    assert shown
    assert all("SEEN" in each for each in shown)


def test_figures_abreast_are_figures_in_a_row():
    row = Abreast((Figure(SVG, "one", "first"), Figure(SVG, "two", "second"))).html(escape)
    read = Reader(row)
    assert read.tags[0] == ("div", {"class": "abreast"})
    assert [tag for tag, _ in read.tags].count("figure") == 2
    assert [each for tag, each in read.texts if tag == "figcaption"] == ["first", "second"]
    assert Abreast(()).html(escape) == ""


def test_an_empty_list_leaves_nothing():
    assert Bullets(()).html(str) == ""


def test_a_row_too_short_is_refused():
    with pytest.raises(ValueError, match="1 cells; there are 2"):
        Table("caption", ("a", "b"), (("only",),))


def test_rows_are_named_and_heads_are_repeated_in_print():
    page = page_of().html()
    scopes = [attrs.get("scope") for tag, attrs in Reader(page).tags if tag == "th"]
    assert scopes == ["col", "col", "row"]
    assert "thead { display: table-header-group; }" in page
    assert "@page" in page
