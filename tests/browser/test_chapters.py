"""Every chapter in a real browser: each control moves something, questions answer, sizes hold."""

from pathlib import Path

import pytest

from oximetry_workbook.panels.chapters import CHAPTERS
from oximetry_workbook.panels.look import MARGINS
from oximetry_workbook.teach.checkpoint import NumberQuestion
from oximetry_workbook.teach.questions import checkpoints, prediction

NOTEBOOKS = {path.name for path in (Path(__file__).parents[2] / "workbook").glob("*.ipynb")}
SIZES = [(1440, 900), (1024, 768), (390, 844)]
PANEL = ".ow-bench-body"
WITH_PANELS = [chapter for chapter in CHAPTERS if chapter.questions not in ("bench", None)]
"""The bench has a test module of its own; a chapter without questions has no plots either."""

WITHOUT_PLOTS = ["00_start.ipynb", "16_words.ipynb"]

DRAWN = """
panel => [...panel.querySelectorAll(
    ".svg-figure path.line, .svg-figure rect.bar, .svg-figure .object_grp, .axis .tick text")]
  .map((mark) => ["d", "y", "height", "transform"].map((name) => mark.getAttribute(name)).join()
    + mark.textContent).join(";")
  + [...panel.querySelectorAll(".widget-html-content")].map((words) => words.innerHTML).join("|")
"""


WIDEST_MARGIN = 3 * MARGINS["right"]
"""Room that a plot may leave at its right-hand side [pixels]; one not yet fitted leaves more."""

FITTED = f"""
plot => {{
  const [whole, area] = [plot, plot.querySelector(".plotarea_background")]
    .map((each) => each.getBoundingClientRect());
  const spare = whole.right - area.right;
  return spare > 0 && spare < {WIDEST_MARGIN} && area.bottom < whole.bottom;
}}
"""


def wait_still(page, panel):
    """Wait until nothing in the panel changes over two looks a quarter of a second apart."""
    page.wait_for_function(
        f"panel => {{ const now = ({DRAWN})(panel); const still = now === window.owBefore;"
        " window.owBefore = now; return still && now.length > 100; }",
        arg=panel.element_handle(),
        polling=250,
    )


def choose(page, panel, box, index):
    """Choose from a list; wait until that is seen and all is still."""
    before = panel.evaluate(DRAWN)
    box.select_option(index=index)
    page.wait_for_function(
        f"([panel, before]) => ({DRAWN})(panel) !== before",
        arg=[panel.element_handle(), before],
    )
    wait_still(page, panel)


@pytest.fixture(scope="class", params=WITH_PANELS, ids=lambda chapter: chapter.questions)
def opened(request, watched_page, workbook_server):
    """A chapter's page, shared by the tests of a class, and the chapter."""
    with watched_page() as page:
        page.goto(workbook_server.page(request.param.notebook))
        page.wait_for_selector("body:not(.ow-starting)")
        page.wait_for_selector(f"{PANEL} path.line, {PANEL} rect.bar", state="attached")
        page.wait_for_selector(".ow-progress")
        yield page, request.param
        assert (page.errors, page.outside) == ([], [])


class TestChapter:
    def test_every_slider_moves_what_is_shown(self, opened):
        page, _ = opened
        page.set_viewport_size({"width": 1440, "height": 900})
        for panel in page.locator(PANEL).all():
            wait_still(page, panel)
            for handle in panel.get_by_role("slider").all():
                before = panel.evaluate(DRAWN)
                at_end = handle.get_attribute("aria-valuenow") == handle.get_attribute(
                    "aria-valuemax"
                )
                handle.focus()
                for _ in range(4):
                    page.keyboard.press("ArrowLeft" if at_end else "ArrowRight")
                page.wait_for_function(
                    f"([panel, before]) => ({DRAWN})(panel) !== before",
                    arg=[panel.element_handle(), before],
                )
                wait_still(page, panel)

    def test_every_list_moves_what_is_shown(self, opened):
        """What cannot be chosen together is refused in words: the notice counts as shown."""
        page, _ = opened
        for panel in page.locator(f".ow-panel:has({PANEL})").all():
            # the last list first: another column, chosen higher up, drops what was measured
            for box in panel.get_by_role("combobox").all()[::-1]:
                wait_still(page, panel)
                last = box.locator("option").count() - 1
                chosen = box.evaluate("list => list.selectedIndex")
                choose(page, panel, box, last if chosen != last else 0)
                if box.evaluate("list => list.selectedIndex") != chosen:  # it was not refused
                    choose(page, panel, box, chosen)  # lists must not spoil one another

    @pytest.mark.parametrize("theme", ["light", "dark"])
    @pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
    def test_nothing_is_cut_off_or_overlaps(self, opened, layout_faults, size, theme):
        page, _ = opened
        page.set_viewport_size({"width": size[0], "height": size[1]})
        page.evaluate("theme => { document.documentElement.dataset.theme = theme; }", theme)
        for plot in page.locator(".ow-panel .bqplot").all():
            plot.scroll_into_view_if_needed()  # bqplot fits a plot once it comes into view
            page.wait_for_function(FITTED, arg=plot.element_handle())
        for panel in page.locator(PANEL).all():
            wait_still(page, panel)
        assert layout_faults(page) == {}

    def test_the_guess_is_held_against_the_engines_answer(self, opened):
        page, chapter = opened
        question = prediction(chapter.questions)
        box = page.locator(".ow-predict")
        box.get_by_role("button", name="Reveal").click()
        box.get_by_text("Make a guess first.").wait_for()
        box.get_by_text(question.options[question.answer], exact=True).click()
        box.get_by_role("button", name="Reveal").click()
        box.locator(".ow-right").wait_for()
        told = box.locator(".ow-right").inner_text().replace("\u00a0", " ")
        assert question.why in told

    def test_checkpoints_take_the_engines_answers_and_are_counted(self, opened):
        page, chapter = opened
        questions = checkpoints(chapter.questions)
        boxes = page.locator(".ow-question").all()
        assert len(boxes) == len(questions) >= 4
        for box, question in zip(boxes, questions, strict=True):
            if isinstance(question, NumberQuestion):
                box.get_by_role("textbox").fill(repr(question.answer))
            else:
                box.get_by_text(question.options[question.answer], exact=True).click()
            box.get_by_role("button", name="Check").click()
            box.locator(".ow-right").wait_for()
        page.get_by_text(f"{len(questions)} of {len(questions)} answered").wait_for()
        kept = f'{{"solved":{len(questions)},"questions":{len(questions)}}}'
        page.wait_for_function(
            "([chapter, kept]) => sessionStorage.getItem(`ow-progress-${chapter}`) === kept",
            arg=[chapter.questions, kept],
        )


def test_a_window_made_narrow_does_not_scroll_sideways(watched_page, workbook_server):
    """A plot out of sight keeps its old width until it comes into view."""
    with watched_page() as page:
        page.set_viewport_size({"width": 1440, "height": 900})
        page.goto(workbook_server.page("11_late_news.ipynb"))
        page.wait_for_selector(f"{PANEL} path.line", state="attached")
        page.set_viewport_size({"width": 390, "height": 844})
        page.wait_for_function(
            "() => [...document.querySelectorAll('.plotarea_background')]"
            ".some((area) => area.getBoundingClientRect().right > innerWidth)"
        )
        assert page.evaluate("document.documentElement.scrollWidth") == 390


def test_a_wrong_answer_says_where_to_look_and_text_is_refused(page, workbook_server):
    page.goto(workbook_server.page("06_bench.ipynb"))
    page.wait_for_selector(".ow-progress")
    box = page.locator(".ow-question").nth(1)
    box.get_by_role("textbox").fill("soup")
    box.get_by_role("button", name="Check").click()
    page.get_by_text("“soup” is not a number").wait_for()
    box.get_by_role("textbox").fill("7,5")
    box.get_by_role("button", name="Check").click()
    box.get_by_text("too high").wait_for()
    assert (page.errors, page.outside) == ([], [])


def test_the_start_page_tells_what_was_answered(page, workbook_server):
    page.goto(workbook_server.page("00_start.ipynb"))
    page.evaluate(
        "() => sessionStorage.setItem('ow-progress-curve', '{\"solved\": 2, \"questions\": 7}')"
    )
    page.reload()
    page.get_by_text("2 of 7 questions answered").wait_for()
    links = page.locator("a.ow-chapter-card")
    assert {link.get_attribute("href") for link in links.all()} == NOTEBOOKS - {"00_start.ipynb"}


@pytest.mark.parametrize("notebook", WITHOUT_PLOTS)
def test_pages_of_words_fit_every_size_and_their_links_lead_to_chapters(
    page, workbook_server, layout_faults, notebook
):
    page.goto(workbook_server.page(notebook))
    page.wait_for_selector(".ow-doubts tbody tr")
    for width, height in SIZES:
        page.set_viewport_size({"width": width, "height": height})
        for theme in ("light", "dark"):
            page.evaluate("theme => { document.documentElement.dataset.theme = theme; }", theme)
            assert layout_faults(page) == {}
    links = page.locator("#ow-main a:not([href^='#'])")
    leads_to = {link.evaluate("link => link.href") for link in links.all()}
    assert len(leads_to) > 3
    assert leads_to <= {workbook_server.page(name) for name in NOTEBOOKS}
    assert (page.errors, page.outside) == ([], [])


def test_words_are_found_while_typing(page, workbook_server):
    page.goto(workbook_server.page("16_words.ipynb"))
    page.wait_for_selector(".ow-doubts tbody tr")
    everything = page.locator(".ow-doubts tbody tr").count()
    field = page.get_by_placeholder("a word, or part of one")
    field.press_sequentially("isosbes")
    page.get_by_text(f"1 of {everything} words").wait_for()
    page.get_by_role("link", name="02").click()
    page.wait_for_url("**/02_colour_of_blood.ipynb")
    assert (page.errors, page.outside) == ([], [])
