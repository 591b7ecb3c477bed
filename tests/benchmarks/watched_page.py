"""A page in the browser whose plots are watched."""

import time
from collections import Counter
from itertools import chain
from math import sin, tau
from pathlib import Path
from urllib.parse import urlsplit

REDRAW = Path(__file__).with_name("redraw.js").read_text("utf-8")
PATIENCE_MS = 120_000
STILL_MS = 300
"""Plots that have not changed for so long have redrawn."""
DRAG_STILL_MS = 1000
EVENTS_PER_S = 60.0
SLIDER = ".noUi-handle"


class WatchedPage:
    """One page, from its first request on.

    Attributes:
        page: Playwright's page.
        files: What it fetched besides itself, as paths.
        frames: What its kernel sent since `forget`.
    """

    def __init__(self, browser):
        self.context = browser.new_context(viewport={"width": 1440, "height": 900})
        self.context.set_default_timeout(PATIENCE_MS)
        self.page = self.context.new_page()
        self.page.add_init_script(REDRAW)
        self.files, self.frames = [], []
        self.page.on("request", self._note)
        self.page.on("websocket", lambda line: line.on("framereceived", self._hear))

    def open(self, address):
        """Open it; return the time until its first plot was drawn [s]."""
        self.page.goto(address, wait_until="commit")
        self.page.wait_for_function("() => window.redraw && redraw.first !== null")
        return self.page.evaluate("() => redraw.first") / 1000

    def watch(self):
        """Begin to watch its plots, once they are at rest."""
        self.handle = self.page.locator(SLIDER).first
        self.handle.wait_for()
        self.page.wait_for_timeout(2000)
        self.page.evaluate("() => redraw.watch()")

    def move(self, key):
        """Press a key on the first slider; return the time until the plots had redrawn [ms]."""
        self.handle.focus()
        self._forget()
        self.page.keyboard.press(key)
        return self._settled(STILL_MS)

    def drag(self, length_s):
        """Drag the first slider to and fro; return the lag at the end [ms] and events a second.

        The lag is from the last event until the last change was on screen; the mouse stays down.
        """
        box = self.handle.bounding_box()
        left, height = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
        count = round(length_s * EVENTS_PER_S)
        self.page.mouse.move(left, height)
        self.page.mouse.down()
        self._forget()
        start = time.perf_counter()
        for event in range(1, count + 1):
            time.sleep(max(0.0, start + event / EVENTS_PER_S - time.perf_counter()))
            # ends in the middle of a sweep, in full motion
            self.page.mouse.move(left - 100.0 * abs(sin(tau * 0.4 * event / EVENTS_PER_S)), height)
        taken_s = time.perf_counter() - start
        lag_ms = self._settled(DRAG_STILL_MS)
        self.page.mouse.up()
        return lag_ms, count / taken_s

    def sent(self):
        """Bytes since the last move began, and how often each widget was told of a change."""
        from wire import Heard

        heard = [Heard(frame) for frame in self.frames if isinstance(frame, bytes)]
        updated = (each.updated for each in heard if each.kind == "comm_msg")
        return sum(map(len, self.frames)), Counter(chain.from_iterable(updated))

    def close(self):
        """Leave as a learner does, so that the server ends the kernel where it can."""
        self.page.close(run_before_unload=True)
        self.context.close()

    def _forget(self):
        self.frames.clear()
        self.page.evaluate("() => redraw.forget()")

    def _settled(self, still_ms):
        return self.page.evaluate(
            "([still, patience]) => redraw.settled(still, patience)", [still_ms, PATIENCE_MS]
        )

    def _hear(self, frame):
        self.frames.append(frame)

    def _note(self, request):
        parts = urlsplit(request.url)
        if parts.path.startswith(("/voila/", "/static/")) and "/render/" not in parts.path:
            self.files.append(parts._replace(scheme="", netloc="").geturl())
