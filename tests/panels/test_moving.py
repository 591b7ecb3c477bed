"""The way from one situation to the next: where it leads, and how it ends."""

import asyncio
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.panels import moving
from oximetry_workbook.panels.model import BenchModel
from oximetry_workbook.panels.moving import Move, between, eased
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.teach.reading import CURVE_NAMES, PROBE_CURVE

START = Scenario()
END = Scenario(
    arterial_saturation=0.77,
    perfusion_index_percent=0.3,
    varnish="black",
    varnish_coats=4.0,
    site="ear",
)
OTHER_CURVE = CURVE_NAMES[1]


def test_numbers_move_evenly_or_in_equal_ratios():
    quarter = between(START, END, 0.25)
    assert quarter.arterial_saturation == pytest.approx(0.97 - 0.25 * 0.20)
    assert quarter.perfusion_index_percent == pytest.approx(3.0 * 0.1**0.25)
    half = between(START, END, 0.5)
    # halfway between two numbers in equal ratios is their geometric mean
    assert half.perfusion_index_percent == pytest.approx(math.sqrt(3.0 * 0.3))


def test_words_and_whole_numbers_switch_midway():
    before, after = between(START, END, 0.49), between(START, END, 0.5)
    assert (before.varnish, before.varnish_coats, before.site) == (
        START.varnish,
        START.varnish_coats,
        "finger",
    )
    assert (after.varnish, after.varnish_coats, after.site) == ("black", 4.0, "ear")


def test_what_is_alike_stays():
    assert between(START, START, 0.3) == START


@given(data=st.data(), share=st.floats(0.0, 1.0))
def test_every_situation_on_every_way_is_allowed(any_scenario, data, share):
    start, end = data.draw(any_scenario), data.draw(any_scenario)
    assert isinstance(between(start, end, share), Scenario)
    assert between(start, end, 1.0) == end
    assert between(start, end, 0.0) == start


@given(share=st.floats(0.0, 1.0))
def test_the_way_goes_only_forward(share):
    assert 0.0 <= eased(share) <= 1.0
    assert eased(share) <= eased(min(1.0, share + 0.01))


class Bench:
    """A model, its way, and what happened on it."""

    def __init__(self):
        self.model, self.notice = BenchModel(START), Notice()
        self.ended, self.seen = 0, []
        self.move = Move(self.model, self._end, self.notice)
        self.model.observe(lambda change: self.seen.append(change["new"]), names="scenario")

    def _end(self):
        self.ended += 1


async def until(condition):
    for _ in range(3000):
        if condition():
            return
        await asyncio.sleep(0.002)
    raise AssertionError("it never came to that")


def test_without_an_event_loop_the_end_is_there_at_once():
    bench = Bench()
    bench.move.begin(END, OTHER_CURVE)
    assert bench.seen == [END]
    assert (bench.model.curve, bench.ended, bench.move.moving) == (OTHER_CURVE, 1, False)


def test_on_a_loop_there_are_pictures_on_the_way(monkeypatch):
    monkeypatch.setattr(moving, "DURATION_S", 0.3)
    monkeypatch.setattr(moving, "PAUSE_S", 0.001)

    async def run():
        bench, turns = Bench(), 0
        bench.move.begin(END, PROBE_CURVE)
        while bench.move.moving:
            turns += 1
            await asyncio.sleep(0.001)
        return bench, turns

    bench, turns = asyncio.run(run())
    saturations = [scenario.arterial_saturation for scenario in bench.seen]
    assert len(saturations) >= 3
    assert saturations == sorted(saturations, reverse=True)
    assert bench.model.scenario == END
    assert bench.ended == 1
    assert turns >= 3  # others on the loop, keys among them, had their turn


def test_finish_is_the_end_and_nothing_follows():
    async def run():
        bench = Bench()
        bench.move.begin(END, PROBE_CURVE)
        await until(lambda: bench.seen)
        bench.move.finish()
        count = len(bench.seen)
        await asyncio.sleep(0.2)
        return bench, count

    bench, count = asyncio.run(run())
    assert bench.model.scenario == END
    assert (len(bench.seen), bench.ended) == (count, 1)


def test_finish_without_a_move_does_nothing():
    bench = Bench()
    bench.move.finish()
    assert (bench.seen, bench.ended) == ([], 0)


def test_a_new_move_starts_from_where_the_old_one_was(monkeypatch):
    monkeypatch.setattr(moving, "DURATION_S", 0.2)

    async def run():
        bench = Bench()
        bench.move.begin(END, PROBE_CURVE)
        await until(lambda: bench.model.scenario.arterial_saturation < 0.97)
        bench.move.begin(START, PROBE_CURVE)
        await until(lambda: not bench.move.moving)
        return bench

    bench = asyncio.run(run())
    assert bench.model.scenario == START
    assert bench.ended == 1
    assert END not in bench.seen


def test_a_picture_that_fails_is_told_and_the_end_is_reached():
    async def run():
        bench = Bench()

        def fail(change):
            if change["new"] != END:
                raise RuntimeError

        bench.model.observe(fail, names="scenario")
        bench.move.begin(END, PROBE_CURVE)
        await until(lambda: not bench.move.moving)
        return bench

    bench = asyncio.run(run())
    assert bench.model.scenario == END
    assert "Something went wrong" in bench.notice.value
