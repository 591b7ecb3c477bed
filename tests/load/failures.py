"""What may fail in the middle of a class, and what becomes of its learners then."""

import asyncio
import time
from contextlib import suppress
from signal import SIGKILL

from held_class import until
from learner import LineLostError

CUT_S = 12.0
"""How long the network is away once the page has said so [s]."""
SAME_WITHIN_S = 30.0
LOST_WITHIN_S = 30.0
GONE, SILENT = "no longer follow", "does not answer"
"""What the page says of a kernel that has ended, and of a server that is not there."""


class Failures:
    """Kills a kernel, cuts the network and kills the server of a class that is being held."""

    def __init__(self, held, line, browser, others):
        self.held, self.line, self.browser, self.others = held, line, browser, others
        self.found = {}

    async def all_of_them(self):
        """One after the other; return what was found, by name."""
        await self.browser.move("PageDown")  # away from the state that every page starts with
        await self._kernel_killed()
        await self._network_cut()
        await self._server_killed()
        return self.found

    async def _kernel_killed(self):
        before = await self.browser.state()
        self.held.kernel_process(await self.browser.kernel()).send_signal(SIGKILL)
        start = time.monotonic()
        await self.browser.is_told(GONE)
        self.found["kernel killed, told after, s"] = time.monotonic() - start
        await self.browser.reload()
        self.found["kernel killed, same state"] = await self._came_back_to(before)

    async def _network_cut(self):
        before, kernel = await self.browser.state(), await self.browser.kernel()
        await self.line.cut()
        self.found["network cut, others told"] = await self._others_told()
        await self.browser.is_told(SILENT)
        await asyncio.sleep(CUT_S)
        await self.line.mend()
        start = time.monotonic()
        await asyncio.gather(*(one.come_back() for one in self.others))
        self.found["network cut, others with the same state"] = await self._others_as_they_were()
        await self.browser.is_well()
        self.found["network cut, well again after, s"] = time.monotonic() - start
        self.found["network cut, same page"] = kernel == await self.browser.kernel()
        self.found["network cut, same state"] = await self._came_back_to(before)

    async def _server_killed(self):
        before = await self.browser.state()
        self.held.stop(SIGKILL)
        self.found["server killed, others told"] = await self._others_told()
        await self.browser.is_told(SILENT)
        await self.held.start()
        start = time.monotonic()
        await asyncio.gather(*map(_open_again, self.others))
        self.found["server killed, all others back after, s"] = time.monotonic() - start
        self.found["server killed, others with the same state"] = await self._others_as_they_were()
        await self.browser.is_told(GONE)
        await self.browser.reload()
        self.found["server killed, same state"] = await self._came_back_to(before)

    async def _others_told(self):
        """How many of the others have noticed that their line has ended."""
        return sum(await asyncio.gather(*map(_loses_its_line, self.others)))

    async def _others_as_they_were(self):
        shown = await asyncio.gather(*(one.shown() for one in self.others))
        return shown == [one.value for one in self.others]

    async def _came_back_to(self, before):
        """Whether the page has this state again, and follows its sliders."""

        async def same():
            return await self.browser.state() == before

        with suppress(AssertionError):
            await until(same, "the page has its state again", SAME_WITHIN_S)
            await self.browser.move("PageUp")
            await self.browser.move("PageDown")
            return True
        return False


async def _loses_its_line(one):
    try:
        await asyncio.wait_for(one.hear_the_end(), LOST_WITHIN_S)
    except (LineLostError, TimeoutError) as heard:
        return isinstance(heard, LineLostError)


async def _open_again(one):
    """Open the page anew and bring it to where it was, as the page does from its address."""
    value = one.value
    await one.come()
    await one.move(value)
