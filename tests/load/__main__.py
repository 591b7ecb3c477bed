"""Hold a class of many learners on this machine, and tell how it went.

From the project's folder: `python tests/load --learners 30 --minutes 5`. Everything stays on
loopback; it ends by itself, with status 1 if anything was lost. One learner has a real browser;
the others speak to the server as their pages would, fetch the same files, and drag a slider. All
of them run on the machine that serves, so that figures are worse than in a class.
"""

import argparse
import asyncio
import json
import os
import sys
from pathlib import Path

from figures import machine, markdown
from phases import LoadTest

MOST_LEARNERS, MOST_MINUTES = 100, 30
TRUE_AT_THE_END = (
    "one too many is refused",
    "kernel killed, same state",
    "network cut, same page",
    "network cut, same state",
    "network cut, others with the same state",
    "server killed, same state",
    "server killed, others with the same state",
)
NONE_AT_THE_END = ("errors met", "places taken at the end", "tracebacks at the lecturer's")


def options():
    parser = argparse.ArgumentParser(prog="python tests/load", description=__doc__)
    parser.add_argument("--learners", type=int, default=30, metavar="N")
    parser.add_argument("--minutes", type=float, default=5.0, help="how long they move sliders")
    parser.add_argument("--arrive", type=float, default=60.0, metavar="SECONDS", help="within this")
    parser.add_argument("--json", type=Path, metavar="FILE", help="write what was found as JSON")
    parser.add_argument("--markdown", type=Path, metavar="FILE", help="write the tables")
    parser.add_argument(
        "--quick", action="store_true", help="without the wait for pages that vanish"
    )
    chosen = parser.parse_args()
    if not 2 <= chosen.learners <= MOST_LEARNERS or not 0 < chosen.minutes <= MOST_MINUTES:
        parser.error(f"2 to {MOST_LEARNERS} learners, up to {MOST_MINUTES} minutes")
    return chosen


def lost(found):
    """What went wrong, in words."""
    wrong = [name for name in TRUE_AT_THE_END if not found[name]]
    return wrong + [name for name in NONE_AT_THE_END if found[name]]


def main():
    chosen, load_before = options(), os.getloadavg()[0]
    test = LoadTest(chosen.learners, 60.0 * chosen.minutes, chosen.arrive)
    asyncio.run(test.run(vanishing=not chosen.quick))
    about = machine(test.browser_version, load_before)
    tables = markdown(test.found, about, chosen.learners, chosen.minutes)
    print(tables, flush=True)
    if chosen.json:
        chosen.json.write_text(json.dumps(test.found, indent=1))
    if chosen.markdown:
        chosen.markdown.write_text(tables)
    for error in test.errors:
        print(error, file=sys.stderr)
    if wrong := lost(test.found):
        print("Lost: " + "; ".join(wrong), file=sys.stderr)
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
