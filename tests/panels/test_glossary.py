"""The words on the page: the table, the field, and the links."""

import re
from html import unescape

import ipywidgets as widgets
import pytest
from hypothesis import given
from hypothesis import strategies as st

from oximetry_workbook.panels.chapters import CHAPTERS
from oximetry_workbook.panels.glossary import Glossary, words
from oximetry_workbook.panels.prose import NO_BREAK_SPACE
from oximetry_workbook.teach.glossary import GLOSSARY, matching

ALL = f"{len(GLOSSARY)} of {len(GLOSSARY)} words"


@pytest.fixture(autouse=True)
def _closed():
    yield
    widgets.Widget.close_all()


def told(html):
    return unescape(re.sub("<[^>]+>", "", html.value)).replace(NO_BREAK_SPACE, " ")


def words_in(table):
    return [unescape(each) for each in re.findall('<th scope="row">(.*?)</th>', table.value)]


def test_all_words_are_shown_at_first_in_their_order():
    page = Glossary()
    assert words_in(page.table) == [term.word for term in GLOSSARY]
    assert told(page.count) == ALL


def test_each_row_leads_to_the_chapter_of_its_word():
    notebooks = {chapter.number: chapter.notebook for chapter in CHAPTERS}
    links = re.findall('<a href="(.*?)">', Glossary().table.value)
    assert links == [notebooks[term.chapter] for term in GLOSSARY]


def test_typing_leaves_the_words_that_have_it_and_clearing_brings_all_back():
    page = Glossary()
    page.field.value = "saturation"
    assert words_in(page.table) == [term.word for term in matching("saturation")]
    assert 0 < len(words_in(page.table)) < len(GLOSSARY)
    assert told(page.count) == f"{len(words_in(page.table))} of {len(GLOSSARY)} words"
    page.field.value = ""
    assert told(page.count) == ALL


def test_what_is_not_there_is_said_with_what_to_do():
    page = Glossary()
    page.field.value = "<b>soup</b>"
    assert "<b>" not in page.table.value
    assert "No word here has “<b>soup</b>” in it" in told(page.table)
    assert "clear the field" in told(page.table)
    assert told(page.count) == f"0 of {len(GLOSSARY)} words"


@given(st.text(max_size=8))
def test_whatever_is_typed_shows_words_or_says_that_there_are_none(typed):
    page = Glossary()
    page.field.value = typed
    found = matching(typed)
    assert words_in(page.table) == [term.word for term in found]
    assert ("No word here" in page.table.value) == (not found)


def test_a_key_pressed_is_answered_in_one_message_a_widget(wire):
    page = Glossary()
    sent = wire.hear(page.field, value="isosbestic")
    updates = [each.comm_id for each in sent if each.method == "update"]
    assert sorted(updates) == sorted([page.table.model_id, page.count.model_id])


def test_it_belongs_to_the_workbook():
    assert "ow-panel" in words()._dom_classes
