"""WFDB records: read through the package wfdb, and never trusted beyond what is there."""

import warnings

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from made_files import assert_same, table

from oximetry_workbook.meter.files import UnreadableRecordingError, open_path
from oximetry_workbook.meter.files.wfdb_record import BYTES_A_SAMPLE
from oximetry_workbook.meter.recording import Recording, RecordingWarning

wfdb = pytest.importorskip("wfdb")

COUNT = 1000
TIME_S = np.arange(COUNT) / 125.0
LIGHT = np.column_stack([0.5 + 0.01 * np.sin(8 * TIME_S), 0.6 + 0.02 * np.sin(8 * TIME_S)])
GAIN = 50_000.0
HEADER = "made 2 125 1000\nmade.dat 16 50000/mV 16 0 25000 0 0 PPG_red\n"
SECOND = "made.dat 16 50000/mV 16 0 30000 0 0 PPG_ir\n"


def write(folder, fmt="16", light=LIGHT, names=("PPG_red", "PPG_ir")):
    """Write a record with wfdb's own writer."""
    wfdb.wrsamp(
        "made",
        fs=125,
        units=["mV"] * len(names),
        sig_name=list(names),
        p_signal=light,
        fmt=[fmt] * len(names),
        adc_gain=[GAIN] * len(names),
        baseline=[0] * len(names),
        comments=["a test record"],
        write_dir=str(folder),
    )
    return folder / "made"


@pytest.mark.parametrize("fmt", ["16", "24", "32"])
@pytest.mark.parametrize("suffix", ["", ".hea", ".dat"])
def test_a_record_written_by_wfdb_is_read(tmp_path, fmt, suffix):
    path = write(tmp_path, fmt)
    found = open_path(f"{path}{suffix}")
    assert found.preview.name == "made.hea"
    assert found.preview.columns == ("PPG_red", "PPG_ir")
    assert found.preview.chosen == {"red": "PPG_red", "infrared": "PPG_ir"}
    assert found.preview.comments == ("a test record",)
    assert found.recording.sampling_rate_hz == pytest.approx(125)
    both = np.column_stack([found.recording.red, found.recording.infrared])
    np.testing.assert_allclose(both, LIGHT, atol=0.51 / GAIN)


def test_invalid_samples_are_missing(tmp_path):
    light = LIGHT.copy()
    light[100:110, 0] = np.nan
    found = open_path(write(tmp_path, light=light))
    assert np.flatnonzero(np.isnan(found.recording.red)).tolist() == list(range(100, 110))
    assert any("10 of 1000 red samples" in finding for finding in found.preview.findings)


def test_signals_are_chosen_by_name(tmp_path):
    path = write(tmp_path, names=("PLETH", "OTHER"))
    recording = Recording.read(path, columns={"infrared": "pleth"})
    np.testing.assert_allclose(recording.infrared, LIGHT[:, 0], atol=0.51 / GAIN)
    with pytest.raises(UnreadableRecordingError, match="'PLETH', 'OTHER'"):
        Recording.read(path)


@pytest.mark.parametrize(
    ("header", "says"),
    [
        (HEADER.replace("1000", "1250000000", 1) + SECOND, "announces 5000 MB .* has 0.004 MB"),
        ((HEADER + SECOND).replace("made.dat", "../made.dat"), "no WFDB header .*invalid syntax"),
        ((HEADER + SECOND).replace("made.dat", "/etc/passwd"), "no WFDB header .*invalid syntax"),
        ((HEADER + SECOND).replace("made.dat", "s3://made.dat"), "no WFDB header .*invalid syntax"),
        ((HEADER + SECOND).replace("made.dat", "~"), "must lie in the same folder"),
        ((HEADER + SECOND).replace("made.dat", "."), "must lie in the same folder"),
        ((HEADER + SECOND).replace(" 16 5", " 16x4 5"), "0.016 MB of samples in made.dat, which"),
        (HEADER, "announces 2 signals and describes 1"),
        ((HEADER + SECOND).replace("made.dat", "other.dat"), "other.dat, which is not beside it"),
        ((HEADER + SECOND).replace(" 16 5", " 516 5"), "format 516"),
        ("made/3 2 125 1000\na 400\nb 400\nc 200\n", "several segments"),
        ("made 0 125 1000\n", "describes no signals"),
        ("", "no WFDB header"),
        ("what is this\n", "no WFDB header"),
        ((HEADER + SECOND).replace("2 125", "2 0"), "no sampling rate"),
        ((HEADER + SECOND).replace("2 125 1000", "2 125 0"), "only 0 rows|do not fit"),
    ],
)
def test_a_header_that_does_not_fit_is_refused(tmp_path, header, says):
    path = write(tmp_path)
    (tmp_path / "made.hea").write_text(header)
    with pytest.raises(UnreadableRecordingError, match=says) as caught:
        Recording.read(path)
    assert "made.hea" in str(caught.value)


@pytest.mark.parametrize(("cut_bytes", "says"), [(4, "do not fit the header"), (5, "cut short")])
def test_a_file_of_samples_may_be_short_by_a_packed_frame(tmp_path, cut_bytes, says):
    path = write(tmp_path)
    samples = tmp_path / "made.dat"
    samples.write_bytes(samples.read_bytes()[:-cut_bytes])
    with pytest.raises(UnreadableRecordingError, match=f"^made.hea.*{says}"):
        Recording.read(path)


@pytest.mark.parametrize("name", ["made", "made.csv", "made.txt"])
def test_a_table_beside_a_record_is_a_table(tmp_path, name):
    write(tmp_path)
    (tmp_path / name).write_text(table())
    assert_same(open_path(tmp_path / name).recording)


def test_a_path_that_means_something_else_to_the_package_is_refused(tmp_path):
    folder = tmp_path / "a::b"
    folder.mkdir()
    (folder / "made.hea").write_text(HEADER)
    with pytest.raises(UnreadableRecordingError, match=r"^made\.hea: .* may not hold '::'"):
        Recording.read(folder / "made")


def test_an_upload_of_one_file_of_a_record_is_refused():
    with pytest.raises(UnreadableRecordingError, match="several files of a WFDB record"):
        Recording.read_bytes("../made.hea", HEADER.encode())


def test_without_wfdb_the_message_says_what_to_install(tmp_path, monkeypatch):
    path = write(tmp_path)
    monkeypatch.setitem(__import__("sys").modules, "wfdb", None)
    with pytest.raises(UnreadableRecordingError, match="pip install"):
        Recording.read(path)


def test_sizes_of_formats_are_those_of_the_other_package():
    """signal(5) in the WFDB Applications Guide, as tabulated by wfdb itself."""
    from wfdb.io._signal import BYTES_PER_SAMPLE

    for form, size in BYTES_A_SAMPLE.items():
        assert size == pytest.approx(BYTES_PER_SAMPLE[form])


LINES = st.sampled_from([*HEADER.splitlines(), SECOND.strip(), "made 1 125 8", "# c", ""])
FIELDS = st.sampled_from(["16", "212", "x", "-1", "0", "1e9", "125/2(3)", "16x4:2+99", "%", "~"])


@given(
    lines=st.lists(LINES, min_size=1, max_size=4),
    changes=st.lists(st.tuples(st.integers(0, 30), FIELDS), max_size=3),
    noise=st.binary(max_size=60),
)
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_whatever_the_header_only_a_recording_or_a_value_error_comes_out(
    tmp_path, lines, changes, noise
):
    path = write(tmp_path)
    fields = "\n".join(lines).split(" ")
    for at, field in changes:
        fields[at % len(fields)] = field
    (tmp_path / "made.hea").write_bytes(" ".join(fields).encode() + noise)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RecordingWarning)
        try:
            recording = Recording.read(path)
        except UnreadableRecordingError:
            return
    assert recording.time_s.size <= 4 * COUNT


@pytest.mark.parametrize("rate", ["0", "0.5"])
def test_a_sampling_rate_must_be_above_zero(tmp_path, rate):
    path = write(tmp_path)
    header = (tmp_path / "made.hea").read_text()
    (tmp_path / "made.hea").write_text(header.replace(" 125 ", f" {rate} "))
    if rate == "0":
        with pytest.raises(
            UnreadableRecordingError, match=r"made\.hea describes no signals, or no"
        ):
            open_path(path)
    else:
        assert open_path(path).recording.sampling_rate_hz == pytest.approx(0.5)


def test_several_samples_a_frame_are_averaged_and_told(tmp_path):
    """Format 16 of the WFDB header (header(5), "samples per frame"): two red ones, one infrared."""
    frames = np.column_stack([LIGHT[:, 0] - 0.001, LIGHT[:, 0] + 0.001, LIGHT[:, 1]])
    (tmp_path / "made.dat").write_bytes(np.round(frames * GAIN).astype("<i2").tobytes())
    (tmp_path / "made.hea").write_text(
        "made 2 125 1000\n"
        "made.dat 16x2 50000/mV 16 0 0 0 0 PPG_red\nmade.dat 16 50000/mV 16 0 0 0 0 PPG_ir\n"
    )
    found = open_path(tmp_path / "made")
    assert "PPG_red has several samples a frame: their means are taken." in found.preview.findings
    np.testing.assert_allclose(found.recording.red, LIGHT[:, 0], atol=0.51 / GAIN)
    np.testing.assert_allclose(found.recording.infrared, LIGHT[:, 1], atol=0.51 / GAIN)
