"""A real server, a real browser: what the tests in this folder share."""

import os
import shutil
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from contextlib import contextmanager
from functools import partial
from pathlib import Path

import nbformat
import pytest

REPOSITORY = Path(__file__).resolve().parents[2]
# for the pages' helpers, and for `wire`, the form of messages
sys.path[:0] = [str(Path(__file__).parent), str(REPOSITORY / "tests" / "load")]
NO_CHROMIUM = (
    "No Chromium found: on Debian or Ubuntu run 'apt-get install chromium', "
    "elsewhere set OXIMETRY_CHROMIUM to its path"
)
LAUNCH_ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    # No name and no address but this machine's leads anywhere, as on a network that is cut off.
    "--host-resolver-rules=MAP * ~NOTFOUND , EXCLUDE 127.0.0.1",
]
PATIENCE_S = 120
PANEL = """
import bqplot as bq, ipywidgets as widgets, numpy as np
scales = {"x": bq.LinearScale(min=0, max=1), "y": bq.LinearScale(min=0, max=10)}
line = bq.Lines(x=[0.0, 1.0], y=[0.0, 1.0], scales=scales, colors=["var(--ow-red)"])
figure = bq.Figure(marks=[line], axes=[bq.Axis(scale=scales["x"], label="Time (s)")],
                   layout=widgets.Layout(width="auto", height="240px"), animation_duration=0)
slider = widgets.FloatSlider(min=0, max=10, value=1, step=0.5, readout=False)
field = widgets.FloatText(value=1)
widgets.jslink((slider, "value"), (field, "value"))
says = widgets.HTML("The line ends at 1.")
live = widgets.HTML("One.")
offer = widgets.HTML()
save = widgets.Button(description="Save data")
def moved(change):
    line.y = np.array([0.0, change["new"]])
    says.value = f"The line ends at {change['new']:g}."
slider.observe(moved, "value")
link = '<a data-ow-download download="data.csv" href="data:text/csv,time_s%0A0">data.csv</a>'
save.on_click(lambda _: offer.set_trait("value", link))
control = widgets.VBox([widgets.Label("Height of the line"), widgets.HBox([slider, field])])
plot = widgets.VBox([figure, says])
more = widgets.Accordion([widgets.Label("inside")], titles=["More"])
for widget, name in ((control, "ow-control"), (plot, "ow-plot"), (says, "ow-plot-says"),
                     (live, "ow-live")):
    widget.add_class(name)
widgets.VBox([control, plot, live, save, offer, more])
"""
"""A panel as the workbook's own are built, but so small that these tests do not hang on them."""


def chromium_path(playwright):
    """Return where Chromium is; skip the test where there is none."""
    candidates = [os.environ.get("OXIMETRY_CHROMIUM"), shutil.which("chromium")]
    candidates.append(playwright.chromium.executable_path)
    for candidate in candidates:
        if candidate and Path(candidate).exists():
            return candidate
    return pytest.skip(NO_CHROMIUM)


def _free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def _status_at(address):
    """Return the HTTP status at `address`, or 0 if nobody answers there."""
    try:
        with urllib.request.urlopen(address, timeout=5) as answer:
            return answer.status
    except urllib.error.HTTPError as refusal:
        return refusal.code
    except OSError:
        return 0


def _wait_until(condition, what):
    deadline = time.monotonic() + PATIENCE_S
    while not condition():
        assert time.monotonic() < deadline, f"waited {PATIENCE_S} s in vain until {what}"
        time.sleep(0.2)


class Server:
    """The command as a learner starts it.

    Attributes:
        url: Its address, with a slash at the end.
        process: The process, for tests that look at its kernels.
        log: The file that holds what it printed.
    """

    def __init__(self, log, *arguments):
        port = _free_port()
        self.url = f"http://127.0.0.1:{port}/"
        self.log = log
        command = [sys.executable, "-m", "oximetry_workbook.app", *arguments]
        environment = os.environ | {"PYTHONPATH": str(REPOSITORY / "widgets")}
        with log.open("w") as stream:
            self.process = subprocess.Popen(
                [*command, "--no-browser", "--port", str(port)],
                env=environment,
                cwd=log.parent,
                stdout=stream,
                stderr=subprocess.STDOUT,
            )
        _wait_until(self._up, "the server answers")

    def _up(self):
        assert self.process.poll() is None, self.log.read_text()
        return _status_at(self.url)

    def page(self, notebook):
        return f"{self.url}voila/render/{notebook}"

    def kernel(self, kernel_id):
        return f"{self.url}api/kernels/{kernel_id}"

    def interrupt(self):
        """End it as Ctrl-C does; return its exit status."""
        self.process.send_signal(signal.SIGINT)
        return self.process.wait(timeout=PATIENCE_S)


@contextmanager
def _serving(folder, *arguments):
    server = Server(folder / "server.log", *arguments)
    try:
        yield server
    finally:
        if server.process.poll() is None:
            server.interrupt()


# Test modules are imported one by one and cannot import this one: fixtures hand the helpers over.
@pytest.fixture(scope="session")
def free_port():
    return _free_port


@pytest.fixture(scope="session")
def serve():
    return _serving


@pytest.fixture(scope="session")
def wait_until():
    return _wait_until


@pytest.fixture(scope="session")
def status_at():
    return _status_at


@pytest.fixture(scope="session")
def browser():
    sync_api = pytest.importorskip("playwright.sync_api")
    with sync_api.sync_playwright() as playwright:
        path = chromium_path(playwright)
        chromium = playwright.chromium.launch(executable_path=path, args=LAUNCH_ARGUMENTS)
        yield chromium
        chromium.close()


@pytest.fixture(scope="session")
def scratch_notebooks(tmp_path_factory):
    """Two small chapters: prose alone, and a panel."""
    folder = tmp_path_factory.mktemp("notebooks")
    markdown, code = nbformat.v4.new_markdown_cell, nbformat.v4.new_code_cell
    chapters = {
        "00_start.ipynb": [markdown("# A start\n\nWith $x^2$ and [the panel](01_panel.ipynb).")],
        "01_panel.ipynb": [markdown("# A panel"), code(PANEL)],
    }
    for name, cells in chapters.items():
        notebook = nbformat.v4.new_notebook(cells=cells)
        notebook.metadata["kernelspec"] = {"name": "python3", "display_name": "Python 3"}
        notebook.metadata["title"] = "Small panel" if "panel" in name else "Start here"
        nbformat.write(notebook, folder / name)
    return folder


@pytest.fixture(scope="session")
def scratch_server(browser, scratch_notebooks, tmp_path_factory):
    folder = tmp_path_factory.mktemp("scratch")
    with _serving(folder, "--notebooks", str(scratch_notebooks)) as server:
        yield server


@pytest.fixture(scope="session")
def workbook_server(browser, tmp_path_factory):
    """The command without any choice of notebooks: it serves the workbook's own."""
    with _serving(tmp_path_factory.mktemp("workbook")) as server:
        yield server


@contextmanager
def _watched_page(browser, **options):
    context = browser.new_context(viewport={"width": 1440, "height": 900}, **options)
    context.set_default_timeout(PATIENCE_S * 1000)
    page = context.new_page()
    page.errors, page.outside = [], []
    page.on("pageerror", lambda error: page.errors.append(str(error)))
    page.on("console", lambda said: said.type == "error" and page.errors.append(said.text))
    page.on("request", lambda request: _note_outside(page, request.url))
    page.on("websocket", lambda line: _note_outside(page, line.url))
    yield page
    context.close()


@pytest.fixture
def page(browser):
    """A page that keeps its own errors in `.errors` and requests to elsewhere in `.outside`.

    An error counts as ours whatever its source; a test that provokes one empties the list.
    """
    with _watched_page(browser) as page:
        yield page


def _layout_faults(page):
    """List what sticks out, overlaps or is cut off on a page, by kind; empty when all is well."""
    page.evaluate((Path(__file__).parent / "layout_faults.js").read_text("utf-8"))
    found = page.evaluate(
        "() => Object.fromEntries("
        "Object.entries(layoutFaults).map(([kind, list]) => [kind, list()]))"
    )
    found["scrollsSideways"] = page.evaluate(
        "() => document.documentElement.scrollWidth > innerWidth ? ['the page'] : []"
    )
    return {kind: faults for kind, faults in found.items() if faults}


@pytest.fixture(scope="session")
def layout_faults():
    return _layout_faults


@pytest.fixture(scope="session")
def watched_page(browser):
    """Make such a page, for tests that share one: `with watched_page() as page`."""
    return partial(_watched_page, browser)


def _note_outside(page, address):
    inside = ("http://127.0.0.1:", "ws://127.0.0.1:", "data:", "blob:", "about:")
    if not address.startswith(inside):
        page.outside.append(address)
