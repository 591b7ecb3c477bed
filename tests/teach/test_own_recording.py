"""One's own recording: parts read are those of the whole, drawn lines keep their extremes."""

import io
import math
import re
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from oximetry_workbook.body.simulate import simulate
from oximetry_workbook.meter.curve import TEXTBOOK, published_curves
from oximetry_workbook.meter.files import open_content
from oximetry_workbook.meter.measure import measure
from oximetry_workbook.meter.recording import Recording
from oximetry_workbook.meter.windows import windows
from oximetry_workbook.teach.invented_recording import INVENTED_NAME, LOST_S, invented_csv
from oximetry_workbook.teach.own_recording import (
    POINTS,
    beats_sentence,
    curve_words,
    drawn_line,
    found_sentences,
    nice_ends,
    numbers,
    read_in_parts,
    saturation_sentence,
    table_csv,
)


@pytest.fixture(scope="module")
def opened():
    return open_content(INVENTED_NAME, invented_csv())


@pytest.fixture(scope="module")
def parts(opened):
    return list(read_in_parts(opened.recording, 10.0, None))


@pytest.fixture(scope="module")
def readings(parts):
    return parts[-1][1]


def test_the_invented_file_is_read_like_any_other(opened):
    preview = opened.preview
    assert preview.problem is None
    assert preview.assumptions == ()
    assert (preview.duration_s, preview.sampling_rate_hz) == pytest.approx((180.0, 50.0))
    assert set(preview.chosen) == {"time", "red", "infrared", "reference"}
    lost = round((LOST_S[1] - LOST_S[0]) * 50)
    assert preview.findings == tuple(
        f"{lost} of 9000 {colour} samples (1.39 %) are missing, at 164.00 s."
        for colour in ("infrared", "red")
    )


def test_the_fall_is_late_and_the_moving_hand_makes_another(readings):
    # The course itself: 97 % until the breath-hold, 82 % at the first breath, at 90 s.
    reference = readings.windows["reference_percent"]
    assert readings.windows["time_s"][reference.idxmin()] == 80.0
    shown = readings.windows["spo2_percent"].to_numpy()
    early = np.nanargmin(shown[:14])
    assert readings.windows["time_s"][early] > 90.0
    assert shown[early] == pytest.approx(84.0, abs=2.5)
    assert np.nanmin(shown[14:16]) < 80.0 < reference[14]
    np.testing.assert_array_equal(np.flatnonzero(~readings.shown), [16])


@pytest.mark.parametrize("window_s", [4.0, 7.3, 10.0, 33.0, 200.0])
@pytest.mark.parametrize("name", [None, "textbook line 110 − 25 R"])
def test_parts_are_those_of_the_whole(opened, window_s, name):
    # Reference: `meter.windows` over the whole recording at once.
    curve = None if name is None else published_curves[name]
    found = list(read_in_parts(opened.recording, window_s, curve))[-1][1]
    whole = windows(opened.recording, window_s, curve)
    pd.testing.assert_frame_equal(found.windows[list(whole.columns)], whole)


def test_beats_are_those_of_each_window(opened, readings):
    ends = [*range(0, 180, 10), math.inf]
    tables = [measure(opened.recording.between(start, end)).beats for start, end in pairwise(ends)]
    together = pd.concat([each for each in tables if len(each)], ignore_index=True)
    pd.testing.assert_frame_equal(readings.beats, together)


def test_parts_grow_until_all_is_read(parts):
    shares = [share for share, _ in parts]
    lengths = [len(each.windows) for _, each in parts]
    assert shares == sorted(shares)
    assert shares[-1] == 1.0
    assert lengths == [10, 18]


def test_a_rest_of_a_few_samples_is_left_out():
    time_s = np.arange(1005) / 100.0
    light = 1.0 - 0.01 * np.sin(8.0 * time_s)
    found = list(read_in_parts(Recording(time_s, light, light), 10.0, None))[-1][1]
    assert len(found.windows) == 1


def test_a_window_of_too_few_samples_is_refused(opened):
    with pytest.raises(ValueError, match="at least 8 are needed"):
        list(read_in_parts(opened.recording, 0.1, None))


def test_one_colour_gives_a_pulse_and_no_saturation(opened):
    red_only = replace(opened.recording.between(0.0, 40.0), infrared=None)
    found = list(read_in_parts(red_only, 10.0, None))[-1][1]
    assert numbers(found)["SpO₂, median"] == "–"
    assert numbers(found)["Pulse, per min"] == "72"
    assert "There is no infrared light" in saturation_sentence(found)
    assert beats_sentence(found) == "No beat gives a ratio of ratios that may be believed."


def test_the_curve_is_named_with_its_reason(opened, readings):
    assert curve_words(readings) == "computed for this probe"
    bare = replace(opened.recording.between(0.0, 20.0), probe_calibration=None)
    for curve, said in ((None, "R, for want of a calibration"), (TEXTBOOK, "R")):
        found = list(read_in_parts(bare, 10.0, curve))[-1][1]
        assert curve_words(found) == f"textbook line 110 − 25 {said}"


def test_numbers_are_those_of_the_table(readings):
    table = readings.windows
    away = (table["spo2_percent"] - table["reference_percent"]).mean()
    assert numbers(readings) == {
        "Windows": "18",
        "Withheld": "1",
        "SpO₂, median": f"{table['spo2_percent'].median():.0f} %",
        "SpO₂, lowest": f"{table['spo2_percent'].min():.0f} %",
        "Pulse, per min": f"{table['heart_rate_bpm'].median():.0f}",
        "Error, points": f"{away:+.1f}".replace("-", "−"),
    }


@pytest.mark.parametrize("name", ["windows", "beats"])
def test_a_saved_table_is_read_back(readings, name):
    # Reference: pandas, which reads the text without knowing how it was made.
    table = getattr(readings, name)
    text = table_csv(table, readings, "a\nname.csv")
    back = pd.read_csv(io.StringIO(text), comment="#", keep_default_na=True)
    back = back.fillna({"reason": ""}) if name == "windows" else back
    pd.testing.assert_frame_equal(back, table)
    assert text.startswith("# Read from a name.csv with")
    assert "Not for diagnosis" in text
    assert "curve: computed for this probe;" in text


@given(st.integers(0, 20_000), st.integers(0, 2**32 - 1), st.floats(0.0, 0.3))
@settings(max_examples=40)
def test_drawn_lines_are_short_and_keep_the_extremes(size, seed, missing):
    rng = np.random.default_rng(seed)
    values = rng.normal(size=size)
    values[rng.random(size) < missing] = np.nan
    time_s = np.arange(size) / 100.0
    x, y = drawn_line(time_s, values, 10.0, 150.0)
    inside = values[(time_s >= 10.0) & (time_s <= 150.0)]
    assert x.size == y.size <= POINTS
    if not np.isfinite(inside).any():
        assert x.size == 0
        return
    assert np.isfinite(y[[0, -1]]).all()
    assert (np.nanmin(y), np.nanmax(y)) == (np.nanmin(inside), np.nanmax(inside))
    assert x.min() >= 10.0
    assert x.max() <= 150.0


@given(st.floats(-1e6, 1e6), st.floats(0.0, 1e6))
def test_ticks_are_round_and_hold_the_values(low, span):
    high = low + span
    ticks = nice_ends(low, high)
    step = np.diff(ticks)
    slack = 1e-9 * max(abs(low), abs(high), 1e-3)
    assert ticks[0] <= low + slack
    assert ticks[-1] >= high - slack
    assert 2 <= ticks.size <= 8
    np.testing.assert_allclose(step, step[0], rtol=1e-6, atol=slack)


@pytest.mark.parametrize(
    ("ends", "ticks"),
    [
        ((0.41, 0.52), [0.4, 0.45, 0.5, 0.55]),
        ((0.0, 0.0), [0.0, 0.2]),
        ((131_000.0, 139_000.0), [130e3, 132e3, 134e3, 136e3, 138e3, 140e3]),
    ],
)
def test_some_ticks_by_hand(ends, ticks):
    np.testing.assert_allclose(nice_ends(*ends), ticks)


def test_found_sentences_tell_rate_layout_and_columns(opened):
    said = found_sentences(opened.preview)
    assert said[:2] == (
        "9000 samples, 180 s at 50 per second.",
        "Cells parted by: comma. Decimal sign: point.",
    )
    assert said[-1] == "Times read as: seconds."
    assert len(said) == 7


@given(data=st.data())
@settings(max_examples=25, deadline=None)
def test_sentences_are_plain_for_any_light(any_scenario, data):
    recording = simulate(data.draw(any_scenario), duration_s=8.0, sampling_rate_hz=50.0)
    found = list(read_in_parts(recording, 4.0, None))[-1][1]
    texts = (saturation_sentence(found), beats_sentence(found), *numbers(found).values())
    for text in texts:
        assert text
        assert not re.search(r"\b(None|nan|inf)\b|[<>{}]|  ", text), text
