"""The pages in a real browser: drawn, asking nothing of others, honest about a lost kernel."""

import json
import re
from pathlib import Path
from textwrap import dedent

import nbformat
import pytest

REPOSITORY = Path(__file__).resolve().parents[2]
PANEL = "01_panel.ipynb"
SIZES = [(1440, 900), (1024, 768), (390, 844)]


def kernel_of(page):
    text = page.locator("#jupyter-config-data").text_content()
    return json.loads(text)["kernelId"]


def open_drawn(page, address):
    """Open a page and wait until its widgets, if it has any, are drawn."""
    page.goto(address)
    page.wait_for_selector("body:not(.ow-starting)")
    page.wait_for_selector("#rendered_cells", state="visible")


@pytest.fixture
def panel(page, scratch_server):
    open_drawn(page, scratch_server.page(PANEL))
    page.wait_for_selector(".bqplot .curve path.line")
    return page


def test_the_address_of_the_server_leads_to_the_start(page, scratch_server):
    page.goto(scratch_server.url + "?theme=dark")
    page.wait_for_url(re.compile(r"/voila/render/00_start\.ipynb\?theme=dark$"))
    assert page.title() == "Start here · Oximetry Workbook"
    page.wait_for_selector("mjx-container", state="attached")
    assert (page.errors, page.outside) == ([], [])


def test_a_panel_follows_its_slider(panel):
    before = panel.get_attribute(".bqplot .curve path.line", "d")
    panel.focus(".noUi-handle")
    panel.keyboard.press("ArrowRight")
    panel.wait_for_selector("text=The line ends at 1.5.")
    panel.wait_for_function(
        "before => document.querySelector('.bqplot .curve path.line').getAttribute('d') != before",
        arg=before,
    )
    assert (panel.errors, panel.outside) == ([], [])


def test_names_for_screen_readers(panel):
    handle = panel.wait_for_selector('.noUi-handle[aria-label="Height of the line"]')
    assert panel.get_attribute(".ow-control input", "aria-label") == "Height of the line"
    panel.wait_for_selector('.bqplot svg[role="img"][aria-label="The line ends at 1."]')
    handle.press("ArrowRight")
    panel.wait_for_selector('.noUi-handle[aria-valuetext="1.5"]')
    panel.wait_for_selector('.bqplot svg[aria-label="The line ends at 1.5."]')
    assert panel.get_attribute(".ow-live", "aria-live") == "polite"


def test_an_accordion_opens_from_the_keyboard(panel):
    header = panel.wait_for_selector('[role="button"][aria-expanded="false"]:has-text("More")')
    header.press("Enter")
    panel.wait_for_selector("text=inside")
    panel.wait_for_selector('[role="button"][aria-expanded="true"]:has-text("More")')


def test_a_download_offered_by_the_kernel_starts_by_itself(panel):
    with panel.expect_download() as offered:
        panel.click("text=Save data")
    assert offered.value.suggested_filename == "data.csv"
    assert Path(offered.value.path()).read_text() == "time_s\n0"


def colour_of(page, selector):
    return page.evaluate(
        "selector => getComputedStyle(document.querySelector(selector)).backgroundColor", selector
    )


def test_theme_is_chosen_kept_and_told_to_the_plots(panel, scratch_server):
    stroke = "getComputedStyle(document.querySelector('.bqplot .curve path.line')).stroke"
    light, light_line = colour_of(panel, "body"), panel.evaluate(stroke)
    panel.click("[data-ow-theme]")
    assert panel.get_attribute("html", "data-theme") == "dark"
    assert panel.get_attribute("[data-ow-theme]", "aria-pressed") == "true"
    assert colour_of(panel, "body") != light
    assert panel.evaluate(stroke) != light_line
    panel.goto(scratch_server.page("00_start.ipynb"))
    assert panel.get_attribute("html", "data-theme") == "dark"
    panel.goto(scratch_server.page("00_start.ipynb") + "?theme=light")
    assert panel.get_attribute("html", "data-theme") == "light"


def test_theme_follows_the_system(page, scratch_server):
    page.emulate_media(color_scheme="dark")
    page.goto(scratch_server.page("00_start.ipynb"))
    assert page.get_attribute("html", "data-theme") == "dark"


@pytest.mark.parametrize(("width", "height"), SIZES)
def test_nothing_sticks_out_sideways(panel, width, height):
    panel.set_viewport_size({"width": width, "height": height})
    panel.wait_for_function(
        "[...document.querySelectorAll('.bqplot')].every("
        "plot => plot.getBoundingClientRect().right <= innerWidth)"
    )
    assert panel.evaluate("document.documentElement.scrollWidth") <= width


def test_chapters_can_be_reached_from_the_keyboard(panel):
    panel.focus(".ow-chapters summary")
    panel.keyboard.press("Enter")
    panel.keyboard.press("Tab")
    panel.keyboard.press("Enter")
    panel.wait_for_url("**/00_start.ipynb")


def test_a_kernel_that_was_ended_is_told(panel, scratch_server):
    [token] = [each["value"] for each in panel.context.cookies() if each["name"] == "_xsrf"]
    address = scratch_server.kernel(kernel_of(panel))
    assert panel.request.delete(address).status == 403  # not without the page's token
    assert panel.request.delete(address, headers={"X-XSRFToken": token}).status == 204
    panel.wait_for_selector(".ow-gone[role=alert]:has-text('lost its engine')")
    with panel.expect_navigation():
        panel.get_by_role("button", name="Reload the page").click()
    panel.wait_for_selector(".bqplot .curve path.line")
    assert panel.locator(".ow-gone:visible").count() == 0


def test_a_kernel_that_crashed_is_told(panel, scratch_server):
    psutil = pytest.importorskip("psutil")
    kernel = kernel_of(panel)
    family = psutil.Process(scratch_server.process.pid).children(recursive=True)
    [crashing] = [child for child in family if any(kernel in word for word in child.cmdline())]
    crashing.kill()
    panel.wait_for_selector(".ow-gone:has-text('lost its engine')")


def test_a_kernel_ends_with_its_page(panel, scratch_server, wait_until, status_at):
    address = scratch_server.kernel(kernel_of(panel))
    assert panel.request.get(address).status == 200
    panel.close(run_before_unload=True)
    wait_until(lambda: status_at(address) == 404, "the kernel has ended")


def test_a_server_that_was_stopped_is_told_and_ends_quietly(
    page, scratch_notebooks, tmp_path, serve
):
    with serve(tmp_path, "--notebooks", str(scratch_notebooks)) as server:
        open_drawn(page, server.page("00_start.ipynb"))
        assert server.interrupt() == 0
        page.wait_for_selector(".ow-gone:has-text('lost its engine')")
    printed = server.log.read_text()
    assert printed.count("\n") == 1, printed
    assert "Traceback" not in printed


def test_an_output_that_comes_late_is_on_the_page(page, tmp_path, serve):
    """As on a busy machine: outputs come 6 s after the kernel's reply; nbclient waits for 4 s."""
    code = """
    import sys, time
    # ipykernel holds its reply back until the outputs have gone, but not longer than this.
    sys.stdout.flush_timeout = sys.stderr.flush_timeout = 0
    get_ipython().kernel.iopub_thread.schedule(lambda: time.sleep(6))
    display("late but" + " there")
    """
    notebook = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(dedent(code))])
    notebook.metadata["kernelspec"] = {"name": "python3", "display_name": "Python 3"}
    (tmp_path / "slow").mkdir()
    nbformat.write(notebook, tmp_path / "slow" / "00_start.ipynb")
    with serve(tmp_path, "--notebooks", str(tmp_path / "slow")) as server:
        assert "late but there" in page.request.get(server.page("00_start.ipynb")).text()


def test_a_page_that_does_not_exist(page, scratch_server):
    assert page.goto(scratch_server.page("99_nowhere.ipynb")).status == 404
    page.click("text=To the start")
    page.wait_for_url("**/00_start.ipynb")
    assert page.outside == []


def test_notebooks_and_other_files_are_not_handed_out(page, scratch_server):
    for path in ("voila/files/01_panel.ipynb", "voila/files/..%2f..%2fetc%2fpasswd"):
        assert page.request.get(scratch_server.url + path).status in (403, 404)


def test_lab_shows_the_notebooks(page, scratch_notebooks, tmp_path, serve):
    with serve(tmp_path, "--lab", "--notebooks", str(scratch_notebooks)) as server:
        token = re.search(r"token=(\w+)", server.log.read_text()).group(1)
        page.goto(f"{server.url}lab?token={token}")
        page.wait_for_selector(".jp-DirListing-itemText:has-text('01_panel.ipynb')")
        assert page.outside == []
        assert server.interrupt() == 0


def test_a_page_that_draws_nothing_is_tried_once_more(page, scratch_server):
    """Here the first line to the kernel is dead, so that no widget arrives."""
    opened = []

    def line(websocket):
        opened.append(websocket)
        if len(opened) > 1:
            websocket.connect_to_server()

    page.route_web_socket(re.compile("/channels"), line)
    page.goto(scratch_server.page("01_panel.ipynb"))
    page.wait_for_selector("#rendered_cells .jupyter-widgets")
    assert len(opened) == 2
    assert page.evaluate("Object.keys(sessionStorage).filter((k) => k.includes('again'))") == []
