"""A bench whose messages to the browser are caught, and a browser that is pretended."""

import json
import sys
import tempfile
from datetime import UTC, datetime
from pathlib import Path

import comm
import ipywidgets as widgets
import pytest
from comm.base_comm import BaseComm

from oximetry_workbook.panels.bench import Bench
from oximetry_workbook.panels.controls import ChoiceControl

sys.path.insert(0, str(Path(__file__).parent))  # for made_recordings

UPDATES = ("update", "echo_update")


class Message:
    """One message from kernel to browser.

    Attributes:
        comm_id: Whose.
        method: "update", "echo_update" or None.
        names: Traits it carries.
        size: Bytes, as JSON text and buffers.
    """

    def __init__(self, comm_id, data, buffers):
        self.comm_id = comm_id
        self.method = (data or {}).get("method")
        self.names = set((data or {}).get("state", ()))
        self.size = len(json.dumps(data)) + sum(memoryview(each).nbytes for each in buffers)


class Wire:
    """All that goes over the line between kernel and browser.

    Attributes:
        messages: Messages sent, oldest first.
    """

    def __init__(self):
        self.messages = []

    def open(self, **keys):
        wire = self

        class CaughtComm(BaseComm):
            def publish_msg(self, _kind, data=None, buffers=None, **_):
                wire.messages.append(Message(self.comm_id, data, buffers or []))

        return CaughtComm(**keys)

    def hear(self, widget, **state):
        """Take a change made in the browser, as a message; return what is sent in answer."""
        before = len(self.messages)
        data = {"method": "update", "state": state, "buffer_paths": []}
        widget.comm.handle_msg({"content": {"data": data}, "buffers": []})
        return [each for each in self.messages[before:] if each.method in UPDATES]

    def set(self, control, value):
        """Type a value into a control's number field, or choose it from its list."""
        if isinstance(control, ChoiceControl):
            chosen = [word for _, word in control.dropdown.options].index(value)
            return self.hear(control.dropdown, index=chosen)
        return self.hear(control.number, value=value)


@pytest.fixture
def wire(monkeypatch):
    line = Wire()
    monkeypatch.setattr(comm, "create_comm", line.open)
    yield line
    widgets.Widget.close_all()


@pytest.fixture
def stored(monkeypatch):
    """Lists the temporary files that are still there: they have no names to look for."""
    made, make = [], tempfile.TemporaryFile

    def make_and_list():
        made.append(make())
        return made[-1]

    monkeypatch.setattr(tempfile, "TemporaryFile", make_and_list)
    return lambda: [each for each in made if not each.closed]


@pytest.fixture
def hand_over():
    """Give a small file to an upload button as the browser does: (button, content, name)."""

    def hand(upload, content, name="file.json"):
        modified = datetime(2026, 1, 1, tzinfo=UTC)
        about = {"name": name, "type": "", "size": len(content), "last_modified": modified}
        upload.value = (about | {"content": memoryview(content)},)

    return hand


@pytest.fixture
def bench(wire):
    return Bench()
