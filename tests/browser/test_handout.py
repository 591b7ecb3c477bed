"""The handout on paper: opened with the network cut, no picture cut by the edge of a sheet."""

import re

import pytest

from oximetry_workbook.app.command_line import main

HANDOUTS = (
    "ward_ten_minutes",
    "lecture_forty_minutes",
    "product_meeting_fifteen_minutes",
    "05",
    "12",
)
PX_PER_MM = 96.0 / 25.4
SHEETS_MM = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
MARGINS_MM = (32.0, 35.0)
"""Left and right, above and below together: of `@page` in page_style.py."""

FIGURES = """() => [...document.querySelectorAll("figure")].map((figure) => {
  const box = figure.getBoundingClientRect();
  const inner = [...figure.querySelectorAll("svg, figcaption")].map(
    (part) => part.getBoundingClientRect());
  return {
    tall: box.height, breaks: getComputedStyle(figure).breakInside,
    left: Math.min(...inner.map((each) => each.left)),
    right: Math.max(...inner.map((each) => each.right)),
    foot: Math.max(...inner.map((each) => each.bottom)) - box.bottom,
  };
})"""


@pytest.fixture(scope="module", params=HANDOUTS)
def handout(browser, tmp_path_factory, request):
    file = tmp_path_factory.mktemp("handout") / "handout.html"
    assert main(["handout", request.param, "--output", str(file)]) == 0
    context = browser.new_context(offline=True)
    page = context.new_page()
    page.asked = []
    page.on("request", lambda asked: page.asked.append(asked.url))
    page.goto(file.as_uri())
    page.emulate_media(media="print")
    yield page
    context.close()


@pytest.mark.parametrize("sheet", SHEETS_MM)
def test_no_picture_is_cut_on_paper(handout, sheet):
    room = [
        (side - margin) * PX_PER_MM
        for side, margin in zip(SHEETS_MM[sheet], MARGINS_MM, strict=True)
    ]
    handout.set_viewport_size({"width": int(room[0]), "height": int(room[1])})
    figures = handout.evaluate(FIGURES)
    assert figures
    for figure in figures:
        assert figure["breaks"] == "avoid"
        assert figure["tall"] < room[1]
        assert figure["left"] >= 0.0
        assert figure["right"] <= room[0]
        assert figure["foot"] <= 1.0
    pdf = handout.pdf(format=sheet)
    assert pdf.startswith(b"%PDF-")
    if handout.locator(".abreast").count():  # a lesson: about a page for each scene
        scenes = handout.locator("h2", has_text=re.compile(r"^\d+\.")).count()
        assert len(re.findall(rb"/Type\s*/Page\b", pdf)) <= 4 + scenes


def test_it_asks_for_nothing_and_ends_with_the_answers(handout):
    assert [url for url in handout.asked if not url.startswith("file:")] == []
    headings = handout.locator("h2").all_inner_texts()
    assert headings[-1] == "Answers"
    last = handout.locator("section").last
    assert last.evaluate("section => getComputedStyle(section).breakBefore") == "page"
