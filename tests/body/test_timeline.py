"""What is kept of recordings, and what is not."""

import weakref

import numpy as np
import pytest

from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.body.timeline import MOST_KEPT, NOISE, timeline, unit_noise


def test_a_short_one_is_made_once():
    assert timeline(Scenario(), 10.0, 100.0, 3)[1] is timeline(Scenario(), 10, 100, 3)[1]
    assert unit_noise(1000, 3) is unit_noise(1000, 3)


def test_what_many_share_none_can_change():
    for shared in (*timeline(Scenario(), 10.0, 100.0, 3), unit_noise(1000, 3)):
        with pytest.raises(ValueError, match="read-only"):
            shared[..., 0] = 0.0


def test_a_long_one_is_gone_with_the_recording():
    made = [*timeline(Scenario(), MOST_KEPT / 100.0 + 1.0, 100.0, 3), unit_noise(MOST_KEPT + 1, 3)]
    left = [weakref.ref(each) for each in made]
    made.clear()
    assert [each() for each in left] == [None] * 4


def test_another_scenario_with_the_same_heart_shares_it():
    darker = Scenario(arterial_saturation=0.8)
    faster = Scenario(heart_rate_bpm=100)
    pulse = timeline(Scenario(), 10.0, 100.0, 3)[1]
    assert timeline(darker, 10.0, 100.0, 3)[1] is pulse
    assert timeline(faster, 10.0, 100.0, 3)[1] is not pulse


def test_the_same_seed_makes_the_same_heart_anew():
    irregular = Scenario(irregularity_percent=20.0)
    length_s = MOST_KEPT / 100.0 + 1.0  # too long to be kept
    first, again = (timeline(irregular, length_s, 100.0, 3) for _ in range(2))
    assert first[1] is not again[1]
    for one, other in zip(first, again, strict=True):
        np.testing.assert_array_equal(one, other)
    assert not np.array_equal(first[1], timeline(irregular, length_s, 100.0, 4)[1])


@pytest.mark.parametrize("count", [100, MOST_KEPT, MOST_KEPT + 1])
def test_noise_is_that_of_its_seed_for_ever(count):
    """A link to a scenario must show the same noise tomorrow, in another kernel."""
    for seed in (0, 7):
        expected = np.random.default_rng([seed, NOISE]).standard_normal((2, count))
        np.testing.assert_array_equal(unit_noise(count, seed), expected)
