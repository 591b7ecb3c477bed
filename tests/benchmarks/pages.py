"""The bench in a browser beside a bare page: time to its first plot, a move, a long drag."""

from collections import Counter
from contextlib import contextmanager
from dataclasses import astuple, dataclass
from itertools import cycle
from statistics import median

from budgets import Budget
from result_table import Table
from served_pages import NO_BROWSER, chromium, pages
from watched_page import WatchedPage

MOVES = 20
DRAG_S = 3.0
"""So long the slider is dragged, at 60 events a second [s]."""
MOVE_LIMIT, OPEN_LIMIT, WARM_LIMIT = 1.5, 1.3, 0.5
"""Times the bare page, and for a warm kernel times the bench without one."""
DRAG_LIMIT_MS, BYTES_LIMIT_KB, MESSAGES_LIMIT = 150.0, 60.0, 1
BARE, BENCH, WARM = "a bare page", "the bench", "the bench, kernel ready"


@dataclass(frozen=True)
class Moved:
    """What moving a page's slider took: a step [ms], sent for it [kB], messages, lag [ms]."""

    step_ms: float
    kilobytes: float
    messages: int
    lag_ms: float


def page_tables(rounds):
    """Two tables, and none but their headings without a browser."""
    with chromium() as browser:
        if browser is None:
            yield Table("The bench in a browser", NO_BROWSER, ["what"])
            return
        with pages() as addresses:
            named = dict(zip((BARE, BENCH, WARM), addresses, strict=True))
            yield opening_table(browser, named, rounds)
            yield moving_table(browser, {name: named[name] for name in (BARE, BENCH)})


@contextmanager
def opened(browser, address):
    """A page in a browser that has never seen it, and the time to its first plot [s]."""
    page = WatchedPage(browser)
    try:
        yield page, page.open(address)
    finally:
        page.close()


def opening_table(browser, named, rounds):
    """Time to the first plot, all pages in turn, with nothing in the browser's store."""
    taken = {name: [] for name in named}
    for turn in range(rounds + 1):
        for name, address in named.items():
            with opened(browser, address) as (page, first_s):
                page.watch()  # another page must not wait for this one's last plots
                if turn:
                    taken[name].append(first_s)
    table = Table(
        "From the link to the first plot",
        f"Chromium without anything stored, loopback, median of {rounds} rounds in turn. The bare "
        "page is a notebook of one slider and one line in Voila as it comes. The kernel that is "
        "ready is a spare one of `oximetry-workbook class`.",
        ["what", "seconds", "times bare", "slowest, s"],
    )
    for name, times in taken.items():
        table.rows.append([name, median(times), _over(times, taken[BARE]), max(times)])
    for name, other, limit in ((BENCH, BARE, OPEN_LIMIT), (WARM, BENCH, WARM_LIMIT)):
        table.budgets.append(
            Budget(
                f"link to first plot, {name} over {other}",
                limit,
                "times",
                _over(taken[name], taken[other]),
                f"{other}: {median(taken[other]):.2g} s",
            )
        )
    return table


def moving_table(browser, named):
    """A key's step of the first slider, a drag of three seconds, and what they send."""
    found = {name: _moved(browser, address) for name, address in named.items()}
    table = Table(
        "Moving a slider of the bench, in the browser",
        f"From the key until the frame in which the last plot has changed, median of {MOVES} "
        f"steps; bytes and messages from the kernel for one step; then {DRAG_S:g} s of dragging at "
        "60 events a second, and the lag from the last event until its state is on the screen.",
        ["what", "step, ms", "kB a step", "messages for one widget, most", "lag after a drag, ms"],
    )
    for name, figures in found.items():
        table.rows.append([name, *astuple(figures)])
    bench, bare = found[BENCH], found[BARE]
    limits = [
        Budget("lag after three seconds of dragging", DRAG_LIMIT_MS, "ms", bench.lag_ms),
        Budget("sent for a step of a slider", BYTES_LIMIT_KB, "kB", bench.kilobytes),
        Budget("messages to one widget for a step", MESSAGES_LIMIT, "", bench.messages),
    ]
    over = bench.step_ms / bare.step_ms
    floor = f"{BARE}: {bare.step_ms:.3g} ms"
    step = Budget("a slider's step until it is on the screen", MOVE_LIMIT, "times", over, floor)
    table.budgets += [step, *limits]
    return table


def _moved(browser, address):
    steps_ms, kilobytes, messages = [], [], Counter()
    with opened(browser, address) as (page, _):
        page.watch()
        keys = cycle(["ArrowLeft"] * 5 + ["ArrowRight"] * 5)
        for turn in range(MOVES + 1):
            taken = page.move(next(keys))
            if turn:
                size, counted = page.sent()
                steps_ms.append(taken)
                kilobytes.append(size / 1000)
                messages |= counted
        lag_ms, _ = page.drag(DRAG_S)
    return Moved(median(steps_ms), median(kilobytes), max(messages.values()), lag_ms)


def _over(times, floor):
    """Median over rounds of the ratio within a round."""
    return median(a / b for a, b in zip(times, floor, strict=True))
