"""Messages between a page and its kernel, in the form that Jupyter Server's pages speak.

v1.kernel.websocket.jupyter.org (Jupyter Server, developer documentation, "WebSocket kernel wire
protocols"): the number of offsets, the offsets, each an unsigned little-endian integer of 8 bytes,
then the parts: channel, header, parent header, metadata, content and buffers.
"""

import json
import struct
import uuid
from itertools import pairwise

PROTOCOL = "v1.kernel.websocket.jupyter.org"
CONTROL = "jupyter.widget.control"
CONTROL_VERSION = {"version": "1.0.0"}
UPDATES = ("update", "echo_update")


def packed(kind, content, metadata=None):
    """Return a message for the channel "shell" and its id."""
    header = {"msg_id": uuid.uuid4().hex, "msg_type": kind, "session": "", "username": ""}
    texts = [header | {"version": "5.3"}, {}, metadata or {}, content]
    parts = [b"shell", *(json.dumps(each).encode() for each in texts)]
    offsets = [8 * (len(parts) + 2)]
    for part in parts:
        offsets.append(offsets[-1] + len(part))
    return struct.pack(f"<{len(offsets) + 1}Q", len(offsets), *offsets) + b"".join(parts), header[
        "msg_id"
    ]


class Heard:
    """A message that came from the kernel; its parts are read when asked for."""

    def __init__(self, message):
        count = int.from_bytes(message[:8], "little")
        offsets = struct.unpack(f"<{count}Q", message[8 : 8 * (count + 1)])
        self._parts = [message[a:b] for a, b in pairwise(offsets)]

    @property
    def kind(self):
        return json.loads(self._parts[1])["msg_type"]

    @property
    def answers(self):
        """Id of the message that it answers; None for one of its own accord."""
        return json.loads(self._parts[2]).get("msg_id")

    @property
    def content(self):
        return json.loads(self._parts[4])

    @property
    def updated(self):
        """Ids of the widgets whose state it changes: one's own message, or one for many."""
        data = self.content.get("data", {})
        if data.get("method") in UPDATES:
            return [self.content["comm_id"]]
        many = data.get("content")
        return [each["id"] for each in many] if isinstance(many, list) else []

    def is_idle_after(self, asked):
        """Whether the kernel has done all that a message asked for, and sent all of it."""
        if self.kind != "status" or self.answers != asked:
            return False
        return self.content["execution_state"] == "idle"
