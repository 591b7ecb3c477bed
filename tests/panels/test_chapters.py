"""The list of chapters agrees with the notebooks, and every notebook has what a chapter needs."""

from pathlib import Path

import nbformat
import pytest

from oximetry_workbook.panels.chapters import CHAPTERS, chapters
from oximetry_workbook.teach.questions import CHAPTERS as WITH_QUESTIONS

WORKBOOK = Path(__file__).resolve().parents[2] / "workbook"
NOTEBOOKS = {path.name: nbformat.read(path, 4) for path in sorted(WORKBOOK.glob("*.ipynb"))}


def test_every_notebook_is_listed_in_order():
    assert [chapter.notebook for chapter in CHAPTERS] == list(NOTEBOOKS)[1:]
    assert [chapter.questions for chapter in CHAPTERS] == list(WITH_QUESTIONS)
    for chapter in CHAPTERS:
        assert NOTEBOOKS[chapter.notebook].metadata["title"] == chapter.title
        assert f'href="{chapter.notebook}"' in chapters().children[1].value


@pytest.mark.parametrize("name", NOTEBOOKS)
def test_cells_are_short(name):
    for cell in NOTEBOOKS[name].cells:
        if cell.cell_type == "code":
            lines = [line for line in cell.source.splitlines() if line.strip()]
            assert len(lines) <= 3, cell.source


@pytest.mark.parametrize("chapter", CHAPTERS, ids=lambda chapter: chapter.questions)
def test_a_chapter_has_all_its_parts(chapter):
    cells = NOTEBOOKS[chapter.notebook].cells
    prose = "\n".join(cell.source for cell in cells if cell.cell_type == "markdown")
    code = "\n".join(cell.source for cell in cells if cell.cell_type == "code")
    for heading in ("# ", "## Where it misleads", "## Check yourself", "## Sources"):
        assert f"\n{heading}" in f"\n{prose}"
    assert "worked number" in prose.lower()
    assert "After this you can explain" in prose
    assert "Not for diagnosis or patient care" in prose or "not for diagnosis" in prose
    assert f'predict("{chapter.questions}")' in code
    assert f'checkpoints("{chapter.questions}")' in code
    checked = [cell for cell in cells if "nbval-check-output" in cell.metadata.get("tags", [])]
    assert checked
    assert all(cell.outputs for cell in checked)
