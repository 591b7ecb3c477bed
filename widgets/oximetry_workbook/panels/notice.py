"""Nothing that goes wrong in a handler may vanish, and no traceback may reach a learner."""

from __future__ import annotations

import logging
from collections.abc import Callable
from functools import wraps
from typing import ParamSpec

import ipywidgets as widgets

from oximetry_workbook.panels.prose import html
from oximetry_workbook.panels.together import together

Parameters = ParamSpec("Parameters")

log = logging.getLogger(__name__)


class Notice(widgets.HTML):
    """A line for messages; empty when all is well."""

    def __init__(self) -> None:
        super().__init__()
        self.add_class("ow-notice")
        self._together = together()

    def tell(self, message: str) -> None:
        """Show a message."""
        self.value = f'<p role="alert">{html(message)}</p>'

    def clear(self) -> None:
        """Take the message away."""
        self.value = ""

    def guard(self, handler: Callable[Parameters, None]) -> Callable[Parameters, None]:
        """Wrap a handler: what it raises is logged and told in a sentence.

        What the handler changes on the page goes there in one message.
        """

        @wraps(handler)
        def guarded(*args: Parameters.args, **kwargs: Parameters.kwargs) -> None:
            with self._together.held():
                self._run(handler, *args, **kwargs)

        return guarded

    def _run(
        self,
        handler: Callable[Parameters, None],
        *args: Parameters.args,
        **kwargs: Parameters.kwargs,
    ) -> None:
        try:
            handler(*args, **kwargs)
        except ValueError as error:  # our own words: field, value, what is allowed
            log.warning("refused: %s", error)
            self.tell(f"That does not work: {error}.")
        except Exception:
            log.exception("handler %r failed", handler)
            self.tell(
                "Something went wrong inside the workbook; the last good state is still shown. "
                "Press Reset, or reload the page."
            )
        else:
            self.clear()
