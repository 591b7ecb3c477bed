"""All that one step changes goes to the page in one message.

ipywidgets sends a message for every widget that changed, eighteen for a step of the bench. Passing
them on one by one took kernel, server and page more time than computing and drawing, and the page
drew the step over three frames.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from importlib.resources import files
from threading import get_ident
from typing import Any

import anywidget
import traitlets

_STATIC = files("oximetry_workbook.panels") / "static"


class Together(anywidget.AnyWidget):
    """Carries the changes of many widgets to the page; it is not shown itself.

    Attributes:
        ready: Set by the page once it can hand the changes on. Until then each widget's changes
            go out as they always do.
    """

    _esm = (_STATIC / "together.js").read_text("utf-8")
    ready = traitlets.Bool(default_value=False).tag(sync=True)

    _holder: int | None = None
    """The thread whose changes are held; JupyterLab's page may have its messages heard in one,
    while a cell runs in another."""

    @contextmanager
    def held(self) -> Iterator[None]:
        """Hold what widgets change meanwhile, and send it at the end in one message.

        What is no change of a widget (a new widget, one that closes, a message of another kind)
        goes out at once, after what was held until then: the order stays. Within another `held`,
        the outermost one sends.
        """
        if self._holder is not None or not self.ready or self.comm is None:
            yield
            return
        self._holder = holder = get_ident()
        lines = type(self.comm)
        publish = lines.publish_msg
        changes: list[dict[str, Any]] = []
        buffers: list[Any] = []

        def send_held() -> None:
            if changes:
                data = {"method": "custom", "content": changes.copy()}
                publish(self.comm, "comm_msg", data=data, buffers=buffers.copy())
                changes.clear()
                buffers.clear()

        def hold(line: Any, kind: str, data: Any = None, **more: Any) -> None:
            if get_ident() != holder:
                publish(line, kind, data=data, **more)
            elif kind == "comm_msg" and data.get("method") == "update":
                changes.append({"id": line.comm_id, "data": data})
                buffers.extend(more.get("buffers") or ())
            else:
                send_held()
                publish(line, kind, data=data, **more)

        lines.publish_msg = hold
        try:
            yield
        finally:
            self._holder = None
            lines.publish_msg = publish
            send_held()


@cache
def together() -> Together:
    """Return the one of this kernel, which all panels share."""
    return Together()
