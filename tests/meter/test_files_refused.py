"""Files that are no recording: refused with the reason, whatever the bytes."""

import warnings

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_files import COUNT, RED, TIME_S, opened, problem, table

from oximetry_workbook.meter.files import UnreadableRecordingError
from oximetry_workbook.meter.files import table as files_table
from oximetry_workbook.meter.files.source import HEAD_BYTES, from_path
from oximetry_workbook.meter.recording import Recording, RecordingWarning


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "is empty"),
        (b"\n\n  \n", "holds no rows"),
        (b"# only\n# comments\n", "holds no rows"),
        (b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", "holds NUL bytes"),
        (b"PK\x03\x04rest", "a spreadsheet or a zip archive"),
        (b"\x1f\x8brest", "a gzip archive"),
        (bytes(range(1, 256)) * 20, "no rows of numbers"),
        (table().encode("utf-16-le"), "UTF-16 text without a byte-order mark"),
        (b"time_s,red,ir\n", "no rows of numbers"),
        (table(delimiter=":").encode(), "parted by: comma, semicolon, tab, bar, spaces; the"),
        (b"time_s,red,ir\n0,1,2\n", "only 1 rows"),
        (b"1" * 300_000, "first line .* more than 262144 characters"),
    ],
)
def test_what_is_no_table_is_refused_with_the_reason(content, says):
    with pytest.raises(UnreadableRecordingError, match=says) as caught:
        Recording.read_bytes("made.csv", content)
    assert "made.csv" in str(caught.value)


def test_a_single_column_cannot_be_two_colours():
    text = table(header="red", columns=[RED])
    assert "no column of times was recognised among 'red'" in problem(text)
    assert opened(text, sampling_rate_hz=100.0).recording.infrared is None


def broken(line, text, whole=None):
    lines = (whole or table()).splitlines()
    lines[line] = text
    return "\n".join(lines)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (broken(200, "1.99,oops,0.6"), "'oops' in column 'red', row 200 below the header"),
        (broken(200, "1.99,oops,0.6", broken(150, "1.49,,0.6")), "'oops' in column 'red', row 200"),
        (broken(200, '1.99,"0,5",0.6'), "'0,5' in column 'red', row 200.*decimal point"),
        (broken(200, "1,99,0,5,0,6"), "more than 3 cells in row 200"),
        (broken(200, "1.99,0.5,0.6,7"), "more than 3 cells in row 200"),
        (
            broken(200, '1.99,"0.5,0.6'),
            "EOF inside string.* look for an open quotation mark",
        ),
        (broken(200, "1.99,1e999,0.6"), "'1e999' in column 'red', row 200"),
        (broken(200, "1.99,0.49E809693059818,0.6"), "'0.49E809693059818' in column 'red'"),
        (broken(200, "1.99,3\0004,0.6"), "NUL bytes"),
        (broken(200, "1.99," + "9" * 300_000 + ",0.6"), "in column 'red', row 200"),
        (broken(200, "1.5,0.5,0.6"), "an earlier time: 1\\), first in row 200"),
        (broken(200, "1.98,0.5,0.6"), "the row before: 1; rows with an earlier time: 0.*row 200"),
        (broken(200, ",0.5,0.6"), "the time is missing in 1 of 400 rows, the first is row 200"),
        (broken(400, "100000,0.5,0.6"), "too uneven: 1e[+]05 s after 3.98 s"),
        (broken(400, "1e300,0.5,0.6"), "too uneven"),
        (table(time_s=np.arange(COUNT) ** 1.3), "too uneven"),
        (table(time_s=TIME_S[::-1]), "an earlier time: 399\\)"),
        (table(header="time,red,ir", time_s=TIME_S * 2e7), "give the time's unit"),
        (table(header="time_s,ppg_red,led_red"), "'ppg_red', 'led_red' could all be it"),
        ("# probe_calibration_ratio: 1 2\n" + table(), "equally many numbers"),
    ],
)
def test_what_cannot_be_read_says_where_and_what_to_do(text, says):
    with pytest.raises(UnreadableRecordingError, match=says) as caught:
        Recording.read_bytes("made.csv", text.encode())
    assert "made.csv" in str(caught.value)


def test_a_nul_far_down_is_found_too():
    text = table(columns=[np.arange(20_000) / 100, np.tile(RED, 50), np.tile(RED, 50)])
    assert len(text) > 2 * HEAD_BYTES
    assert "holds NUL bytes" in problem(text[:-10] + "\0" + text[-10:])


def test_a_file_that_is_gone_is_told_by_its_name(tmp_path):
    path = tmp_path / "made.csv"
    path.write_text(table())
    source = from_path(path)
    path.unlink()
    with pytest.raises(UnreadableRecordingError, match=r"^made\.csv cannot be opened: No such"):
        source.open()


def test_mixed_decimal_signs_with_a_decimal_comma():
    lines = table(delimiter=";", decimal=",").splitlines()
    lines[300] = "2,99;0.5;0,6"
    message = problem("\n".join(lines))
    assert "'0.5' in column 'red', row 300" in message
    assert "decimal comma" in message


CLOCK = table("time,red,ir", time_s=[f"11:59:{at:05.2f}" for at in TIME_S], row="{}")


@pytest.mark.parametrize(
    ("text", "hint"),
    [
        (broken(200, "1.99,oops,0.6"), "leave the cell empty where a value is missing"),
        (broken(200, '1.99,"0,5",0.6'), "have a decimal point: use one sign throughout"),
        (
            broken(200, "noon,0.5,0.6", CLOCK),
            "times must be numbers, or like 2001-12-31 23:59:59.5 or",
        ),
    ],
)
def test_a_wrong_cell_comes_with_what_to_do(text, hint):
    told = problem(text)
    assert hint in told
    assert "row 200 below the header" in told


@pytest.mark.parametrize("rows_at_a_time", [30, 199, 200, 500])
@pytest.mark.parametrize(
    ("row", "says"),
    [
        ("1.99,oops,0.6", "'oops' in column 'red', row 200 below"),
        ("1.99,0.5,wrong", "'wrong' in column 'ir', row 200 below"),
        ("1.99,0.5,0.6,7", "more than 3 cells in row 200 below"),
    ],
)
def test_a_wrong_cell_is_found_in_whichever_piece_it_is_read(
    row, says, rows_at_a_time, monkeypatch
):
    monkeypatch.setattr(files_table, "ROWS_AT_A_TIME", rows_at_a_time)
    assert says in problem(broken(200, row))


@pytest.mark.parametrize(
    ("choices", "says"),
    [
        ({"columns": {"green": "red"}}, "columns has 'green'"),
        ({"columns": {"red": "blue"}}, "'blue' for red, but the columns are 'time_s', 'red', 'ir'"),
        ({"columns": {"red": "ir", "infrared": "ir"}}, "a column twice"),
        ({"time_unit": "min"}, "time_unit is 'min'"),
        ({"time_unit": "min"}, "it must be one of s, ms, us"),
        ({"columns": {"green": "red"}}, "it may have time, red, infrared, reference, each with"),
        ({"time_unit": "clock"}, "choose their unit: s, ms, us$"),
        ({"sampling_rate_hz": 0.0}, "sampling_rate_hz is 0.0"),
        ({"sampling_rate_hz": float("nan")}, "sampling_rate_hz is nan"),
    ],
)
def test_choices_that_do_not_fit_are_refused(choices, says):
    with pytest.raises(UnreadableRecordingError, match=says):
        Recording.read_bytes("made.csv", table().encode(), **choices)


NUMBERS = ["0.1", "1,5", "-3", "1e9", "1e999", "nan", "", "-", "9" * 400, "0x1p3", "1_0", "٣"]
DATES = ["12:30", "2001-02-30 99:99", "2001-01-01 12:00:00"]
WORDS = ["red", "ir", "time_ms", "t", '"', "'", "#", "µ", "True", "inf"]
SPACES = [" ", "\xa0", "\x1a", "\ufeff", "\u2028", "\x85", "\x0c"]
CELLS = st.sampled_from([*NUMBERS, *DATES, *WORDS, *SPACES])
DELIMITERS = st.sampled_from([",", ";", "\t", "|", " ", ":"])


@st.composite
def almost_tables(draw):
    """Tables of mostly numbers in which some rows are anything."""
    delimiter, width = draw(DELIMITERS), draw(st.integers(1, 4))
    header = draw(st.sampled_from([["t", "red", "ir", "spo2"], ["time_ms", "ir", "x", "y"], []]))
    rows = [[str(i * 10), "0.5", f"{0.6 + i % 7}", "97"][:width] for i in range(20)]
    for at in draw(st.lists(st.integers(0, 19), max_size=4)):
        rows[at] = draw(st.lists(CELLS, max_size=5))
    text = "\n".join(delimiter.join(row) for row in [header[:width], *rows])
    return text.encode(draw(st.sampled_from(["utf-8", "utf-16", "utf-8-sig"])), "replace")


@st.composite
def damaged_tables(draw):
    """A sound table with a few bytes put in, changed or taken out."""
    content = bytearray(table().encode()[:2000])
    anything = st.one_of(st.binary(max_size=3), st.sampled_from([b"e9", b",", b'"', b"\n", b"E-"]))
    changes = st.tuples(st.integers(0, 1900), st.integers(0, 20), anything)
    for at, length, new in draw(st.lists(changes, min_size=1, max_size=4)):
        content[at : at + length] = new
    return bytes(content)


@given(
    content=st.one_of(
        damaged_tables(), st.binary(max_size=400), almost_tables(), st.text().map(str.encode)
    ),
    columns=st.sampled_from([None, {"infrared": "column 1"}, {"red": "red", "time": None}]),
    rate=st.sampled_from([None, 100.0, 1e-300, 1e300]),
)
def test_whatever_the_bytes_only_a_recording_or_a_value_error_comes_out(content, columns, rate):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RecordingWarning)
        try:
            recording = Recording.read_bytes("made.csv", content, columns, None, rate)
        except UnreadableRecordingError:
            return
    assert np.all(np.diff(recording.time_s) > 0)
    assert recording.red is not None or recording.infrared is not None
