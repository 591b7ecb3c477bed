"""Why a value is withheld: each reason on both sides of its limit."""

import numpy as np
import pytest

from oximetry_workbook.meter import faults
from oximetry_workbook.meter.beats import BeatTimes
from oximetry_workbook.meter.quality import BeatMarks
from oximetry_workbook.meter.recording import Recording

COUNT = 1000
TIME_S = np.arange(COUNT) / 100.0
RED = 2.0 + 0.02 * np.sin(7 * TIME_S)
INFRARED = 1.0 + 0.02 * np.sin(7 * TIME_S)


def beats(rate_bpm, count):
    """So many beats, evenly spaced."""
    rise_s = 1.0 + 60.0 / rate_bpm * np.arange(count)
    peak = np.rint(100 * rise_s).astype(int) + 10
    foot = np.append(peak - 20, peak[-1:] + 20) if count else peak
    return BeatTimes(foot, peak, foot / 100.0, peak / 100.0, rise_s)


def spoilt(place, value, colour=INFRARED):
    light = colour.copy()
    light[place] = value
    return light


@pytest.mark.parametrize("rate_bpm", [24.0, 60.0, 250.0])
def test_what_a_heart_can_do_is_a_rhythm(rate_bpm):
    assert faults.rhythm_fault(beats(rate_bpm, 3), 10.0) is None


@pytest.mark.parametrize(
    ("rate_bpm", "count", "duration_s", "says"),
    [
        (23.9, 5, 20.0, "24 times a minute, which is too slow: breathing"),
        (251.0, 5, 20.0, "251 times a minute, which is too fast: noise"),
        (60.0, 2, 7.9, "^7.9 s hold only 2 whole beats and at least 3"),
        (60.0, 2, 8.0, "^No pulse was found. Check that the sensor sits"),
        (60.0, 0, 10.0, "^No pulse was found. Check that the sensor sits"),
    ],
)
def test_what_no_heart_can_do_is_none(rate_bpm, count, duration_s, says):
    assert_says(faults.rhythm_fault(beats(rate_bpm, count), duration_s), says)


def assert_says(reason, pattern):
    with pytest.raises(ValueError, match=pattern):
        raise ValueError(reason)


@pytest.mark.parametrize(
    ("red", "infrared", "says"),
    [
        (RED, spoilt([3, 8], np.nan), "^2 of 1000 infrared samples are missing, .* at 0.03 s"),
        (spoilt([8], np.inf), INFRARED, "^1 of 1000 infrared samples are missing"),
        (spoilt([8], np.inf, RED), None, "^1 of 1000 red samples are missing, .* at 0.08 s"),
        (RED, 0 * INFRARED + 0.5, "^The infrared light stays at 0.5 throughout"),
        (RED, spoilt([3], 0.0), "^The infrared light is zero or negative in 1 of 1000"),
        (RED, np.minimum(INFRARED, 1.019), "infrared samples are exactly 1.019, the highest"),
        (np.maximum(RED, 1.981), None, "red samples are exactly 1.981, the lowest"),
    ],
)
def test_samples_at_fault_are_told_infrared_first(red, infrared, says):
    if infrared is INFRARED:
        infrared = spoilt([8], np.inf)
    assert_says(faults.sample_fault(Recording(TIME_S, red, infrared)), says)


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_a_twentieth_at_the_limit_is_the_most_that_passes(side):
    ramp = 1.0 + side * np.linspace(0.0, 0.1, COUNT)
    for cut, fault in ((50, False), (51, True)):
        light = ramp.copy()
        light[-cut:] = light[-1]
        reason = faults.sample_fault(Recording(TIME_S, None, light))
        assert (reason is not None) == fault
    light[-800:] = light[-1]
    reason = faults.sample_fault(Recording(TIME_S, None, light))
    advice = {1.0: "turn the lamp or the gain down", -1.0: "turn the lamp or the gain up"}[side]
    assert reason.startswith("80 % of the infrared samples are exactly")
    assert f"; {advice}, or use a finer converter." in reason


def test_samples_pile_up_on_a_limit_when_there_are_more_than_four_for_one_beside_it():
    beside = [1.0, 1.0, 0.5, 0.2]
    assert not faults.piled_up(np.array([2.0] * 8 + beside), 2.0)
    assert faults.piled_up(np.array([2.0] * 9 + beside), 2.0)
    assert faults.piled_up(-np.array([2.0] * 9 + beside), -2.0)
    assert faults.piled_up(np.array([0.5, 0.5, 0.5, 0.2, 1.0, *[2.0] * 9]), 2.0)


def marks(clearness, likeness, agreement):
    return BeatMarks(np.array(clearness), np.array(likeness), np.array(agreement))


def test_the_lowest_mean_quality_that_passes_is_three_tenths():
    just, fine, under = [0.3] * 3, [1.0] * 3, [0.0, 0.31, 0.5]
    assert faults.pulse_fault(marks(just, fine, [0.0] * 3)) is None
    assert faults.colour_fault(marks(fine, fine, just)) is None
    noisy = faults.pulse_fault(marks(under, fine, fine))
    assert_says(noisy, r"^The pulse is drowned in noise.* \(a signal quality of 30 %")
    assert_says(faults.pulse_fault(marks(just, under, fine)), "^The beats do not look alike")
    assert_says(faults.colour_fault(marks(fine, fine, under)), "^The colours disagree")
