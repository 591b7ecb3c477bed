"""Files as they come: read to the last digit, told what was guessed."""

import io
import tempfile

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from made_files import COUNT, INFRARED, RED, TIME_S, assert_same, opened, table

from oximetry_workbook.meter.files import (
    Choices,
    UnreadableRecordingError,
    open_content,
    open_path,
    open_stored,
)
from oximetry_workbook.meter.recording import Recording, RecordingWarning


@pytest.mark.parametrize(
    ("delimiter", "decimal", "words"),
    [
        (",", ".", ("comma", "point")),
        (";", ".", ("semicolon", "point")),
        (";", ",", ("semicolon", "comma")),
        ("\t", ".", ("tab", "point")),
        ("\t", ",", ("tab", "comma")),
        ("|", ".", ("bar", "point")),
        ("  ", ".", ("spaces", "point")),
        (" ", ",", ("spaces", "comma")),
        (", ", ".", ("comma", "point")),
    ],
)
def test_delimiters_and_decimal_signs_are_found(delimiter, decimal, words):
    found = opened(table(delimiter=delimiter, decimal=decimal))
    assert (found.preview.delimiter, found.preview.decimal) == words
    assert_same(found.recording)


@pytest.mark.parametrize(
    "header",
    [
        "time_s,red,ir",
        "Time [s],RED,Infrared",
        "t,660 nm,940nm",
        "t,660,940",
        '"seconds","PPG_Red","PPG_IR"',
        "elapsed_s,led red,infra-red",
        "TIME,Red (660 nm),IR 880nm",
        "# a comment\ntime_s,red,ir",
        "# time_s,red,ir",
        "# written by hand\n\n# t,red,ir",
        "time,red,ir\ns,V,V",
        "time,red,ir\n(s),(a.u.),(a.u.)",
        "Station: bench\nRate: 100 Hz\n\ntime_s,red,ir",
        "time_s,red,ir,",
    ],
)
def test_headers_name_the_columns(header):
    rows = table(header=None)
    if header.endswith(","):  # a delimiter at each row's end, too
        rows = rows.replace("\n", ",\n")
    found = opened(f"{header}\n{rows}")
    assert found.preview.problem is None
    assert set(found.preview.chosen) == {"time", "red", "infrared"}
    assert_same(found.recording)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-32", "cp1252"])
@pytest.mark.parametrize("line_end", ["\n", "\r\n", "\r"])
def test_encodings_and_line_ends(encoding, line_end):
    text = table(header="time_s,red (µA),ir (µA)").replace("\n", line_end)
    found = opened(text, encoding)
    assert found.preview.columns == ("time_s", "red (µA)", "ir (µA)")
    assert_same(found.recording)


def test_columns_and_sampling_rate_are_chosen():
    text = table(header="a,b,c")
    chosen = {"red": "B", "infrared": "c"}
    assert_same(opened(text, columns=chosen, sampling_rate_hz=100.0).recording)
    assert_same(opened(text, columns=chosen | {"time": "a"}, time_unit="s").recording)
    only = opened(table(), columns={"red": None})
    assert only.recording.red is None
    assert only.recording.infrared is not None
    assert only.preview.why["red"] == "left out"
    slow = opened(table(time_s=TIME_S * 500), sampling_rate_hz=0.5)
    assert slow.recording.sampling_rate_hz == slow.preview.sampling_rate_hz == 0.5


def test_every_guess_says_why():
    chosen = opened(table(header="a,red,b"), columns={"time": "A"}).preview.why
    assert chosen == {
        "time": "chosen",
        "red": "recognised by the name 'red'",
        "infrared": "not found: no column has a name that tells it",
        "reference": "not found: no column has a name that tells it",
    }


@pytest.mark.parametrize(
    ("header", "red"),
    [
        ("t,red_600,red_ratio_mean", "red_600"),
        ("t,led_660_mv,led_660_raw_mv", "led_660_mv"),  # units are no words
        ("t,red_sd_mean,red_percent_s", "red_percent_s"),
        ("t,led_600,ir", "led_600"),
        ("t,led_700,ir", "led_700"),
        ("t,led_599,red", "red"),
        ("t,led_650,red", "red"),
        ("t,led_701,red", "red"),
    ],
)
def test_the_shortest_telling_name_wins(header, red):
    columns = [TIME_S, RED, INFRARED]
    assert opened(table(header=header, columns=columns)).preview.chosen["red"] == red


def test_a_time_is_told_by_its_first_word():
    names = "ambient_time,time_of_day_s,red,ir"
    columns = [RED, TIME_S, RED, INFRARED]
    found = opened(table(header=names, columns=columns))
    assert found.preview.chosen["time"] == "time_of_day_s"
    assert_same(found.recording)


def test_a_given_sampling_rate_replaces_the_times_and_says_so():
    found = opened(table(), sampling_rate_hz=50.0)
    assert found.recording.sampling_rate_hz == pytest.approx(50)
    assert "The times are not read: the sampling rate is given." in found.preview.assumptions


@pytest.mark.parametrize("name", ["../../mine.csv", "/mine.csv", "mine.csv"])
def test_an_open_file_is_called_by_the_name_given(name):
    with tempfile.TemporaryFile() as file:
        file.write(table().encode())
        for _ in range(2):  # it stays open, wherever it was read last
            found = open_stored(name, file)
            assert found.preview.name == "mine.csv"
            assert_same(found.recording)
        file.truncate(0)
        with pytest.raises(UnreadableRecordingError, match=r"mine\.csv is empty"):
            open_stored(name, file)


@given(columns=st.integers(1, 40), rows=st.integers(20, 3000))
@settings(max_examples=15, deadline=None)
def test_an_open_file_reads_like_its_bytes(columns, rows):
    names = ["red", *(f"x{i}" for i in range(1, columns))]
    text = ",".join(names) + "\n" + "".join(f"{i}.5{',1' * (columns - 1)}\n" for i in range(rows))
    choices = Choices(sampling_rate_hz=50.0)
    with tempfile.TemporaryFile() as file:
        file.write(text.encode())
        stored = open_stored("a.csv", file, choices)
    held = open_content("a.csv", text.encode(), choices)
    assert stored.preview == held.preview
    np.testing.assert_array_equal(stored.recording.red, held.recording.red)


def test_a_part_of_a_record_is_refused_wherever_it_is_stored():
    with pytest.raises(UnreadableRecordingError, match="one of the several files of a WFDB record"):
        open_stored("a.hea", io.BytesIO(table().encode()))


def test_words_in_a_column_that_is_not_needed_do_no_harm():
    rows = table(header=None).splitlines()
    text = "time_s,red,ir,note\n" + "\n".join(f'{row},"still, sitting"' for row in rows)
    assert_same(opened(text).recording)


def test_comments_blank_lines_and_row_count_are_reported():
    text = "# one\n#two\n" + table().replace("\n0.5,", "\n\n0.5,")
    preview = opened(text).preview
    assert preview.comments == ("one", "two")
    assert preview.rows == COUNT
    assert preview.duration_s == pytest.approx(4.0)
    assert "Blank lines between the rows were passed over." in preview.findings


@pytest.mark.parametrize("name", ["../../secret.csv", "/secret.csv", "..\\secret.csv"])
def test_the_name_of_an_upload_is_a_label_only(name, tmp_path, monkeypatch):
    (tmp_path / "secret.csv").write_text("time_s,red,ir\nnot,this,one\n")
    (tmp_path / "a" / "b").mkdir(parents=True)
    monkeypatch.chdir(tmp_path / "a" / "b")
    found = open_content(name, table().encode())
    assert found.preview.name == "secret.csv"
    assert_same(found.recording)


def test_bytes_may_come_in_several_ways():
    content = table().encode()
    for given_as in (content, bytearray(content), memoryview(content), io.BytesIO(content)):
        assert_same(Recording.read_bytes("made.csv", given_as))
    with pytest.raises(TypeError, match="content is text"):
        Recording.read_bytes("made.csv", io.StringIO(table()))


def test_paths(tmp_path):
    path = tmp_path / "made.csv"
    path.write_text(table())
    assert_same(Recording.read(path))
    assert_same(Recording.read(str(path)))
    for wrong in (tmp_path, tmp_path / "none.csv", tmp_path / ("x" * 5000), "a\0b"):
        with pytest.raises(UnreadableRecordingError, match="no such file"):
            Recording.read(wrong)
    path.write_text("nothing\n")
    with pytest.raises(UnreadableRecordingError, match=r"^made\.csv has no rows of numbers"):
        Recording.read(path)


def test_the_unit_of_time_may_be_chosen_with_the_path(tmp_path):
    path = tmp_path / "made.csv"
    path.write_text(table(header="time,red,ir", time_s=TIME_S * 2e7))  # no unit is likely
    assert_same(Recording.read(path, time_unit="us"), 20.0 * TIME_S)


def test_a_name_of_nothing_that_can_be_shown_is_the_file():
    assert open_content("\n\t", table().encode()).preview.name == "the file"


def test_a_warning_points_at_the_line_that_reads():
    columns = {"time": "column 1", "red": "column 2", "infrared": "column 3"}
    with pytest.warns(RecordingWarning) as told:
        Recording.read_bytes("made.csv", table(header=None).encode(), columns=columns)
    assert {warning.filename for warning in told} == {__file__}


def test_written_and_read_back_to_the_last_digit(tmp_path):
    rng = np.random.default_rng(3)
    red = rng.uniform(0, 1, COUNT) * 10.0 ** rng.integers(-30, 30, COUNT)
    red[7] = np.nan
    calibration = np.array([[0.4, 1 / 3 + 1, 2.0], [100.0, 85.1, 50.0]])
    whole = Recording(TIME_S, red, INFRARED, np.full(COUNT, 97.0), calibration)
    path = tmp_path / "out.csv"
    whole.to_csv(path, comments=["two\nlines", "a scenario: {}"])
    back = open_path(path)
    for name in ("time_s", "red", "infrared", "reference_percent", "probe_calibration"):
        np.testing.assert_array_equal(getattr(back.recording, name), getattr(whole, name))
    assert back.preview.comments[:3] == ("two", "lines", "a scenario: {}")
    assert whole.to_csv(comments=["two\nlines", "a scenario: {}"]) == path.read_text()


def test_a_file_has_a_column_for_each_channel_and_no_other():
    text = Recording(TIME_S, INFRARED, INFRARED).to_csv(comments=["nobody’s light"])
    comment, header, first, *_ = text.split("\n")
    assert (comment, header) == ("# nobody’s light", "time_s,red,infrared")
    assert first.count(",") == 2


def test_a_missing_channel_is_written_as_missing():
    alone = Recording(TIME_S, None, INFRARED)
    back = Recording.read_bytes("made.csv", alone.to_csv().encode())
    assert back.red is None
    np.testing.assert_array_equal(back.infrared, INFRARED)
