"""Stills made without a browser put everything where bqplot puts it in one."""

import bqplot
import ipywidgets as widgets
import numpy as np
import pytest

from oximetry_workbook import panels
from oximetry_workbook.panels import look
from oximetry_workbook.panels.still_axes import ticks
from oximetry_workbook.panels.still_scales import Plot

NOTEBOOKS = {"02_colour_of_blood": "blood", "06_bench": "bench", "10_other_blood": "other_blood"}
"""Logarithmic axes, symbols and columns among them; nothing in them is left to chance."""

SEEN = """
() => [...document.querySelectorAll(".ow-panel .bqplot")].map((plot) => {
  const place = (each) => each.getAttribute("transform").match(/translate\\(([^)]*)\\)/)[1]
    .split(",").map(Number);
  const area = plot.querySelector(".plotarea_background");
  return {
    size: ["width", "height"].map((side) => Number(area.getAttribute(side))),
    ticks: [...plot.querySelectorAll(".axis .tick")]
      .map((tick) => [...place(tick), tick.textContent]),
    symbols: [...plot.querySelectorAll(".object_grp")]
      .filter((each) => each.getClientRects().length).map(place),
  };
})
"""


@pytest.fixture(params=NOTEBOOKS)
def seen_and_drawn(request, page, workbook_server):
    """What the browser shows of each figure, and the same figure in this process."""
    page.set_viewport_size({"width": 1440, "height": 900})
    page.goto(workbook_server.page(f"{request.param}.ipynb"))
    page.wait_for_selector("body:not(.ow-starting)")
    page.wait_for_selector(".ow-panel .bqplot .axis .tick", state="attached")
    for plot in page.locator(".ow-panel .bqplot").all():
        plot.scroll_into_view_if_needed()  # bqplot fits a plot once it comes into view
    page.wait_for_timeout(1000)
    panel = getattr(panels, NOTEBOOKS[request.param])()
    figures = [figure for card in look.stills(panel) for figure in card.figures]
    yield list(zip(page.evaluate(SEEN), figures, strict=True))
    widgets.Widget.close_all()


def written(text):
    return text.replace("-", "−")  # bqplot writes a hyphen


def test_ticks_and_symbols_stand_where_the_browser_puts_them(seen_and_drawn):
    for seen, figure in seen_and_drawn:
        plot = Plot(figure, None, *seen["size"])
        wanted = []
        for axis in figure.axes:
            for at, text in ticks(plot, axis):
                level = axis.side == "bottom"
                wanted.append((at, 0.0, text) if level else (0.0, plot.height - at, text))
        assert [written(text) for *_, text in seen["ticks"]] == [text for *_, text in wanted]
        # the browser moves ticks by half a pixel, to fill whole ones
        close([place[:2] for place in seen["ticks"]], [place[:2] for place in wanted], pixels=1.01)
        close(seen["symbols"], symbols(plot), pixels=0.51)


def symbols(plot):
    for mark in plot.figure.marks:
        if isinstance(mark, bqplot.Scatter) and mark.visible:
            across = plot.across(mark.scales["x"], mark.x)
            up = plot.height - plot.up(mark.scales["y"], mark.y)
            yield from zip(across, up, strict=True)


def close(seen, wanted, pixels):
    seen, wanted = (np.array(list(each), float).reshape(-1, 2) for each in (seen, wanted))
    np.testing.assert_allclose(seen, wanted, rtol=0.0, atol=pixels)
