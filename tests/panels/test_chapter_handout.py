"""The handout of each chapter: whole, sealed, with the answers behind everything else."""

import re
from html.parser import HTMLParser

import pytest

from oximetry_workbook.app.notebooks import chapters, find_folder
from oximetry_workbook.panels.chapter_handout import chapter_handout
from oximetry_workbook.panels.chapters import CHAPTERS
from oximetry_workbook.panels.prose import html
from oximetry_workbook.teach import questions as bank
from oximetry_workbook.teach.page_prose import Printed, Prose, sections_of

QUICK = ("01", "04", "07", "10", "12", "16")
"""Chapters tried here: prose and plots, two panels, a plot that waits for a button, a checked
table, bars, no questions."""


def words(page):
    text = re.sub(r"<(style|svg)\b.*?</\1>", " ", page, flags=re.S)
    text = re.sub(r"<[^>]+>", " ", text).replace("\N{NO-BREAK SPACE}", " ")
    return re.sub(r"\s+", " ", text)


class Asks(HTMLParser):
    """What a page would ask for from outside, and its tags."""

    def __init__(self, page):
        super().__init__()
        self.found, self.tags = [], []
        self.feed(page)

    def handle_starttag(self, tag, attributes):
        self.tags.append(tag)
        self.found += [
            v for n, v in attributes if n in ("src", "href", "xlink:href") and v[:1] != "#"
        ]


@pytest.fixture(scope="module", params=QUICK)
def made(request):
    [chapter] = [each for each in CHAPTERS if each.number == request.param]
    *_, (share, page) = chapter_handout((find_folder() / chapter.notebook).read_text("utf-8"))
    assert share == 1.0
    return chapter, page


def test_it_is_sealed(made):
    asks = Asks(made[1])
    assert asks.found == []
    assert "script" not in asks.tags
    assert "a" not in asks.tags


def test_it_has_no_plot_that_waits_for_a_button(made):
    captions = re.findall(r"<figcaption>(.*?)</figcaption>", made[1])
    assert not [each for each in captions if each.startswith("Press the button")]


def test_it_has_the_title_cautions_and_sources(made):
    chapter, page = made
    assert f"<h1>{html(chapter.title)}</h1>" in page
    assert "Not for diagnosis or patient care" in words(page)
    if chapter.questions:
        assert "<h2>Sources</h2>" in page
        assert "<svg" in page


def test_the_questions_stand_in_it_and_the_answers_at_its_end(made):
    chapter, page = made
    if not chapter.questions:
        assert "<h2>Answers</h2>" not in page
        return
    before, after = map(words, page.split("<h2>Answers</h2>"))
    for question in (bank.prediction(chapter.questions), *bank.checkpoints(chapter.questions)):
        assert words(html(question.text)) in before
        assert words(html(question.solution)) not in before
        assert words(html(question.solution)) in after


def test_every_chapter_of_the_workbook_can_be_named_by_its_number():
    assert {each.number for each in chapters(find_folder())} >= {each.number for each in CHAPTERS}


def test_prose_shows_markup_as_text_and_keeps_only_the_words_of_links():
    found = Prose("**Bold** & <b>raw</b> [words](http://x.y) `code`\n\n<script>x</script>").html(
        lambda text: text.replace("&", "&amp;").replace("<", "&lt;")
    )
    assert "<strong>Bold</strong>" in found
    assert "<b>" not in found
    assert "<script>" not in found
    assert "http" not in found
    assert "words" in found


def test_printed_lines_are_html():
    assert Printed("a < b\n").html(lambda text: text.replace("<", "&lt;")) == "<pre>a &lt; b</pre>"


def test_text_is_split_at_headings_of_the_second_level():
    assert sections_of("in\n## One\na\n### deeper\n## Two\nb") == [
        ("", "in\n"),
        ("One", "\na\n### deeper\n"),
        ("Two", "\nb"),
    ]
