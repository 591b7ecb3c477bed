"""Pages to compare, each on a server of its own on loopback: a bare one, and the bench."""

import os
import shutil
import socket
import subprocess
import sys
import tempfile
import time
from contextlib import ExitStack, contextmanager
from pathlib import Path

import nbformat

WIDGETS = Path(__file__).resolve().parents[2] / "widgets"
LOAD = Path(__file__).resolve().parents[1] / "load"
if str(LOAD) not in sys.path:
    sys.path.append(str(LOAD))

HOST = "127.0.0.1"
PATIENCE_S = 120
BENCH, BARE = "06_bench.ipynb", "bare.ipynb"
CODE = "K7MPQR"
NO_BROWSER = (
    "Not measured: no Chromium found. On Debian or Ubuntu run 'apt-get install chromium', "
    "elsewhere set OXIMETRY_CHROMIUM to its path; 'pip install playwright' drives it."
)
LAUNCH_ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--host-resolver-rules=MAP * ~NOTFOUND , EXCLUDE 127.0.0.1",
]
BARE_PAGE = """
import bqplot, ipywidgets as widgets, numpy as np
x = np.linspace(0.0, 1.0, 200)
scales = {"x": bqplot.LinearScale(min=0, max=1), "y": bqplot.LinearScale(min=-100, max=100)}
line = bqplot.Lines(x=x, y=97.0 * np.sin(6.0 * x), scales=scales)
axes = [bqplot.Axis(scale=scales["x"]), bqplot.Axis(scale=scales["y"], orientation="vertical")]
slider = widgets.FloatSlider(value=97.0, min=50.0, max=100.0, step=0.5)
def moved(change):
    line.y = change["new"] * np.sin(6.0 * x)
slider.observe(moved, "value")
widgets.VBox([slider, bqplot.Figure(marks=[line], axes=axes)])
"""
"""The least that has a slider and a plot that follows: one line of 200 points."""


def chromium_path(playwright):
    """Where Chromium is, or None."""
    candidates = [os.environ.get("OXIMETRY_CHROMIUM"), shutil.which("chromium")]
    candidates.append(playwright.chromium.executable_path)
    return next((each for each in candidates if each and Path(each).exists()), None)


@contextmanager
def chromium():
    """A Chromium that reaches nothing but this machine; None where there is none."""
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        yield None
        return
    with sync_playwright() as playwright:
        path = chromium_path(playwright)
        browser = path and playwright.chromium.launch(executable_path=path, args=LAUNCH_ARGUMENTS)
        yield browser
        if browser:
            browser.close()


@contextmanager
def served(folder, words):
    """Run a server; give its address. Such words end with a port to be given."""
    with socket.socket() as probe:
        probe.bind((HOST, 0))
        port = probe.getsockname()[1]
    environment = os.environ | {"PYTHONPATH": str(WIDGETS)}
    log = Path(folder) / "server.log"
    with log.open("w") as stream:
        server = subprocess.Popen(
            [sys.executable, "-m", *words, f"--port={port}"],
            env=environment,
            cwd=folder,
            stdout=stream,
            stderr=subprocess.STDOUT,
        )
    try:
        _wait_for(server, port, log)
        yield f"http://{HOST}:{port}"
    finally:
        server.terminate()
        server.wait(timeout=PATIENCE_S)


def _wait_for(server, port, log):
    deadline = time.monotonic() + PATIENCE_S
    while True:
        with socket.socket() as probe:
            if probe.connect_ex((HOST, port)) == 0:
                return
        if server.poll() is not None or time.monotonic() > deadline:
            raise RuntimeError(f"the server does not answer: {log.read_text()}")
        time.sleep(0.2)


@contextmanager
def pages():
    """Addresses of the bare page, in Voila as it comes, of the bench, and of a class's bench."""
    with ExitStack() as stack:
        bare, ours, room = (stack.enter_context(tempfile.TemporaryDirectory()) for _ in range(3))
        cells = [nbformat.v4.new_code_cell(BARE_PAGE)]
        notebook = nbformat.v4.new_notebook(cells=cells)
        notebook.metadata["kernelspec"] = {"name": "python3", "display_name": "Python 3"}
        nbformat.write(notebook, Path(bare) / BARE)
        voila = ["voila", bare, "--no-browser", f"--Voila.ip={HOST}"]
        stock = stack.enter_context(served(bare, voila))
        own = stack.enter_context(served(ours, ["oximetry_workbook.app", "--no-browser"]))
        options = [f"--address={HOST}", f"--code={CODE}", "--no-browser"]
        held = stack.enter_context(served(room, ["oximetry_workbook.app", "class", *options]))
        yield (
            f"{stock}/voila/render/{BARE}",
            f"{own}/voila/render/{BENCH}",
            f"{held}/class?code={CODE}",
        )
