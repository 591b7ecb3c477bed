"""The drawer of causes in a real browser: no press is lost, whatever is still on its way."""

import pytest


def button(page, words):
    return page.get_by_role("button", name=words, exact=True)


def situation(page, name):
    """Its button, whether its name is marked or not."""
    return page.locator(".ow-situations button").filter(has_text=name)


def wait_for_words(page, words):
    page.wait_for_selector(f".ow-situation:has-text('{words}')")


def wait_for_marked(page, names):
    page.wait_for_function(
        """names => JSON.stringify([...document.querySelectorAll(".ow-holds")].map(
            (each) => each.textContent.trim())) === JSON.stringify(names)""",
        arg=[f"✓ {name}" for name in names],
    )


@pytest.fixture(scope="module")
def shown(watched_page, workbook_server):
    """The page of the bench with its drawer open, shared by these tests."""
    with watched_page() as page:
        page.goto(workbook_server.page("06_bench.ipynb"))
        page.wait_for_selector("body:not(.ow-starting)")
        page.wait_for_selector(".ow-plot path.line", state="attached")
        button(page, "Causes of doubt").click()
        yield page


@pytest.fixture
def drawer(shown):
    button(shown, "Reset").click()
    wait_for_words(shown, "Everything is as usual.")
    yield shown
    assert shown.errors == []
    assert shown.outside == []


@pytest.mark.parametrize("pause_ms", [0, 30, 100, 400, 1000])
@pytest.mark.parametrize("again", ["Smoke", "Anaemia"])
def test_a_situation_pressed_soon_after_reset_counts(drawer, again, pause_ms):
    """A list lost it: its own reset arrived later than the choice, and took it back."""
    situation(drawer, "Cold hand").click()
    situation(drawer, "Smoke").click()
    wait_for_words(drawer, "Smoke, on top of: Cold hand.")
    button(drawer, "Reset").click()
    drawer.wait_for_timeout(pause_ms)
    situation(drawer, again).click()
    wait_for_words(drawer, f"{again}, alone.")
    wait_for_marked(drawer, [again])


def test_presses_in_a_row_pile_up_and_say_so(drawer):
    names = ["Cold hand", "Anaemia", "Irregular heart"]
    for name in names:
        situation(drawer, name).click()
    wait_for_words(drawer, "Irregular heart, on top of: Cold hand and Anaemia.")
    wait_for_marked(drawer, names)


def test_a_situation_is_tried_alone(drawer):
    situation(drawer, "Cold hand").click()
    button(drawer, "Start from ordinary").click()
    situation(drawer, "Smoke").click()
    wait_for_words(drawer, "Smoke, alone.")
    wait_for_marked(drawer, ["Smoke"])


def test_situations_answer_to_keys(drawer):
    situation(drawer, "Smoke").focus()
    drawer.keyboard.press("Enter")
    wait_for_words(drawer, "Smoke, alone.")
