"""Which messages a learner's page may send to its kernel.

A message of the protocol v1.kernel.websocket.jupyter.org (Jupyter Server, developer documentation,
"WebSocket kernel wire protocols"): the number of offsets, then the offsets, each as an unsigned
little-endian integer of 8 bytes; then channel, header, parent header, metadata, content and
buffers, cut at the offsets.
"""

from __future__ import annotations

import json

PROTOCOL = "v1.kernel.websocket.jupyter.org"
"""The only form spoken in a class: the older one can bring the server to a halt."""
WORD_BYTES = 8
FEWEST_OFFSETS = 6
MOST_OFFSETS = 64
"""A message of the widgets has a handful of buffers. The server would loop as often as a message
says it has offsets."""
CHANNEL = "shell"
ALLOWED_TYPES = frozenset(
    {"comm_open", "comm_msg", "comm_close", "comm_info_request", "kernel_info_request"}
)
"""What widgets need; nothing that runs code, asks about it or ends the kernel."""
USE = "comm_msg"
"""Type of a message that a learner's hand has caused, rather than the page by itself."""


def message_type(message: object) -> str:
    """Return the type of a message that may pass.

    Raises:
        ValueError: It is malformed, or not one of those that widgets need.
    """
    if not isinstance(message, bytes):
        raise ValueError("a message must be binary")
    offsets = _offsets(message)
    if message[offsets[0] : offsets[1]] != CHANNEL.encode():
        raise ValueError("only the channel for widgets is open")
    kind = _header(message[offsets[1] : offsets[2]]).get("msg_type")
    if not isinstance(kind, str) or kind not in ALLOWED_TYPES:
        raise ValueError("this type of message is not for learners' pages")
    return kind


def _offsets(message: bytes) -> list[int]:
    count = int.from_bytes(message[:WORD_BYTES], "little")
    if not FEWEST_OFFSETS <= count <= MOST_OFFSETS:
        raise ValueError("a message with an impossible number of parts")
    start = WORD_BYTES * (count + 1)
    words = range(WORD_BYTES, start, WORD_BYTES)
    offsets = [int.from_bytes(message[at : at + WORD_BYTES], "little") for at in words]
    if offsets != sorted(offsets) or offsets[0] != start or offsets[-1] > len(message):
        raise ValueError("a message whose parts do not fit into it")
    return offsets


def _header(text: bytes) -> dict[str, object]:
    try:
        header = json.loads(text)
    except (ValueError, RecursionError):
        header = None
    if not isinstance(header, dict):
        raise ValueError("a message without a header")
    return header
