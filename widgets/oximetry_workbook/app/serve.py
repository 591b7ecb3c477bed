"""What Voila and JupyterLab are told when they serve the workbook: pure functions only."""

from __future__ import annotations

import argparse
import errno
import os
import socket
import tempfile
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from pathlib import Path
from urllib.parse import quote

from oximetry_workbook.app.notebooks import Chapter

HOST = "127.0.0.1"
"""Loopback: the workbook is for the person at this machine."""
TITLE = "Oximetry Workbook"
PACKAGE = Path(__file__).resolve().parents[1]
TEMPLATES = PACKAGE / "app" / "templates_root"
TEMPLATE = "workbook"
IDLE_S = 600
"""A kernel without an open page is ended after this long [s]."""
CULL_INTERVAL_S = 60
"""How often the server looks for such kernels [s]."""
LONGEST_IPC_FOLDER = 38
"""Longest temporary folder for ipc: a socket path may have 103 characters on macOS (unix(4)
there, `sun_path`), of which Voila and the kernel add 65."""
LARGEST_MESSAGE = 10 * 1024 * 1024
"""Most that a page may send at once [bytes]; a larger message ends the connection without a word.
A recording comes in slices of 1 MiB (`panels.upload.SLICE_BYTES`). The largest message is a table
of study pairs, sent whole: 10 MiB hold more than 100 000 pairs."""
CLASS_LARGEST_MESSAGE = 4 * 1024 * 1024
"""The same in a class, where many may send at once [bytes]; a slice of a recording fits."""
CLASS_UPLOAD_MB = 20
"""Largest recording that a learner may send in a class [MB]."""
KERNEL_ANSWER_S = 5.0
"""How long a page waits for its kernel to greet before it goes on [s]. The notebook has run by
then, so the kernel is there; now and then the greeting is lost, and Jupyter Server would wait for
a minute with an empty page."""
OUTPUT_S = 120
"""How long the server waits for the rest of a cell's output after the kernel has told that it ran
[s]. nbclient's own 4 s are too short where several pages open at once on a few cores: what came
later was left out of the page without a word, so that it opened without its plots."""
EXTENSIONS = [
    "@jupyter-widgets/jupyterlab-manager",
    "@voila-dashboards/widgets-manager8",
    "bqplot",
    "bqscales",
    "anywidget",
]
"""Front-end extensions a page loads. Others that a learner has installed would only slow the
page down, and might ask servers elsewhere."""


def server_environment(environment: Mapping[str, str]) -> dict[str, str]:
    """Return the environment variables to set before a server starts, given the present ones.

    JUPYTER_PATH leads to the workbook's page template, and to the package itself, from which
    the template includes the panels' style sheet. The template lies under nbconvert/, not
    under voila/: Voila takes the first voila/ folder it finds for its own data.
    """
    variables = {
        "JUPYTER_PATH": _joined([TEMPLATES, PACKAGE], environment.get("JUPYTER_PATH", "")),
        # Without it every slider move is sent back to the page that made it.
        "JUPYTER_WIDGETS_ECHO": "0",
        # Chapter 14 may open files by their path: whoever sees the page sits at this machine.
        "OXIMETRY_WORKBOOK_PATHS": environment.get("OXIMETRY_WORKBOOK_PATHS", "1"),
    }
    if environment.get("PYTHONPATH"):
        # Kernels start in the notebooks' folder, where a relative entry leads nowhere.
        entries = environment["PYTHONPATH"].split(os.pathsep)
        variables["PYTHONPATH"] = os.pathsep.join(os.path.abspath(entry) for entry in entries)
    return variables


def class_environment() -> dict[str, str]:
    """Return the environment variables that a class's kernels need, whatever was set before."""
    return {"OXIMETRY_WORKBOOK_PATHS": "0", "OXIMETRY_WORKBOOK_UPLOAD_MB": str(CLASS_UPLOAD_MB)}


def voila_settings(
    folder: Path, chapters: Sequence[Chapter], port: int, open_browser: bool, base_url: str = "/"
) -> dict[str, dict[str, object]]:
    """Return Voila's configuration, by class and trait, for serving every notebook in `folder`.

    Args:
        folder: Folder of the notebooks.
        chapters: What the navigation lists.
        port: Port on loopback; no other is tried when it is taken.
        open_browser: Whether to open the start page in the user's browser.
        base_url: Path that all addresses start with; begins and ends with a slash.
    """
    voila: dict[str, object] = {
        "ip": HOST,
        "port": port,
        "port_retries": 0,
        "base_url": base_url,
        "open_browser": open_browser,
        "root_dir": str(folder),
        "log_level": "ERROR",
        # A stray voila.json in the present folder must not change what learners see.
        "config_file_paths": [],
        "tornado_settings": {
            "websocket_max_message_size": LARGEST_MESSAGE,
        },
    }
    page = {
        "VoilaConfiguration": _page_settings(chapters),
        "VoilaExecutor": {"iopub_timeout": OUTPUT_S},
    }
    return {"Voila": voila} | page | _kernel_settings()


def class_settings(
    folder: Path, chapters: Sequence[Chapter], options: argparse.Namespace
) -> dict[str, dict[str, object]]:
    """Return Voila's configuration for a class, given the command's options.

    The class's server ends kernels itself, since Jupyter Server would end spare ones too.
    """
    settings = voila_settings(folder, chapters, options.port, options.browser)
    settings["Voila"] |= {"ip": options.address}
    tornado = settings["Voila"]["tornado_settings"] | {
        "websocket_max_message_size": CLASS_LARGEST_MESSAGE
    }
    settings["Voila"]["tornado_settings"] = tornado
    settings["VoilaConfiguration"] |= {"preheat_kernel": True, "default_pool_size": 0}
    settings["MappingKernelManager"] |= {"cull_interval": 0, "cull_idle_timeout": 0}
    return settings


def lab_arguments(folder: Path, port: int, open_browser: bool) -> list[str]:
    """Return JupyterLab's command line for opening the notebooks in `folder` for editing."""
    settings: dict[str, object] = {
        "ServerApp.ip": HOST,
        "ServerApp.port": port,
        "ServerApp.port_retries": 0,
        "ServerApp.open_browser": open_browser,
        # Browsers in a sandbox of their own cannot read the redirecting file's folder.
        "ServerApp.use_redirect_file": False,
        "ServerApp.root_dir": folder,
        "ServerApp.log_level": "WARN",
        # In a container the learner often is root; a token guards the server all the same.
        "ServerApp.allow_root": True,
        # Ctrl-C ends the server without asking back.
        "ServerApp.answer_yes": True,
        # Nothing is asked of servers elsewhere: no news, no updates, no list of extensions.
        "LabApp.news_url": None,
        "LabApp.check_for_updates_class": "jupyterlab.NeverCheckForUpdate",
        "LabApp.extension_manager": "readonly",
    }
    return [f"--{name}={value}" for name, value in settings.items()]


def why_port_unusable(port: int, host: str = HOST) -> str:
    """Return why this process cannot listen on `port` of `host`, or "" if it can."""
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as probe:
        if os.name == "posix":
            # As the server itself does: a port just freed is not a port taken.
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
        except PermissionError:
            return f"Port {port} is not open to this user: choose one above 1023 with --port."
        except OSError as refused:
            if refused.errno != errno.EADDRINUSE:
                return f"This machine has no address {host}: choose another with --address."
            return f"Port {port} is taken by another program: choose another with --port."
    return ""


def _page_settings(chapters: Sequence[Chapter]) -> dict[str, object]:
    links = [asdict(chapter) | {"path": quote(chapter.notebook)} for chapter in chapters]
    return {
        "template": TEMPLATE,
        # The page switches between light and dark by itself.
        "theme": "light",
        "allow_template_override": "NO",
        "allow_theme_override": "NO",
        # The template's own tree page, which leads to the first chapter.
        "classic_tree": True,
        "extension_allowlist": EXTENSIONS,
        "resources": {"workbook": {"title": TITLE, "chapters": links}},
    }


def _kernel_settings() -> dict[str, dict[str, object]]:
    return {
        "MappingKernelManager": {
            "cull_interval": CULL_INTERVAL_S,
            "cull_idle_timeout": IDLE_S,
            "kernel_info_timeout": KERNEL_ANSWER_S,
        },
        # A kernel that crashed would come back empty, behind a page that looks alive. Without
        # a second life it is gone for the server too, and the page can tell the learner.
        "KernelRestarter": {"restart_limit": 0},
        "KernelManager": {"transport": _transport(tempfile.gettempdir())},
    }


def _transport(temporary_folder: str) -> str:
    """Sockets in the file system cannot lose the race for a port; Windows has none for zmq."""
    fits = len(temporary_folder) <= LONGEST_IPC_FOLDER
    return "ipc" if os.name == "posix" and fits else "tcp"


def _joined(first: Sequence[Path], present: str) -> str:
    return os.pathsep.join([*map(str, first), *filter(None, [present])])
