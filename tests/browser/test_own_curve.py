"""A curve fitted in chapter 15, kept by the browser, used on the bench, and forgotten."""

import json

import pytest

STUDY, BENCH = "15_a_desaturation_study.ipynb", "06_bench.ipynb"
OWN = "Your own: linear curve"
KEPT = "() => localStorage.getItem('ow-own-curve')"

HELPERS = """
window.own = {
  plain: (words) => words.replaceAll("\u00a0", " "),
  number: (words) => own.plain([...document.querySelectorAll(".ow-cell")].find(
    (cell) => cell.querySelector(".ow-words").textContent === words)
    .querySelector(".ow-value").textContent),
  options: () => [...[...document.querySelectorAll(".ow-control")].find(
    (control) => control.textContent.includes("Calibration curve in the meter"))
    .querySelectorAll("option")],
};
"""


def wait_ready(page):
    page.wait_for_selector("body:not(.ow-starting)")
    page.wait_for_selector(".ow-plot path.line", state="attached")


def control(page, label):
    return page.locator(".ow-control", has_text=label).locator("select")


def open_meter(page):
    page.get_by_role("button", name="Causes of doubt", exact=True).click()
    page.locator(".ow-group-top", has_text="Meter").click()


def number(page, words):
    return page.evaluate("words => own.number(words)", words)


def wait_number(page, words, value):
    page.wait_for_function("([words, value]) => own.number(words) === value", arg=[words, value])


def options(page):
    return page.evaluate("own.options().map((each) => own.plain(each.label))")


def chosen(page):
    return page.evaluate("own.plain(own.options().find((each) => each.selected).label)")


def test_a_fitted_curve_is_used_on_the_bench_and_forgotten(page, workbook_server):
    page.add_init_script(HELPERS)
    page.goto(workbook_server.page(STUDY))
    wait_ready(page)
    control(page, "Form of the curve").select_option(label="Linear")
    page.get_by_role("button", name="Use this curve in the workbook").click()
    page.get_by_text("Kept in this browser for all chapters, your own: linear curve").wait_for()
    kept = json.loads(page.evaluate(KEPT))
    intercept, slope = kept["numerator"]

    page.goto(workbook_server.page(BENCH))
    wait_ready(page)
    open_meter(page)
    curves = control(page, "Calibration curve in the meter")
    page.wait_for_function(
        "words => own.options().some((each) => own.plain(each.label) === words)", arg=OWN
    )
    assert chosen(page) == "This probe’s own"
    wait_number(page, "Error, points", "0.0")
    ratio = float(number(page, "Ratio R"))
    curves.select_option(index=len(options(page)) - 1)
    page.wait_for_function("before => own.number('Error, points') !== before", arg="0.0")
    shown = intercept + slope * ratio  # R is told to two digits
    assert float(number(page, "Meter shows").removesuffix(" %")) == pytest.approx(shown, abs=0.7)
    page.get_by_role("button", name="Share", exact=True).click()
    page.get_by_text("Your own curve is not in the link").wait_for()

    page.get_by_role("button", name="Forget it").click()
    page.wait_for_function(f"() => ({KEPT})() === ''")
    wait_number(page, "Error, points", "0.0")
    assert chosen(page) == "This probe’s own"
    assert OWN not in options(page)
    assert page.errors == []
    assert page.outside == []
