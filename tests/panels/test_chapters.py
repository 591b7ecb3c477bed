"""The list of chapters, and the notebooks they lead to."""

import json
import re
from pathlib import Path

import ipywidgets as widgets
import pytest

import oximetry_workbook.panels as panels
from oximetry_workbook.panels.chapters import CHAPTERS, PATHS, chapters, paths
from oximetry_workbook.panels.prose import NO_BREAK_SPACE, together
from oximetry_workbook.teach import questions

WORKBOOK = Path(__file__).resolve().parents[2] / "workbook"
START = "00_start.ipynb"
NOTEBOOKS = {path.name: json.loads(path.read_text("utf-8")) for path in WORKBOOK.glob("*.ipynb")}
MOST_LINES = 3

WITH_QUESTIONS = [chapter for chapter in CHAPTERS if chapter.questions]
every_chapter = pytest.mark.parametrize("chapter", CHAPTERS, ids=lambda chapter: chapter.number)
every_asking_chapter = pytest.mark.parametrize(
    "chapter", WITH_QUESTIONS, ids=lambda chapter: chapter.questions
)
every_path = pytest.mark.parametrize("path", PATHS, ids=lambda path: path.who)
every_notebook = pytest.mark.parametrize("notebook", sorted(NOTEBOOKS))


def cells(notebook, kind):
    return [
        "".join(cell["source"])
        for cell in NOTEBOOKS[notebook]["cells"]
        if cell["cell_type"] == kind
    ]


def prose(notebook):
    return "\n\n".join(cells(notebook, "markdown"))


def headings(notebook):
    return re.findall(r"^## (.+)$", prose(notebook), flags=re.MULTILINE)


def section(notebook, heading):
    """Return what stands under a heading of the second level, up to the next one."""
    [_, after] = re.split(rf"^## {heading}$", prose(notebook), flags=re.MULTILINE)
    return re.split(r"^## ", after, flags=re.MULTILINE)[0].strip()


@pytest.fixture
def html():
    shown = chapters()
    yield shown.children[-1].value
    widgets.Widget.close_all()


def test_chapters_are_all_the_notebooks_but_the_start_in_their_order():
    names = [chapter.notebook for chapter in CHAPTERS]
    assert names == sorted(set(NOTEBOOKS) - {START})
    assert [name[:2] for name in names] == [f"{k:02d}" for k in range(1, len(names) + 1)]


@every_chapter
def test_a_title_is_the_notebooks_own(chapter):
    assert NOTEBOOKS[chapter.notebook]["metadata"]["title"] == chapter.title
    assert prose(chapter.notebook).startswith(f"# {chapter.title}\n")


def test_question_keys_are_those_of_the_bank_in_the_order_of_reading():
    assert tuple(chapter.questions for chapter in WITH_QUESTIONS) == questions.CHAPTERS


@every_chapter
def test_a_chapter_tells_what_it_is_good_for_and_how_long_it_takes(chapter):
    assert chapter.explains.endswith(".")
    assert 5 <= chapter.minutes <= 45


@every_chapter
def test_a_card_leads_to_the_notebook(html, chapter):
    [card] = re.findall(rf'<a [^>]*href="{chapter.notebook}">.*?</a>', html)
    explains, minutes = together(chapter.explains), together(f"about {chapter.minutes} minutes")
    for part in (together(chapter.title), explains, f">{chapter.number}<", minutes):
        assert part in card
    told = [chapter.questions] if chapter.questions else []
    assert re.findall(r'data-ow-progress-of="(.*?)"', card) == told


def test_there_is_one_card_a_chapter(html):
    assert html.count("<a ") == html.count("</a>") == len(CHAPTERS)


def unbroken(text):
    return text.replace(" ", NO_BREAK_SPACE)


def row_of(path):
    [row] = [
        each
        for each in paths().children[-1].value.split("<tr>")
        if f'<th scope="row">{together(path.who)}</th>' in each
    ]
    return row


@every_path
def test_a_path_leads_to_its_chapters_and_tells_how_long_they_take(path):
    row, listed = row_of(path), [each for each in CHAPTERS if each.number in path.numbers]
    linked = re.findall(r'<a href="(.+?)">(.+?)</a>', row)
    titles = [unbroken(f"{each.notebook[:2]} {each.title}") for each in listed]
    assert linked == list(zip([each.notebook for each in listed], titles, strict=True))
    assert together(f"about {sum(each.minutes for each in listed)} minutes") in row


def test_paths_differ_and_none_takes_more_than_was_promised():
    assert len({path.who for path in PATHS}) == len({path.numbers for path in PATHS}) >= 4
    [lecturer] = [path for path in PATHS if "twenty minutes" in path.who]
    assert lecturer.minutes <= 20
    [patient] = [path for path in PATHS if "at home" in path.who]
    assert patient.numbers == ("13",)
    assert "ask a clinician" in patient.advice


def test_a_beginner_is_sent_to_the_first_chapter_before_anything_else():
    shown = paths().children[-1].value
    before, _ = shown.split("<table", 1)
    assert re.findall('href="(.+?)"', before) == [CHAPTERS[0].notebook]
    calls = [code.strip().splitlines()[-1] for code in cells(START, "code")]
    assert calls == ["paths()", "chapters()"]


@pytest.mark.parametrize("advice", [path.advice for path in PATHS])
def test_chapters_named_in_an_advice_exist(advice):
    assert set(re.findall(r"\b\d\d\b", advice)) <= {chapter.number for chapter in CHAPTERS}


@every_notebook
def test_no_cell_has_more_than_three_lines_of_code(notebook):
    for source in cells(notebook, "code"):
        lines = [line for line in source.splitlines() if line.strip()]
        assert 1 <= len(lines) <= MOST_LINES, source


@every_notebook
def test_the_first_cell_names_the_notebook_and_only_it(notebook):
    assert NOTEBOOKS[notebook]["cells"][0]["cell_type"] == "markdown"
    assert len(re.findall(r"^# ", prose(notebook), flags=re.MULTILINE)) == 1


@every_notebook
def test_code_calls_only_panels_that_there_are(notebook):
    code = "\n".join(cells(notebook, "code"))
    [imported] = re.findall(r"from oximetry_workbook\.panels import (.+)", code)
    names = {name.strip() for name in imported.split(",")}
    assert names <= set(panels.__all__)
    called = set(re.findall(r"^(\w+)\([^)]*\)$", code, flags=re.MULTILINE)) - {"print"}
    assert called == names


@every_asking_chapter
def test_a_notebook_asks_its_own_questions(chapter):
    code = cells(chapter.notebook, "code")
    for call in ("predict", "checkpoints"):
        asked = [key for source in code for key in re.findall(rf'\b{call}\("(\w+)"\)', source)]
        assert asked == [chapter.questions]
    assert f'checkpoints("{chapter.questions}")' in code[-1]  # at the end


@every_asking_chapter
def test_a_notebook_says_where_it_misleads_and_what_it_rests_on(chapter):
    needed = {"A worked number", "Where it misleads", "Check yourself", "Sources"}
    assert needed <= set(headings(chapter.notebook))
    assert "After this you can explain" in cells(chapter.notebook, "markdown")[0]
    assert headings(chapter.notebook)[-1] == "Sources"
    assert len(section(chapter.notebook, "Where it misleads")) > 200
    sources = re.findall(r"^- .+", section(chapter.notebook, "Sources"), flags=re.MULTILINE)
    assert len(sources) >= 3
    years = [source for source in sources if re.search(r"\b(19|20)\d\d\b", source)]
    assert len(years) >= 2


OWN_PANELS = {"oxygen", "blood", "layers", "ratios", "calibration", "own_recording", "own_study"}
"""Of the chapters whose steps to try are written in one list above the panel."""


@pytest.mark.parametrize("panel", sorted(OWN_PANELS))
def test_what_to_try_stands_between_the_prediction_and_the_panel(panel):
    [found] = [name for name in NOTEBOOKS if f"{panel}()" in cells(name, "code")]
    predicted, steps, shown = NOTEBOOKS[found]["cells"][1:4]
    assert "predict(" in "".join(predicted["source"])
    assert "".join(shown["source"]) == f"{panel}()"
    text = "".join(steps["source"])
    assert text.startswith("## Try this\n")
    numbered = re.findall(r"^(\d)\. \S", text, flags=re.MULTILINE)
    assert numbered == [str(k) for k in range(1, len(numbered) + 1)]
    assert 3 <= len(numbered) <= 6


@every_notebook
def test_a_caution_is_given(notebook):
    """In every chapter as a quotation at the end, on the start page in its prose."""
    assert re.search("[Nn]ot for diagnosis or patient care", prose(notebook))
    if notebook != START:
        caution = re.findall(r"^> .+", prose(notebook), flags=re.MULTILINE)[-1]
        assert caution.startswith("> A teaching tool")
        assert "local protocols" in caution


@every_notebook
def test_a_worked_number_is_kept_and_held_to_the_code(notebook):
    """Outputs are stored only where they are checked."""
    for cell in NOTEBOOKS[notebook]["cells"]:
        if cell["cell_type"] == "code":
            tags = set(cell["metadata"].get("tags", ()))
            checked = {"nbval-check-output", "keep_output"} <= tags
            assert bool(cell["outputs"]) == checked == bool(tags)


@every_asking_chapter
def test_a_chapter_has_a_worked_number_that_is_checked(chapter):
    tags = [cell["metadata"].get("tags", ()) for cell in NOTEBOOKS[chapter.notebook]["cells"]]
    assert any("nbval-check-output" in each for each in tags)
