"""A move from one situation to the next that can be followed by eye, in about a second."""

from __future__ import annotations

import asyncio
from collections.abc import Callable

from oximetry_workbook.body.quantities import Choice, Quantity
from oximetry_workbook.body.scenario import SPECS, Scenario
from oximetry_workbook.meter.curve import Curve
from oximetry_workbook.panels.model import BenchModel
from oximetry_workbook.panels.notice import Notice

DURATION_S = 1.0

PAUSE_S = 0.05
"""Between pictures the kernel hears keys, and the browser gets time to draw."""


def between(start: Scenario, end: Scenario, share: float) -> Scenario:
    """Return a situation on the way from one to another.

    Numbers move evenly, or in equal ratios where their spec is logarithmic. Words and whole
    numbers switch midway.

    Args:
        start: Where the way begins.
        end: Where it ends.
        share: How much of it is done, from 0 to 1.
    """
    if share >= 1.0:
        return end
    changed = {
        name: _value_between(spec, getattr(start, name), getattr(end, name), share)
        for name, spec in SPECS.items()
        if getattr(start, name) != getattr(end, name)
    }
    return start.replace(**changed)


def _value_between(spec: Quantity | Choice, start: object, end: object, share: float) -> object:
    if isinstance(spec, Choice) or spec.whole:
        return start if share < 0.5 else end
    low, high = float(start), float(end)  # type: ignore[arg-type]  # no choice: a number
    value = low * (high / low) ** share if spec.logarithmic else low + (high - low) * share
    return min(max(value, min(low, high)), max(low, high))  # rounding must not lead out of range


def eased(share: float) -> float:
    """Return the share of the way at a share of the time: gently off, gently home."""
    return share * share * (3.0 - 2.0 * share)


class Move:
    """Takes a bench's model to another situation, a picture at a time on the kernel's loop.

    Attributes:
        moving: Whether the end is still to be reached.
    """

    def __init__(self, model: BenchModel, ended: Callable[[], None], notice: Notice) -> None:
        """Make a move that stands still.

        Args:
            model: What to move.
            ended: Called once the end is reached.
            notice: Where to tell of a failure.
        """
        self._model, self._ended = model, ended
        self._start = self._end = (model.scenario, model.curve)
        self._run = 0
        self.moving = False
        self._guarded_step = notice.guard(self._step)

    def begin(self, scenario: Scenario, curve: str | Curve) -> None:
        """Set off; without an event loop nobody watches, so be there at once."""
        self._start = (self._model.scenario, self._model.curve)
        self._end = (scenario, curve)
        self._run += 1
        self.moving = True
        try:
            loop = asyncio.get_running_loop()
        except RuntimeError:
            self.finish()
        else:
            loop.call_soon(self._next, self._run, loop.time())

    def finish(self) -> None:
        """Be at the end now; no more if that was reached already."""
        if not self.moving:
            return
        self.moving = False
        self._set(*self._end)
        self._ended()

    def jump(self, scenario: Scenario, curve: str | Curve) -> None:
        """Be at a situation now, without a way there."""
        self._end, self.moving = (scenario, curve), True
        self.finish()

    def _next(self, run: int, begun_s: float) -> None:
        if not self.moving or run != self._run:  # finished or begun anew meanwhile
            return
        loop = asyncio.get_running_loop()
        self._guarded_step((loop.time() - begun_s) / DURATION_S)
        if self.moving:
            loop.call_later(PAUSE_S, self._next, run, begun_s)

    def _step(self, share: float) -> None:
        if share >= 1.0:
            self.finish()
            return
        try:
            curve = (self._start if share < 0.5 else self._end)[1]
            self._set(between(self._start[0], self._end[0], eased(share)), curve)
        except Exception:
            self.finish()
            raise

    def _set(self, scenario: Scenario, curve: str | Curve) -> None:
        self._model.curve = curve
        self._model.scenario = scenario
