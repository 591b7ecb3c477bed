"""Long work: in slices, shown as it grows, cancelled, begun anew, and failing aloud."""

import asyncio

import pytest

from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.work import Work


class Counting:
    """Work that counts to ten, and what was shown of it."""

    def __init__(self, stop_at=10, fail_at=None):
        self.shown, self.begun, self.notice = [], 0, Notice()
        self._stop_at, self._fail_at = stop_at, fail_at
        self.work = Work(self._slices, self.shown.append, self.notice, "Count")

    def _slices(self):
        self.begun += 1
        for k in range(1, self._stop_at + 1):
            if k == self._fail_at:
                raise ValueError("k is seven; it must not be")
            yield k / self._stop_at, k


async def settle(counting, until):
    for _ in range(2000):
        if until(counting):
            return
        await asyncio.sleep(0.001)
    raise AssertionError("it never came to that")


def test_without_an_event_loop_it_runs_through():
    counting = Counting()
    counting.work.button.click()
    assert counting.shown == list(range(1, 11))
    assert counting.work.progress.value == 1.0
    assert not counting.work.running


def test_on_a_loop_others_get_their_turn_between_slices():
    async def run():
        counting = Counting()
        counting.work.button.click()
        seen = []
        while counting.work.running:
            seen.append(len(counting.shown))
            await asyncio.sleep(0.0005)
        return counting, seen

    counting, seen = asyncio.run(run())
    assert counting.shown == list(range(1, 11))
    assert len(set(seen)) > 3


def test_cancel_keeps_what_was_shown_and_frees_the_button():
    async def run():
        counting = Counting(stop_at=10_000)
        counting.work.button.click()
        assert counting.work.button.disabled
        assert counting.work.stop_button.layout.display is None
        await settle(counting, lambda c: len(c.shown) >= 3)
        counting.work.stop_button.click()
        kept = len(counting.shown)
        await asyncio.sleep(0.02)
        return counting, kept

    counting, kept = asyncio.run(run())
    assert len(counting.shown) == kept < 10_000
    assert not counting.work.button.disabled
    assert counting.work.stop_button.layout.display == "none"


def test_beginning_anew_drops_the_old_run():
    async def run():
        counting = Counting(stop_at=50)
        counting.work.begin()
        await settle(counting, lambda c: len(c.shown) >= 3)
        counting.shown.clear()
        counting.work.begin()
        await settle(counting, lambda c: not c.work.running)
        return counting

    counting = asyncio.run(run())
    assert counting.shown == list(range(1, 51))
    assert counting.begun == 2


@pytest.mark.parametrize("on_a_loop", [False, True])
def test_a_failure_is_told_and_ends_the_run(on_a_loop):
    async def run():
        counting = Counting(fail_at=7)
        counting.work.button.click()
        await settle(counting, lambda c: not c.work.running)
        return counting

    if on_a_loop:
        counting = asyncio.run(run())
    else:
        counting = Counting(fail_at=7)
        counting.work.button.click()
    assert counting.shown == [1, 2, 3, 4, 5, 6]
    assert "k is seven" in counting.notice.value
    assert not counting.work.running


def test_a_drawing_that_fails_is_told():
    notice = Notice()

    def draw(_):
        raise RuntimeError

    work = Work(lambda: iter([(0.5, 1), (1.0, 2)]), draw, notice, "Draw")
    work.button.click()
    assert not work.running
