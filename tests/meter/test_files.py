"""Files as they come: read to the last digit, told what was guessed, refused with the reason."""

import io
import tempfile
import warnings

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from oximetry_workbook.meter.files import (
    Choices,
    UnreadableRecordingError,
    open_content,
    open_path,
    open_stored,
)
from oximetry_workbook.meter.files.times import days_counted
from oximetry_workbook.meter.measure import measure
from oximetry_workbook.meter.recording import Recording, RecordingWarning

COUNT = 400
STEP_S = 0.01
TIME_S = np.arange(COUNT) * STEP_S
RED = 0.5 + 0.01 * np.sin(8 * TIME_S)
INFRARED = 0.6 + 0.02 * np.sin(8 * TIME_S)


def table(
    header="time_s,red,ir", delimiter=",", decimal=".", time_s=TIME_S, columns=None, row="{:.15g}"
):
    """Text of a table, its cells written with the delimiter and the decimal sign."""
    columns = [time_s, RED, INFRARED] if columns is None else columns
    rows = [
        delimiter.join(row.format(value).replace(".", decimal) for value in values)
        for values in zip(*columns, strict=True)
    ]
    head = [] if header is None else [header.replace(",", delimiter)]
    return "\n".join(head + rows) + "\n"


def opened(text, encoding="utf-8", **choices):
    return open_content("made.csv", text.encode(encoding), Choices(**choices))


def problem(text, **choices):
    """Why a file is no recording, whether that is found at once or on reading it."""
    with pytest.raises(UnreadableRecordingError) as caught:
        Recording.read_bytes("made.csv", text.encode(), **choices)
    assert "made.csv" in str(caught.value)
    return str(caught.value)


def assert_same(recording, time_s=TIME_S):
    np.testing.assert_allclose(recording.time_s, time_s, rtol=1e-12, atol=1e-12)
    np.testing.assert_allclose(recording.red, RED, rtol=1e-12)
    np.testing.assert_allclose(recording.infrared, INFRARED, rtol=1e-12)


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


def test_columns_and_sampling_rate_are_chosen():
    text = table(header="a,b,c")
    chosen = {"red": "B", "infrared": "c"}
    assert_same(opened(text, columns=chosen, sampling_rate_hz=100.0).recording)
    assert_same(opened(text, columns=chosen | {"time": "a"}, time_unit="s").recording)
    only = opened(table(), columns={"red": None}).recording
    assert only.red is None
    assert only.infrared is not None


def test_a_given_sampling_rate_replaces_the_times_and_says_so():
    found = opened(table(), sampling_rate_hz=50.0)
    assert found.recording.sampling_rate_hz == pytest.approx(50)
    assert "The times are not read: the sampling rate is given." in found.preview.assumptions


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


def test_a_reference_in_fractions_is_told():
    text = table(header="time_s,red,ir,SaO2", columns=[TIME_S, RED, INFRARED, RED * 0 + 0.97])
    assert any("fractions?" in finding for finding in opened(text).preview.findings)


def test_comments_blank_lines_and_row_count_are_reported():
    text = "# one\n#two\n" + table().replace("\n0.5,", "\n\n0.5,")
    preview = opened(text).preview
    assert preview.comments == ("one", "two")
    assert preview.rows == COUNT
    assert preview.duration_s == pytest.approx(4.0)
    assert "Blank lines between the rows were passed over." in preview.findings


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
        (table(delimiter=":").encode(), "no rows of numbers"),
        (b"time_s,red,ir\n0,1,2\n", "only 1 rows"),
        (b"1" * 300_000, "first line .* more than 262144 characters"),
    ],
)
def test_what_is_no_table_is_refused_with_the_reason(content, says):
    with pytest.raises(UnreadableRecordingError, match=says):
        Recording.read_bytes("made.csv", content)


def test_a_single_column_cannot_be_two_colours():
    text = table(header="red", columns=[RED])
    assert "no column of times was recognised among 'red'" in problem(text)
    assert opened(text, sampling_rate_hz=100.0).recording.infrared is None


def broken(line, text):
    lines = table().splitlines()
    lines[line] = text
    return "\n".join(lines)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (broken(200, "1.99,oops,0.6"), "'oops' in column 'red', row 200 below the header"),
        (broken(200, '1.99,"0,5",0.6'), "'0,5' in column 'red', row 200.*decimal point"),
        (broken(200, "1,99,0,5,0,6"), "more than 3 cells in row 200"),
        (broken(200, "1.99,0.5,0.6,7"), "more than 3 cells in row 200"),
        (broken(200, '1.99,"0.5,0.6'), "open quotation mark"),
        (broken(200, "1.99,1e999,0.6"), "'1e999' in column 'red', row 200"),
        (broken(200, "1.99,0.49E809693059818,0.6"), "'0.49E809693059818' in column 'red'"),
        (broken(200, "1.99,3\0004,0.6"), "NUL bytes"),
        (broken(200, "1.99," + "9" * 300_000 + ",0.6"), "in column 'red', row 200"),
        (broken(200, "1.5,0.5,0.6"), "1 go back, the first in row 200"),
        (broken(200, "1.98,0.5,0.6"), "1 times are double and 0 go back.*row 200"),
        (broken(200, ",0.5,0.6"), "1 times are missing, the first in row 200"),
        (broken(400, "100000,0.5,0.6"), "too uneven: 1e[+]05 s after 3.98 s"),
        (broken(400, "1e300,0.5,0.6"), "too uneven"),
        (table(time_s=np.arange(COUNT) ** 1.3), "too uneven"),
        (table(time_s=TIME_S[::-1]), "399 go back"),
        (table(header="time,red,ir", time_s=TIME_S * 2e7), "give the time's unit"),
        (table(header="time_s,ppg_red,led_red"), "'ppg_red', 'led_red' could all be it"),
        ("# probe_calibration_ratio: 1 2\n" + table(), "equally many numbers"),
    ],
)
def test_what_cannot_be_read_says_where_and_what_to_do(text, says):
    with pytest.raises(UnreadableRecordingError, match=says):
        Recording.read_bytes("made.csv", text.encode())


def test_mixed_decimal_signs_with_a_decimal_comma():
    lines = table(delimiter=";", decimal=",").splitlines()
    lines[300] = "2,99;0.5;0,6"
    message = problem("\n".join(lines))
    assert "'0.5' in column 'red', row 300" in message
    assert "decimal comma" in message


@pytest.mark.parametrize(
    ("choices", "says"),
    [
        ({"columns": {"green": "red"}}, "columns has 'green'"),
        ({"columns": {"red": "blue"}}, "'blue' for red, but the columns are 'time_s', 'red', 'ir'"),
        ({"columns": {"red": "ir", "infrared": "ir"}}, "a column twice"),
        ({"time_unit": "min"}, "time_unit is 'min'"),
        ({"sampling_rate_hz": 0.0}, "sampling_rate_hz is 0.0"),
        ({"sampling_rate_hz": float("nan")}, "sampling_rate_hz is nan"),
    ],
)
def test_choices_that_do_not_fit_are_refused(choices, says):
    with pytest.raises(UnreadableRecordingError, match=says):
        Recording.read_bytes("made.csv", table().encode(), **choices)


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


def test_a_missing_channel_is_written_as_missing():
    alone = Recording(TIME_S, None, INFRARED)
    back = Recording.read_bytes("made.csv", alone.to_csv().encode())
    assert back.red is None
    np.testing.assert_array_equal(back.infrared, INFRARED)


def test_between_cuts_a_stretch():
    part = Recording(TIME_S, RED, INFRARED).between(1.0, 2.0)
    assert (part.time_s[0], part.time_s.size) == (1.0, 100)
    np.testing.assert_array_equal(part.red, RED[100:200])
    with pytest.raises(ValueError, match="at least"):
        part.between(50.0, 60.0)


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
