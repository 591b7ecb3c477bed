"""The workbook's words: in order, in one sentence each, and met where they say."""

import json
import re
from itertools import pairwise
from pathlib import Path

import pytest

from oximetry_workbook.teach import questions
from oximetry_workbook.teach.glossary import GLOSSARY, matching, plain

WORKBOOK = Path(__file__).resolve().parents[2] / "workbook"
WORDS = "16_words.ipynb"

every_term = pytest.mark.parametrize("term", GLOSSARY, ids=lambda term: term.word)


def chapter_text(number):
    """Prose and questions of a chapter, as they are compared."""
    [path] = WORKBOOK.glob(f"{number}_*.ipynb")
    notebook = json.loads(path.read_text("utf-8"))
    parts = ["".join(c["source"]) for c in notebook["cells"] if c["cell_type"] == "markdown"]
    key = questions.CHAPTERS[int(number) - 1]
    for question in (questions.prediction(key), *questions.checkpoints(key)):
        parts += [question.text, question.why]
    return plain(" ".join(parts).replace("*", ""))


TEXTS = {number: chapter_text(number) for number in {term.chapter for term in GLOSSARY}}


def test_the_order_is_that_of_the_alphabet():
    for before, after in pairwise(plain(term.word) for term in GLOSSARY):
        assert before < after


@every_term
def test_a_term_is_used_in_the_chapter_it_names(term):
    for name in term.word.split(", "):
        stem = re.escape(plain(name).removesuffix(" plot").removesuffix(" reading"))
        if re.search(rf"(?<!\w){stem}s?(?!\w)", TEXTS[term.chapter]):
            return
    pytest.fail(f"{term.word} is not used in chapter {term.chapter}")


@every_term
def test_a_meaning_is_one_plain_sentence(term):
    assert term.meaning[0].isupper()
    assert term.meaning.endswith(".")
    assert len(re.findall(r"[.!?](?:\s|$)", term.meaning)) == 1
    assert len(term.meaning.split()) <= 25
    assert term.unit == term.unit.strip()


@pytest.mark.parametrize(
    ("word", "unit"),
    [
        ("Perfusion index", "%"),  # ISO 80601-2-61 has no unit for it; the trade gives percent
        ("PO₂", "mmHg"),
        ("Isosbestic point", "nm"),
        ("Extinction", "cm⁻¹ per mol/L"),
        ("Ratio of ratios, R", "no unit"),
        ("A_rms", "points"),
    ],
)
def test_units_are_those_of_the_quantities_shown(word, unit):
    [term] = [each for each in GLOSSARY if each.word == word]
    assert term.unit == unit


@pytest.mark.parametrize("wanted", ["SpO2", "spo₂", " SPO2 ", "spo"])
def test_a_word_is_found_however_it_is_written(wanted):
    assert "SpO₂" in [term.word for term in matching(wanted)]


def test_either_apostrophe_will_do():
    assert matching("Hüfner's") == matching("hüfner’s") != ()


def test_meanings_are_searched_too_and_nothing_finds_all():
    assert "Melanin" in [term.word for term in matching("pigment")]
    assert matching("") == matching("   ") == GLOSSARY
    assert matching("no such word at all") == ()


@pytest.mark.parametrize("wanted", ["(", "[a", "\\", "%", "é", "🫁"])
def test_signs_are_taken_as_they_are(wanted):
    for term in matching(wanted):
        assert plain(wanted) in plain(f"{term.word} {term.meaning}")


def test_the_glossary_has_a_notebook():
    assert (WORKBOOK / WORDS).exists()
