"""Below 70 %: what the state reckons, and what its sentences say."""

import re

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.body.simulate import simulate
from oximetry_workbook.meter.curve import published_curves
from oximetry_workbook.meter.measure import measure
from oximetry_workbook.teach import below_seventy_words as words
from oximetry_workbook.teach.below_seventy import (
    AGREE_POINTS,
    DRAWS,
    FALL_MINUTES,
    MARKED_PERCENT,
    OWN,
    REST_PERCENT,
    TRUE_PERCENT,
    BelowSeventy,
    agrees,
    curves_of_studies,
    measured_ratios,
    odd_one,
    off_inside,
)
from oximetry_workbook.teach.ratio_to_number import CalibrationStudy

ANY_STATE = st.builds(
    BelowSeventy,
    arterial_saturation=st.floats(0.4, 1.0),
    blood_volume_scale=st.sampled_from([0.3, 1.0, 1.7, 3.0]),
    thickness_scale=st.sampled_from([0.7, 1.0, 1.5]),
    draw=st.integers(1, 50),
)
SENTENCES = (
    words.verdict,
    words.shown_sentence,
    words.spread_sentence,
    words.trend_sentence,
    words.answers_line,
    words.odd_sentence,
)
TEXTBOOK_NAME = "textbook line 110 − 25 R"


@given(ANY_STATE)
@settings(max_examples=40)
def test_sentences_and_numbers_are_whole_for_any_state(state):
    for text in (*(say(state) for say in SENTENCES), *words.numbers(state).values()):
        assert text
        assert not re.search(r"nan|None|inf\b|  |−-", text), text


def test_ratio_is_the_meters_own():
    scenario = Scenario(arterial_saturation=0.55, blood_volume_scale=2.0, thickness_scale=1.2)
    expected = measure(simulate(scenario)).ratio
    assert BelowSeventy(0.55, 2.0, 1.2).ratio == expected
    shared = measured_ratios(2.0, 1.2)
    assert shared[TRUE_PERCENT.tolist().index(55.0)] == expected
    with pytest.raises(ValueError, match="read-only"):
        shared[0] = 1.0


@pytest.mark.parametrize("blood", [0.3, 1.0, 3.0])
def test_ratio_rises_all_the_way_down(blood):
    assert np.all(np.diff(measured_ratios(blood, 1.0)) > 0.0)


def test_ten_curves_of_three_origins():
    state = BelowSeventy()
    assert {name: len(group) for name, group in state.groups.items()} == {
        "published": len(published_curves),
        "simulated": 4,
        "fitted": 2,
    }
    assert len(state.curves) == 10


def test_the_own_curve_is_right_on_the_reference_person_and_not_on_another():
    for share in (0.9, 0.6, 0.5):
        assert BelowSeventy(share).answers[OWN] == pytest.approx(100.0 * share, abs=0.6)
    assert BelowSeventy(0.5, 2.0).answers[OWN] > 55.0


def test_fitted_curves_are_those_of_the_study():
    state = BelowSeventy(draw=7)
    expected = CalibrationStudy(draw=7).curves["line"](state.ratio)
    assert state.answers["line"] == pytest.approx(expected)
    assert len(curves_of_studies()) == 2 * DRAWS


def test_spread_is_lowest_and_highest_of_each_group():
    state = BelowSeventy()
    found = state.spread(MARKED_PERCENT)
    place = TRUE_PERCENT.tolist().index(50.0)
    said = [state.said(curve)[place] for curve in state.agreeing.values()]
    column = MARKED_PERCENT.tolist().index(50.0)
    np.testing.assert_allclose(found["agreeing"][:, column], [min(said), max(said)])
    fits = [curve(state.ratios[place]) for curve in curves_of_studies()]
    np.testing.assert_allclose(found["fitted"][:, column], [min(fits), max(fits)])
    np.testing.assert_allclose(found["line"][:, column], [min(fits[::2]), max(fits[::2])])


def test_curves_that_agree_in_range_part_below_it_without_leaving_the_scale():
    for low, high in BelowSeventy().spread(np.array([90.0, 50.0, 40.0])).values():
        assert np.all((low > 0.0) & (high < 100.0))
        assert np.all(np.diff(high - low) > 0.0)
        assert high[1] - low[1] > 2.0 * (high[0] - low[0])


def test_the_textbook_line_the_places_and_all_fits_agree_and_three_published_do_not():
    state = BelowSeventy()
    assert set(state.others) == set(published_curves) - {TEXTBOOK_NAME}
    assert set(state.agreeing) | set(state.others) == set(state.curves)
    for draw in range(1, 51):
        assert all(agrees(curve) for curve in CalibrationStudy(draw=draw).curves.values())
    inside = [p for p in TRUE_PERCENT if p >= 70.0]
    for curve in state.curves.values():
        off = [abs(curve(BelowSeventy(p / 100.0).ratio) - p) for p in inside]
        assert off_inside(curve) == pytest.approx(max(off))
        assert agrees(curve) == (max(off) <= AGREE_POINTS)
    assert odd_one().name == "94.845 + 30.354 R − 45.06 R²"
    assert off_inside(odd_one()) > 30.0  # in range, where nobody extrapolates
    assert odd_one().name in words.odd_sentence(state)


def test_the_course_falls_to_the_state_and_comes_back():
    course = BelowSeventy(0.45).course
    assert course.size == FALL_MINUTES.size
    assert course[[0, -1]] == pytest.approx(REST_PERCENT)
    assert course.min() == pytest.approx(45.0)


def test_the_verdict_changes_at_seventy():
    assert "very low" in words.verdict(BelowSeventy(0.69))
    assert "very low" not in words.verdict(BelowSeventy(0.70))


def test_every_curve_follows_the_blood_down():
    assert "All 7 that agree follow" in words.trend_sentence(BelowSeventy(0.5))
    assert "So do the 3 others" in words.trend_sentence(BelowSeventy(0.5))
    assert "stays where it is" in words.trend_sentence(BelowSeventy(0.95))
    assert "rises" in words.trend_sentence(BelowSeventy(1.0))


def test_sentences_carry_the_answers():
    state = BelowSeventy(0.5)
    assert f"textbook line {state.answers[TEXTBOOK_NAME]:.0f} %" in words.shown_sentence(state)
    low, high = state.spread(np.array([50.0]))["fitted"][:, 0]
    assert f"fits of 20 studies {low:.0f} % to {high:.0f} %" in words.answers_line(state)
    assert "3 others below 0 % to" in words.answers_line(state)
    answers = [state.answers[name] for name in state.agreeing]
    assert words.numbers(state)["Lowest of 7"] == f"{min(answers):.0f} %"
    assert f"{min(answers):.0f} % to {max(answers):.0f} %" in words.verdict(state)


@pytest.mark.parametrize(("name", "value"), [("arterial_saturation", 0.3), ("draw", 1.5)])
def test_values_out_of_range_are_named(name, value):
    with pytest.raises(ValueError, match=name):
        BelowSeventy(**{name: value})
