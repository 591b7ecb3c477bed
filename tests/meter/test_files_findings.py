"""What is noticeable about the samples of a file, told with its place."""

import io

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_files import COUNT, INFRARED, RED, STEP_S, TIME_S, opened, table

from oximetry_workbook.meter.files.source import CheckedText, Source
from oximetry_workbook.meter.measure import measure


def test_missing_cells_are_nan_and_told_with_their_place():
    lines = table(header="time_s,red,ir,spo2", columns=[TIME_S, RED, INFRARED, RED * 0 + 97])
    lines = lines.splitlines()
    for row, cell in ((101, ""), (102, "NaN"), (103, "-")):
        lines[row] = lines[row].split(",")[0] + f",{cell},0.6,"
    found = opened("\n".join(lines))
    assert np.flatnonzero(np.isnan(found.recording.red)).tolist() == [100, 101, 102]
    expected = "3 of 400 red samples (0.75 %) are missing, at 1.00 s."
    assert expected in found.preview.findings
    assert measure(found.recording).spo2_percent is None


def test_a_tenth_missing_is_told():
    red = RED.copy()
    red[::10] = np.nan
    found = opened(table(columns=[TIME_S, red, INFRARED]))
    assert any("40 of 400 red samples (10 %)" in finding for finding in found.preview.findings)


def test_clipping_at_sixteen_bits_is_told():
    counts = np.minimum(np.round(65000 + 2000 * np.sin(8 * TIME_S)), 65535)
    found = opened(table(columns=[TIME_S, RED, counts], row="{:.10g}"))
    assert any("infrared light is clipped: it stays at 65535" in t for t in found.preview.findings)
    unclipped = opened(table()).preview.findings
    assert not any("clipped" in text for text in unclipped)


def test_flat_dark_and_short_stretches_are_told():
    red = RED.copy()
    red[100:250] = 0.5001
    infrared = INFRARED.copy()
    infrared[300] = -1
    findings = opened(table(columns=[TIME_S, red, infrared])).preview.findings
    assert any("red light does not change for 1.5 s" in t and "1.00 s" in t for t in findings)
    assert any("infrared light is zero or negative in 1 of 400" in t for t in findings)
    assert any("are short" in text for text in findings)


@pytest.mark.parametrize("step_s", [1.0, 1e-5])
def test_an_implausible_sampling_rate_is_told(step_s):
    findings = opened(table(time_s=np.arange(COUNT) * step_s)).preview.findings
    assert any("not plausible for a pulse" in text for text in findings)


@pytest.mark.parametrize(
    ("reference", "told"),
    [
        (RED * 0 + 0.97, "fractions?"),
        (RED * 0 + np.nan, "The reference holds no value."),
        (np.where(np.arange(COUNT) == 250, 101.0, 97.0), "100 % in 1 samples, at 2.50 s"),
        (np.where(np.arange(COUNT) < 2, -1.0, 97.0), "0 to 100 % in 2 samples, at 0.00 s"),
        (np.where(np.arange(COUNT) < 2, -1.0, 100.0), "0 to 100 % in 2 samples, at 0.00 s"),
        (np.where(np.arange(COUNT) < 2, 101.0, 0.0), "0 to 100 % in 2 samples, at 0.00 s"),
        (np.where(np.arange(COUNT) < 2, 101.0, 0.5), "0 to 100 % in 2 samples, at 0.00 s"),
    ],
)
def test_a_reference_that_is_no_percentage_is_told(reference, told):
    text = table(header="time_s,red,ir,SaO2", columns=[TIME_S, RED, INFRARED, reference])
    assert any(told in finding for finding in opened(text).preview.findings)


def test_a_colour_without_a_value_is_told():
    found = opened(table(columns=[TIME_S, RED * np.nan, INFRARED]))
    assert any("400 of 400 red samples (100 %)" in text for text in found.preview.findings)
    assert "400 of 400 red samples are missing" in measure(found.recording).reason


@pytest.mark.parametrize(
    ("least", "most", "told"),
    [(0.4, 1.0, "fractions?"), (0.0, 100.0, ""), (1.5, 2.0, ""), (-0.1, 97.0, "in 1 samples")],
)
def test_a_reference_is_judged_by_its_limits(least, most, told):
    reference = np.full(COUNT, most)
    reference[7] = least
    text = table(header="time_s,red,ir,SaO2", columns=[TIME_S, RED, INFRARED, reference])
    about = [each for each in opened(text).preview.findings if "reference" in each.lower()]
    assert (told in about[0]) if told else about == []


def test_of_an_ordinary_file_nothing_is_told():
    time_s = np.arange(1200) * STEP_S
    light = [level + 0.01 * np.sin(8 * time_s) for level in (0.5, 0.6)]
    assert opened(table(columns=[time_s, *light])).preview.findings == ()


def test_light_that_never_changes_is_told_for_its_whole_length():
    findings = opened(table(columns=[TIME_S, np.full(COUNT, 0.5), INFRARED])).preview.findings
    assert any("red light does not change for 4 s or less, at 0.00 s" in t for t in findings)
    assert not any("clipped" in text or "infrared light does" in text for text in findings)


@pytest.mark.parametrize("limit", [0.4, 0.6])
def test_light_that_stays_at_its_limit_is_clipped_and_not_flat(limit):
    red = RED.copy()
    red[100:250] = limit
    findings = opened(table(columns=[TIME_S, red, INFRARED])).preview.findings
    side = "highest" if limit > 0.5 else "lowest"
    told = f"red light is clipped: it stays at {limit:g}, its {side} value, for 1.5 s or less, at 1"
    assert any(told in text for text in findings)
    assert not any("does not change" in text for text in findings)


def test_a_steady_stretch_between_the_limits_is_flat_and_not_clipped():
    """With many samples at the highest value too, though never one after the other."""
    red = np.where(np.arange(COUNT) < 200, RED, 0.5001)
    red[0:200:2] = 0.6
    findings = opened(table(columns=[TIME_S, red, INFRARED])).preview.findings
    assert any("red light does not change for 2 s" in text for text in findings)
    assert not any("clipped" in text for text in findings)


def test_counts_of_nought_are_dark():
    infrared = INFRARED.copy()
    infrared[300] = 0.0
    findings = opened(table(columns=[TIME_S, RED, infrared])).preview.findings
    assert any(
        "infrared light is zero or negative in 1 of 400 samples, at 3.00 s" in t for t in findings
    )


@given(st.text("a\n", max_size=12), st.integers(1, 5))
def test_blank_lines_are_seen_however_the_text_comes_in_pieces(written, size):
    """Those at the end of a file are none between its rows."""
    text = CheckedText(Source("made.csv", lambda: io.BytesIO(written.encode())), "utf-8")
    assert "".join(iter(lambda: text.read(size), "")) == written
    assert text.blank_lines == ("\n\n" in written.rstrip("\n"))
    text.close()
