"""Cells of a table as they stand in messages, and lists of names that do not grow without end."""

import pytest

from oximetry_workbook.meter.files import UnreadableRecordingError
from oximetry_workbook.meter.files.cells import LONGEST, kind_of, short
from oximetry_workbook.meter.files.columns import SHOWN, choose_columns


@pytest.mark.parametrize("length", [0, 1, LONGEST])
def test_what_is_short_is_shown_whole(length):
    assert short("x" * length) == repr("x" * length)


def test_what_is_long_is_cut_to_the_longest():
    assert short("x" * (LONGEST + 1)) == repr("x" * (LONGEST - 1) + "…")


def test_a_number_of_too_many_digits_is_words():
    assert kind_of("1" * LONGEST, ".") == "number"
    assert kind_of("1" * (LONGEST + 1), ".") == "text"


@pytest.mark.parametrize(("count", "more"), [(SHOWN, ""), (SHOWN + 3, " and 3 more")])
def test_a_list_of_columns_says_how_many_more_there_are(count, more):
    names = tuple(f"c{i}" for i in range(count))
    with pytest.raises(UnreadableRecordingError) as refused:
        choose_columns(names, range(count), {"red": "missing"})
    assert str(refused.value).endswith(repr(names[SHOWN - 1]) + more)
