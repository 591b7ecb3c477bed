"""The presenter in a real browser, driven by its keys: readable, whole, and in nobody's way."""

import re

import nbformat
import pytest
from presenter_page import (
    CELL,
    at,
    close,
    focused,
    go,
    open_presenter,
    press,
    still,
    values,
    wait_fitted,
)

SIZES = [(1440, 900), (1024, 768)]
LEAST_PX = 48
"""Least size of a main number: 1/16 of a screen 768 pixels high. Our own choice."""


@pytest.fixture(scope="module")
def address(serve, tmp_path_factory):
    folder = tmp_path_factory.mktemp("lesson")
    cells = [nbformat.v4.new_markdown_cell("# A lesson"), nbformat.v4.new_code_cell(CELL)]
    notebook = nbformat.v4.new_notebook(cells=cells)
    notebook.metadata["kernelspec"] = {"name": "python3", "display_name": "Python 3"}
    nbformat.write(notebook, folder / "00_lesson.ipynb")
    log = tmp_path_factory.mktemp("log")
    with serve(log, "--notebooks", str(folder)) as server:
        yield server.page("00_lesson.ipynb")


@pytest.fixture(scope="module")
def shared(watched_page, address):
    with watched_page() as page:
        open_presenter(page, address)
        yield page


@pytest.fixture
def lesson(shared):
    """The presenter, open at its first scene, nothing folded out."""
    shared.set_viewport_size({"width": 1024, "height": 768})
    if shared.locator(".ow-presenter").is_visible():
        close(shared)
    shared.get_by_role("button", name="Present").focus()
    shared.keyboard.press("Enter")
    shared.wait_for_selector(".ow-presenter")
    press(shared, "Home")
    at(shared, 1)
    still(shared)
    yield shared
    assert shared.errors == []
    assert shared.outside == []


def test_it_is_a_dialog_that_takes_the_focus_and_gives_it_back(lesson):
    dialog = lesson.get_by_role("dialog", name="Presenter: Doubt")
    assert dialog.get_attribute("aria-modal") == "true"
    assert lesson.evaluate("document.activeElement.classList.contains('ow-presenter')")
    press(lesson, "Escape")
    lesson.wait_for_selector(".ow-presenter", state="hidden")
    assert focused(lesson) == "Present"


def test_it_lies_over_all_of_the_window(lesson):
    corners = lesson.evaluate(
        """() => [[1, 1], [innerWidth - 2, 1], [1, innerHeight - 2], [500, 20], [500, 400]].map(
          ([x, y]) => document.elementFromPoint(x, y).closest(".ow-presenter") !== null)"""
    )
    assert corners == [True] * 5


def test_keys_walk_through_the_lesson(lesson):
    for key, place in [
        ("ArrowRight", 2),
        ("PageDown", 3),
        ("ArrowLeft", 2),
        ("PageUp", 1),
        ("End", 5),
        ("ArrowRight", 5),
        ("Shift+Space", 4),
        ("Home", 1),
    ]:
        press(lesson, key)
        at(lesson, place)
        still(lesson)


def test_space_reveals_and_then_goes_on(lesson):
    go(lesson, 2)
    cover = lesson.get_by_role("button", name="Reveal the two pulses")
    assert cover.is_visible()
    assert not lesson.locator(".ow-part-pulses .ow-plot").is_visible()
    press(lesson, "Space")
    cover.wait_for(state="hidden")
    assert lesson.locator(".ow-part-pulses .ow-plot").is_visible()
    press(lesson, "Space")
    at(lesson, 3)


def test_a_cover_is_opened_from_the_keyboard(lesson):
    go(lesson, 2)
    lesson.get_by_role("button", name="Reveal the two pulses").focus()
    press(lesson, "Enter")
    lesson.wait_for_selector(".ow-part-pulses .ow-plot")
    at(lesson, 2)
    # what had the focus is gone; the keys are not
    press(lesson, "ArrowRight")
    at(lesson, 3)


def test_the_numbers_are_on_their_way_before_they_arrive(lesson):
    lesson.evaluate(
        """() => {
          window.seen = [];
          const place = document.querySelector(".ow-part-numbers");
          new MutationObserver(() => seen.push(place.querySelectorAll(".ow-value")[1].textContent))
            .observe(place, { subtree: true, childList: true });
        }"""
    )
    press(lesson, "ArrowRight")
    at(lesson, 2)
    still(lesson)
    lesson.wait_for_function("() => seen.at(-1) === '85\u00a0%'")
    between = [float(each.split()[0]) for each in lesson.evaluate("seen")]
    assert any(85.0 < each < 97.0 for each in between)
    assert between == sorted(between, reverse=True)


def test_who_asks_for_little_motion_sees_none(browser, address):
    context = browser.new_context(reduced_motion="reduce")
    page = context.new_page()
    open_presenter(page, address)
    press(page, "ArrowRight")
    at(page, 2)
    assert page.locator(".ow-moving").count() == 0
    assert values(page)[1] == "85 %"
    context.close()


def test_a_focused_slider_keeps_its_keys(lesson):
    press(lesson, "s")
    handle = lesson.locator('.ow-tries .noUi-handle[aria-label="Arterial saturation"]')
    handle.focus()
    press(lesson, "ArrowLeft", "PageDown", "ArrowLeft")
    lesson.wait_for_function(
        "() => document.querySelectorAll('.ow-part-numbers .ow-value')[1].textContent < '97'"
    )
    press(lesson, "End", "Home")
    assert lesson.locator(".ow-scene-place").inner_text() == "1 of 5"
    press(lesson, "Escape", "ArrowRight")  # out of the slider, on with the lesson
    at(lesson, 2)


def test_the_scene_comes_back_from_what_was_tried(lesson):
    press(lesson, "s")
    lesson.locator(".ow-tries .noUi-handle").first.focus()
    press(lesson, "Home")
    lesson.wait_for_function(
        "() => document.querySelectorAll('.ow-part-numbers .ow-value')[1].textContent[0] === '4'"
    )
    lesson.get_by_role("button", name="Back to the scene").focus()
    press(lesson, "Enter")
    lesson.wait_for_function(
        "() => document.querySelectorAll('.ow-part-numbers .ow-value')[1].textContent[0] === '9'"
    )
    still(lesson)
    assert values(lesson)[1] == "97 %"


def test_a_poll_from_the_keyboard(lesson):
    go(lesson, 3)
    lesson.get_by_placeholder("85, 90, 95").focus()
    lesson.keyboard.type("97 95, 68 nb.?")
    press(lesson, "Enter")
    lesson.wait_for_selector("text=is not a number")
    assert lesson.locator(".ow-scene-place").inner_text() == "3 of 5"
    press(lesson, "ControlOrMeta+a")
    lesson.keyboard.type("97 95, 68 69")
    press(lesson, "Enter")
    lesson.wait_for_selector("text=4 guesses; the median guess is 82")
    one_more = lesson.get_by_role("button", name="One more: 65–69")
    one_more.focus()
    press(lesson, "Enter", "Space")
    lesson.wait_for_selector("text=6 guesses; the median guess is in 65–69.")
    assert lesson.locator(".ow-poll-truth").count() == 0
    lesson.evaluate("document.querySelector('.ow-presenter').focus()")
    press(lesson, "r")
    lesson.wait_for_selector(".ow-poll-truth")
    assert "4 of 6 guessed 65–69, the right range" in lesson.locator(".ow-poll-says").inner_text()
    lesson.get_by_role("button", name="Clear").click()
    lesson.wait_for_selector("text=No guesses; the blood carries 67.9")


def test_the_line_of_the_poll_stands_over_its_range(lesson):
    go(lesson, 3)
    press(lesson, "r")
    lesson.wait_for_selector(".ow-poll-truth")
    line = lesson.locator(".ow-poll-truth").bounding_box()
    column = lesson.locator(".ow-poll-bars > div").nth(4)  # 65 to 69, with 67.9 in it
    assert column.locator("small").inner_text() == "65–69"
    box = column.bounding_box()
    assert box["x"] < line["x"] < box["x"] + box["width"]


def test_the_poll_gives_way_to_the_plots(lesson):
    go(lesson, 3)
    poll, plot = lesson.locator(".ow-poll"), lesson.locator(".ow-part-curve .ow-plot")
    assert (poll.is_visible(), plot.is_visible()) == (True, False)
    press(lesson, "p")
    assert (poll.is_visible(), plot.is_visible()) == (False, True)


def test_a_blank_screen_and_any_key_to_end_it(lesson):
    for key in ("b", "."):
        press(lesson, key)
        box = lesson.locator(".ow-blank").bounding_box()
        assert (box["x"], box["y"], box["width"], box["height"]) == (0, 0, 1024, 768)
        press(lesson, "ArrowRight")
        assert not lesson.locator(".ow-blank").is_visible()
    assert lesson.locator(".ow-scene-place").inner_text() == "1 of 5"


def test_notes_and_keys_fold_out_and_in(lesson):
    assert not lesson.get_by_text("Ask them.").is_visible()
    press(lesson, "n")
    assert lesson.get_by_text("Ask them.").is_visible()
    press(lesson, "n", "?")
    help_text = lesson.get_by_role("region", name="Keys").inner_text()
    assert "Page Down" in help_text
    press(lesson, "Escape")
    assert not lesson.locator(".ow-keys-help").is_visible()
    assert lesson.locator(".ow-presenter").is_visible()


def test_the_clock_runs_stops_and_begins_anew(lesson):
    clock = lesson.locator(".ow-clock")
    press(lesson, "0")
    assert re.search(r"Scene 0:0\d of 2:00\s*Lesson 0:0\d of 10:00", clock.inner_text())
    lesson.wait_for_function(
        "() => !document.querySelector('.ow-clock').textContent.startsWith('Scene 0:00')"
    )
    press(lesson, "t")
    stopped = clock.inner_text()
    lesson.wait_for_timeout(1500)
    assert clock.inner_text() == stopped
    press(lesson, "ArrowRight")
    at(lesson, 2)
    lesson.wait_for_function(
        "() => document.querySelector('.ow-clock').textContent.startsWith('Scene 0:00')"
    )
    press(lesson, "t")


def test_tab_stays_inside(lesson):
    for key in ("Tab", "Shift+Tab"):
        names = []
        for _ in range(24):
            press(lesson, key)
            assert lesson.evaluate(
                "document.querySelector('.ow-presenter').contains(document.activeElement)"
            )
            names.append(focused(lesson))
        assert {"Back", "Next", "Close"} <= set(names)
    lesson.evaluate("document.querySelector('[placeholder=elsewhere]').focus()")
    assert lesson.evaluate("document.activeElement.classList.contains('ow-presenter')")


def test_a_button_pressed_by_mouse_gives_the_keys_back(lesson):
    go(lesson, 2)
    lesson.get_by_role("button", name="Notes").click()
    press(lesson, "Space")  # reveals, and does not press Notes again
    lesson.wait_for_selector(".ow-part-pulses .ow-plot")
    assert lesson.locator(".ow-scene-notes").is_visible()


def test_full_screen_shows_the_presenter(lesson):
    press(lesson, "f")
    lesson.wait_for_function("() => document.fullscreenElement")
    assert lesson.evaluate("document.elementFromPoint(500, 300).closest('.ow-presenter') !== null")
    press(lesson, "ArrowRight")
    at(lesson, 2)
    press(lesson, "f")
    lesson.wait_for_function("() => !document.fullscreenElement")
    assert lesson.evaluate("document.elementFromPoint(500, 300).closest('.ow-presenter') !== null")


def test_a_screen_reader_hears_where_it_is(lesson):
    status = lesson.locator('.ow-presenter [role="status"]')
    assert "Ordinary" in status.inner_text()
    assert "The meter shows" in status.inner_text()
    go(lesson, 3)
    assert "How much does it carry?" in status.inner_text()
    assert "carries 68" not in lesson.locator(".ow-presenter").inner_text()


@pytest.mark.parametrize(("width", "height", "theme"), [(*SIZES[0], "light"), (*SIZES[1], "dark")])
def test_main_numbers_are_large_and_nothing_is_cut(lesson, layout_faults, width, height, theme):
    lesson.set_viewport_size({"width": width, "height": height})
    lesson.evaluate("theme => { document.documentElement.dataset.theme = theme; }", theme)
    for place in range(1, 6):
        go(lesson, place)
        press(lesson, "r")
        if place == 3:
            press(lesson, "p")
        lesson.wait_for_timeout(
            1200
        )  # plots are fitted to their new room a third of a second later
        sizes = lesson.evaluate(
            """() => [...document.querySelectorAll(".ow-part-numbers .ow-value")].slice(0, 3)
              .map((each) => parseFloat(getComputedStyle(each).fontSize))"""
        )
        assert min(sizes) >= LEAST_PX
        assert not layout_faults(lesson), f"scene {place}"
        for part in lesson.locator(".ow-part:not(.ow-away), .ow-desk > button:visible").all():
            box = part.bounding_box()
            assert box["y"] + box["height"] <= height
            assert box["x"] + box["width"] <= width
    lesson.evaluate("() => { document.documentElement.dataset.theme = 'light'; }")


@pytest.mark.parametrize(("width", "height"), SIZES)
def test_plots_use_the_window(lesson, width, height):
    lesson.set_viewport_size({"width": width, "height": height})
    go(lesson, 4)
    wait_fitted(lesson)
    area = sum(
        box["width"] * box["height"]
        for each in lesson.locator(".ow-part .bqplot:visible").all()
        for box in [each.bounding_box()]
    )
    assert area > 0.3 * width * height
