"""What a load test found, as figures and as Markdown."""

import os
import platform
from datetime import date
from importlib.metadata import version

import psutil

PACKAGES = ("voila", "jupyter_server", "ipywidgets", "bqplot", "tornado", "ipykernel")
CASES = {
    "one alone": "alone",
    "together": "together",
    "one alone, real browser": "alone, browser",
    "together, real browser": "together, browser",
}


def summary(opened_s, latencies_s):
    """Times to the first plot and from a move to its answer [s]."""
    opened, moves = sorted(opened_s), sorted(latencies_s)
    return {
        "learners": len(opened),
        "first plot, median, s": quantile(opened, 0.5),
        "first plot, slowest, s": opened[-1],
        "moves": len(moves),
        "move, median, ms": 1000 * quantile(moves, 0.5),
        "move, 95th percentile, ms": 1000 * quantile(moves, 0.95),
    }


def quantile(ordered, share):
    """The value below which this share of an ordered list lies; the nearest of them."""
    return ordered[min(len(ordered) - 1, round(share * (len(ordered) - 1)))]


def machine(browser_version, load_before):
    """What it ran on, in words; `load_before` is the load average before it began."""
    versions = ", ".join(f"{name} {version(name)}" for name in PACKAGES)
    memory_gb = psutil.virtual_memory().total / 1e9
    return (
        f"{date.today()}; {os.cpu_count()} cores, {memory_gb:.0f} GB, {platform.system()}; "
        f"Python {platform.python_version()}, {versions}; Chromium {browser_version}. Load average "
        f"before it began: {load_before:.1f}; what is above 0 is other work on the same cores."
    )


def markdown(found, about, learners, minutes):
    """The figures as tables."""
    columns = list(found["alone"])
    lines = [["", *columns], ["---"] * (len(columns) + 1)]
    lines += [[name, *map(_cell, found[key].values())] for name, key in CASES.items()]
    other = {name: value for name, value in found.items() if not isinstance(value, dict)}
    lines += [[], ["found", "value"], ["---", "---"]]
    lines += [[name, _cell(value)] for name, value in other.items()]
    body = "\n".join("| " + " | ".join(line) + " |" if line else "" for line in lines)
    return f"# A class of {learners}, moving sliders for {minutes:g} minutes\n\n{about}\n\n{body}\n"


def _cell(value):
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:.0f}" if isinstance(value, int) or value >= 100 else f"{value:.3g}"
