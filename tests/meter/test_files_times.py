"""Times in files: their unit, clocks and dates, gaps and uneven steps."""

import warnings

import numpy as np
import pytest
from made_files import COUNT, INFRARED, RED, STEP_S, TIME_S, assert_same, opened, problem, table

from oximetry_workbook.meter.files.times import days_counted
from oximetry_workbook.meter.measure import measure
from oximetry_workbook.meter.recording import Recording, RecordingWarning


@pytest.mark.parametrize(
    ("header", "scale", "choices", "told"),
    [
        ("time_ms,red,ir", 1e3, {}, False),
        ("time_s,red,ir", 1, {}, False),
        ("Time (ms),red,ir", 1e3, {}, False),
        ("time,red,ir\nms,V,V", 1e3, {}, False),
        ("time,red,ir", 1e3, {"time_unit": "ms"}, False),
        ("time,red,ir", 1e3, {}, True),
        ("time,red,ir", 1, {}, True),
        ("timestamp,red,ir", 1e6, {}, True),
    ],
)
def test_unit_of_time_by_name_by_choice_or_told(header, scale, choices, told):
    found = opened(table(header=header, time_s=TIME_S * scale), **choices)
    assert_same(found.recording)
    assert any("is assumed" in sentence for sentence in found.preview.assumptions) == told


def test_what_is_taken_for_granted_is_a_warning():
    with pytest.warns(RecordingWarning, match="unit of 'time' is not written: s is assumed"):
        Recording.read_bytes("made.csv", table(header="time,red,ir").encode())
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        Recording.read_bytes("made.csv", table().encode())


@pytest.mark.parametrize(
    ("start", "written"),
    [
        ("date", "2001-12-31T23:59:5{:.2f}"),
        ("date", "2001-12-31 23:59:5{:.2f}Z"),
        ("time", "11:59:5{:.2f}"),
    ],
)
def test_dates_and_times_of_day_become_seconds(start, written):
    rows = zip(TIME_S, RED, INFRARED, strict=True)
    text = f"{start},red,ir\n" + "".join(f"{written.format(t)},{r},{i}\n" for t, r, i in rows)
    assert_same(opened(text, columns={"time": start}).recording)


def clock_table(seconds):
    """Times of day that begin so many seconds after midnight."""
    rows = []
    for time_s, red, infrared in zip(seconds, RED, INFRARED, strict=True):
        whole, rest = divmod(round(time_s * 100), 100)
        minutes, second = divmod(whole % 86400, 60)
        clock = f"{minutes // 60:02d}:{minutes % 60:02d}:{second:02d}.{rest:02d}"
        rows.append(f"{clock},{red},{infrared}\n")
    return "time,red,ir\n" + "".join(rows)


@pytest.mark.parametrize("start_s", [0.0, 86398.0, 86400.0 - STEP_S])
@pytest.mark.parametrize("unit", [None, "clock"])
def test_a_clock_goes_on_past_midnight(start_s, unit):
    found = opened(clock_table(start_s + TIME_S), time_unit=unit)
    assert found.preview.time_unit == "clock"
    np.testing.assert_allclose(found.recording.time_s, TIME_S, atol=1e-9)
    told = "The clock passes midnight once: the next day is counted on." in found.preview.findings
    assert told == (start_s > 0)


def test_a_clock_passes_many_midnights():
    step_s = 0.09 * 86400
    times_s = np.arange(60) * step_s
    counted_s, midnights = days_counted(times_s % 86400)
    np.testing.assert_allclose(counted_s, times_s)
    assert midnights == int(times_s[-1] // 86400)


def test_a_clock_that_is_set_back_by_an_hour_is_not_midnight():
    seconds = np.where(np.arange(COUNT) < 200, 0.0, -3600.0) + 43200.0 + TIME_S
    assert "1 go back" in problem(clock_table(seconds))


def test_dates_that_go_back_are_not_midnight():
    days = ["2001-12-31" if i < 200 else "2001-12-30" for i in range(COUNT)]
    rows = zip(days, clock_table(43200.0 + TIME_S).splitlines()[1:], strict=True)
    text = "time,red,ir\n" + "".join(f"{day} {row}\n" for day, row in rows)
    assert "1 go back" in problem(text)


@pytest.mark.parametrize("unit", ["s", "ms", "us"])
def test_a_unit_for_clock_times_is_refused(unit):
    says = problem(clock_table(43200.0 + TIME_S), time_unit=unit)
    assert f"'time' is written as clock times, which {unit} does not fit" in says


def test_clock_time_for_plain_numbers_is_refused():
    assert "'time_s' holds plain numbers, not clock times" in problem(table(), time_unit="clock")


@pytest.mark.parametrize(
    ("header", "scale", "unit"),
    [("time_s,red,ir", 1, "s"), ("t,red,ir", 1e3, "ms"), ("time_us,red,ir", 1e6, "us")],
)
def test_the_preview_names_the_unit_of_the_times(header, scale, unit):
    assert opened(table(header=header, time_s=scale * TIME_S)).preview.time_unit == unit
    timed = opened(table(header=header, time_s=scale * TIME_S), sampling_rate_hz=100.0)
    assert timed.preview.time_unit == ""


def test_a_gap_in_time_becomes_missing_samples_and_is_told():
    keep = (TIME_S < 1.0) | (TIME_S >= 1.5)
    found = opened(table(columns=[TIME_S[keep], RED[keep], INFRARED[keep]]))
    assert found.recording.time_s == pytest.approx(TIME_S)
    missing = np.isnan(found.recording.red)
    assert np.array_equal(missing, ~keep)
    assert found.recording.red[keep] == pytest.approx(RED[keep])
    assert any("50 samples are missing" in text for text in found.preview.findings)
    assert any("hold 50 missing samples" in text for text in found.preview.assumptions)
    assert "samples are missing" in measure(found.recording).reason


def test_times_rounded_to_milliseconds_are_evened_and_told():
    exact_s = np.arange(COUNT) / 128.0
    found = opened(table(header="time_ms,red,ir", time_s=np.round(1000 * exact_s)))
    assert found.recording.sampling_rate_hz == pytest.approx(128, rel=1e-4)
    assert found.recording.red == pytest.approx(RED)
    assert any("times are uneven" in text for text in found.preview.assumptions)
