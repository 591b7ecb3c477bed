"""A class's code, places and messages, without a server."""

import json
import struct
from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from oximetry_workbook.app import class_code, class_messages, classroom, serve
from oximetry_workbook.app.class_places import LEFT_S, PAGES_EACH, Places


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
