"""A file on its way from a real browser: progress, Cancel, what is refused."""

import shutil

import numpy as np
import pytest

NOTEBOOK = "14_your_own_recording.ipynb"
RATE_HZ = 100.0
LONG_BYTES = 60_000_000
TOO_LARGE_BYTES = 5_000_000_000
CHOOSE, FAR, REFUSED = ".ow-upload > button", ".ow-upload-far", ".ow-upload-refused"
INVENTED = "invented_breath_hold.csv"

BAD = {
    "empty.csv": (b"", "empty.csv is empty"),
    "binary.csv": (bytes(range(256)) * 5000, "binary.csv holds NUL bytes"),
    "header.csv": (b"time_s,red,ir\n", "header.csv has no rows of numbers"),
    "words.csv": (b"neither light nor time\n" * 100_000, "words.csv has no rows of numbers"),
}

STICKS_OUT = """
() => {
  const side = document.querySelector(".ow-side:has(.ow-upload)").getBoundingClientRect();
  return [...document.querySelectorAll(".ow-upload *")].filter((part) => {
    const box = part.getBoundingClientRect();
    return box.width && (box.left < side.left || box.right > side.right);
  }).map((part) => part.outerHTML);
}
"""

KEEP_SHARES = """
window.shares = [];
new MutationObserver(() => {
  const bar = document.querySelector(".ow-upload progress");
  if (bar?.hasAttribute("value") && !bar.parentElement.hidden) shares.push(bar.value);
}).observe(document, { subtree: true, childList: true, attributes: true });
"""


@pytest.fixture(scope="module")
def long_file(tmp_path_factory):
    """Nobody's light for some hours, and its number of samples."""
    path = tmp_path_factory.mktemp("files") / "long.csv"
    minute = np.arange(int(60 * RATE_HZ)) / RATE_HZ
    pulse = np.sin(2 * np.pi * 1.2 * minute)
    red, infrared = np.rint(500_000 - 4000 * pulse), np.rint(600_000 - 8000 * pulse)
    rows = "".join(f"{r:.0f},{i:.0f}\n" for r, i in zip(red, infrared, strict=True))
    minutes = LONG_BYTES // len(rows)
    path.write_text("red,ir\n" + minutes * rows)
    return path, minutes * minute.size


@pytest.fixture(scope="module")
def shown(watched_page, workbook_server):
    with watched_page() as page:
        page.add_init_script(KEEP_SHARES)
        page.goto(workbook_server.page(NOTEBOOK))
        page.wait_for_selector("body:not(.ow-starting)")
        page.wait_for_selector(CHOOSE)
        yield page


@pytest.fixture
def page(shown):
    """The page with the invented recording on it."""
    take_invented(shown)
    shown.evaluate("() => { shares.length = 0; }")
    yield shown
    assert shown.errors == []
    assert shown.outside == []


def take_invented(page):
    page.get_by_role("button", name="An invented recording", exact=True).click()
    wait_for_title(page, INVENTED)


def wait_for_title(page, title):
    page.wait_for_function(
        "title => document.querySelector('.ow-shown h3')?.textContent === title", arg=title
    )


def choose(page, path):
    """Press the button with the keyboard, and choose a file in the browser's own window."""
    with page.expect_file_chooser() as chooser:
        page.get_by_role("button", name="Choose a file", exact=True).press("Enter")
    chooser.value.set_files(path)


def cancel_button(page):
    return page.get_by_role("button", name="Cancel upload", exact=True)


def wait_on_the_way(page):
    page.wait_for_function("() => shares.at(-1) > 0")


def wait_idle(page):
    page.wait_for_selector(".ow-upload-row", state="hidden")


def notice(page):
    return page.locator(".ow-panel:has(.ow-upload) > .ow-notice")


def wait_told(page, says):
    page.wait_for_function(
        "says => [...document.querySelectorAll('.ow-notice')]"
        ".some(notice => notice.textContent.includes(says))",
        arg=says,
    )


def preview(page):
    return page.locator(".ow-shown .ow-card ul").first.inner_text()


def test_a_long_file_arrives_with_progress(page, long_file):
    path, samples = long_file
    choose(page, path)
    page.wait_for_selector(f"{FAR}:visible")
    assert page.get_by_role("progressbar", name="Upload of long.csv").is_visible()
    assert " of 60\u00a0MB, " in page.locator(FAR).inner_text()
    wait_for_title(page, "long.csv")
    wait_idle(page)
    shares = page.evaluate("() => shares")
    assert shares == sorted(shares)
    assert len({share for share in shares if 0 < share < 1}) > 10
    assert "no column of times" in notice(page).inner_text()
    rate = page.locator(".ow-control:has-text('Samples per second') input")
    rate.fill(f"{RATE_HZ:g}")
    rate.press("Enter")
    page.wait_for_function(
        "words => document.querySelector('.ow-shown ul').textContent.includes(words)",
        arg=f"{samples} samples",
    )


def test_cancel_by_keyboard_keeps_what_is_shown(page, long_file):
    before = preview(page)
    choose(page, long_file[0])
    wait_on_the_way(page)
    assert cancel_button(page).evaluate("button => button === document.activeElement")
    page.keyboard.press("Enter")
    wait_idle(page)
    assert "was not uploaded" in page.locator(".ow-upload [role=status]").inner_text()
    assert page.locator(CHOOSE).evaluate("button => button === document.activeElement")
    assert preview(page) == before


def test_a_cancelled_file_can_be_chosen_again(page, long_file):
    before = preview(page)
    for _ in range(2):
        page.evaluate("() => { shares.length = 0; }")
        choose(page, long_file[0])
        wait_on_the_way(page)
        cancel_button(page).click()
        wait_idle(page)
    assert preview(page) == before


def test_too_large_a_file_is_refused_before_it_is_read(page, tmp_path):
    path = tmp_path / "huge.csv"
    with path.open("wb") as file:
        file.truncate(TOO_LARGE_BYTES)
    before = preview(page)
    choose(page, path)
    page.wait_for_selector(REFUSED)
    says = page.locator(REFUSED).inner_text().replace("\u00a0", " ")
    assert "huge.csv has 5000 MB; at most 200 MB can be uploaded." in says
    assert page.evaluate("() => shares") == []
    assert preview(page) == before


@pytest.mark.parametrize("name", BAD)
def test_bad_files_are_told_and_leave_the_page_alive(page, tmp_path, name):
    content, says = BAD[name]
    path = tmp_path / name
    path.write_bytes(content)
    before = preview(page)
    choose(page, path)
    wait_told(page, says)
    wait_idle(page)
    assert preview(page) == before


def test_a_file_that_goes_away_is_told(page, long_file, tmp_path):
    path = tmp_path / "going.csv"
    shutil.copyfile(long_file[0], path)
    choose(page, path)
    wait_on_the_way(page)
    path.unlink()
    page.wait_for_selector(REFUSED)
    assert "going.csv could not be read to its end" in page.locator(REFUSED).inner_text()
    wait_idle(page)


@pytest.mark.parametrize("size", [(1440, 900), (390, 844)])
def test_nothing_sticks_out_while_a_file_arrives(page, long_file, size):
    page.set_viewport_size({"width": size[0], "height": size[1]})
    choose(page, long_file[0])
    wait_on_the_way(page)
    found = page.evaluate(STICKS_OUT)
    cancel_button(page).click()
    wait_idle(page)
    assert found == []


def test_on_a_telephone_the_file_is_chosen_before_it_is_told_of(page):
    usual = page.viewport_size
    page.set_viewport_size({"width": 390, "height": 844})
    choose, told = (page.locator(each).bounding_box()["y"] for each in (CHOOSE, ".ow-preview"))
    page.set_viewport_size(usual)
    assert choose < told
