"""A lesson in the presenter, and how it is used by its keys."""

CELL = """
import ipywidgets as widgets
from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.panels.lesson_model import LessonModel
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.presenter import Presenter
from oximetry_workbook.teach.scene import Lesson, Scene
dim = Scenario(0.85, perfusion_index_percent=0.6)
lesson = Lesson("Doubt", scenes=(
    Scene("Ordinary", shown=("numbers", "pulses"), spoken="Every day.", notes="Ask them."),
    Scene("Low", dim, question="What changed?", covered=("pulses",),
          shown=("numbers", "pulses", "ratio", "curve")),
    Scene("Smoke", Scenario(carboxyhaemoglobin=0.3), question="How much does it carry?",
          guess="carried", covered=("numbers",), shown=("numbers", "curve")),
    Scene("Motion", Scenario(motion_percent=3.0), question="What will it show?"),
    Scene("Take home", shown=("numbers",)),
))
notice = Notice()
presenter = Presenter(LessonModel(lesson), notice)
start = widgets.Button(description="Present")
start.on_click(notice.guard(lambda _: presenter.open()))
field = widgets.Text(placeholder="elsewhere")
widgets.VBox([notice, start, field, presenter.widget])
"""


def open_presenter(page, address):
    page.goto(address)
    page.wait_for_selector("body:not(.ow-starting)")
    page.wait_for_selector(".ow-desk", state="attached")
    page.get_by_role("button", name="Present").focus()
    page.keyboard.press("Enter")
    page.wait_for_selector(".ow-presenter .ow-value")
    page.wait_for_selector(".ow-part-curve path.line", state="attached")


def close(page):
    page.evaluate("document.querySelector('.ow-presenter').focus()")
    page.get_by_role("button", name="Close").click()
    page.wait_for_selector(".ow-presenter", state="hidden")


def press(page, *keys):
    for key in keys:
        page.keyboard.press(key)


def at(page, number):
    page.wait_for_function(
        "n => document.querySelector('.ow-scene-place').textContent.startsWith(`${n} of`)",
        arg=number,
    )


def still(page):
    """Wait until the sliders have come to their end and the numbers stand."""
    page.wait_for_selector(".ow-tries:not(.ow-moving)", state="attached")


def go(page, number):
    press(page, "Home")
    at(page, 1)
    still(page)
    for place in range(2, number + 1):
        press(page, "ArrowRight")
        at(page, place)
        still(page)


def wait_fitted(page):
    """Wait until every plot fills its place, and the sentence is as large as it can be."""
    page.wait_for_function(
        """() => [...document.querySelectorAll(".ow-part .bqplot")]
          .filter((plot) => getComputedStyle(plot).visibility !== "hidden")
          .every((plot) => {
            const [whole, area] = [plot, plot.querySelector(".plotarea_background")]
              .map((each) => each.getBoundingClientRect());
            return Math.abs(whole.right - area.right - 16) < 1 && area.left - whole.left < 70
              && [32, 52].some((room) => Math.abs(whole.bottom - area.bottom - room) < 1);
          })""",
        polling=250,
    )
    page.wait_for_function(
        """() => {
          const strip = document.querySelector(".ow-strip");
          return strip.scrollHeight <= strip.clientHeight + 1;
        }""",
        polling=250,
    )


def values(page):
    cells = page.locator(".ow-part-numbers .ow-value").all_inner_texts()
    return [each.replace("\u00a0", " ") for each in cells]


def focused(page):
    return page.evaluate("document.activeElement.textContent.trim()")
