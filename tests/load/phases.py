"""What a load test does, one thing after another, and what it finds."""

import asyncio
import random
import time
from itertools import cycle

from browser_learner import BrowserLearner, browser
from failures import Failures
from figures import summary
from held_class import CODE, HOST, HeldClass, until
from learner import ErrorPageError, Learner, LineLostError, NoPlaceError
from loose_line import LooseLine
from tornado.httpclient import HTTPError

DRAG_MOVES, DRAG_PAUSE_S = 10, 0.05
REST_S = (1.0, 5.0)
"""Learners drag a slider for ten moves, as often as a page sends them, and then look [s]."""
LOST = (ErrorPageError, LineLostError, NoPlaceError, HTTPError, OSError, AssertionError)
"""What a learner may meet that should not be; a page that does not come is an HTTPError."""
PRESS_PAUSE_S = 0.5
GONE_WITHIN_S = 600.0
"""A page that vanished loses its kernel after 180 s; it is looked for so long at most."""


class LoadTest:
    """A class of learners, one of them with a real browser, all behind a line that can be cut.

    Attributes:
        found: What was found, by name.
        errors: What learners met that they should not have, in words.
        browser_version: Of Chromium, once it has run.
    """

    def __init__(self, learners, moving_s, arriving_s, chance=0):
        self.count, self.moving_s, self.arriving_s = learners, moving_s, arriving_s
        self.found, self.errors, self.others = {}, [], []
        self.browser_version = ""
        self._chance = random.Random(chance)

    async def run(self, vanishing=True):
        """Do all of it; with `vanishing`, some learners leave without a word at the end."""
        self.held = HeldClass(self.count)
        await self.held.start()
        self.line = LooseLine(self.held.port)
        await self.line.mend()
        self.address = f"http://{HOST}:{self.line.port}"
        try:
            async with browser() as chromium:
                self.browser_version = chromium.version
                await self._lesson(chromium)
                failures = Failures(self.held, self.line, self.browser, self.others)
                self.found |= await failures.all_of_them()
                await self._leave(vanishing)
        finally:
            await self.line.cut()
            self.held.stop()
        self.errors += self.browser.errors
        self.found["errors met"] = len(self.errors)
        self.found["tracebacks at the lecturer's"] = self.held.printed().count("Traceback")

    async def _lesson(self, chromium):
        await self._alone(chromium)
        await self._together(chromium)
        server, kernels = self.held.memory_mb()
        self.found |= {"server, MB": server, "kernels, MB": sum(kernels), "kernels": len(kernels)}
        self.found["one too many is refused"] = await self._is_full()

    async def _page(self, chromium):
        context = await chromium.new_context(viewport={"width": 1440, "height": 900})
        return BrowserLearner(await context.new_page(), self.address, CODE)

    async def _alone(self, chromium):
        """One learner by himself: what thirty are compared with."""
        with_browser = await self._page(chromium)
        await with_browser.come()
        await _press(with_browser, min(10.0, self.moving_s))
        latencies_s = await with_browser.latencies_s()
        self.found["alone, browser"] = summary([with_browser.opened_s], latencies_s)
        await with_browser.leave()
        self.files = list(dict.fromkeys(with_browser.files))
        without = Learner(self.address, CODE, self.files)
        await without.come()
        await self._drag(without, min(20.0, self.moving_s))
        self.found["alone"] = summary([without.opened_s], without.latencies_s)
        await without.leave()
        await until(self._nobody_left, "the first learners have left")

    async def _together(self, chromium):
        """All come within `arriving_s`, and each moves sliders for `moving_s`."""
        self.browser = await self._page(chromium)
        self.others = [Learner(self.address, CODE, self.files) for _ in range(self.count - 1)]
        gap_s = self.arriving_s / self.count
        lessons = [self._take_part(one, gap_s * turn) for turn, one in enumerate(self.others)]
        await asyncio.gather(self._take_part_by_hand(gap_s * (self.count - 1)), *lessons)
        here = [one for one in self.others if one.opened_s is not None]
        moves = [each for one in here for each in one.latencies_s]
        self.found["together"] = summary([one.opened_s for one in here], moves)
        latencies_s = await self.browser.latencies_s()
        self.found["together, browser"] = summary([self.browser.opened_s], latencies_s)
        self.found["places taken"] = await self.held.places_taken()

    async def _take_part(self, one, wait_s):
        """One learner's lesson; what goes wrong is noted, so that the others' goes on."""
        await asyncio.sleep(wait_s)
        beats = None
        try:
            await one.come()
            beats = asyncio.create_task(one.beat())
            await self._drag(one, self.moving_s)
        except LOST as problem:
            self.errors.append(f"a learner met {type(problem).__name__}: {problem}")
        if beats and beats.done():
            self.errors.append(f"a learner's page would have told: {beats.exception()}")
        elif beats:
            beats.cancel()

    async def _take_part_by_hand(self, wait_s):
        await asyncio.sleep(wait_s)
        await self.browser.come()
        await _press(self.browser, self.moving_s)

    async def _drag(self, one, length_s):
        end_s = time.monotonic() + length_s
        while (left_s := end_s - time.monotonic()) > 0:
            for _ in range(DRAG_MOVES):
                await one.move(round(self._chance.uniform(70.0, 100.0) * 2) / 2)
                await asyncio.sleep(DRAG_PAUSE_S)
            await asyncio.sleep(min(self._chance.uniform(*REST_S), left_s))

    async def _is_full(self):
        try:
            await Learner(self.address, CODE, []).come()
        except NoPlaceError:
            return True
        return False

    async def _leave(self, vanishing):
        """Half the learners close their pages; with `vanishing`, half are gone without a word."""
        half = len(self.others) // 2 if vanishing else 0
        for one in self.others[:half]:
            one.vanish()
        await asyncio.gather(*(one.leave() for one in self.others[half:]))
        await self.browser.leave()

        async def only_vanished_left():
            return await self.held.places_taken() <= half

        self.found["closed pages, kernels ended after, s"] = await until(
            only_vanished_left, "the pages that were closed have left no kernel"
        )
        if vanishing:
            self.found["vanished pages, kernels ended after, s"] = await until(
                self._nobody_left, "no kernel is left", GONE_WITHIN_S
            )
        self.found["places taken at the end"] = await self.held.places_taken()

    async def _nobody_left(self):
        return await self.held.places_taken() == 0


async def _press(one, length_s):
    end_s = time.monotonic() + length_s
    for key in cycle(("PageDown", "PageUp")):
        await one.move(key)
        if time.monotonic() > end_s:
            return
        await asyncio.sleep(PRESS_PAUSE_S)
