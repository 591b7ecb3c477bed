"""What it costs: an hour beside other libraries, growth with length, sliders, volunteers."""

import subprocess
import sys
import tracemalloc
from itertools import cycle
from pathlib import Path
from statistics import median
from time import perf_counter, process_time
from unittest import mock

import comm
import ipywidgets as widgets
import numpy as np
from budgets import Budget
from counting_comm import CountingComm
from finders import FINDERS, NOT_INSTALLED, OURS, installed, quietly
from result_table import Table
from scipy import signal

from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.body.simulate import simulate
from oximetry_workbook.meter.measure import measure
from oximetry_workbook.panels.bench import Bench
from oximetry_workbook.study.volunteers import desaturation_study, draw_people

HOUR_S, DAY_S = 3600.0, 86400.0
PULSE_BAND_HZ = (0.5, 8.0)
LENGTHS_S = {"10 s": 10.0, "1 min": 60.0, "10 min": 600.0, "1 h": HOUR_S, "24 h": DAY_S}
VOLUNTEERS = (1, 10, 100, 1000, 10_000)
MOVES = 200
SWEEP = np.round(np.concatenate([np.arange(0.965, 0.6, -0.005), np.arange(0.6, 0.97, 0.005)]), 4)
MEGABYTE = 1e6
SCIPY_LIMIT, DAY_LIMIT_MB, MOVE_LIMIT_MS, MOVE_LIMIT_KB, VOLUNTEERS_LIMIT_S = 5, 1000, 10, 60, 10


def plain_scipy(recording):
    """Band-pass, forwards and backwards, and peaks of both colours: the least one could do."""
    band = signal.butter(2, PULSE_BAND_HZ, "bandpass", fs=recording.sampling_rate_hz, output="sos")
    least = round(0.3 * recording.sampling_rate_hz)
    found = []
    for light in (recording.red, recording.infrared):
        wave = -signal.sosfiltfilt(band, light)
        found.append(signal.find_peaks(wave, distance=least, prominence=np.std(wave))[0])
    return found


def seconds(task):
    """Processor time of a call [s]: others who use the machine count less than by the clock."""
    start = process_time()
    task()
    return process_time() - start


def in_turn(tasks, rounds):
    """Times of named tasks [s], one after another in each round, after one round unseen."""
    times = {name: [] for name in tasks}
    for turn in range(rounds + 1):
        for name, task in tasks.items():
            taken = seconds(task)
            if turn:
                times[name].append(taken)
    return times


def hour_table(rounds, length_s):
    """An hour measured in full beside plain scipy and beside one channel of other libraries."""
    recording = simulate(Scenario(), duration_s=length_s)
    pulse, rate_hz = -recording.infrared, recording.sampling_rate_hz
    measured, plain = "measure, two colours", "scipy band-pass and find_peaks, two colours"
    tasks = {measured: lambda: measure(recording), plain: lambda: plain_scipy(recording)}
    for name, find in installed().items():
        tasks[f"{name}, beats of one colour"] = lambda find=find: quietly(find, pulse, rate_hz)
    times = in_turn(tasks, rounds)
    table = Table(
        f"Time for {length_s / 60:g} min at 100 Hz",
        f"Processor time, median of {rounds} rounds in which all take turns. `measure` finds "
        "beats, both ratios, quality, rate and saturation of every beat; the budget is 5 times "
        "scipy. Below 1 in the last column: faster than our full measurement.",
        ["what", "seconds", "times scipy", "times measure"],
    )
    for name, taken in times.items():
        ratios = [_ratio(taken, times[other]) for other in (plain, measured)]
        table.rows.append([name, median(taken), *ratios])
    table.budgets += _hour_budgets(times, measured, plain)
    missing = set(FINDERS) - set(installed())
    table.rows += [[name, NOT_INSTALLED, None, None] for name in sorted(missing)]
    return table


def _hour_budgets(times, measured, plain):
    others = {name: taken for name, taken in times.items() if name not in (measured, plain)}
    others = {name: taken for name, taken in others.items() if not name.startswith(OURS)}
    what = "an hour of two colours measured in full"
    yield Budget(
        f"{what}, over scipy",
        SCIPY_LIMIT,
        "times",
        _ratio(times[measured], times[plain]),
        f"scipy: {median(times[plain]):.2g} s",
    )
    fastest = min(others, key=lambda name: median(others[name]), default=None)
    yield Budget(
        f"{what}, over one colour by the fastest other library",
        1.0,
        "times",
        fastest and _ratio(times[measured], times[fastest]),
        f"{fastest}: {median(times[fastest]):.2g} s" if fastest else NOT_INSTALLED,
    )


def _ratio(one, other):
    """Median over rounds of the ratio within a round."""
    return median(a / b for a, b in zip(one, other, strict=True))


def growth_table(rounds, longest_s):
    """Time and memory of `measure` over the recording's length, two colours at 100 Hz."""
    table = Table(
        "How measuring grows with the length",
        "Two colours at 100 Hz; processor time. Memory by tracemalloc in a run of its own: the "
        "recording, and the peak while it is measured, recording included; for the whole process "
        "the system's own high-water mark. The budget for 24 h is under 1000 MB.",
        [
            "length",
            "simulate, s",
            "measure, s",
            "µs a second of recording",
            "recording, MB",
            "peak, MB",
        ],
    )
    for name, length_s in LENGTHS_S.items():
        if length_s <= longest_s:
            table.rows.append([name, *_growth(length_s, rounds)])
    if longest_s >= DAY_S:
        most = whole_process_mb(24)
        table.rows.append(["24 h, whole process", None, None, None, None, most])
        table.budgets.append(Budget("memory to measure 24 h", DAY_LIMIT_MB, "MB", most))
    return table


def _growth(length_s, rounds):
    simulated = seconds(lambda: simulate(Scenario(), length_s, 100.0, seed=1))
    recording = simulate(Scenario(), length_s, 100.0, seed=1)
    measured = median(in_turn({OURS: lambda: measure(recording)}, rounds)[OURS])
    own = sum(each.nbytes for each in vars(recording).values() if each is not None) / MEGABYTE
    tracemalloc.start()
    measure(recording)
    peak = tracemalloc.get_traced_memory()[1] / MEGABYTE
    tracemalloc.stop()
    return simulated, measured, 1e6 * measured / length_s, own, own + peak


def whole_process_mb(hours):
    """Most memory that a process of its own held while it measured so many hours [MB], or None."""
    script = Path(__file__).with_name("high_water.py")
    done = subprocess.run(
        [sys.executable, script, str(hours)], capture_output=True, text=True, check=True
    )
    return float(done.stdout) if done.stdout.strip() else None


def slider_table(rounds):
    """One move of the bench's saturation slider, kernel side."""
    moves = rounds * MOVES
    table = Table(
        "Moving a slider of the bench, kernel side",
        f"Simulate 10 s at 100 Hz, measure, assign to every mark; median of {moves} moves, by "
        "processor time and by the clock. The budgets are 10 ms and 60 kB.",
        ["what", "processor, ms", "clock, ms", "bytes a move"],
    )
    with mock.patch.object(comm, "create_comm", CountingComm):
        processor_ms, clock_ms, size = _moved(moves)
    table.rows.append(["with messages written out", processor_ms, clock_ms, size])
    what = "moving a slider of the bench, kernel side"
    table.budgets += [
        Budget(f"{what}, by the clock", MOVE_LIMIT_MS, "ms", clock_ms),
        Budget(f"{what}, messages", MOVE_LIMIT_KB, "kB", size / 1000),
    ]
    *times, _ = _moved(moves)
    table.rows.append(["marks only", *times, None])
    return table


def _moved(count):
    """Median processor and clock time of a move [ms], and mean bytes."""
    bench, saturations, taken = Bench(), cycle(SWEEP), []
    bench.model.set("arterial_saturation", next(saturations))
    CountingComm.size = 0
    for _ in range(count):
        start = process_time(), perf_counter()
        bench.model.set("arterial_saturation", next(saturations))
        taken.append((process_time() - start[0], perf_counter() - start[1]))
    widgets.Widget.close_all()
    return *(1000 * np.median(taken, axis=0)).tolist(), round(CountingComm.size / count)


def volunteers_table(rounds, most):
    """A virtual desaturation study, 28 readings a volunteer."""
    table = Table(
        "Virtual volunteers",
        f"`draw_people` and `desaturation_study`, 28 readings each; processor time, median of "
        f"{rounds} rounds. The "
        "budget is 10 s for 10 000.",
        ["volunteers", "readings", "seconds", "µs a reading"],
    )
    for count in VOLUNTEERS:
        if count > most:
            continue
        people = draw_people(count)
        readings = len(desaturation_study(people))
        study = {OURS: lambda count=count: desaturation_study(draw_people(count))}
        taken = median(in_turn(study, rounds)[OURS])
        table.rows.append([count, readings, taken, 1e6 * taken / readings])
        if count == VOLUNTEERS[-1]:
            table.budgets.append(
                Budget(f"readings of {count} volunteers", VOLUNTEERS_LIMIT_S, "s", taken)
            )
    return table
