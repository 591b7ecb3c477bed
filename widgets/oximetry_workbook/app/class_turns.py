"""Whose page is made now, when a whole class comes at once."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from contextlib import ExitStack, asynccontextmanager

TURN_S = 20.0
"""A page that is not ready after so long is made without a turn [s]: it may be one whose kernel
never answers, and must not keep the others from theirs."""


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
