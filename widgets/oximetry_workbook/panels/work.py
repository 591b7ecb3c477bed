"""Work that takes longer than a moment: in slices, with progress, and it can be cancelled."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Iterator
from typing import Any

import ipywidgets as widgets

from oximetry_workbook.panels.notice import Notice

Slices = Iterator[tuple[float, Any]]
"""What long work is written as: a generator of (share done from 0 to 1, result so far)."""

PAUSE_S = 0.001
"""Between slices the kernel hears what came in meanwhile: a slider, or Cancel."""


class Work:
    """A button that starts long work, its progress, and a button that ends it early.

    The kernel has one thread. Each slice should take a tenth of a second or so: between slices
    the page can be used, and what is shown grows.

    Attributes:
        widget: What to put on the page.
        running: Whether slices are left to do.
    """

    def __init__(
        self,
        start: Callable[[], Slices],
        show: Callable[[Any], None],
        notice: Notice,
        description: str,
    ) -> None:
        """Make the buttons.

        Args:
            start: Begins the work anew; called at each press.
            show: Draws a result so far; called after each slice.
            notice: Where to tell of a failure.
            description: What the button that starts it says.
        """
        self._start, self._show = start, show
        self._slices: Slices | None = None
        self.button = widgets.Button(description=description)
        self.stop_button = widgets.Button(description="Cancel")
        self.progress = widgets.FloatProgress(min=0.0, max=1.0, value=0.0)
        self.button.on_click(notice.guard(lambda _: self.begin()))
        self.stop_button.on_click(notice.guard(lambda _: self.cancel()))
        self._guarded_step = notice.guard(self._step)
        self.widget = widgets.HBox([self.button, self.progress, self.stop_button])
        self.widget.add_class("ow-work")
        self._mark()

    @property
    def running(self) -> bool:
        """Whether slices are left to do."""
        return self._slices is not None

    def begin(self) -> None:
        """Start anew; what was running is dropped."""
        self._slices = self._start()
        self.progress.value = 0.0
        self._mark()
        try:
            loop = asyncio.get_running_loop()
        except RuntimeError:  # a script without an event loop: nobody is there to press Cancel
            while self.running:
                self._step()
        else:
            loop.call_soon(self._next, self._slices)

    def cancel(self) -> None:
        """Leave off; what was shown last stays."""
        self._slices = None
        self._mark()

    def _next(self, slices: Slices) -> None:
        if self._slices is not slices:  # cancelled or begun anew meanwhile
            return
        self._guarded_step()
        if self.running:
            asyncio.get_running_loop().call_later(PAUSE_S, self._next, slices)

    def _step(self) -> None:
        assert self._slices is not None
        try:
            found = next(self._slices, None)
            if found is not None:
                self.progress.value = found[0]
                self._show(found[1])
        except Exception:
            self.cancel()  # whoever guards this tells of it
            raise
        if found is None:
            self.cancel()

    def _mark(self) -> None:
        self.button.disabled = self.running
        for each in (self.progress, self.stop_button):
            each.layout.display = None if self.running else "none"
