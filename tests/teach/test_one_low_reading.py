"""One low reading: what is drawn and said follows from the chances, whatever the state."""

import re
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from oximetry_workbook.body.quantities import Quantity, specs_of
from oximetry_workbook.study.chance import after, low_by_day, low_every_time, shown_at_most
from oximetry_workbook.study.people_and_meter import MeterError, People
from oximetry_workbook.teach.one_low_reading import (
    BANDS,
    DAYS,
    HELP_PERCENT,
    OTHER_DAYS,
    PLOTTED_PERCENT,
    OneLowReading,
    counted_people,
    whole_parts,
)
from oximetry_workbook.teach.one_low_reading_words import (
    AGAIN,
    ASK,
    HELP,
    SYMPTOMS,
    belief_sentence,
    hundred_sentence,
    meter_sentence,
    month_sentence,
    numbers,
    repeat_sentence,
    share,
    stays_low_sentence,
    verdict,
)

HOME = OneLowReading()
FIELDS = specs_of(OneLowReading)
SENTENCES = (
    belief_sentence,
    hundred_sentence,
    meter_sentence,
    month_sentence,
    repeat_sentence,
    verdict,
)
FIVE_DAYS = replace(HOME, repeats=4, repeats_show_percent=92, repeats_when=OTHER_DAYS)


def value_of(spec):
    if not isinstance(spec, Quantity):
        return st.sampled_from(spec.options)
    if spec.whole:
        return st.integers(int(spec.low), int(spec.high)).map(float)
    return st.floats(spec.low, spec.high)


states = st.fixed_dictionaries({n: value_of(s) for n, s in FIELDS.items()}).map(
    lambda values: OneLowReading(**values)
)


def test_the_state_is_read_as_the_statistics_say():
    state = replace(HOME, repeats=2, repeats_show_percent=91, repeats_when=OTHER_DAYS)
    belief = after(People(), MeterError(), [92, 91, 91], other_days=True)
    np.testing.assert_array_equal(state.after.shares, belief.shares)
    low, between, high = state.bands
    assert low == belief.below(90.0)
    assert low + between == pytest.approx(belief.below(94.0))
    assert low + between + high == pytest.approx(1.0)
    np.testing.assert_array_equal(state.by_day, 100.0 * low_by_day(People(), MeterError(), 92, 2))
    assert state.once == shown_at_most(People(), MeterError(), 92)
    assert state.by_day_all_new[-1] > state.by_day[-1] + 20.0


def test_curves_hold_all_people_on_screen():
    areas = HOME.curves.sum(axis=1) * np.diff(PLOTTED_PERCENT)[0]
    np.testing.assert_allclose(areas, 100.0, atol=0.1)
    assert PLOTTED_PERCENT[np.argmax(HOME.curves[0])] == pytest.approx(96.5, abs=0.1)


def test_counted_people_add_up_and_agree_with_the_chances():
    low, low_seen, healthy, healthy_seen = counted_people(HOME)
    assert (low, healthy) == (20, 980)
    assert low_seen / low == pytest.approx(HOME.once[0], abs=0.03)
    assert healthy_seen / healthy == pytest.approx(HOME.once[1], abs=0.001)


@given(st.lists(st.floats(0.0, 1.0), min_size=1, max_size=6).filter(sum), st.integers(1, 500))
def test_whole_parts_add_up_and_are_near(weights, total):
    shares = np.array(weights) / sum(weights)
    parts = whole_parts(shares, total)
    assert sum(parts) == total
    assert np.all(np.abs(np.array(parts) - total * shares) < 1.0 + 1e-6)


@given(states)
@settings(max_examples=100)
def test_any_state_is_told_in_plain_words(state):
    for text in (*(sentence(state) for sentence in SENTENCES), *numbers(state).values()):
        assert text.strip()
        assert not re.search(r"\b(None|nan|inf|array)\b|  |-\d", text), text
    assert sum(state.of_hundred) == 100
    assert np.all(np.isfinite(state.curves))
    assert state.by_day.shape == state.by_day_all_new.shape == (DAYS,)
    assert SYMPTOMS in verdict(state)  # no number goes without it
    assert (HELP in verdict(state)) == (min(state.readings) <= HELP_PERCENT)
    everything = " ".join(sentence(state) for sentence in (*SENTENCES, stays_low_sentence))
    assert not re.search(r"\b(?:you|your)\b", everything, re.IGNORECASE)
    assert max(map(len, numbers(state).values())) <= len(">99 %")


def test_a_mean_between_two_groups_is_not_told_as_the_truth():
    two_groups = replace(HOME, reading_percent=85, a_rms_points=4.0)
    assert "Hardly anybody is at this mean" in belief_sentence(two_groups)
    mean = two_groups.after.mean_percent
    near = np.abs(PLOTTED_PERCENT - mean) < 1.0
    assert two_groups.curves[1][near].max() < 0.5 * two_groups.curves[1].max()
    assert "above the first reading" in belief_sentence(HOME)


def test_the_verdict_counts_the_hundred_and_names_all_readings():
    state = replace(HOME, repeats=2, repeats_when=OTHER_DAYS)
    words = verdict(state)
    assert "92 % and then twice 96 % on other days" in words
    for n, band in zip(HOME.of_hundred, BANDS, strict=True):
        assert f"about {n} {band}" in verdict(HOME)


def test_none_of_a_hundred_is_not_called_none_at_all():
    calm = replace(HOME, prevalence=0.001, repeats=4, repeats_show_percent=98)
    assert calm.of_hundred[0] == 0
    assert "fewer than one under 90 %" in verdict(calm)
    assert numbers(calm)["Truly under 90 %"] == "<1 %"
    assert numbers(replace(HOME, reading_percent=80))["Truly under 94 %"] == ">99 %"


def test_a_very_low_number_is_a_reason_to_seek_help_by_itself():
    for reading in (80, 85, 90):
        for a_rms in (1.0, 6.0):  # however much the meter errs
            state = replace(HOME, reading_percent=reading, a_rms_points=a_rms)
            assert verdict(state).startswith(HELP)
    assert HELP not in verdict(replace(HOME, reading_percent=91))
    # a better repeat does not take it back, and a low repeat brings it up
    assert HELP in verdict(replace(HOME, reading_percent=85, repeats=4, repeats_show_percent=97))
    assert HELP in verdict(replace(HOME, repeats=1, repeats_show_percent=88))


def test_a_number_that_stays_low_is_not_called_chance():
    low, healthy = low_every_time(People(), MeterError(), 92, 5, other_days=True)
    assert FIVE_DAYS.every_time == (low, healthy)
    words = stays_low_sentence(FIVE_DAYS)
    assert f"Of healthy people {share(healthy)} see that, of the low group {share(low)}" in words
    assert "Chance does not explain it" in words
    assert ASK in verdict(FIVE_DAYS)
    # the counts say the same: each such day makes a low saturation likelier
    chances = [replace(FIVE_DAYS, repeats=n).after.below(94.0) for n in range(5)]
    assert np.all(np.diff(chances) > 0.0)
    assert chances[-1] > 3.0 * chances[0]
    assert stays_low_sentence(replace(FIVE_DAYS, repeats_show_percent=94)) == ""
    assert AGAIN in verdict(HOME)
    assert AGAIN not in verdict(replace(HOME, reading_percent=95))


def test_a_worse_meter_is_not_made_a_comfort():
    worse = replace(HOME, a_rms_points=4.0)
    assert worse.after.below(94.0) < HOME.after.below(94.0)
    words = meter_sentence(worse)
    assert "no news of the person, good or bad" in words
    assert "cannot tell" in words
    assert "more than FDA’s guidance allows" in words
    assert "FDA" not in meter_sentence(replace(HOME, a_rms_points=3.0))
    assert "cannot tell" not in meter_sentence(HOME)
    # it misses more of those who are low
    missed = [replace(HOME, a_rms_points=each).missed for each in (1.0, 2.0, 4.0, 6.0)]
    assert np.all(np.diff(missed) > 0.0)
    assert missed[1] == pytest.approx(1.0 - shown_at_most(People(), MeterError(), 93)[0])


@given(st.integers(80, 97), st.floats(2.5, 6.0))
def test_a_worse_meter_s_number_says_less_either_way(reading, a_rms):
    """Weight of evidence, the logarithm of odds after over odds before (Good 1950, from memory)."""

    def weight(error):
        low = replace(HOME, reading_percent=reading, a_rms_points=error).after.low_group
        return abs(np.log(low / (1.0 - low)) - np.log(0.02 / 0.98))

    # close to the number that says nothing, the two may change places
    assert weight(a_rms) < weight(2.0) or weight(2.0) < 1.0


def test_more_people_who_are_low_make_the_same_reading_mean_more():
    """Odds after over odds before are the same whoever measures: Bayes's rule in odds."""
    prevalences = np.array([0.001, 0.02, 0.1, 0.5])
    states = [replace(HOME, prevalence=each) for each in prevalences]
    chances = np.array([state.after.low_group for state in states])
    factors = chances / (1.0 - chances) / (prevalences / (1.0 - prevalences))
    np.testing.assert_allclose(factors, factors[0])
    assert np.all(np.diff([state.after.below(94.0) for state in states]) > 0.0)


def test_repeat_sentence_gives_the_error_of_the_mean():
    state = replace(HOME, repeats=3, person_share=0.25, a_rms_points=4.0, repeats_when=OTHER_DAYS)
    assert "mean of 4 readings has an error of 2.6 points" in repeat_sentence(state)
    assert "An error of 2 points stays with the person:" in repeat_sentence(state)


@pytest.mark.parametrize(
    ("probability", "words"),
    [
        (0.0, "under 0.1 %"),
        (0.0123, "1.2 %"),
        (0.5, "50 %"),
        (0.95, "95.0 %"),
        (1.0, "over 99.9 %"),
    ],
)
def test_probabilities_are_written_without_false_exactness(probability, words):
    assert share(probability) == words


@pytest.mark.parametrize("changes", [{"repeats": 1.5}, {"reading_percent": 60}, {"prevalence": 2}])
def test_bad_fields_are_refused(changes):
    with pytest.raises(ValueError, match=next(iter(changes))):
        replace(HOME, **changes)
