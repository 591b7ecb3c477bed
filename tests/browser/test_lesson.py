"""The chapter that prepares and teaches lessons: composed, kept as a file, taught by keyboard."""

import json
from pathlib import Path

import pytest

NOTEBOOK = "17_teach_a_lesson.ipynb"
WARD = "When not to believe the clip (10 min)"
SCENES = ("A warm, still finger", "The hand that was outside", "The shivering hand")
SIZES = [(1440, 900), (1024, 768), (390, 844)]

FOCUSED = """() => {
  const at = document.activeElement;
  return at.getAttribute("aria-label") || at.textContent.trim();
}"""


@pytest.fixture(scope="module")
def opened(watched_page, workbook_server):
    with watched_page() as page:
        page.goto(workbook_server.page(NOTEBOOK))
        page.wait_for_selector("body:not(.ow-starting)")
        page.wait_for_selector(".ow-plot path.line", state="attached")
        page.wait_for_selector('select[aria-label="Start from"]')
        yield page


@pytest.fixture
def lesson(opened):
    """The page with an empty lesson in it."""
    opened.set_viewport_size({"width": 1440, "height": 900})
    start_from(opened, "An empty lesson")
    wait_scenes(opened, ["First scene"])
    yield opened
    assert (opened.errors, opened.outside) == ([], [])


def start_from(page, words):
    page.get_by_role("combobox", name="Start from").select_option(
        label=words.replace(" ", "\u00a0")
    )


def button(page, words):
    return page.get_by_role("button", name=words, exact=True)


def wait_scenes(page, titles):
    page.wait_for_function(
        """titles => {
          const rows = [...document.querySelectorAll(".ow-scene-list option")]
            .map((row) => row.textContent.replaceAll("\u00a0", " ").replace(/^\\d+\\s+/, ""));
          return JSON.stringify(rows) === JSON.stringify(titles);
        }""",
        arg=titles,
    )


def fill(page, label, words):
    field = page.get_by_role("textbox", name=label, exact=True)
    field.fill(words)
    field.press("Tab")


def open_file(page, file):
    with page.expect_file_chooser() as chooser:
        page.get_by_role("button", name="Open lesson").click()
    chooser.value.set_files(file)


def tab_to(page, words, key="Tab", most=60):
    """Press Tab until the element of that name has the focus."""
    for _ in range(most):
        page.keyboard.press(key)
        if page.evaluate(FOCUSED) == words:
            return
    raise AssertionError(f"{words!r} is not reached by {most} times {key}")


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize(("width", "height"), SIZES)
def test_nothing_is_cut_off_or_overlaps(lesson, layout_faults, width, height, theme):
    lesson.set_viewport_size({"width": width, "height": height})
    lesson.evaluate("theme => { document.documentElement.dataset.theme = theme; }", theme)
    for plot in lesson.locator(".ow-panel .ow-plot:visible .bqplot").all():
        plot.scroll_into_view_if_needed()  # bqplot fits a plot once it comes into view
        lesson.wait_for_function(
            """plot => {
              const [whole, area] = [plot, plot.querySelector(".plotarea_background")]
                .map((each) => each.getBoundingClientRect());
              return area.right < whole.right && area.bottom < whole.bottom;
            }""",
            arg=plot.element_handle(),
        )
    lesson.evaluate("() => scrollTo(0, 0)")  # further down, one bar stays in sight over the rest
    assert layout_faults(lesson) == {}


def test_a_whole_lesson_is_taught_by_keyboard(lesson):
    lesson.evaluate("() => { document.activeElement.blur(); scrollTo(0, 0); }")
    tab_to(lesson, "Start from")
    lesson.keyboard.type("When")
    wait_scenes(lesson, [*SCENES, "The man from the garage"])
    tab_to(lesson, "Teach this lesson", key="Shift+Tab")
    lesson.keyboard.press("Enter")
    lesson.wait_for_selector(".ow-presenter .ow-cover")
    for place, title in enumerate([*SCENES, "The man from the garage"], 1):
        lesson.wait_for_selector(f".ow-scene-place:has-text('{place} of 4')")
        assert lesson.locator(".ow-presenter h2").inner_text().replace("\u00a0", " ") == title
        lesson.wait_for_selector(".ow-tries:not(.ow-moving)", state="attached")
        assert not lesson.locator(".ow-poll-truth").count()
        for _ in range(3):  # every cover, one after the other
            if lesson.locator(".ow-presenter .ow-covered:not(.ow-away)").count():
                before = lesson.locator(".ow-presenter .ow-covered:not(.ow-away)").count()
                lesson.keyboard.press("Space")
                lesson.wait_for_function(
                    "n => document.querySelectorAll("
                    "'.ow-presenter .ow-covered:not(.ow-away)').length < n",
                    arg=before,
                )
        lesson.wait_for_selector(".ow-poll-truth")
        lesson.keyboard.press("ArrowRight")
    lesson.keyboard.press("Escape")
    lesson.wait_for_selector(".ow-presenter", state="hidden")
    assert lesson.evaluate(FOCUSED) == "Teach this lesson"


def test_a_lesson_is_composed_saved_and_opened_again(lesson, tmp_path):
    button(lesson, "Causes of doubt").click()
    button(lesson, "Smoke").click()
    lesson.get_by_text("The bench has moved away from scene 1.").wait_for()
    button(lesson, "Add as a new scene").click()
    wait_scenes(lesson, ["First scene", "Scene 2"])
    fill(lesson, "Heading on the screen", "Smoke in the garage")
    wait_scenes(lesson, ["First scene", "Smoke in the garage"])
    button(lesson, "Move up").click()
    wait_scenes(lesson, ["Smoke in the garage", "First scene"])
    with lesson.expect_download() as offered:
        button(lesson, "Save lesson").click()
    file = tmp_path / "lesson.json"
    file.write_bytes(Path(offered.value.path()).read_bytes())
    saved = json.loads(file.read_text("utf-8"))
    assert saved["scenes"][0]["scenario"]["carboxyhaemoglobin"] > 0.0
    start_from(lesson, "An empty lesson")
    wait_scenes(lesson, ["First scene"])
    open_file(lesson, file)
    wait_scenes(lesson, ["Smoke in the garage", "First scene"])
    lesson.wait_for_function(
        """() => [...document.querySelectorAll(".ow-strip .ow-value")].some(
          (value) => value.closest(".ow-cell").textContent.startsWith("Blood carries")
            && parseFloat(value.textContent) < 90)"""
    )
    button(lesson, "Causes of doubt").click()


def test_a_file_that_is_no_lesson_is_refused_in_words(lesson, tmp_path):
    file = tmp_path / "no_lesson.json"
    file.write_text(json.dumps({"kind": "recipe"}))
    open_file(lesson, file)
    lesson.wait_for_selector(".ow-notice [role=alert]:has-text('holds no lesson')")
    wait_scenes(lesson, ["First scene"])
