"""Names of columns: where they stand in a file, and what is told of that."""

import numpy as np
import pytest
from made_files import COUNT, INFRARED, RED, TIME_S, assert_same, opened, table

from oximetry_workbook.meter.files import layout

TWO = "Passed over above the header: 2 lines."
ONE = "Passed over above the header: 1 line."
NUMBERED = "There is no header: the columns are numbered."
COMMENT = "There is no header: the last comment line is taken for it."


@pytest.mark.parametrize(
    ("head", "told"),
    [
        ("time_s,red,ir\n", ()),
        ("time,red,ir\ns,V,V\n", ()),
        ("bench\ntime_s,red,ir\n", (ONE,)),
        ("bench\n100 Hz\ntime_s,red,ir\n", (TWO,)),
        ("bench\ntime,red,ir\ns,V,V\n", (ONE,)),
        ("one,two,three\nbench\ntime,red,ir\ns,V,V\n", (TWO,)),
        ("# time_s,red,ir\n", (COMMENT,)),
        ("# by hand\n# time_s,red,ir\n", (COMMENT,)),
        (" # by hand\n  #time_s,red,ir\n", (COMMENT,)),
    ],
)
def test_what_stands_above_the_numbers_is_told(head, told):
    found = opened(head + table(header=None))
    assert found.preview.assumptions == told
    assert found.preview.columns[1:] == ("red", "ir")
    assert_same(found.recording)


@pytest.mark.parametrize(
    "head", ["", "# by hand\n", "# time_s,red\n", "# one,two,three\n", "# t,red,ir\n# by hand\n"]
)
def test_without_names_the_columns_are_numbered(head):
    preview = opened(head + table(header=None)).preview
    assert NUMBERED in preview.assumptions
    assert preview.columns == ("column 1", "column 2", "column 3")


def test_words_that_are_units_alone_are_names_where_nothing_else_is():
    assert opened(table(header="s,V,mV")).preview.columns == ("s", "V", "mV")


@pytest.mark.parametrize(
    ("header", "columns"),
    [
        ("t,red,red", ("t", "red", "red (column 3)")),
        ("t,,ir", ("t", "column 2", "ir")),
        ("t,red", ("t", "red", "column 3")),  # one name fewer: a delimiter ends each row
        ("t", ("column 1", "column 2", "column 3")),
    ],
)
def test_every_column_has_a_name_of_its_own(header, columns):
    assert opened(table(header=header)).preview.columns == columns


def test_wavelengths_alone_are_a_header_though_they_are_numbers():
    text = table(header="660,940", columns=[RED, INFRARED])
    preview = opened(text, sampling_rate_hz=100.0).preview
    assert preview.columns == ("660", "940")
    assert preview.rows == COUNT


def test_numbers_in_a_column_of_one_are_no_names():
    text = "red\n" + "".join(f"{value}\n" for value in range(600, 700))
    preview = opened(text, sampling_rate_hz=100.0).preview
    assert (preview.columns, preview.rows) == (("red",), 100)


@pytest.mark.parametrize("header", ["t,red,940", "t,660,940", "start,red,940", "start,660,940"])
def test_a_header_may_hold_some_numbers(header):
    assert opened(table(header=header)).preview.columns == tuple(header.split(","))
    clock = [f"11:59:{at:05.2f}" for at in TIME_S]
    found = opened(
        table(header=header, time_s=clock, row="{}"), columns={"time": header.split(",")[0]}
    )
    assert found.preview.columns == tuple(header.split(","))


def test_a_comment_keeps_its_first_letter():
    assert opened("#X by hand\n" + table()).preview.comments == ("X by hand",)


def test_fitness_is_the_share_of_cells_that_are_numbers_or_times_in_rows_of_one_width():
    for rows, found in (
        (["1,,3", "2,,4"], (1.0, 3)),  # a missing cell counts neither way
        (["12:30:01,5", "12:30:02,6"], (1.0, 2)),
        (["1,2", "3,4", "5"], (0.666667, 2)),
        (["1,a", "3,4", "5,6"], (0.833333, 2)),
        (["a,b", "c,d"], (0.0, 0)),
    ):
        assert layout._fitness(list(enumerate(rows)), ",", ".") == found


def test_a_column_is_what_most_of_its_cells_are():
    assert layout._kind_of_column(("missing", "missing", "number")) == "number"
    assert layout._kind_of_column(("date", "number", "date")) == "date"
    assert layout._kind_of_column(("missing", "missing")) == "missing"


def test_cells_of_a_line():
    assert layout.split_line('"red"  "ir"', layout.SPACES) == ["red", "ir"]
    assert layout.split_line("1, " + "9" * 200_000, ",") == ["1", "9" * 200_000]
    assert layout.split_line("", ",") == []


def test_a_comment_between_the_rows_or_at_the_end_of_one_is_no_data():
    lines = table().splitlines()
    lines[100] += "  # a cough"
    lines.insert(200, "# a pause")
    assert_same(opened("\n".join(lines)).recording)


@pytest.mark.parametrize("row", ["{:.6f}", " {:.6f} ", '"{:.6f}"', ' "{:.6f}"'])
@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_cells_may_be_padded_or_in_quotes(row, delimiter):
    recording = opened(table(delimiter=delimiter, row=row)).recording
    np.testing.assert_allclose(recording.red, RED, atol=1e-6)
    np.testing.assert_allclose(recording.infrared, INFRARED, atol=1e-6)
