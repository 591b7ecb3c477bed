"""A recording window by window: each as if it were alone."""

import numpy as np
import pandas as pd
import pytest

from oximetry_workbook.meter.curve import Curve
from oximetry_workbook.meter.files.table import exact_reading
from oximetry_workbook.meter.measure import measure
from oximetry_workbook.meter.recording import Recording
from oximetry_workbook.meter.windows import COLUMNS, windows


@pytest.fixture(scope="module")
def minute():
    """A minute of two colours whose ratio of ratios is 0.6, at 70 beats a minute."""
    time_s = np.arange(6000) / 100.0
    pulse = 0.5 + 0.5 * np.sin(2 * np.pi * 70 / 60 * time_s)
    return Recording(time_s, 2 * (1 - 0.6 * 0.02 * pulse), 1 - 0.02 * pulse)


def test_each_window_is_measured_as_if_alone(minute):
    table = windows(minute, 10.0)
    assert tuple(table.columns) == COLUMNS
    assert table["time_s"].tolist() == [0, 10, 20, 30, 40, 50]
    for start_s, row in zip(table["time_s"], table.itertuples(), strict=True):
        alone = measure(minute.between(start_s, start_s + 10))
        assert row.spo2_percent == alone.spo2_percent
        assert row.quality == alone.quality
    np.testing.assert_allclose(table["ratio"], 0.6, atol=0.005)
    np.testing.assert_allclose(table["heart_rate_bpm"], 70, atol=0.5)
    np.testing.assert_allclose(table["spo2_percent"], 110 - 25 * 0.6, atol=0.2)
    assert (table["reason"] == "").all()


def test_a_gap_spoils_its_window_only(minute):
    red = minute.red.copy()
    red[2500:2550] = np.nan
    table = windows(Recording(minute.time_s, red, minute.infrared), 10.0)
    withheld = table["spo2_percent"].isna()
    assert withheld.tolist() == [False, False, True, False, False, False]
    assert "50 of 1000 red samples are missing, the first at 25.00 s" in table["reason"][2]


def test_the_rest_is_a_shorter_window_or_left_out(minute):
    assert len(windows(minute, 8.0)) == 8
    assert len(windows(minute.between(0, 20.05), 10.0)) == 2
    assert len(windows(minute.between(0, 20.07), 10.0)) == 2
    assert len(windows(minute.between(0, 20.08), 10.0)) == 3
    assert len(windows(minute.between(0, 5.0), 10.0)) == 1


def test_windows_last_ten_seconds_or_as_long_as_asked(minute):
    assert windows(minute)["time_s"].tolist() == [0, 10, 20, 30, 40, 50]
    second = minute.between(0, 1)
    # 0.29 × 100 is 28.999999999999996 in binary
    assert windows(second, 0.29)["time_s"].tolist() == pytest.approx([0, 0.29, 0.58, 0.87])
    assert len(windows(second, 0.08)) == 12


def test_curve_and_method_are_passed_on(minute):
    line = Curve.table("made up", np.array([0.2, 2.0]), np.array([100.0, 60.0]), "made up")
    table = windows(minute, 10.0, curve=line, method="peak_to_trough")
    alone = measure(minute.between(0, 10), line, method="peak_to_trough")
    assert table["spo2_percent"][0] == alone.spo2_percent


def test_the_table_survives_a_file(minute, tmp_path):
    table = windows(minute, 10.0)
    table.to_csv(tmp_path / "windows.csv", index=False)
    again = pd.read_csv(tmp_path / "windows.csv", dtype={"reason": str}, **exact_reading())
    pd.testing.assert_frame_equal(again.fillna({"reason": ""}), table)


@pytest.mark.parametrize("window_s", [0.0, -1.0, np.nan, np.inf, 0.05])
def test_a_window_that_holds_nothing_is_refused(minute, window_s):
    with pytest.raises(ValueError, match="window_s"):
        windows(minute, window_s)


def test_something_else_than_a_recording_is_refused():
    with pytest.raises(TypeError, match="is a list; it must be a Recording"):
        windows([1, 2, 3])
