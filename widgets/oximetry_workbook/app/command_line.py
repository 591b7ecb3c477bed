"""The command `oximetry-workbook`: opens the workbook on this machine, or makes a report."""

from __future__ import annotations

import argparse
import os
import re
import sys
from collections.abc import Sequence
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import NoReturn

from oximetry_workbook.app import classroom, handout, notebooks, report, serve
from oximetry_workbook.app.page_files import UnusableFileError

PROGRAM = "oximetry-workbook"
DEFAULT_PORT = 8866
PATH_STEP = re.compile(r"(?:[\w.~!$&'()*+,;=@-]|%[0-9A-Fa-f]{2})+", re.ASCII)
"""What may stand between two slashes of an address (RFC 3986, section 3.3: `pchar`), without the
colon: a whole address is no path."""


class UnusablePortError(Exception):
    """The port cannot be listened on; the message says why and what to do."""


PROBLEMS = (
    notebooks.NotebooksMissingError,
    UnusablePortError,
    classroom.ClassAddressError,
    UnusableFileError,
    OSError,
)
"""What is told in one line, without a traceback."""

INTERRUPTED = 130
"""Exit status of a command ended by Ctrl-C before its work was done (common practice)."""


class OneLineParser(argparse.ArgumentParser):
    """A parser that complains in one line."""

    def error(self, message: str) -> NoReturn:
        """Print the message and end with status 2."""
        self.exit(2, f"{self.prog}: {message}\n")


def main(argv: Sequence[str] | None = None) -> int:
    """Do what a subcommand says; without one, open the workbook and serve it until interrupted.

    Args:
        argv: Arguments of the command; those of the process if None.

    Returns:
        Exit status: 0 after a normal end, 1 if nothing could be served or written, 130 if a
        subcommand was interrupted.

    Raises:
        SystemExit: With status 2 for arguments that make no sense, with 0 after --version.
    """
    options = _parser().parse_args(argv)
    try:
        options.run(options)
    except PROBLEMS as problem:
        print(f"{PROGRAM}: {' '.join(str(problem).split())}", file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        return options.when_interrupted
    return 0


def _serve(options: argparse.Namespace) -> None:
    folder = notebooks.find_folder(options.notebooks)
    if reason := serve.why_port_unusable(options.port):
        raise UnusablePortError(reason)
    os.environ.update(serve.server_environment(os.environ))
    if options.lab:
        _serve_lab(folder, options)
    else:
        _serve_pages(folder, options)


def _serve_pages(folder: Path, options: argparse.Namespace) -> None:
    chapters = notebooks.chapters(folder)
    base_url = options.base_url
    settings = serve.voila_settings(folder, chapters, options.port, options.browser, base_url)
    _say(f"Opening the workbook at http://{serve.HOST}:{options.port}{base_url} (Ctrl-C ends it).")
    from oximetry_workbook.app.servers import run_voila

    run_voila(settings)


def _serve_lab(folder: Path, options: argparse.Namespace) -> None:
    editable = notebooks.learners_copy(folder, Path.cwd())
    if editable != folder:
        _say(f"Your own copies are in {editable}; what was there before is left as it was.")
    _say(f"Opening JupyterLab on port {options.port} (Ctrl-C ends it).")
    from oximetry_workbook.app.servers import run_lab

    run_lab(serve.lab_arguments(editable, options.port, options.browser))


def _parser() -> argparse.ArgumentParser:
    parser = OneLineParser(
        prog=PROGRAM,
        description="Open the oximetry workbook on this machine. Without a command, it is served.",
    )
    parser.add_argument("--version", action="version", version=f"{PROGRAM} {_version()}")
    # Ctrl-C is how serving ends; of work it is the end before its time.
    parser.set_defaults(run=_serve, when_interrupted=0)
    _add_serving(parser)
    commands = parser.add_subparsers(title="commands", metavar="COMMAND")
    made = commands.add_parser(
        "report",
        help="make one HTML page of a study's pairs or of a recording",
        description="Make one HTML page of a study's pairs or of a recording. For teaching only.",
    )
    made.set_defaults(run=report.run, when_interrupted=INTERRUPTED)
    report.add_arguments(made)
    given = commands.add_parser(
        "handout",
        help="make one HTML page to print of a lesson or a chapter",
        description="Make one HTML page to print of a lesson or a chapter. For teaching only.",
    )
    given.set_defaults(run=handout.run, when_interrupted=INTERRUPTED)
    handout.add_arguments(given)
    held = commands.add_parser(
        "class",
        help="serve the workbook to a class on this network",
        description="Serve the workbook to a class on this network, behind a class code.",
    )
    held.set_defaults(run=classroom.run, when_interrupted=0)
    classroom.add_arguments(held, _port, DEFAULT_PORT)
    return parser


def _add_serving(parser: argparse.ArgumentParser) -> None:
    add = parser.add_argument
    add(
        "--port",
        type=_port,
        default=DEFAULT_PORT,
        help=f"port on this machine (default {DEFAULT_PORT})",
    )
    add(
        "--no-browser", dest="browser", action="store_false", help="serve without opening a browser"
    )
    add(
        "--base-url",
        type=_base_url,
        default="/",
        metavar="PATH",
        help="path under which a proxy in front hands on the workbook, such as /oximetry/",
    )
    add("--lab", action="store_true", help="open the notebooks in JupyterLab, to read and change")
    add("--notebooks", type=Path, metavar="FOLDER", help="open the notebooks of this folder")


def _port(text: str) -> int:
    port = int(text) if text.isascii() and text.isdigit() else 0
    if not 1 <= port <= 65535:
        raise argparse.ArgumentTypeError(
            f"{text!r} is no port; give a whole number from 1 to 65535"
        )
    return port


def _base_url(text: str) -> str:
    steps = [step for step in text.split("/") if step]
    if not all(PATH_STEP.fullmatch(step) and step.strip(".") for step in steps):
        raise argparse.ArgumentTypeError(
            f"{text!r} is no path; give one such as /oximetry/, without spaces, ? or #"
        )
    return "/".join(["", *steps, ""])


def _version() -> str:
    try:
        return version(PROGRAM)
    except PackageNotFoundError:
        return "(run from a checkout, not installed)"


def _say(text: str) -> None:
    print(text, flush=True)
