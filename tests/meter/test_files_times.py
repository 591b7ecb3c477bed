"""Times in files: their unit, clocks and dates, gaps and uneven steps."""

import warnings

import numpy as np
import pandas as pd
import pytest
from made_files import COUNT, INFRARED, RED, STEP_S, TIME_S, assert_same, opened, problem, table

from oximetry_workbook.meter.files import UnreadableRecordingError
from oximetry_workbook.meter.files.table import _Dates
from oximetry_workbook.meter.files.times import PLACES, PLAUSIBLE_HZ, days_counted, likely_unit
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


def test_dates_with_another_offset_from_utc_are_the_same_clock():
    # The hour is set back when summer time ends: 02:59:59 at +02:00 comes before 02:00:00 at +01:00
    # (ISO 8601 writes the offset beside the time of day).
    rows = []
    for time_s, red, infrared in zip(TIME_S, RED, INFRARED, strict=True):
        second = round(time_s * 100)
        summer = second < 200
        at = f"02:59:{58 + second // 100:02d}" if summer else f"02:00:{second // 100 - 2:02d}"
        rows.append(f"2001-10-28T{at}.{second % 100:02d}+0{1 + summer}:00,{red},{infrared}\n")
    assert_same(opened("date,red,ir\n" + "".join(rows), columns={"time": "date"}).recording)


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


def test_every_midnight_is_counted():
    rows = clock_table(20_000.0 * np.arange(COUNT) * 2)  # past midnight every other row
    told = opened(rows).preview.findings
    assert "The clock passes midnight 184 times: the next day is counted on." in told


def test_seconds_may_be_left_out_or_have_a_decimal_comma():
    seconds = _Dates().seconds(pd.Series(["13:58", "13:58:01,5", " 14:00 "]), 0)
    np.testing.assert_allclose(seconds, [0.0, 1.5, 120.0])
    dated = _Dates().seconds(pd.Series(["2001-12-31 23:59:59,5", "2002-01-01 00:00:01"]), 0)
    np.testing.assert_allclose(dated, [0.0, 1.5])


def test_a_clock_read_in_pieces_counts_from_the_first_time_there_is():
    dates = _Dates()
    first = dates.seconds(pd.Series([None, "13:58:00", "13:58:01"], dtype=str), 0)
    np.testing.assert_allclose(first, [np.nan, 0.0, 1.0])
    np.testing.assert_allclose(dates.seconds(pd.Series(["13:58:02"]), 0), [2.0])


def test_a_gap_of_one_sample_has_its_place():
    keep = np.arange(COUNT) != 200
    found = opened(table(columns=[each[keep] for each in (TIME_S, RED, INFRARED)]))
    told = "1 samples are missing in gaps of the time: 0.02 s after 1.99 s."
    assert told in found.preview.findings


def test_times_that_wander_off_an_even_grid_by_more_than_a_step_are_refused():
    slowly = 0.5 * np.pi * TIME_S  # one wave in the four seconds
    assert opened(table(time_s=TIME_S + 0.009 * np.sin(slowly))).preview.problem is None
    told = problem(table(time_s=TIME_S + 0.02 * np.sin(slowly)))
    assert "they lie up to 0.0201 s off an even grid of 0.00999921 s; resample" in told


def test_a_clock_that_is_set_back_by_an_hour_is_not_midnight():
    seconds = np.where(np.arange(COUNT) < 200, 0.0, -3600.0) + 43200.0 + TIME_S
    assert "an earlier time: 1)" in problem(clock_table(seconds))


def test_dates_that_go_back_are_not_midnight():
    days = ["2001-12-31" if i < 200 else "2001-12-30" for i in range(COUNT)]
    rows = zip(days, clock_table(43200.0 + TIME_S).splitlines()[1:], strict=True)
    text = "time,red,ir\n" + "".join(f"{day} {row}\n" for day, row in rows)
    assert "an earlier time: 1)" in problem(text)


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


def test_uneven_times_are_told_in_numbers():
    late_s = TIME_S + 5.0
    late_s[1::2] += 0.0012  # every other sample 1.2 ms late: off an even grid by so much
    (told,) = opened(table(time_s=late_s)).preview.assumptions
    assert "by up to 1.2 ms" in told
    rate_hz = (COUNT - 1) / (late_s[-1] - late_s[0])
    assert f"{rate_hz:.6g} samples per second" in told


def test_gaps_are_placed_wherever_the_clock_begins():
    gaps = [5, 10, 15, 20, 25]  # of 0.1 s each, ten samples, on a clock from 100 s on
    keep = ~np.isin(np.arange(COUNT) // 10, gaps)
    found = opened(table(columns=[100.0 + TIME_S[keep], RED[keep], INFRARED[keep]]))
    assert np.array_equal(np.isnan(found.recording.red), ~keep)
    (told,) = [each for each in found.preview.findings if "in gaps of the time" in each]
    assert told.startswith("50 samples are missing in gaps of the time: 0.11 s after 100.49 s, ")
    assert told.count("0.11 s after") == PLACES
    assert told.endswith(f" and {len(gaps) - PLACES} more.")


@pytest.mark.parametrize("start_s", [0.0, 50.0])
def test_the_mean_rate_is_told_where_times_do_not_increase(start_s):
    time_s = start_s + TIME_S
    time_s[200] = time_s[199]
    assert f"(the mean is {1 / STEP_S:.6g} Hz)" in problem(table(time_s=time_s))


def test_without_any_span_there_is_no_mean_rate():
    assert "the mean is" not in problem(table(time_s=np.full(COUNT, 3.0)))


def test_midnight_may_come_at_the_last_sample():
    counted_s, midnights = days_counted(np.array([86399.0, 86399.5, 0.0]))
    assert (counted_s.tolist(), midnights) == ([86399.0, 86399.5, 86400.0], 1)


COUNTED = " If it counts samples, give the sampling rate instead."


@pytest.mark.parametrize(
    ("step", "unit", "rate", "counted"),
    [(0.01, "s", "100", ""), (20.0, "ms", "50", ""), (1.0, "ms", "1000", COUNTED)],
)
def test_a_guessed_unit_is_told_with_the_rate_that_it_makes(step, unit, rate, counted):
    written = step * np.arange(20.0)
    written[[4, 9]] = np.nan, written[8]  # a missing and a double time are no steps
    assert likely_unit(written, "clock") == (
        unit,
        f"The unit of 'clock' is not written: {unit} is assumed, which makes {rate} samples per "
        f"second.{counted}",
    )


@pytest.mark.parametrize(("written", "step"), [([5.0, 5.0, 5.0], "0"), ([0.0, 1e9, 2e9], "1e+09")])
def test_no_unit_that_makes_a_pulse_is_refused(written, step):
    low, high = PLAUSIBLE_HZ
    with pytest.raises(UnreadableRecordingError) as refused:
        likely_unit(np.array(written), "clock")
    assert str(refused.value) == (
        f"the unit of 'clock' is not written, and its usual step of {step} makes no sampling rate "
        f"of {low:g} to {high:g} Hz in any of s, ms, us; give the time's unit or the sampling rate"
    )


@pytest.mark.parametrize("end", PLAUSIBLE_HZ)
def test_the_limits_of_a_plausible_rate_belong_to_it(end):
    assert likely_unit(np.arange(3.0) / end, "t")[0] == "s"


def test_the_first_time_that_goes_back_is_told_with_its_neighbour():
    times = TIME_S.copy()
    times[200] = times[190]
    told = problem(table(time_s=times))
    assert "the row before: 0; rows with an earlier time: 1)" in told
    assert f"in row 201 below the header ({TIME_S[190]:.6g} s after {TIME_S[199]:.6g} s)" in told
