"""Text on its way to the page."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from oximetry_workbook.panels.prose import NO_BREAK_SPACE, html, together

BOUND = NO_BREAK_SPACE


@pytest.mark.parametrize(
    ("text", "kept"),
    [
        ("reads 97 % now", f"reads 97{BOUND}% now"),
        ("at 660 nm and 940 nm.", f"at 660{BOUND}nm and 940{BOUND}nm."),
        ("8 400 metres", f"8{BOUND}400{BOUND}metres"),
        ("with R = 0.61, so", f"with R{BOUND}={BOUND}0.61, so"),
        ("30 to 220 /min", f"30 to 220{BOUND}/min"),
        ("120 minuets", "120 minuets"),
        ("5 splendid things", "5 splendid things"),
        ("in 1979 1234 people", "in 1979 1234 people"),
    ],
)
def test_numbers_stay_with_their_units(text, kept):
    assert together(text) == kept


@given(st.text())
def test_nothing_but_spaces_changes(text):
    kept = together(text)
    assert len(kept) == len(text)
    assert all(a == b or (a, b) == (" ", BOUND) for a, b in zip(text, kept, strict=True))


def test_html_is_escaped():
    assert html("a < 5 % & b") == f"a &lt; 5{BOUND}% &amp; b"
