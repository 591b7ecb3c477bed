"""Whose page is made now, when a whole class comes at once."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from contextlib import ExitStack, asynccontextmanager, suppress

import psutil

TURN_S = 20.0
"""A page that is not ready after so long is made without a turn [s]: it may be one whose kernel
never answers, and must not keep the others from theirs."""
BEHIND = psutil.BELOW_NORMAL_PRIORITY_CLASS if psutil.WINDOWS else 10
"""Priority of kernels whose pages are there, below that of those whose pages are being made. A
dozen learners who drag sliders without a pause would otherwise leave new pages no processor."""


class Turns:
    """Turns at having a page made.

    Pages made one after the other are there sooner, on average and each but the last, than pages
    that all share the processor until all of them are ready.
    """

    def __init__(self, at_once: int, longest_s: float = TURN_S) -> None:
        """Give `at_once` turns at the same time, each for `longest_s` at most."""
        self._free = asyncio.Semaphore(at_once)
        self._longest_s = longest_s

    @asynccontextmanager
    async def turn(self) -> AsyncIterator[None]:
        """Wait for a turn, in the order in which pages were asked for, and hold it."""
        await self._free.acquire()
        held = ExitStack()
        held.callback(self._free.release)
        timer = asyncio.get_running_loop().call_later(self._longest_s, held.close)
        try:
            yield
        finally:
            timer.cancel()
            held.close()


def make_way(kernel_pid: int) -> None:
    """Let a kernel whose page is there make way for pages that are still to be made."""
    with suppress(psutil.Error):  # it has ended in the meantime
        psutil.Process(kernel_pid).nice(BEHIND)
