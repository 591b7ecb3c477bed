"""A class's code, places and messages, without a server."""

import asyncio
import json
import struct
import subprocess
import sys
from contextlib import suppress
from types import SimpleNamespace

import psutil
import pytest
from hypothesis import given
from hypothesis import strategies as st

from oximetry_workbook.app import (
    class_code,
    class_guard,
    class_handlers,
    class_messages,
    classroom,
    serve,
    servers,
)
from oximetry_workbook.app.class_guard import ClassState, for_class
from oximetry_workbook.app.class_places import LEFT_S, PAGES_EACH, Places
from oximetry_workbook.app.class_turns import Turns


class Clock:
    def __init__(self):
        self.now = 0.0

    def __call__(self):
        return self.now


@pytest.fixture
def clock():
    return Clock()


def wire(kind="comm_msg", channel="shell"):
    """A message of the protocol v1.kernel.websocket.jupyter.org."""
    parts = [channel.encode(), json.dumps({"msg_type": kind}).encode(), b"{}", b"{}", b"{}"]
    start = 8 * (len(parts) + 2)
    offsets = [start + sum(map(len, parts[:count])) for count in range(len(parts) + 1)]
    return struct.pack(f"<{len(offsets) + 1}Q", len(offsets), *offsets) + b"".join(parts)


def test_codes_are_made_of_signs_that_are_not_mistaken():
    codes = {class_code.new_code() for _ in range(200)}
    assert len(codes) > 190
    assert not set("".join(codes)) & set("01IOS5L")


@pytest.mark.parametrize("typed", ["k7mpqr", " K7M-PQR ", "k7m pqr"])
def test_a_code_is_taken_as_people_write_it(typed, clock):
    assert class_code.Door("K7MPQR", clock).opens(typed, "here")


@pytest.mark.parametrize("text", ["", "abc", "a" * 33, "grüße", "!!!!"])
def test_a_code_of_ones_own_must_be_fit_to_type(text):
    with pytest.raises(ValueError, match="letters and digits"):
        class_code.checked_code(text)


def test_who_guesses_waits_and_others_do_not(clock):
    door = class_code.Door("K7MPQR", clock)
    for _ in range(class_code.TRIES):
        assert not door.opens("WRONG", "one")
    assert not door.opens("K7MPQR", "one")
    assert door.opens("K7MPQR", "other")
    clock.now += class_code.WINDOW_S + 1.0
    assert door.opens("K7MPQR", "one")


def test_a_place_is_taken_while_its_page_is_made_and_its_kernel_is_the_browsers(clock):
    places = Places(2, clock)
    with places.visit("a") as visit:
        assert places.taken == 1
        visit.claim("k1")
        assert places.taken == 1
    assert places.belongs("k1", "a")
    assert not places.belongs("k1", "b")
    assert not places.belongs("k1", None)
    assert not places.belongs("k2", "a")
    places.keep_only([])
    assert places.taken == 0


def test_pages_left_and_pages_not_used_lose_their_kernels(clock):
    places = Places(5, clock)
    for kernel in ("gone", "idle", "used"):
        places.bind(kernel, "a")
        places.connect(kernel)
    places.disconnect("gone")
    clock.now += LEFT_S + 1.0
    places.moved("used")
    assert places.left(idle_s=600.0) == ["gone"]
    clock.now += 500.0
    assert set(places.left(idle_s=600.0)) == {"gone", "idle"}


def test_one_learner_does_not_take_every_place(clock):
    places = Places(30, clock)
    for number in range(PAGES_EACH + 1):
        places.bind(f"k{number}", "a")
    assert places.surplus_of("a") == ["k0", "k1"]
    assert places.surplus_of("b") == []


def test_in_a_full_class_a_learner_who_sits_there_can_turn_the_page(clock):
    places = Places(3, clock)
    for kernel, browser in (("a1", "a"), ("a2", "a"), ("b1", "b")):
        places.bind(kernel, browser)
        places.connect(kernel)
    assert places.surplus_of("c") == []
    assert places.surplus_of("a") == ["a1"]
    places.disconnect("a2")
    assert places.surplus_of("a") == ["a2"]


@pytest.mark.parametrize("kind", sorted(class_messages.ALLOWED_TYPES))
def test_what_widgets_send_passes(kind):
    assert class_messages.message_type(wire(kind)) == kind


@pytest.mark.parametrize(
    "sent",
    [wire("execute_request"), wire("shutdown_request"), wire(channel="control"), "text", b"", None],
)
def test_nothing_else_passes(sent):
    with pytest.raises(ValueError, match=r"message|channel"):
        class_messages.message_type(sent)


@given(st.binary(max_size=300), st.integers(0, 400))
def test_any_bytes_are_refused_or_of_an_allowed_type(noise, at):
    whole = wire()
    for sent in (noise, whole[:at] + noise, whole[:at] + noise + whole[at + len(noise) :]):
        with suppress(ValueError):
            assert class_messages.message_type(sent) in class_messages.ALLOWED_TYPES


def test_memory_that_will_not_last_is_told_with_a_number_that_will():
    assert classroom.memory_warning(30, 24 * 10**9) == ""
    told = classroom.memory_warning(30, 10**9)
    assert "--learners" in told


def test_a_class_reads_no_paths_whatever_was_set():
    assert serve.class_environment()["OXIMETRY_WORKBOOK_PATHS"] == "0"
    assert serve.server_environment({})["OXIMETRY_WORKBOOK_PATHS"] == "1"
    assert (
        serve.server_environment({"OXIMETRY_WORKBOOK_PATHS": "0"})["OXIMETRY_WORKBOOK_PATHS"] == "0"
    )


ClassPage = for_class(class_handlers.ClassPageHandler)


class Kernels(dict):
    """Stands for the server's kernels."""

    list_kernel_ids, get_kernel = dict.keys, dict.__getitem__


class Asked:
    """One learner's request for a page, up to where Voila makes it."""

    def __init__(self, room, browser, kernels):
        self.handler = handler = object.__new__(ClassPage)
        settings = {"oximetry_class": room, "kernel_manager": kernels}
        handler.application = SimpleNamespace(settings=settings)
        handler.current_user = browser
        handler.get_signed_cookie = lambda *_, **__: browser.encode()

    async def get(self):
        await self.handler.get("06_bench.ipynb")


def test_pages_are_made_in_turn_and_not_for_who_has_gone(monkeypatch, clock):
    making, most, made = 0, 0, []

    async def make(handler, path):
        nonlocal making, most
        making += 1
        most = max(most, making)
        await asyncio.sleep(0.001)
        making -= 1
        made.append(handler.browser)

    async def rush():
        door = class_code.Door("K7MPQR", clock)
        room = ClassState(door, Places(30, clock), "http://x/", "06_bench.ipynb", "00_start.ipynb")
        asked = [Asked(room, f"{number}", Kernels()) for number in range(12)]
        waiting = asyncio.gather(*(each.get() for each in asked))
        await asyncio.sleep(0)
        assert room.places.taken == 12
        asked[-1].handler.on_connection_close()
        await waiting
        assert room.places.taken == 0

    monkeypatch.setattr(class_guard.os, "cpu_count", lambda: 3)
    monkeypatch.setattr(servers.PageHandler, "get", make)
    asyncio.run(rush())
    assert most == 3
    assert made == [f"{number}" for number in range(11)]


def test_a_kernel_whose_page_is_there_makes_way_for_others(monkeypatch, clock):
    async def make(handler, path):
        handler._visit.claim("k")

    door = class_code.Door("K7MPQR", clock)
    room = ClassState(door, Places(2, clock), "http://x/", "06_bench.ipynb", "00_start.ipynb")
    monkeypatch.setattr(servers.PageHandler, "get", make)
    with psutil.Popen([sys.executable, "-c", "input()"], stdin=subprocess.PIPE) as kernel:
        usual = kernel.nice()
        kernels = Kernels(k=SimpleNamespace(provisioner=kernel))
        asyncio.run(Asked(room, "a", kernels).get())
        assert kernel.nice() != usual
        kernel.kill()
    asyncio.run(Asked(room, "a", kernels).get())  # it has ended, which is no fault
    assert room.places.belongs("k", "a")


def test_a_page_that_is_never_ready_keeps_nobody_waiting():
    async def run():
        turns, order = Turns(1, longest_s=0.01), []
        stuck = asyncio.Event()

        async def page(name, ready):
            async with turns.turn():
                order.append(name)
                await ready

        first = asyncio.create_task(page("stuck", stuck.wait()))
        await asyncio.sleep(0)
        for name in ("second", "third"):
            await asyncio.wait_for(page(name, asyncio.sleep(0)), 5.0)
        stuck.set()
        await first
        # the turn of the stuck page was given back once, not twice
        held = turns.turn()
        await held.__aenter__()
        waiting = asyncio.create_task(page("late", asyncio.sleep(0)))
        await asyncio.sleep(0)
        assert order == ["stuck", "second", "third"]
        await held.__aexit__(None, None, None)
        await waiting

    asyncio.run(run())
