"""What becomes of a page's kernel when the page is left, on telephones as well.

A page may be left without `beforeunload` ever having been fired, and may come back whole from the
browser's store of pages with `persisted` true (HTML Standard, "Page transition events"). Voila's
pages are `no-store`, which keeps them out of Chromium's store, so the events are fired here.
"""

import pytest

PANEL = "01_panel.ipynb"
BEATS_MS = 11_000
"""The page asks for its kernel every five seconds: long enough for two of these questions."""
KERNEL = "() => JSON.parse(document.getElementById('jupyter-config-data').textContent).kernelId"
FIRE = """([name, persisted]) =>
  dispatchEvent(new PageTransitionEvent(name, { persisted, cancelable: false }))"""


@pytest.fixture
def panel(page, scratch_server):
    page.goto(scratch_server.page(PANEL))
    page.wait_for_selector(".bqplot .curve path.line")
    return page


@pytest.fixture
def address(panel, scratch_server):
    return scratch_server.kernel(panel.evaluate(KERNEL))


def test_a_page_in_the_store_has_ended_its_kernel_asks_no_more_and_says_so_when_it_is_back(
    panel, address, status_at, wait_until
):
    panel.evaluate(FIRE, ["pagehide", True])
    wait_until(lambda: status_at(address) == 404, "the kernel has ended")
    asked = []
    panel.on("request", lambda request: asked.append(request.url))
    panel.wait_for_timeout(BEATS_MS)
    assert address not in asked
    assert panel.locator(".ow-gone:visible").count() == 0
    panel.evaluate(FIRE, ["pageshow", True])
    panel.wait_for_selector(".ow-gone:has-text('lost its engine')")
    panel.get_by_role("button", name="Reload the page").click()
    panel.wait_for_selector(".ow-gone", state="hidden")
    panel.wait_for_selector(".bqplot .curve path.line")
    assert panel.evaluate(KERNEL) not in address


def test_a_page_that_is_not_left_after_all_keeps_its_kernel(panel, address, status_at):
    """A way that leads to a download fires `beforeunload` too (HTML Standard, "navigate")."""
    panel.evaluate("() => dispatchEvent(new Event('beforeunload', { cancelable: true }))")
    panel.wait_for_timeout(BEATS_MS)
    assert status_at(address) == 200
    panel.focus(".noUi-handle")
    panel.keyboard.press("ArrowRight")
    panel.wait_for_selector("text=The line ends at 1.5.")
    assert (panel.errors, panel.outside) == ([], [])


def test_a_page_left_before_it_was_drawn_leaves_no_kernel(
    page, scratch_server, status_at, wait_until
):
    page.route("**/voila/static/**", lambda _: None)  # its widgets never arrive
    page.goto(scratch_server.page(PANEL), wait_until="commit")
    page.wait_for_selector("#jupyter-config-data", state="attached")
    address = scratch_server.kernel(page.evaluate(KERNEL))
    page.goto("about:blank")
    wait_until(lambda: status_at(address) == 404, "the kernel has ended")
