"""All that one step changes goes out in one message, in the order of things."""

from threading import Thread
from typing import ClassVar

import comm
import ipywidgets as widgets
import numpy as np
import pytest
from bqplot import LinearScale, Lines
from comm.base_comm import BaseComm

from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.together import Together


class CaughtComm(BaseComm):
    """The line to a page that lists what comes: kind, whose, data, buffers."""

    sent: ClassVar = []

    def publish_msg(self, msg_type, data=None, buffers=None, **_more):
        self.sent.append((msg_type, self.comm_id, data, list(buffers or [])))


@pytest.fixture
def sent(monkeypatch):
    monkeypatch.setattr(comm, "create_comm", CaughtComm)
    monkeypatch.setattr(CaughtComm, "sent", [])
    yield CaughtComm.sent
    widgets.Widget.close_all()


@pytest.fixture
def carrier(sent):
    made = Together()
    made.ready = True
    return made


@pytest.fixture
def label(carrier):
    return widgets.Label()


@pytest.fixture
def line(carrier):
    scales = {"x": LinearScale(), "y": LinearScale()}
    return Lines(x=np.zeros(3), y=np.zeros(3), scales=scales)


def kinds(sent):
    return [(kind, (data or {}).get("method")) for kind, _, data, _ in sent]


def handed_on(message):
    """What a page makes of a message for many: one for each, as it would have come alone."""
    _, _, data, buffers = message
    for change in data["content"]:
        count = len(change["data"]["buffer_paths"])
        own, buffers = buffers[:count], buffers[count:]
        yield "comm_msg", change["id"], change["data"], own
    assert not buffers


def as_bytes(messages):
    return [(*rest, [bytes(memoryview(each)) for each in own]) for *rest, own in messages]


def test_a_page_that_is_not_ready_gets_each_change_by_itself(sent, carrier, label, line):
    carrier.ready = False
    sent.clear()
    with carrier.held():
        label.value = "now"
        assert len(sent) == 1
        line.y = np.ones(3)
    assert kinds(sent) == [("comm_msg", "update")] * 2


def test_one_message_holds_what_would_have_gone_out_alone(sent, carrier, label, line):
    def change(text, height):
        label.value = text
        with line.hold_sync():
            line.x, line.y = np.arange(3.0), np.full(3, height)
        label.tooltip = text

    sent.clear()
    change("one", 1.0)
    alone = as_bytes(sent)
    change("none", 0.0)
    line.x = np.zeros(3)
    sent.clear()
    with carrier.held():
        change("one", 1.0)
        assert sent == []
    [message] = sent
    assert message[1] == carrier.model_id
    assert len(message[3]) == 2
    assert as_bytes(handed_on(message)) == alone


def test_nothing_goes_out_where_nothing_changed(sent, carrier):
    sent.clear()
    with carrier.held():
        pass
    assert sent == []


def test_what_is_made_or_closed_meanwhile_keeps_its_place(sent, carrier, label):
    sent.clear()
    with carrier.held():
        label.value = "first"
        made = widgets.Valid(value=False, layout=label.layout, style=label.style)
        made.value = True
        made.close()
        label.value = "last"
    assert kinds(sent) == [
        ("comm_msg", "custom"),  # the first value
        ("comm_open", None),
        ("comm_msg", "custom"),  # that it holds
        ("comm_close", None),
        ("comm_msg", "custom"),  # the last value
    ]
    told = [
        change["data"]["state"]
        for _, _, data, _ in sent
        if data and "content" in data
        for change in data["content"]
    ]
    assert told == [{"value": "first"}, {"value": True}, {"value": "last"}]


def test_a_message_of_another_kind_keeps_its_place(sent, carrier, label):
    sent.clear()
    with carrier.held():
        label.value = "before"
        label.send({"answer": 42})
        label.value = "after"
    assert [whose for _, whose, _, _ in sent] == [
        carrier.model_id, label.model_id, carrier.model_id
    ]  # fmt: skip


def test_the_outermost_sends(sent, carrier, label, line):
    sent.clear()
    with carrier.held():
        with carrier.held():
            label.value = "inner"
        assert sent == []
        line.y = np.ones(3)
    assert len(sent) == 1


def test_what_another_thread_sends_is_not_held(sent, carrier, label, line):
    sent.clear()
    with carrier.held():
        label.value = "held"
        other = Thread(target=lambda: setattr(line, "y", np.ones(3)))
        other.start()
        other.join()
        assert [whose for _, whose, _, _ in sent] == [line.model_id]
    assert kinds(sent) == [("comm_msg", "update"), ("comm_msg", "custom")]


def test_what_was_held_goes_out_though_something_failed(sent, carrier, label):
    publish = CaughtComm.publish_msg
    sent.clear()

    def fail():
        with carrier.held():
            label.value = "as far as this"
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        fail()
    assert len(sent) == 1
    assert CaughtComm.publish_msg is publish
    label.value = "and on"
    assert kinds(sent)[1:] == [("comm_msg", "update")]


def test_a_carrier_that_was_closed_holds_nothing(sent, carrier, label):
    carrier.close()
    sent.clear()
    with carrier.held():
        label.value = "now"
    assert kinds(sent) == [("comm_msg", "update")]


def test_a_guarded_handler_sends_one_message_with_what_it_is_told(
    sent, carrier, label, monkeypatch
):
    monkeypatch.setattr("oximetry_workbook.panels.notice.together", lambda: carrier)
    notice = Notice()

    def fail():
        label.value = "half way"
        raise ValueError("not so")

    sent.clear()
    notice.guard(fail)()
    [message] = sent
    assert [whose for _, whose, _, _ in handed_on(message)] == [label.model_id, notice.model_id]
