"""Starts the servers. Importing this module costs a second: only the command does, late."""

from __future__ import annotations

import logging
import threading
import webbrowser
from collections.abc import Mapping, Sequence

from traitlets.config import Config
from voila.app import Voila


class WorkbookServer(Voila):
    """Voila that opens the browser by address."""

    def launch_browser(self) -> None:
        """Open the start page in the user's browser.

        Voila itself writes a redirecting file for the browser to open, which browsers with a
        sandbox of their own cannot read.
        """
        threading.Thread(target=webbrowser.open, args=(self.connection_url,), daemon=True).start()


def run_voila(settings: Mapping[str, Mapping[str, object]]) -> None:
    """Serve until interrupted."""
    # Pages not found, and connections of pages closed half-way, are no news for the terminal.
    # What goes wrong in a notebook still is: Voila reports that itself.
    logging.getLogger("tornado").setLevel(logging.CRITICAL)
    WorkbookServer.launch_instance(argv=[], config=Config(settings))


def run_lab(arguments: Sequence[str]) -> None:
    """Serve until interrupted."""
    from jupyterlab.labapp import LabApp

    LabApp.launch_instance(argv=list(arguments))
