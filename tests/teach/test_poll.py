"""Guesses of an audience: read, counted, set against the number."""

from statistics import median

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.teach.poll import (
    MOST_GUESSES,
    SCALES,
    Poll,
    count_sentence,
    truth_sentence,
)
from oximetry_workbook.teach.scene import GUESSES, Scene

every_guess = pytest.mark.parametrize("guess", GUESSES)


def test_each_number_that_can_be_guessed_can_be_polled():
    assert set(SCALES) == set(GUESSES)


@every_guess
def test_the_ranges_cover_what_may_be_guessed_and_touch_without_overlap(guess):
    scale, asked = SCALES[guess], GUESSES[guess]
    steps = np.arange(round(asked.low / scale.step), round(asked.high / scale.step) + 1)
    places = [scale.place(k * scale.step) for k in steps]
    assert places[0] == 0
    assert places[-1] == len(scale.firsts) - 1
    assert set(np.diff(places)) == {0, 1}
    assert len(scale.names()) == len(set(scale.names())) == len(scale.firsts)


@every_guess
def test_the_names_of_ranges_say_what_is_counted_in_them(guess):
    scale = SCALES[guess]
    for place, name in enumerate(scale.names()):
        separator = " to " if " to " in name else "–"
        if separator not in name:
            continue
        for end in name.split(separator):
            assert scale.place(float(end.replace("−", "-"))) == place


def test_ranges_as_they_are_read():
    names = SCALES["shown"].names()
    assert (names[0], names[1], names[-1]) == ("below 50", "50–54", "95–100")
    assert SCALES["error"].names()[3:5] == ("−5 to −3", "−2 to 2")
    assert SCALES["pulse_rate"].names()[-1] == "150 or more"
    assert SCALES["ratio"].names()[1] == "0.4–0.5"


@given(values=st.lists(st.floats(0.0, 100.0), min_size=1, max_size=40))
def test_counts_agree_with_those_of_numpy(values):
    poll = Poll("shown", typed=tuple(values))
    whole = np.floor(np.array(values) + 0.5)
    edges = [0, *range(50, 100, 5), 100.5]
    assert poll.counts == tuple(np.histogram(whole, edges)[0])
    assert poll.total == len(values)


@pytest.mark.parametrize(
    ("text", "typed"),
    [
        ("92, 95, 97", (92.0, 95.0, 97.0)),
        ("92;95 97", (92.0, 95.0, 97.0)),
        (" 92 %, 95% ", (92.0, 95.0)),
        ("92.5", (92.5,)),
        ("", ()),
        (" , ", ()),
    ],
)
def test_typed_guesses(text, typed):
    assert Poll("shown").with_typed(text).typed == typed


def test_a_typographic_minus_is_a_minus():
    assert Poll("error").with_typed("−3 -4").typed == (-3.0, -4.0)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("92, many", "'many' is not a number; write guesses with commas"),
        ("92, 101", "101 is no possible guess at what the meter shows; allowed is 0 to 100 %"),
        ("-1", "-1 is no possible guess"),
        ("nan", "nan is no possible guess"),
        ("1e999", "inf is no possible guess"),
        ("95 " * (MOST_GUESSES + 1), "a poll holds 2000 guesses"),
    ],
)
def test_what_is_refused_and_why(text, message):
    poll = Poll("shown", typed=(90.0,))
    with pytest.raises(ValueError, match=message):
        poll.with_typed(text)
    assert poll.typed == (90.0,)


def test_a_refusal_of_a_long_word_stays_short():
    with pytest.raises(ValueError, match="is not a number") as refused:
        Poll("shown").with_typed("x" * 100_000)
    assert len(str(refused.value)) < 200


def test_taps_count_up_and_down_and_stop_at_nothing():
    poll = Poll("shown").with_tapped(10, 1).with_tapped(10, 1).with_tapped(3, 1)
    assert (poll.counts[10], poll.counts[3], poll.total) == (2, 1, 3)
    poll = poll.with_tapped(3, -1).with_tapped(3, -1)
    assert (poll.counts[3], poll.total) == (0, 2)


def test_a_tap_down_takes_the_latest_typed_guess_of_its_range():
    poll = Poll("shown", typed=(96.0, 88.0, 97.0)).with_tapped(10, -1)
    assert poll.typed == (96.0, 88.0)
    assert poll.with_tapped(0, -1) == poll


def test_no_more_taps_than_a_hall_seats():
    full = Poll("shown", tapped=(MOST_GUESSES, *(0,) * 10))
    with pytest.raises(ValueError, match="a poll holds"):
        full.with_tapped(1, 1)


def test_sentence_of_typed_guesses():
    # twelve guesses: 84, 85, 86, 87, 88 lie within two points of 86
    poll = Poll("shown").with_typed("84 85 86 87 88 95 95 96 97 98 99 83")
    assert median(poll.typed) == 91.5
    assert truth_sentence(poll, 86.4) == (
        "5 of 12 guessed within 2 points; the median guess was 91.5 %, the meter shows 86 %."
    )


def test_what_counts_is_the_number_as_shown():
    poll = Poll("shown", typed=(88.0,))
    assert truth_sentence(poll, 85.5).startswith("1 of 1 guessed within 2 points")
    assert truth_sentence(poll, 85.4).startswith("0 of 1 guessed within 2 points")


def test_sentence_of_tapped_guesses_claims_no_more_than_is_known():
    poll = Poll("shown", typed=(96.0,)).with_tapped(8, 1).with_tapped(8, 1).with_tapped(10, 1)
    assert truth_sentence(poll, 86.0) == (
        "2 of 4 guessed 85–89, the right range; the median guess was between 85–89 and 95–100, "
        "the meter shows 86 %."
    )
    assert count_sentence(poll.with_tapped(10, 1)) == "5 guesses; the median guess is in 95–100."


def test_sentences_of_no_guesses_and_of_no_number():
    assert count_sentence(Poll("shown")) == "No guesses yet."
    assert truth_sentence(Poll("shown"), 86.0) == "No guesses; the meter shows 86 %."
    assert truth_sentence(Poll("shown", (95.0,)), None) == (
        "The meter withholds this number. 1 guess; the median guess is 95 %."
    )


@pytest.mark.parametrize(
    ("guess", "truth", "told"),
    [
        ("carried", 67.9, "the blood carries 67.9 %"),
        ("error", -11.04, "the meter is off by −11.0 points"),
        ("ratio", 0.617, "R is 0.62"),
        ("pulse_rate", 71.6, "the meter shows 72 per minute"),
        ("perfusion_index", 3.01, "the meter shows 3 %"),
    ],
)
def test_each_number_is_told_in_its_own_unit(guess, truth, told):
    assert truth_sentence(Poll(guess), truth) == f"No guesses; {told}."


@every_guess
def test_the_truth_stands_in_the_range_it_is_counted_in(guess):
    scale, asked = SCALES[guess], GUESSES[guess]
    values = np.linspace(asked.low, asked.high, 401)
    positions = [scale.position(value, asked.high) for value in values]
    assert np.all(np.diff(positions) >= 0.0)
    assert 0.0 <= positions[0] < positions[-1] <= 1.0
    ranges = len(scale.firsts)
    for value, position in zip(values, positions, strict=True):
        place = scale.place(value)
        assert place / ranges - 1e-9 <= position <= (place + 1) / ranges + 1e-9


def test_the_truth_of_a_scene_comes_from_the_engine():
    scene = Scene("Smoke", Scenario(carboxyhaemoglobin=0.3), guess="carried")
    # 0.97 of what is left of the haemoglobin: 97 % times 0.7
    assert truth_sentence(Poll("carried"), scene.truth()) == (
        "No guesses; the blood carries 67.9 %."
    )
