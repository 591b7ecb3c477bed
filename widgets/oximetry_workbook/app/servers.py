"""Starts the servers. Importing this module costs a second: only the command does, late."""

from __future__ import annotations

import asyncio
import logging
import os
import shutil
import signal
import sys
import threading
import webbrowser
from collections.abc import Mapping, Sequence
from typing import Any

import tornado.ioloop
import tornado.web
from jupyter_core.utils import run_sync
from traitlets.config import Config
from voila.app import Voila
from voila.tornado.handler import TornadoVoilaHandler

STARTING_S = 5
"""So long the server waits for kernels that are just starting, to end them [s]."""


class PageHandler(TornadoVoilaHandler):
    """A chapter that can end its kernel."""

    @tornado.web.authenticated
    async def get(self, path: str | None = None) -> None:
        """Send the page with the token that it hands back when it closes.

        Voila's page looks for this token in a cookie, but nothing sets the cookie before.
        """
        _ = self.xsrf_token  # reading it sets the cookie
        await super().get(path)


class WorkbookServer(Voila):
    """Voila that opens the browser by address, and whose kernels end with their pages."""

    def init_handlers(self) -> list[Any]:
        """Put this package's page in the place of Voila's."""
        return [
            (pattern, PageHandler if handler is TornadoVoilaHandler else handler, *rest)
            for pattern, handler, *rest in super().init_handlers()
        ]

    def launch_browser(self) -> None:
        """Open the start page in the user's browser.

        Voila itself writes a redirecting file for the browser to open, which browsers with a
        sandbox of their own cannot read.
        """
        threading.Thread(target=webbrowser.open, args=(self.connection_url,), daemon=True).start()

    def listen(self) -> None:
        """Serve until Ctrl-C, which lets what runs come to its end first.

        Python's own way, an exception wherever it finds the server, leaves kernels half started.
        """
        loop = tornado.ioloop.IOLoop.current()
        signal.signal(signal.SIGINT, lambda *_: loop.add_callback_from_signal(loop.stop))
        super().listen()

    def stop(self) -> None:
        """End all kernels at once; another Ctrl-C does not wait for them.

        Voila's own way asks kernels to end that are still starting, which leaves a traceback.
        """
        signal.signal(signal.SIGINT, signal.default_int_handler)
        run_sync(self._end_kernels)()
        shutil.rmtree(self.connection_dir)

    async def _end_kernels(self) -> None:
        """Those that start too slowly end by themselves, once they miss the server."""
        kernels = self.kernel_manager
        if starting := [*kernels._pending_kernels.values()]:
            await asyncio.wait(starting, timeout=STARTING_S)
        ends = [kernels.shutdown_kernel(each, now=True) for each in kernels.list_kernel_ids()]
        await asyncio.gather(*ends, return_exceptions=True)


def run_voila(settings: Mapping[str, Mapping[str, object]]) -> None:
    """Serve until interrupted."""
    # Pages not found, and connections of pages closed half-way, are no news for the terminal.
    # What goes wrong in a notebook still is: Voila reports that itself.
    logging.getLogger("tornado").setLevel(logging.CRITICAL)
    WorkbookServer.launch_instance(argv=[], config=Config(settings))


def run_lab(arguments: Sequence[str]) -> None:
    """Serve until interrupted.

    What a script starts in the background ignores Ctrl-C, and Jupyter changes that at a terminal
    alone. SIGTERM it heeds in any case.
    """
    from jupyterlab.labapp import LabApp

    if os.name == "posix" and not (sys.stdin and sys.stdin.isatty()):
        signal.signal(signal.SIGINT, lambda *_: signal.raise_signal(signal.SIGTERM))
    LabApp.launch_instance(argv=list(arguments))
