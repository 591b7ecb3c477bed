"""What tests of the bench's page share: what is on it, and how it is used."""

PLOTS = ("What takes the light", "The two pulses", "Red against infrared", "From ratio to number")
LOWEST_PERCENT, HIGHEST_PERCENT = 30.0, 102.0
"""Ends of the saturation axis [%]."""

HELPERS = """
window.bench = {
  card: (title) => [...document.querySelectorAll(".ow-plot")].find(
    (card) => card.querySelector("h3").textContent === title),
  // everything drawn between the axes of a plot, as text to compare
  drawing: (title) => [...bench.card(title).querySelectorAll(
    ".svg-figure path.line, .svg-figure rect.bar, .svg-figure .object_grp")]
    .map((mark) => ["d", "y", "height", "transform"].map((name) => mark.getAttribute(name)).join())
    .join(";"),
  control: (label) => [...document.querySelectorAll(".ow-control")].find(
    (control) => control.querySelector(".widget-label").textContent === label),
  typed: (label) => Number(bench.control(label).querySelector("input").value),
  handle: (label) => Number(
    bench.control(label).querySelector(".noUi-handle").getAttribute("aria-valuenow")),
  number: (words) => [...document.querySelectorAll(".ow-cell")].find(
    (cell) => cell.querySelector(".ow-words").textContent === words)
    .querySelector(".ow-value").textContent.replaceAll("\u00a0", " "),
  says: (title) => bench.card(title).querySelector(".ow-plot-says").textContent.trim()
    .replaceAll("\u00a0", " "),
  // the true saturation as the diamond on the curve's plot has it, read off its axis
  truth: () => {
    const plot = bench.card("From ratio to number");
    const height = Number(plot.querySelector(".plotarea_events").getAttribute("height"));
    const place = [...plot.querySelectorAll(".object_grp")].at(-1).getAttribute("transform");
    return { y: Number(/,\\s*([-\\d.]+)\\)/.exec(place)[1]), height };
  },
};
"""


def wait_drawn(page):
    """Wait until every plot shows the present state: nothing changes over a few frames."""
    page.wait_for_function(
        """() => {
          const now = document.querySelectorAll(".ow-plot").length === 4
            && [...document.querySelectorAll(".ow-plot h3")]
              .map((title) => bench.drawing(title.textContent)).join("|");
          const still = now && now === bench.before;
          bench.before = now;
          return still;
        }""",
        polling=250,
    )


def see_every_plot(page):
    """Scroll from plot to plot: bqplot fits a plot to its new size once it comes into view."""
    for plot in page.locator(".ow-panel .bqplot").all():
        plot.scroll_into_view_if_needed()
        page.wait_for_function(
            """plot => {
              const [whole, area] = [plot, plot.querySelector(".plotarea_background")]
                .map((each) => each.getBoundingClientRect());
              return Math.abs(whole.right - area.right - 16) < 1 && area.left - whole.left < 70
                && [32, 52].some((room) => Math.abs(whole.bottom - area.bottom - room) < 1);
            }""",
            arg=plot.element_handle(),
        )
    wait_drawn(page)


def open_causes(page):
    """Open the drawer and every group in it."""
    button(page, "Causes of doubt").click()
    for group in page.locator(".ow-group-top:not(.mod-active)").all()[::-1]:
        group.click()


def handle(page, label):
    return page.get_by_role("slider", name=label, exact=True)


def number_field(page, label):
    return page.get_by_role("spinbutton", name=label, exact=True)


def button(page, words):
    return page.get_by_role("button", name=words, exact=True)


def drawings(page):
    return {title: page.evaluate("title => bench.drawing(title)", title) for title in PLOTS}


def true_percent_drawn(page):
    """Saturation at the diamond of the curve's plot, by the ends of its axis [%]."""
    place = page.evaluate("bench.truth()")
    return HIGHEST_PERCENT - (HIGHEST_PERCENT - LOWEST_PERCENT) * place["y"] / place["height"]


def type_number(page, label, words):
    field = number_field(page, label)
    field.click()
    field.press("Control+a")
    page.keyboard.type(words)
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
