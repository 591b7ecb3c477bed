"""Tells a Jupyter server with jupyter-server-proxy how to run the workbook at its `oximetry/`.

The entry point in pyproject.toml names it, so that on a hub or on Binder nothing needs to be
configured: every learner's server has the workbook as soon as the package is installed in it.
"""

from __future__ import annotations

import sys

START_S = 60.0
"""How long the workbook may take to answer at first [s]; crowded machines import slowly."""


def server_process() -> dict[str, object]:
    """Return the server process, in the words of jupyter-server-proxy's `ServerProcess`."""
    address = ["--port", "{port}", "--base-url", "{base_url}oximetry/"]
    return {
        "command": [sys.executable, "-m", "oximetry_workbook.app", "--no-browser", *address],
        # Pages and the line to the kernel carry the whole path, so that links lead back here.
        "absolute_url": True,
        "timeout": START_S,
        "launcher_entry": {"title": "Oximetry Workbook"},
    }
