"""Every page opened, and held against the rules of axe-core (https://github.com/dequelabs/axe-core).

Its rules of impact "serious" and "critical" stand for success criteria of WCAG 2.0 to 2.2, levels
A and AA, and for good practice. The package axe-playwright-python carries the script along.
"""

import re
from importlib.resources import files
from pathlib import Path

import pytest

pytest.importorskip("axe_playwright_python")

AXE = (files("axe_playwright_python") / "axe.min.js").read_text("utf-8")
NOTEBOOKS = sorted(path.name for path in (Path(__file__).parents[2] / "workbook").glob("*.ipynb"))
GRAVE = ("serious", "critical")


COLOURS = ["color-contrast", "link-in-text-block"]
"""The rules that depend on the theme."""


def faults(page, rules=None):
    """List what axe finds grave: rule, element, and what is wrong with it."""
    if not page.evaluate("() => 'axe' in window"):
        page.evaluate(AXE)
    options = {"resultTypes": ["violations"]} | ({"runOnly": rules} if rules else {})
    found = page.evaluate("options => axe.run(document, options)", options)
    assert len(found["passes"]) >= (1 if rules else 10), "axe has looked at nothing"
    return [
        f"{each['id']}: {node['html'][:200]}: {node['failureSummary']}"
        for each in found["violations"]
        if each["impact"] in GRAVE
        for node in each["nodes"]
    ]


def in_both_themes(page):
    found = {}
    for theme, rules in (("light", None), ("dark", COLOURS)):
        page.evaluate("theme => { document.documentElement.dataset.theme = theme; }", theme)
        found[theme] = faults(page, rules)
    return found


def open_page(page, server, notebook):
    page.goto(server.page(notebook))
    page.wait_for_selector("body:not(.ow-starting)")
    page.wait_for_selector(".ow-panel")


@pytest.fixture(scope="module", params=NOTEBOOKS)
def opened(request, watched_page, workbook_server):
    """Each page of the workbook, shared by the two tests that follow."""
    with watched_page() as page:
        open_page(page, workbook_server, request.param)
        yield page
        page.close(run_before_unload=True)


def test_every_notebook_draws_and_stays_at_home(opened):
    assert opened.locator("#rendered_cells h1").count() >= 1
    assert opened.locator("text=There was an error when executing cell").count() == 0
    assert opened.locator('[data-mime-type="application/vnd.jupyter.stderr"]').count() == 0
    assert (opened.errors, opened.outside) == ([], [])
    assert opened.locator(".ow-chapters li").count() == len(NOTEBOOKS)


def test_a_page_has_no_grave_fault(opened):
    assert in_both_themes(opened) == {"light": [], "dark": []}


def test_nor_has_the_drawer_of_causes_with_all_it_holds(page, workbook_server):
    open_page(page, workbook_server, "06_bench.ipynb")
    page.get_by_role("button", name="Causes of doubt", exact=True).click()
    for group in page.locator(".ow-group-top:not(.mod-active)").all()[::-1]:
        group.click()
    for words in ("Share", "Explain this state"):
        page.get_by_role("button", name=words, exact=True).click()
    page.get_by_role("spinbutton", name="Haemoglobin", exact=True).wait_for()
    page.wait_for_selector(".ow-explanation:not(.ow-folded)")
    assert in_both_themes(page) == {"light": [], "dark": []}


def wait_fitted(page):
    """Wait until the presenter's numbers have their size, or can be scrolled by keys."""
    page.wait_for_function(
        """() => {
          const strip = document.querySelector(".ow-presenter .ow-strip");
          return strip.scrollHeight <= strip.clientHeight + 1 || strip.tabIndex === 0;
        }"""
    )


def test_nor_has_the_presenter_covered_polled_and_revealed(page, workbook_server):
    open_page(page, workbook_server, "17_teach_a_lesson.ipynb")
    lessons = page.get_by_role("combobox", name="Start from")
    lessons.select_option(index=1)
    page.get_by_role("button", name="Teach this lesson").click()
    for part in (".ow-cover", ".ow-poll"):
        page.wait_for_selector(f".ow-presenter {part}:visible")
    wait_fitted(page)
    assert in_both_themes(page) == {"light": [], "dark": []}
    page.locator(".ow-poll input[type=text]").fill("1, 2, 4")
    page.keyboard.press("Enter")
    page.wait_for_selector("text=3 guesses")
    page.locator(".ow-presenter").focus()
    page.keyboard.press("r")
    page.wait_for_selector(".ow-presenter .ow-poll-truth:visible")
    wait_fitted(page)
    assert in_both_themes(page) == {"light": [], "dark": []}
    for key in ("p", "s", "n", "?"):
        page.keyboard.press(key)
    for part in (".bqplot", ".ow-tries", ".ow-scene-notes", ".ow-keys-help"):
        page.wait_for_selector(f".ow-presenter {part}:visible")
    wait_fitted(page)
    assert in_both_themes(page) == {"light": [], "dark": []}


def test_nor_have_the_pages_around_a_class(watched_page, serve, tmp_path, layout_faults):
    """The door, the projector's page, and the page for whom there is no place left."""
    options = ("class", "--address", "127.0.0.1", "--learners", "1", "--code", "K7MPQR")
    with serve(tmp_path, *options) as room, watched_page() as first, watched_page() as page:
        first.goto(f"{room.url}class?code=K7MPQR")
        first.wait_for_selector(".ow-plot path.line", state="attached")
        projector = re.search(r"For the projector: +(\S+)", room.log.read_text()).group(1)
        for address, words in (
            (f"{room.url}class", "class code"),
            (projector, "1 of 1"),
            (f"{room.url}class?code=K7MPQR", "taken"),
        ):
            page.goto(address)
            page.get_by_text(words).first.wait_for()
            assert in_both_themes(page) == {"light": [], "dark": []}, address
            for width, height in ((1440, 900), (1024, 768), (390, 844)):
                page.set_viewport_size({"width": width, "height": height})
                assert layout_faults(page) == {}, (address, width)
