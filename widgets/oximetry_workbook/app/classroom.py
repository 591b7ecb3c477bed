"""The command `oximetry-workbook class`: the workbook for a class on this network."""

from __future__ import annotations

import argparse
import os
import socket
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import quote

from oximetry_workbook.app import class_code, notebooks, serve

if TYPE_CHECKING:
    from oximetry_workbook.app.class_guard import ClassState

EVERYWHERE = "0.0.0.0"
LEARNERS = 30
MOST_LEARNERS = 200
IDLE_MIN = 45
LEARNER_MB = 130
"""Memory of one learner's kernel with the bench [MB], its share of common pages included."""
BENCH = "06_bench.ipynb"
MOST_SPARE = 6
"""Kernels that wait ready at most: each takes the memory of a learner before one has come."""
OUTSIDE = ("192.0.2.1", 9)
"""An address for examples (RFC 5737), to which nothing is sent: the system only says which of
its own addresses it would send from."""


class ClassAddressError(Exception):
    """The class cannot be served at this address; the message says why and what to do."""


def add_arguments(parser: argparse.ArgumentParser, port: Callable[[str], int], usual: int) -> None:
    """Give a parser the arguments of this command; `port` reads a port, `usual` is the default."""
    add = parser.add_argument
    add("--port", type=port, default=usual, help=f"port to serve on (default {usual})")
    add(
        "--address",
        default=EVERYWHERE,
        help="this machine's address to serve on (default: all it has)",
    )
    add(
        "--learners",
        type=_learners,
        default=LEARNERS,
        metavar="N",
        help=f"places in the class (default {LEARNERS})",
    )
    add("--code", type=_code, metavar="WORD", help="class code (default: a new one is made)")
    add(
        "--idle",
        type=_minutes,
        default=IDLE_MIN,
        metavar="MINUTES",
        help=f"free a page's place after so long without use (default {IDLE_MIN})",
    )
    add(
        "--no-browser",
        dest="browser",
        action="store_false",
        help="do not open the projector's page here",
    )
    add("--notebooks", type=Path, metavar="FOLDER", help="serve the notebooks of this folder")


def run(options: argparse.Namespace) -> None:
    """Serve the class until interrupted.

    Raises:
        ClassAddressError: Nobody can listen at this address and port.
        NotebooksMissingError: There are no notebooks.
    """
    folder = notebooks.find_folder(options.notebooks)
    if reason := serve.why_port_unusable(options.port, options.address):
        raise ClassAddressError(reason)
    # Setdefault would not do: a setting meant for oneself must not reach a class.
    os.environ.update(serve.server_environment(os.environ) | serve.class_environment())
    chapters = notebooks.chapters(folder)
    settings = serve.class_settings(folder, chapters, options)
    from oximetry_workbook.app.class_server import run_class

    room = _room(options, [chapter.notebook for chapter in chapters])
    _tell(room, options)
    run_class(settings, room, idle_s=options.idle * 60.0, spare=min(options.learners, MOST_SPARE))


def addresses() -> list[str]:
    """Return this machine's IPv4 addresses that others may reach, the likeliest first."""
    import psutil

    up = {name for name, state in psutil.net_if_stats().items() if state.isup}
    found = [
        each.address
        for name, each_has in psutil.net_if_addrs().items()
        for each in each_has
        if name in up and each.family == socket.AF_INET and not each.address.startswith("127.")
    ]
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(OUTSIDE)
            likeliest = probe.getsockname()[0]
        except OSError:  # no network at all
            likeliest = ""
    return sorted(found, key=lambda address: address != likeliest) or [serve.HOST]


def memory_warning(learners: int, available_bytes: int) -> str:
    """Return what to tell if memory may not last for so many learners, or ""."""
    needed, free = learners * LEARNER_MB / 1000, available_bytes / 1e9
    if needed <= free:
        return ""
    enough = max(1, int(free * 1000 / LEARNER_MB))
    return (
        f"Memory may not last: {learners} learners need about {needed:.1f} GB and {free:.1f} GB "
        f"are free. Close other programs, or give --learners {enough}."
    )


def _room(options: argparse.Namespace, names: Sequence[str]) -> ClassState:
    from oximetry_workbook.app.class_guard import ClassState
    from oximetry_workbook.app.class_places import Places

    host = addresses()[0] if options.address == EVERYWHERE else options.address
    return ClassState(
        door=class_code.Door(options.code or class_code.new_code()),
        places=Places(options.learners),
        address=f"http://{host}:{options.port}/",
        home=quote(BENCH if BENCH in names else names[0]),
        first=quote(names[0]),
    )


def _tell(room: ClassState, options: argparse.Namespace) -> None:
    import psutil
    import segno

    segno.make(room.link, error="l").terminal(compact=True)
    print(f"The class's address: {room.address}")
    print(f"The class code:      {room.door.code}")
    print(f"For the projector:   {room.address.rstrip('/')}{room.board}")
    if options.address == EVERYWHERE:
        for other in addresses()[1:]:
            print(f"Also reached at:     http://{other}:{options.port}/")
    print(f"{options.learners} places. Ctrl-C ends the class.", flush=True)
    if warning := memory_warning(options.learners, psutil.virtual_memory().available):
        print(warning, flush=True)


def _learners(text: str) -> int:
    return _whole(text, MOST_LEARNERS, "number of learners")


def _minutes(text: str) -> int:
    return _whole(text, 24 * 60, "number of minutes")


def _whole(text: str, most: int, what: str) -> int:
    number = int(text) if text.isascii() and text.isdigit() else 0
    if not 1 <= number <= most:
        raise argparse.ArgumentTypeError(
            f"{text!r} is no {what}; give a whole number from 1 to {most}"
        )
    return number


def _code(text: str) -> str:
    try:
        return class_code.checked_code(text)
    except ValueError as problem:
        raise argparse.ArgumentTypeError(str(problem)) from problem
