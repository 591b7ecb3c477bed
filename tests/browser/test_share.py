"""Links to a state: they open it elsewhere, also where kernels wait; bad ones are told."""

import re

import pytest

BENCH, LATE = "06_bench.ipynb", "11_late_news.ipynb"
CODE = "K7MPQR"
LOW = "show=BenchState&version=1&arterial_saturation=0.85"
NUMBER = """words => [...document.querySelectorAll(".ow-cell")].find(
  (cell) => cell.querySelector(".ow-words").textContent === words)
  ?.querySelector(".ow-value").textContent.replaceAll("\u00a0", " ")"""
KERNEL = "() => JSON.parse(document.getElementById('jupyter-config-data').textContent).kernelId"
END_KERNEL = """async () => {
  const { baseUrl, kernelId } = JSON.parse(
    document.getElementById("jupyter-config-data").textContent);
  const xsrf = /_xsrf=([^;]*)/.exec(document.cookie)?.[1] ?? "";
  const answer = await fetch(`${baseUrl}api/kernels/${kernelId}`,
    { method: "DELETE", headers: { "X-XSRFToken": xsrf } });
  return answer.status;
}"""


@pytest.fixture
def open_at(page, workbook_server):
    def open_page(notebook, fragment="", server=workbook_server):
        page.goto("about:blank")  # another fragment alone would not load the page anew
        page.goto(server.page(notebook) + (f"#{fragment}" if fragment else ""))
        page.wait_for_selector("body:not(.ow-starting)")
        page.wait_for_selector(".ow-plot path.line", state="attached")
        return page

    yield open_page
    assert page.outside == []


def wait_number(page, words, value):
    page.wait_for_function(f"([words, value]) => ({NUMBER})(words) === value", arg=[words, value])


def set_slider(page, label, value):
    field = page.get_by_role("spinbutton", name=label, exact=True)
    field.fill(value)
    field.press("Enter")
    field.press("Tab")


def link_on(page):
    page.get_by_role("button", name="Share", exact=True).first.click()
    field = page.locator(".ow-share input").first
    field.wait_for()
    page.wait_for_function("field => field.value.includes('#show=')", arg=field.element_handle())
    return field.input_value()


def test_the_link_of_the_bench_opens_its_state(open_at, workbook_server):
    page = open_at(BENCH)
    set_slider(page, "Arterial saturation", "83")
    wait_number(page, "Blood carries", "83 %")
    link = link_on(page)
    assert link.startswith(workbook_server.page(BENCH) + "#")
    page = open_at(BENCH, link.partition("#")[2])
    wait_number(page, "Blood carries", "83 %")
    assert page.get_by_role("spinbutton", name="Arterial saturation").input_value() == "83"
    assert page.errors == []


def test_the_link_of_another_panel_opens_its_state(open_at):
    page = open_at(LATE)
    slider = page.get_by_role("slider").first
    label = slider.get_attribute("aria-label")
    slider.focus()
    page.keyboard.press("End")
    moved = page.evaluate("() => document.activeElement.getAttribute('aria-valuenow')")
    page.wait_for_function(
        "() => /show=LateNews&version=1&/.test("
        "document.querySelector('[data-ow-state]')?.dataset.owState)"
    )
    fragment = link_on(page).partition("#")[2]
    page = open_at(LATE, fragment)
    page.wait_for_selector(f'.noUi-handle[aria-label="{label}"][aria-valuenow="{moved}"]')
    assert page.errors == []


@pytest.mark.parametrize(
    ("fragment", "told"),
    [
        (LOW.replace("0.85", "soup"), "soup"),
        (LOW.replace("version=1", "version=99"), "Update the workbook"),
        (LOW.replace("arterial_saturation", "horsepower"), "horsepower"),
    ],
)
def test_a_link_that_will_not_do_is_told_and_opens_the_usual_state(open_at, fragment, told):
    page = open_at(BENCH, fragment)
    page.wait_for_selector(f".ow-notice [role=alert]:has-text('{told}')")
    wait_number(page, "Blood carries", "97 %")


def lose_the_kernel(page):
    assert page.evaluate(END_KERNEL) == 204
    page.wait_for_selector(".ow-gone:has-text('go on from where the sliders are')")


def reload(page):
    page.get_by_role("button", name="Reload the page").click()
    page.wait_for_selector(".ow-gone", state="hidden")


def test_a_page_that_lost_its_kernel_comes_back_as_it_was(open_at):
    page = open_at(BENCH)
    set_slider(page, "Arterial saturation", "77")
    wait_number(page, "Blood carries", "77 %")
    page.wait_for_selector("[data-ow-state*='arterial_saturation=0.77']", state="attached")
    lose_the_kernel(page)
    reload(page)
    wait_number(page, "Blood carries", "77 %")
    page.wait_for_selector(".ow-plot path.line", state="attached")


def kernels_of(server):
    """Return the ids of the kernels that now run for a server."""
    psutil = pytest.importorskip("psutil")
    family = psutil.Process(server.process.pid).children(recursive=True)
    words = [word for child in family for word in child.cmdline()]
    return {found[1] for word in words if (found := re.search(r"kernel-([0-9a-f-]{36})", word))}


def test_the_same_where_kernels_have_run_the_page_before_it_is_asked_for(
    page, open_at, serve, wait_until, tmp_path
):
    options = ("class", "--address", "127.0.0.1", "--learners", "3", "--code", CODE)
    with serve(tmp_path, *options) as server:
        page.request.get(f"{server.url}class?code={CODE}", max_redirects=0)  # the cookie only
        wait_until(lambda: kernels_of(server), "a kernel waits ready")
        waiting = kernels_of(server)
        open_at(BENCH, LOW, server)
        assert page.evaluate(KERNEL) in waiting
        wait_number(page, "Blood carries", "85 %")
        set_slider(page, "Arterial saturation", "77")
        page.wait_for_selector("[data-ow-state*='arterial_saturation=0.77']", state="attached")
        lose_the_kernel(page)
        wait_until(lambda: kernels_of(server), "a kernel waits ready again")
        waiting = kernels_of(server)
        reload(page)
        wait_number(page, "Blood carries", "77 %")
        assert page.evaluate(KERNEL) in waiting
        page.wait_for_selector(".ow-plot path.line", state="attached")
