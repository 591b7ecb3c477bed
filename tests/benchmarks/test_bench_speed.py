"""How long the kernel takes, from a moved slider to what is sent to the browser.

Run by `pytest tests/benchmarks --benchmark-only`. Nothing here passes or fails by time; the
figures are read off the table and from `extra_info` (`--benchmark-json=FILE`).
"""

from itertools import cycle
from statistics import median
from time import perf_counter

import pytest
from costs import SWEEP, plain_scipy

from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.body.simulate import simulate
from oximetry_workbook.meter.measure import measure
from oximetry_workbook.panels.bench import Bench


@pytest.fixture
def saturations():
    return cycle(SWEEP)


def test_slider_move_without_a_browser(benchmark, saturations):
    """Simulate, measure and assign to every mark of the bench."""
    bench = Bench()
    benchmark(lambda: bench.model.set("arterial_saturation", next(saturations)))
    assert bench.model.reading.scenario is bench.model.scenario


def test_slider_move_with_messages(benchmark, saturations, counting_comm):
    """The same, with every message written out as for the browser."""
    bench = Bench()
    counting_comm.size = moves = 0

    def move():
        nonlocal moves
        moves += 1
        bench.model.set("arterial_saturation", next(saturations))

    benchmark(move)
    benchmark.extra_info["bytes_per_move"] = round(counting_comm.size / moves)
    assert counting_comm.size > 0


def test_slider_message_from_the_browser(benchmark, saturations, counting_comm):
    """The same, begun by the message that a moved slider sends."""
    bench = Bench()
    slider = bench.controls["arterial_saturation"].slider

    def move():
        state = {"value": 100.0 * next(saturations)}
        data = {"method": "update", "state": state, "buffer_paths": []}
        slider.comm.handle_msg({"content": {"data": data}, "buffers": []})

    benchmark(move)
    assert bench.notice.value == ""


def test_simulate_ten_seconds(benchmark, saturations):
    recording = benchmark(lambda: simulate(Scenario(arterial_saturation=next(saturations))))
    assert recording.time_s.size == 1000


def test_measure_ten_seconds(benchmark):
    recording = simulate(Scenario())
    assert benchmark(lambda: measure(recording)).spo2_percent is not None


def test_measure_one_hour_beside_plain_scipy(benchmark):
    """`times_scipy` in extra_info: our median over scipy's, turn about in the same run."""
    recording = simulate(Scenario(), duration_s=3600.0)
    plain_s, peaks = [], None

    def take_turn():
        nonlocal peaks
        start = perf_counter()
        peaks = plain_scipy(recording)
        plain_s.append(perf_counter() - start)

    measurement = benchmark.pedantic(
        lambda: measure(recording), setup=take_turn, rounds=7, warmup_rounds=1
    )
    benchmark.extra_info["scipy_median_s"] = median(plain_s)
    if benchmark.stats:
        benchmark.extra_info["times_scipy"] = benchmark.stats["median"] / median(plain_s)
    # both see the same hour: as many beats, up to the two at the ends
    assert len(measurement.beats) == pytest.approx(len(peaks[1]), abs=2)
