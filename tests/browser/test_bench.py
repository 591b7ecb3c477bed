"""The bench in a real browser, on the workbook's own page."""

import re
from functools import partial
from pathlib import Path

import pandas as pd
import pytest
from bench_page import (
    HELPERS,
    PLOTS,
    button,
    drawings,
    handle,
    number_field,
    open_causes,
    see_every_plot,
    true_percent_drawn,
    type_number,
    wait_drawn,
)
from wire import Heard

from oximetry_workbook.body.scenario import SPECS

NOTEBOOK = "06_bench.ipynb"
LAYERS, PULSES, RATIO, CURVE = PLOTS
SLIDERS = {
    "Arterial saturation": ("PageDown", "Blood carries", PLOTS),
    "Perfusion index": ("PageDown", "Perfusion index", PLOTS),
    "Heart rate": ("ArrowRight", "Pulse, per min", (PULSES, RATIO)),
    "Noise": ("End", "Signal quality", (PULSES, RATIO)),
}
"""The key that moves each slider, the number and the plots that follow."""

BUTTONS = (
    "Keep as reference",
    "Reset",
    "Save data",
    "Share",
    "Explain this state",
    "Causes of doubt",
)
SIZES = [(1440, 900), (1024, 768), (390, 844)]
PNG = b"\x89PNG\r\n\x1a\n"


@pytest.fixture(scope="class")
def shown(watched_page, workbook_server):
    """The page of the bench, shared by the tests of a class."""
    with watched_page() as page:
        page.heard = []
        page.on("websocket", partial(_hear, page))
        page.add_init_script(HELPERS)
        page.goto(workbook_server.page(NOTEBOOK))
        page.wait_for_selector("body:not(.ow-starting)")
        page.wait_for_selector(".ow-plot path.line", state="attached")
        page.wait_for_selector('.ow-control .noUi-handle[aria-label="Noise"]')
        wait_drawn(page)
        yield page


def _hear(page, line):
    line.on("framereceived", lambda frame: page.heard.append(frame))


@pytest.fixture
def bench(shown):
    """The page from its start: default values, nothing kept, nothing folded out."""
    shown.set_viewport_size({"width": 1440, "height": 900})
    shown.get_by_role("button", name="Reset", exact=True).click()
    shown.wait_for_function("() => bench.number('Blood carries') === '97 %'")
    shown.wait_for_function("() => bench.typed('Heart rate') === 72")
    wait_drawn(shown)
    yield shown
    if shown.locator(".ow-more").is_visible():
        button(shown, "Causes of doubt").click()
    assert shown.errors == []
    assert shown.outside == []


class TestMoving:
    @pytest.mark.parametrize("label", SLIDERS)
    def test_a_slider_moved_by_keys_changes_the_plots_that_depend_on_it(self, bench, label):
        key, words, dependent = SLIDERS[label]
        before = drawings(bench)
        typed = bench.evaluate("label => bench.typed(label)", label)
        number = bench.evaluate("words => bench.number(words)", words)
        handle(bench, label).focus()
        for _ in range(8):
            bench.keyboard.press(key)
        for title in dependent:
            bench.wait_for_function(
                "([title, before]) => bench.drawing(title) !== before", arg=[title, before[title]]
            )
        bench.wait_for_function(
            "([label, before]) => bench.typed(label) !== before", arg=[label, typed]
        )
        bench.wait_for_function(
            "([words, before]) => bench.number(words) !== before", arg=[words, number]
        )
        if LAYERS not in dependent:
            wait_drawn(bench)
            assert drawings(bench)[LAYERS] == before[LAYERS]

    def test_after_a_fast_drag_the_last_state_is_on_screen(self, bench):
        grip = handle(bench, "Arterial saturation").bounding_box()
        middle = grip["y"] + grip["height"] / 2
        start = grip["x"] + grip["width"] / 2
        bench.mouse.move(start, middle)
        bench.mouse.down()
        for step in range(60):  # to and fro, about a second at 60 events a second
            bench.mouse.move(start - 75 + 75 * (1 if step % 20 < 10 else -1) * step / 60, middle)
            bench.wait_for_timeout(16)
        bench.mouse.move(start - 60, middle)
        bench.mouse.up()
        bench.wait_for_function(
            """() => bench.typed("Arterial saturation") === bench.handle("Arterial saturation")
              && bench.number("Blood carries") === `${bench.typed("Arterial saturation")} %`"""
        )
        wait_drawn(bench)
        percent = bench.evaluate("bench.handle('Arterial saturation')")
        assert 60.0 < percent < 95.0
        assert bench.evaluate("bench.typed('Arterial saturation')") == percent
        assert bench.evaluate("bench.number('Blood carries')") == f"{percent:g} %"
        # the scale keeps half a mark's width at its ends, so that a few tenths are lost
        assert true_percent_drawn(bench) == pytest.approx(percent, abs=3.0)
        self.check_agreement(bench)

    def test_a_step_comes_in_one_message_for_all_widgets(self, bench):
        bench.heard.clear()
        handle(bench, "Arterial saturation").focus()
        bench.keyboard.press("ArrowLeft")
        bench.wait_for_function("() => bench.number('Blood carries') === '96.5 %'")
        wait_drawn(bench)
        heard = [Heard(each) for each in bench.heard if isinstance(each, bytes)]
        [updated] = [each.updated for each in heard if each.kind == "comm_msg"]
        assert len(set(updated)) == len(updated) > len(PLOTS)
        self.check_agreement(bench)

    def check_agreement(self, bench):
        """Sentences, strip and the dashed slope all tell the same R and number."""
        ratio = bench.evaluate("bench.number('Ratio R')")
        shown = bench.evaluate("bench.number('Meter shows')")
        assert f"The slope is R = {ratio}:" in bench.evaluate("t => bench.says(t)", RATIO)
        says = bench.evaluate("t => bench.says(t)", CURVE)
        assert f"R = {ratio} the curve says {shown}" in says
        told = bench.inner_text(".ow-strip .ow-live").replace("\u00a0", " ")
        assert f"The meter shows {shown};" in told
        path = bench.locator(".ow-plot", has_text=RATIO).locator("path.line").last
        points = [float(word) for word in re.findall(r"-?[\d.]+", path.get_attribute("d"))]
        area = bench.locator(".ow-plot", has_text=RATIO).locator(".plotarea_events")
        width, height = (float(area.get_attribute(name)) for name in ("width", "height"))
        slope = -(points[-1] - points[1]) / (points[-2] - points[0]) * width / height
        assert slope == pytest.approx(float(ratio), rel=0.03)

    def test_a_value_typed_between_two_notches_is_kept(self, bench):
        type_number(bench, "Arterial saturation", "91.3")
        bench.wait_for_function("() => bench.number('Blood carries') === '91.3 %'")
        wait_drawn(bench)
        assert bench.evaluate("bench.number('Blood carries')") == "91.3 %"
        assert bench.evaluate("bench.typed('Arterial saturation')") == 91.3
        bench.wait_for_function("() => [91, 91.5].includes(bench.handle('Arterial saturation'))")

    @pytest.mark.parametrize(("typed", "kept"), [("400", 220), ("-5", 30), ("abc", 72), ("", 72)])
    def test_bad_typing_leaves_the_page_alive_and_in_range(self, bench, typed, kept):
        type_number(bench, "Heart rate", typed or "\b")
        bench.wait_for_function("kept => bench.handle('Heart rate') === kept", arg=kept)
        bench.wait_for_function("kept => bench.typed('Heart rate') === kept", arg=kept)
        handle(bench, "Heart rate").focus()
        bench.keyboard.press("ArrowLeft" if kept == 220 else "ArrowRight")
        after = kept - 1 if kept == 220 else kept + 1
        bench.wait_for_function("after => bench.typed('Heart rate') === after", arg=after)

    def test_what_cannot_be_is_refused_in_words(self, bench):
        open_causes(bench)
        carboxy, met = (SPECS[f"{kind}haemoglobin"].label for kind in ("carboxy", "met"))
        type_number(bench, carboxy, "60")
        type_number(bench, met, "50")
        bench.wait_for_selector(".ow-notice [role=alert]:has-text('at most 0.9')")
        bench.wait_for_function("met => bench.typed(met) === 0", arg=met)
        assert bench.evaluate("met => bench.handle(met)", met) == 0

    def test_a_number_that_is_withheld_is_told_and_comes_back(self, bench):
        type_number(bench, "Perfusion index", "0.3")
        type_number(bench, "Noise", "1")
        bench.wait_for_function("() => bench.number('Meter shows') === '–'")
        bench.wait_for_selector(".ow-strip .ow-live:has-text('No number is shown.')")
        type_number(bench, "Noise", "0.02")
        bench.wait_for_function("() => bench.number('Meter shows') !== '–'")

    def test_the_whole_range_draws_without_a_complaint(self, bench):
        """A line that ended in NaN once made bqplot place a label at (x, undefined)."""
        for label in SLIDERS:
            for key in ("Home", "End"):
                handle(bench, label).focus()
                bench.keyboard.press(key)
                wait_drawn(bench)
                broken = "() => document.body.innerHTML.match(/(undefined|NaN)[,) L]/)"
                assert bench.evaluate(broken) is None


class TestButtons:
    def test_a_reference_is_kept_as_a_ghost_until_reset(self, bench):
        ghosts = ".svg-figure path.line[style*='--ow-ghost']:visible"
        before = drawings(bench)
        assert bench.locator(ghosts).count() == 0
        button(bench, "Keep as reference").click()
        bench.wait_for_selector(".ow-before:has-text('kept: 97 %')")
        bench.wait_for_selector(ghosts)
        assert bench.locator(ghosts).count() == 4
        type_number(bench, "Arterial saturation", "80")
        bench.wait_for_function("() => bench.number('Blood carries') === '80 %'")
        assert "kept: 97 %" in bench.inner_text(".ow-strip").replace("\u00a0", " ")
        button(bench, "Reset").click()
        bench.wait_for_selector(".ow-before", state="detached")
        bench.wait_for_function("() => bench.number('Blood carries') === '97 %'")
        wait_drawn(bench)
        assert bench.locator(ghosts).count() == 0
        for title in (LAYERS, PULSES, RATIO, CURVE):
            assert drawings(bench)[title].split(";")[-2:] == before[title].split(";")[-2:]

    def test_more_settings_show_and_hide(self, bench):
        more = number_field(bench, "Haemoglobin")
        assert not more.is_visible()
        open_causes(bench)
        more.wait_for(state="visible")
        handle(bench, "Infrared LED peak").wait_for(state="visible")
        button(bench, "Causes of doubt").click()
        more.wait_for(state="hidden")

    def test_another_curve_and_site_change_the_number(self, bench):
        open_causes(bench)
        before = bench.evaluate("bench.says('From ratio to number')")
        bench.get_by_label("Calibration curve in the meter").select_option(index=1)
        bench.wait_for_function(
            "before => bench.says('From ratio to number') !== before", arg=before
        )
        bench.get_by_label("Probe site").select_option("Forehead")
        bench.wait_for_function("() => !bench.says('What takes the light').includes('0.56 %')")

    def test_a_situation_is_set_told_and_marked(self, bench):
        button(bench, "Causes of doubt").click()
        button(bench, "Flickering lamp").click()
        bench.wait_for_selector(".ow-situation:has-text('Local protocols decide')")
        bench.wait_for_selector(".ow-group-top:has-text('Light, 2 changed')")
        shown = int(bench.evaluate("bench.number('Meter shows')").split()[0])
        assert 83 <= shown <= 91  # drawn towards the reading of R = 1
        button(bench, "Reset").click()
        bench.wait_for_selector(".ow-situation:has-text('Everything is as usual')")

    def test_data_are_saved_as_a_table(self, bench):
        type_number(bench, "Arterial saturation", "88")
        bench.wait_for_function("() => bench.number('Blood carries') === '88 %'")
        with bench.expect_download() as offered:
            button(bench, "Save data").click()
        assert offered.value.suggested_filename == "recording.csv"
        table = pd.read_csv(offered.value.path(), comment="#")
        assert list(table) == ["time_s", "red", "infrared", "reference_percent"]
        assert len(table) == 1000
        assert set(table["reference_percent"].round(6)) == {88.0}
        assert '"arterial_saturation": 0.88,' in Path(offered.value.path()).read_text("utf-8")

    @pytest.mark.parametrize("title", PLOTS)
    def test_a_plot_is_saved_as_a_picture(self, bench, title):
        content = self.saved(bench, title, "Save image", "png")
        assert content.startswith(PNG)
        width, height = (int.from_bytes(content[k : k + 4], "big") for k in (16, 20))
        assert width == 2000
        assert 1000 < height < 2000
        assert len(content) > 20_000, "a picture with little on it"

    def test_a_plot_is_saved_as_a_drawing_again_and_again(self, bench):
        drawings = [self.saved(bench, PULSES, "SVG", "svg").decode() for _ in range(2)]
        assert drawings[0] == drawings[1]
        for words in (PULSES, "time, seconds", "beat found", "not for diagnosis"):
            assert words in drawings[0]

    def saved(self, bench, title, words, ending):
        card = bench.locator(".ow-plot").filter(has=bench.locator("h3", has_text=title))
        with bench.expect_download() as offered:
            card.get_by_role("button", name=words, exact=True).click()
        assert offered.value.suggested_filename == title.lower().replace(" ", "-") + f".{ending}"
        return Path(offered.value.path()).read_bytes()


class TestReach:
    def test_tab_reaches_every_slider_field_and_button_in_order(self, bench):
        wanted = [f"{kind}: {label}" for label in SLIDERS for kind in ("input", "slider")]
        wanted += [f"button: {words}" for words in BUTTONS]
        wanted += ["button: Save image", "button: SVG"] * len(PLOTS)
        handle(bench, "Arterial saturation").focus()
        bench.keyboard.press("Shift+Tab")
        reached = []
        for _ in wanted:
            reached.append(
                bench.evaluate(
                    """() => {
                      const at = document.activeElement;
                      const kind = at.getAttribute("role") || at.tagName.toLowerCase();
                      return `${kind}: ${at.getAttribute("aria-label") || at.textContent.trim()}`;
                    }"""
                )
            )
            bench.keyboard.press("Tab")
        assert reached == wanted

    def test_buttons_answer_to_keys(self, bench):
        button(bench, "Keep as reference").focus()
        bench.keyboard.press("Enter")
        bench.wait_for_selector(".ow-before")
        button(bench, "Reset").focus()
        bench.keyboard.press("Space")
        bench.wait_for_selector(".ow-before", state="detached")
        button(bench, "Causes of doubt").focus()
        for state in ("visible", "hidden"):
            bench.keyboard.press("Space")
            button(bench, "Smoke").wait_for(state=state)

    def test_sliders_fields_and_plots_have_names(self, bench):
        for label in SLIDERS:
            assert handle(bench, label).count() == 1
            assert number_field(bench, label).count() == 1
        unnamed = bench.evaluate(
            """() => [...document.querySelectorAll(
                ".ow-panel input, .ow-panel select, .ow-panel .noUi-handle")]
              .filter((each) => !each.getAttribute("aria-label")).length"""
        )
        assert unnamed == 0
        for title in PLOTS:
            card = bench.locator(".ow-plot").filter(has=bench.locator("h3", has_text=title))
            for picture in card.locator("svg[role=img]").all():
                says = bench.evaluate("title => bench.says(title)", title)
                assert picture.get_attribute("aria-label").replace("\u00a0", " ") == says
        assert bench.locator(".ow-plot svg[role=img]").count() == 5

    def test_the_spoken_value_and_sentence_follow(self, bench):
        handle(bench, "Heart rate").focus()
        bench.keyboard.press("ArrowRight")
        bench.wait_for_selector('.noUi-handle[aria-label="Heart rate"][aria-valuetext="73"]')
        bench.wait_for_selector('.ow-plot svg[aria-label*="73\u00a0per minute"]')
        assert bench.get_attribute(".ow-strip .ow-live", "aria-live") == "polite"


class TestScreens:
    @pytest.mark.parametrize("theme", ["light", "dark"])
    @pytest.mark.parametrize(("width", "height"), SIZES)
    @pytest.mark.parametrize("more", [False, True], ids=["folded", "unfolded"])
    def test_nothing_is_cut_off_or_overlaps(self, bench, layout_faults, width, height, theme, more):
        if bench.get_attribute("html", "data-theme") != theme:
            bench.click("[data-ow-theme]")
        bench.set_viewport_size({"width": width, "height": height})
        if more:
            open_causes(bench)
            number_field(bench, "Haemoglobin").wait_for(state="visible")
        see_every_plot(bench)
        assert layout_faults(bench) == {}

    @pytest.mark.parametrize("theme", ["light", "dark"])
    def test_words_in_plots_stand_out_from_the_page(self, bench, theme):
        """WCAG 2.1, criterion 1.4.3: a contrast of at least 4.5 to 1."""
        if bench.get_attribute("html", "data-theme") != theme:
            bench.click("[data-ow-theme]")
        surface = channels(bench, ".ow-card", "backgroundColor")
        for words in (".axislabel", ".tick text"):
            assert contrast(channels(bench, f".bqplot {words}", "fill"), surface) >= 4.5


def channels(page, selector, trait):
    colour = page.evaluate(
        "([s, t]) => getComputedStyle(document.querySelector(s))[t]", [selector, trait]
    )
    return [int(word) / 255 for word in re.findall(r"\d+", colour)[:3]]


def contrast(one, other):
    """Contrast of two sRGB colours (WCAG 2.1, definitions of relative luminance and contrast)."""

    def luminance(colour):
        linear = [c / 12.92 if c <= 0.03928 else ((c + 0.055) / 1.055) ** 2.4 for c in colour]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)
