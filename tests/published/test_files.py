"""Files made by others, and by the simulation, give the numbers they hold.

The pulse recordings come with the package heartpy 1.2.7 (`heartpy/data`; van Gent, Farah, van Nes
and van Arem 2019, Transportation Research Part F 66:368): finger pulses of volunteers, one
wavelength. That package's own loader and sampling rates are what ours is held to. The WFDB record
is written and read by the package wfdb 4.3 of PhysioNet, the reference for that format.
"""

from pathlib import Path

import numpy as np
import pytest

from oximetry_workbook import Scenario, measure, simulate
from oximetry_workbook.meter.files import Choices, open_path
from oximetry_workbook.meter.recording import Recording, RecordingWarning
from oximetry_workbook.teach.reading import read, recording_csv

heartpy = pytest.importorskip("heartpy")
DATA = Path(heartpy.__file__).parent / "data"
DATE_FORMAT = "%Y-%m-%d %H:%M:%S.%f"


@pytest.mark.parametrize(
    "scenario", [Scenario(), Scenario(arterial_saturation=0.8, noise_percent=0.5, site="wrist")]
)
def test_written_read_back_and_measured_gives_the_same_numbers(scenario, tmp_path):
    recording = simulate(scenario, duration_s=20.0, seed=5)
    recording.to_csv(tmp_path / "made.csv")
    before, after = measure(recording), measure(Recording.read(tmp_path / "made.csv"))
    assert after.spo2_percent == before.spo2_percent
    assert after.heart_rate_bpm == before.heart_rate_bpm
    assert after.perfusion_index_percent == before.perfusion_index_percent
    assert after.reason == before.reason
    assert after.curve_origin == before.curve_origin
    np.testing.assert_array_equal(after.beats, before.beats)


def test_what_the_workbook_hands_out_can_be_read():
    reading = read(Scenario(arterial_saturation=0.9))
    back = Recording.read_bytes("recording.csv", recording_csv(reading).encode())
    for name in ("time_s", "red", "infrared", "reference_percent"):
        np.testing.assert_array_equal(getattr(back, name), getattr(reading.recording, name))
    curve = reading.measurement.curve
    assert measure(back, curve).spo2_percent == reading.measurement.spo2_percent


def test_samples_without_header_or_times():
    pulse, _ = heartpy.load_exampledata(0)
    with pytest.warns(RecordingWarning, match="There is no header"):
        recording = Recording.read(
            DATA / "data.csv", columns={"infrared": "column 1"}, sampling_rate_hz=100.0
        )
    np.testing.assert_array_equal(recording.infrared, pulse)


def test_times_in_milliseconds_whose_unit_is_not_written():
    pulse, timer = heartpy.load_exampledata(1)
    with pytest.warns(RecordingWarning, match="ms is assumed"):
        recording = Recording.read(DATA / "data2.csv", columns={"infrared": "hr"})
    np.testing.assert_array_equal(recording.infrared, pulse)
    theirs_hz = heartpy.get_samplerate_mstimer(timer)
    assert recording.sampling_rate_hz == pytest.approx(theirs_hz, rel=1e-3)


def test_dates_of_a_coarse_clock_are_refused_with_the_rate_to_give():
    pulse, timer = heartpy.load_exampledata(2)
    choices = Choices(columns={"infrared": "hr"})
    preview = open_path(DATA / "data3.csv", choices).preview
    theirs_hz = heartpy.get_samplerate_datetime(timer, timeformat=DATE_FORMAT)
    ours_hz = float(preview.problem.split("the mean is ")[1].split(" Hz")[0])
    assert ours_hz == pytest.approx(theirs_hz, rel=1e-3)
    with pytest.warns(RecordingWarning, match="The times are not read"):
        recording = Recording.read(
            DATA / "data3.csv", columns={"infrared": "hr"}, sampling_rate_hz=theirs_hz
        )
    np.testing.assert_array_equal(recording.infrared, pulse)


def test_a_record_of_the_reference_package_gives_its_samples(tmp_path):
    wfdb = pytest.importorskip("wfdb")
    made = simulate(Scenario(), duration_s=20.0, seed=2)
    light = np.column_stack([made.red, made.infrared])
    wfdb.wrsamp(
        "made",
        fs=100,
        units=["NU", "NU"],
        sig_name=["red", "infrared"],
        p_signal=light,
        fmt=["24", "24"],
        write_dir=str(tmp_path),
    )
    theirs = wfdb.rdrecord(str(tmp_path / "made")).p_signal
    ours = Recording.read(tmp_path / "made.hea")
    np.testing.assert_array_equal(np.column_stack([ours.red, ours.infrared]), theirs)
    with_curve = measure(made).curve
    assert measure(ours, with_curve).spo2_percent == pytest.approx(
        measure(made).spo2_percent, abs=0.05
    )
