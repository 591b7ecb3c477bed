"""Files in slices: in order and whole, or not at all; one at a time, and none left behind."""

import os
import subprocess
import sys
import tempfile
from itertools import pairwise

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.upload import (
    LARGEST_BYTES,
    SETTING,
    SLICE_BYTES,
    Upload,
    largest_bytes,
)

CONTENT = bytes(range(256)) * 10
SIZE = len(CONTENT)

MANY = settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)

KILLED_WITH_A_FILE = """
import os, signal, tempfile
from oximetry_workbook.panels.upload import Arrival
arrival = Arrival("mine.csv", 5)
arrival.add(0, [b"three"])
print(tempfile.gettempdir(), arrival.stored_bytes, flush=True)
os.kill(os.getpid(), signal.SIGTERM)
"""


def content_of(arrival):
    arrival.file.seek(0)
    return arrival.file.read()


class Browser:
    """Says to an upload what the browser says.

    Attributes:
        upload: The upload.
        answers: What came back, oldest first.
        received: Name and content of the files that were handed over.
        arrivals: Those files, which stay until somebody removes them.
    """

    def __init__(self):
        self.notice = Notice()
        self.received, self.arrivals, self.answers = [], [], []
        self.upload = Upload(self._receive, self.notice, "Choose a file", ".csv")
        self.upload.send = self.answers.append

    def _receive(self, arrival):
        self.received.append((arrival.name, content_of(arrival)))
        self.arrivals.append(arrival)

    def say(self, step, *slices, number="1", **more):
        """Send one message; return the answer to it."""
        content = {"step": step, "number": number, **more}
        message = {"content": {"data": {"method": "custom", "content": content}}}
        self.upload.comm.handle_msg(message | {"buffers": [memoryview(each) for each in slices]})
        return self.answers[-1]["answer"]

    def begin(self, name="mine.csv", size=SIZE, **more):
        return self.say("begin", name=name, size=size, **more)


@pytest.fixture
def browser(wire, stored):
    return Browser()


@given(cuts=st.lists(st.integers(1, SIZE - 1), unique=True).map(sorted))
@MANY
def test_however_it_is_cut_the_same_bytes_arrive(wire, cuts):
    browser = Browser()
    assert browser.begin() == "next"
    edges = [0, *cuts, SIZE]
    for start, end in pairwise(edges):
        assert browser.answers[-1]["stored"] == start
        browser.say("slice", CONTENT[start:end], start=start)
    assert browser.answers[-1]["answer"] == "done"
    assert browser.received == [("mine.csv", CONTENT)]
    assert browser.notice.value == ""
    browser.arrivals[0].remove()


def test_an_empty_file_arrives_at_once(browser):
    assert browser.begin(size=0) == "done"
    assert browser.received == [("mine.csv", b"")]


@given(starts=st.lists(st.integers(-1, 3), min_size=1, max_size=8))
@MANY
def test_whatever_the_order_a_file_arrives_whole_or_not_at_all(wire, starts):
    browser, size = Browser(), SIZE // 4
    browser.begin()
    for start in starts:
        piece = CONTENT[max(start, 0) * size :][:size]
        browser.say("slice", piece, start=start * size)
    in_order = [0, 1, 2, 3]
    assert browser.received == [("mine.csv", CONTENT)] * (starts[:4] == in_order)
    if starts[:4] != in_order[: len(starts)]:
        assert "arrived out of order" in browser.notice.value
    browser.upload.close()
    for arrival in browser.arrivals:
        arrival.remove()


@pytest.mark.parametrize(
    ("slices", "start", "says"),
    [
        ([CONTENT[:100]], 200, "out of order after 100 of 2560 bytes"),
        ([CONTENT[:100]], 0, "out of order"),
        ([CONTENT[:100]], None, "out of order"),
        ([b""], 100, "out of order"),
        ([], 100, "out of order"),
        ([b"1", b"2"], 100, "out of order"),
        ([bytes(SLICE_BYTES + 1)], 100, "out of order"),
        ([CONTENT], 100, "more than the 2560 bytes"),
    ],
)
def test_a_slice_that_does_not_fit_ends_the_upload(browser, stored, slices, start, says):
    browser.begin()
    browser.say("slice", CONTENT[:100], start=0)
    assert browser.say("slice", *slices, start=start) == "refused"
    assert says in browser.notice.value
    assert stored() == browser.received == []
    assert browser.say("slice", CONTENT[100:], start=100) == "dropped"
    browser.begin()
    assert browser.notice.value == ""
    assert browser.say("slice", CONTENT, start=0) == "done"


@pytest.mark.parametrize(
    ("size", "says"),
    [
        (5_000_000_000, "mine.csv has 5000 MB; at most 200 MB can be uploaded"),
        (LARGEST_BYTES + 1, "at most 200 MB"),
        (-1, "comes with -1 for its size"),
        (12.5, "comes with 12.5 for its size"),
        (True, "comes with True"),
        ("12", "comes with"),
        (None, "comes with None"),
    ],
)
def test_sizes_that_cannot_be_are_refused_before_anything_is_stored(browser, stored, size, says):
    assert browser.begin(size=size) == "refused"
    assert says in browser.notice.value.replace("\u00a0", " ")
    assert stored() == []


def test_the_largest_size_is_taken(browser):
    assert browser.begin(size=LARGEST_BYTES) == "next"


@pytest.mark.parametrize(
    ("name", "shown"),
    [
        ("../../escaped.csv", "escaped.csv"),
        ("/etc/escaped.csv", "escaped.csv"),
        ("..\\escaped.csv", "escaped.csv"),
        ("..", ".."),
        ("a\0b\n.csv", "ab.csv"),
        ("", "the file"),
        (None, "None"),
        ("x" * 5000, "x" * 80),
    ],
)
def test_a_name_opens_nothing(browser, tmp_path, monkeypatch, name, shown):
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path / "a"))
    (tmp_path / "a").mkdir()
    browser.begin(name=name)
    browser.say("slice", CONTENT, start=0)
    assert browser.received == [(shown, CONTENT)]
    named = [each.name for each in tmp_path.rglob("*") if shown in each.name]
    assert named == []


def test_cancel_leaves_nothing(browser, stored):
    browser.begin()
    browser.say("slice", CONTENT[:100], start=0)
    assert len(stored()) == 1
    assert browser.say("cancel") == "dropped"
    assert stored() == browser.received == []
    assert browser.say("slice", CONTENT[100:], start=100) == "dropped"  # was on its way
    assert browser.notice.value == ""


def test_a_second_file_ends_the_first(browser, stored):
    browser.begin("first.csv")
    browser.say("slice", CONTENT[:100], start=0)
    assert browser.begin("second.csv", size=7, number="2") == "next"
    assert len(stored()) == 1
    assert browser.say("slice", CONTENT[100:], start=100) == "dropped"
    assert browser.say("cancel") == "dropped"
    assert browser.say("slice", b"another", start=0, number="2") == "done"
    assert browser.received == [("second.csv", b"another")]
    assert [answer["number"] for answer in browser.answers[-2:]] == ["1", "2"]


@pytest.mark.parametrize("step", ["slice", "cancel", "", None])
def test_without_a_beginning_nothing_happens(browser, stored, step):
    assert browser.say(step, b"1", start=0) == "dropped"
    assert stored() == []


def test_a_slice_that_goes_on_keeps_other_messages_on_the_page(browser):
    browser.begin()
    browser.notice.tell("something else")
    browser.say("slice", CONTENT[:100], start=0)
    assert "something else" in browser.notice.value


def test_a_folder_that_cannot_be_written_is_told(browser, monkeypatch, tmp_path):
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path / "gone"))
    assert browser.begin() == "refused"
    assert "cannot be stored in" in browser.notice.value


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="only Linux has a full device")
def test_a_full_disk_is_told(browser):
    """full(4): writing to /dev/full fails with ENOSPC."""
    browser.begin(size=SLICE_BYTES)
    with open("/dev/full", "wb", buffering=0) as full:
        browser.upload._arrival.file = full
        assert browser.say("slice", bytes(SLICE_BYTES), start=0) == "refused"
    assert "No space left" in browser.notice.value
    assert browser.received == []


def test_what_a_receiver_raises_is_told_and_ends_the_upload(browser):
    def fail(_):
        raise ValueError("no such light")

    browser.upload._hand_over = browser.notice.guard(fail)
    browser.begin(size=0)
    assert browser.answers[-1]["answer"] == "done"
    assert "no such light" in browser.notice.value


def test_a_widget_that_is_closed_leaves_nothing(browser, stored):
    browser.begin()
    browser.upload.close()
    assert stored() == []


def test_nothing_is_left_when_the_program_is_killed(tmp_path):
    """SIGTERM ends Python at once, without its own tidying up (signal(7): the default action)."""
    environment = os.environ | dict.fromkeys(("TMPDIR", "TEMP", "TMP"), str(tmp_path))
    command = [sys.executable, "-c", KILLED_WITH_A_FILE]
    ended = subprocess.run(command, env=environment, capture_output=True, text=True, check=False)
    assert ended.returncode != 0
    assert ended.stdout.strip() == f"{tmp_path} 5"
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("said", "megabytes"), [("20", 20), ("", 200), ("many", 200), ("-5", 200), ("900", 200)]
)
def test_a_server_for_many_lowers_the_largest_size_and_never_raises_it(said, megabytes):
    assert largest_bytes({SETTING: said}) == megabytes * 1_000_000
