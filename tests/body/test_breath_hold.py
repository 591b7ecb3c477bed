"""The breath-hold: its stated shape, rate and limits; and the places that hear of it."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from oximetry_workbook.body.breath_hold import FASTEST_FALL_POINTS_PER_S, BreathHold
from oximetry_workbook.body.circulation import PLACES

HOLD = BreathHold(0.97, hold_s=60.0, depth_points=12.0, level_share=0.4, recovery_s=8.0)


def test_level_then_a_straight_fall_then_a_return():
    time_s = [-5.0, 0.0, 24.0, 42.0, 60.0, 68.0, 60.0 + 8.0 * np.log(2.0)]
    expected = np.array([0.0, 0.0, 0.0, 6.0, 12.0, 12.0 / np.e, 6.0]) / 100.0
    np.testing.assert_allclose(HOLD.lost(time_s), expected, atol=1e-12)


def test_rate_and_depth_are_those_of_the_course():
    course = HOLD.course(before_s=10.0, after_s=60.0)
    slope = np.gradient(100.0 * course.saturation, course.time_s)
    assert slope.min() == pytest.approx(-HOLD.fall_points_per_s)
    assert HOLD.fall_points_per_s == pytest.approx(12.0 / 36.0)
    assert course.saturation.min() == pytest.approx(HOLD.lowest_saturation) == 0.85
    assert course.time_s[np.argmin(course.saturation)] == 60.0
    assert (course.time_s[0], course.time_s[-1]) == (-10.0, 120.0)


@given(st.floats(10.0, 300.0), st.floats(0.0, 50.0))
def test_every_hold_is_within_limits_or_refused(hold_s, depth_points):
    if depth_points / (0.6 * hold_s) > FASTEST_FALL_POINTS_PER_S:
        with pytest.raises(ValueError, match="depth_points"):
            BreathHold(0.97, hold_s, depth_points)
        return
    lost = BreathHold(0.97, hold_s, depth_points).lost(np.linspace(-10.0, 500.0, 400))
    assert lost.min() >= 0.0
    assert lost.max() <= depth_points / 100.0


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"hold_s": 10.0, "depth_points": 40.0}, "points a second; at most 1.5"),
        ({"hold_s": 5.0}, "hold_s is 5"),
        ({"start_saturation": 97.0}, "write 0.97"),
        ({"start_saturation": 0.7, "depth_points": 40.0}, "lowest saturation is 0.3"),
    ],
)
def test_bad_holds_are_refused(changes, words):
    with pytest.raises(ValueError, match=words):
        BreathHold(**changes)


@pytest.mark.parametrize("name", ["before_s", "after_s"])
def test_bad_times_around_it_are_refused(name):
    with pytest.raises(ValueError, match=f"^{name} is -1"):
        HOLD.course(**{name: -1.0})


def test_places_are_in_the_order_in_which_blood_comes():
    ear, finger, cold = PLACES.values()
    assert 10.0 <= ear.delay_s <= 20.0 < 25.0 <= finger.delay_s <= 40.0 < cold.delay_s
    assert cold.scenario().vasoconstriction > finger.scenario().vasoconstriction
    assert ear.scenario(noise_percent=0.0).noise_percent == 0.0


def test_the_course_begins_ahead_of_the_hold_and_ends_past_it():
    hold = BreathHold(hold_s=30.0)
    course = hold.course()
    assert course.time_s[0] == -20.0
    assert course.time_s[-1] == 30.0 + 120.0
    bare = hold.course(before_s=0.0, after_s=0.5)
    assert (bare.time_s[0], bare.time_s[-1]) == (0.0, 30.5)
