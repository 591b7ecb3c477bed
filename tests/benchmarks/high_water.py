"""Print the most memory this process held while it measured so many hours [MB].

Run as a process of its own: `python high_water.py HOURS`. Prints nothing where the system has no
/proc; a process's `ru_maxrss` would start at that of its parent.
"""

import sys
from pathlib import Path

import numpy as np

from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.body.simulate import simulate
from oximetry_workbook.meter.measure import measure
from oximetry_workbook.meter.recording import Recording

STATUS = Path("/proc/self/status")


def of_hours(count):
    """One simulated hour at 100 Hz, so many times over: simulating a day would take more memory."""
    hour = simulate(Scenario(), duration_s=3600.0)
    red, infrared = np.tile(hour.red, count), np.tile(hour.infrared, count)
    return Recording(np.arange(red.size) / 100.0, red, infrared)


def most_held_mb():
    """The system's high-water mark of this process [MB]."""
    line = next(line for line in STATUS.read_text().splitlines() if line.startswith("VmHWM"))
    return int(line.split()[1]) * 1024 / 1e6


if __name__ == "__main__":
    measure(of_hours(int(sys.argv[1])))
    if STATUS.exists():
        print(most_held_mb())
