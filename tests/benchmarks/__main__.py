"""Measure speed, memory and beat finding beside other libraries, and print the tables.

From the project's folder: `python tests/benchmarks`. `pip install -e '.[test,peers]'` brings the
other libraries; `pip install --no-deps pyphysio` the recording with an ECG. What is missing is
shown as not installed. The figures depend on the machine: compare within one run.
"""

import argparse
import json
import os
import platform
from datetime import date
from pathlib import Path

from budgets import markdown
from costs import DAY_S, HOUR_S, growth_table, hour_table, slider_table, volunteers_table
from finders import NOT_INSTALLED, version_of
from found_beats import agreement_table, ecg_table, simulated_table
from kernel_memory import memory_table
from pages import page_tables

RESULTS = Path(__file__).with_name("RESULTS.md")
PACKAGES = ("numpy", "scipy", "pandas", "ipywidgets", "bqplot", "neurokit2", "heartpy", "pyphysio")
CAUTION = (
    "How well beats are found here says nothing about a person: this is a teaching tool, not for "
    "diagnosis or patient care."
)


def options():
    parser = argparse.ArgumentParser(prog="python tests/benchmarks", description=__doc__)
    parser.add_argument("--json", type=Path, metavar="FILE", help="write the tables as JSON too")
    parser.add_argument("--write", action="store_true", help=f"write them to {RESULTS.name} too")
    parser.add_argument("--seeds", type=int, default=50, help="simulated recordings of each kind")
    parser.add_argument("--rounds", type=int, default=5, help="rounds of each timing")
    parser.add_argument(
        "--quick", action="store_true", help="short recordings, one round: does it still run?"
    )
    chosen = parser.parse_args()
    if chosen.seeds < 1 or chosen.rounds < 1:
        parser.error("--seeds and --rounds must be at least 1")
    return chosen


def machine():
    """What the figures were measured on, by name."""
    versions = {name: version_of(name) or NOT_INSTALLED for name in PACKAGES}
    return {
        "date": date.today().isoformat(),
        "processor": processor(),
        "cores": os.cpu_count(),
        "system": f"{platform.system()} {platform.machine()}",
        "Python": platform.python_version(),
        **versions,
    }


def processor():
    """The processor's name where the system tells it."""
    info = Path("/proc/cpuinfo")
    lines = info.read_text().splitlines() if info.exists() else []
    names = [line.split(":", 1)[1].strip() for line in lines if line.startswith("model name")]
    return names[0] if names else platform.processor() or "unknown"


def tables(chosen):
    """All tables, each as soon as it is measured."""
    seeds, rounds = (2, 1) if chosen.quick else (chosen.seeds, chosen.rounds)
    yield hour_table(rounds, 60.0 if chosen.quick else HOUR_S)
    yield growth_table(rounds, 60.0 if chosen.quick else DAY_S)
    yield slider_table(rounds)
    yield volunteers_table(rounds, 100 if chosen.quick else 10_000)
    yield memory_table(1 if chosen.quick else 4)
    yield from page_tables(rounds)
    yield simulated_table(seeds)
    yield ecg_table()
    yield agreement_table()


def heading(about):
    """Title, what it was measured on and the caution."""
    facts = "\n".join(f"- {name}: {value}" for name, value in about.items())
    return f"# Measured\n\nWritten by `python tests/benchmarks --write`. {CAUTION}\n\n{facts}\n"


def main():
    chosen, about = options(), machine()
    print(heading(about), flush=True)
    found = []
    for table in tables(chosen):
        print(table.markdown(), flush=True)
        found.append(table)
    budgets = markdown([each for table in found for each in table.budgets])
    print(budgets)
    if chosen.write:
        parts = [heading(about), budgets, *(table.markdown() for table in found)]
        RESULTS.write_text("\n".join(parts), encoding="utf-8")
    if chosen.json:
        plain = [table.plain() for table in found]
        chosen.json.write_text(json.dumps({"machine": about, "tables": plain}, indent=1))


if __name__ == "__main__":
    main()
