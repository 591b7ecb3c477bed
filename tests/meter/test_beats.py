"""Beats found against beats put in."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from oximetry_workbook.meter import beats
from oximetry_workbook.meter.beats import find_beats

RATE_HZ = 100.0


def missed_and_invented(found_s, true_s, first_s, last_s, tolerance_s):
    """Beats without a partner within the tolerance, between two times."""

    def alone(ones, others):
        ones = ones[(ones > first_s) & (ones < last_s)]
        return int(np.sum(np.abs(ones[:, None] - others).min(axis=1) > tolerance_s)), ones.size

    missed, there = alone(true_s, found_s)
    invented, _ = alone(found_s, true_s)
    assert there > 0
    return missed, invented


def assert_all_found(synthetic_pulse, cycle_s, duration_s):
    found = find_beats(-synthetic_pulse.recording.infrared, RATE_HZ)
    margin_s = 1.5 * cycle_s
    assert missed_and_invented(
        found.peak_s, synthetic_pulse.peak_s, margin_s, duration_s - margin_s, 0.15 * cycle_s
    ) == (0, 0)


@pytest.mark.parametrize("shape", ["round", "narrow"])
@pytest.mark.parametrize("rate", [30, 40, 50, 60, 75, 90, 120, 150, 180, 220])
def test_every_beat_is_found_once(synthetic, rate, shape):
    for seed in range(5):
        pulse = synthetic(rate, noise=0.001, shape=shape, seed=seed, duration_s=20, breathing=0.006)
        assert_all_found(pulse, 60 / rate, 20)


@pytest.mark.parametrize("rate", [60, 90, 130])
def test_an_irregular_rhythm_is_followed(synthetic, rate):
    for seed in range(5):
        pulse = synthetic(rate, irregularity=0.2, noise=0.0005, seed=seed, duration_s=30)
        # the shortest interval, some two standard deviations below the mean, sets the tolerance
        found = find_beats(-pulse.recording.infrared, RATE_HZ)
        assert missed_and_invented(found.peak_s, pulse.peak_s, 2, 28, 0.12) == (0, 0)


def test_peak_times_lie_between_samples(synthetic):
    pulse = synthetic(60, variability=0, breathing=0, sampling_rate_hz=25, duration_s=20)
    found = find_beats(-pulse.recording.infrared, 25)
    nearest = np.abs(found.peak_s[:, None] - pulse.peak_s).argmin(axis=1)
    late_s = found.peak_s - pulse.peak_s[nearest]
    # the beat is lopsided, so the band-pass shifts its top a little; always by the same amount
    assert np.abs(late_s).max() < 0.02
    assert np.ptp(late_s[1:-1]) < 0.002


@pytest.mark.parametrize("start", [0.0, 0.01, 0.02, 0.03, 0.04, 0.05])
def test_times_of_a_sine_are_those_of_its_formula(start):
    """75 beats per minute, 20 samples a second: samples 50 ms apart, times right within 1 ms."""
    beats_per_s = 1.25
    found = find_beats(np.sin(2 * np.pi * (beats_per_s * np.arange(600) / 20.0 - start)), 20.0)
    inside = slice(3, -3)  # the filter bends the ends
    for times_s, place, tolerance_s in (
        (found.peak_s, 0.25, 0.001),
        (found.rise_s, 0.0, 0.001),
        (found.foot_s, 0.75, 0.0251),
    ):
        late = (beats_per_s * times_s[inside] - start - place + 0.5) % 1.0 - 0.5
        assert late.size > 25
        assert np.abs(late).max() / beats_per_s < tolerance_s


def test_beats_alternate_between_foot_and_peak(synthetic):
    found = find_beats(-synthetic(noise=0.002).recording.infrared, RATE_HZ)
    assert found.foot.size == len(found) + 1
    assert np.all(found.foot[:-1] < found.peak)
    assert np.all(found.peak < found.foot[1:])
    assert np.all((found.foot_s[:-1] < found.rise_s) & (found.rise_s < found.peak_s))
    assert np.isnan(found.interval_s[0])
    np.testing.assert_allclose(found.interval_s[1:], np.diff(found.rise_s))


def test_upside_down_the_feet_are_the_beats_ends(synthetic):
    """Polarity matters: light itself has its troughs where blood has its peaks."""
    light = synthetic(duration_s=20).recording.infrared
    blood, upside_down = find_beats(-light, RATE_HZ), find_beats(light, RATE_HZ)
    inside = [t for t in blood.peak_s if upside_down.foot_s[0] <= t <= upside_down.foot_s[-1]]
    assert np.abs(np.array(inside)[:, None] - upside_down.foot_s).min(axis=1).max() < 0.02


def bumps(centres_s, heights):
    """Bumps 0.1 s wide over 20 s."""
    time_s = np.arange(2000) / RATE_HZ
    return sum(
        height * np.exp(-0.5 * ((time_s - centre) / 0.1) ** 2)
        for centre, height in zip(centres_s, heights, strict=True)
    )


def found_near(pulse, time_s):
    return bool(np.any(np.abs(find_beats(pulse, RATE_HZ).peak_s - time_s) < 0.05))


REGULAR_S = np.arange(0.5, 20, 0.9)


def test_one_strong_dicrotic_wave_is_no_beat():
    assert not found_near(bumps([*REGULAR_S, REGULAR_S[10] + 0.45], [1] * 22 + [0.65]), 9.95)


def test_a_double_goes_with_its_own_foot_and_peak():
    """Beats of height 1 on a rising floor, 20 samples apart, and one of 0.7 half-way."""
    foot, peak = 20 * np.arange(13), 20 * np.arange(12) + 6
    turns = np.sort(np.concatenate([foot, peak]))
    wave = 0.01 * np.arange(260.0)
    wave[peak] += 1.0
    clean = beats._without_doubles(turns, wave)
    np.testing.assert_array_equal(clean, turns)
    wave[6 * 20 + 16] += 0.7
    doubled = np.sort(np.concatenate([turns, [6 * 20 + 12, 6 * 20 + 16]]))
    np.testing.assert_array_equal(beats._without_doubles(doubled, wave), turns)


@pytest.mark.parametrize(
    ("wave", "first", "last"),
    [
        ([0, 1, 0], 0, 3),
        ([1, 0, 1, 0], 1, 4),
        ([0, 1, 0, 1], 0, 3),
        ([1, 0, 1, 0, 1], 1, 4),
        ([1, 0, 1], 0, 0),
        ([0, 1], 0, 0),
        ([0], 0, 0),
        ([], 0, 0),
    ],
)
def test_a_beat_has_a_foot_on_both_sides(wave, first, last):
    turns = np.arange(len(wave))
    kept = beats._from_foot_to_foot(turns, np.array(wave, dtype=float))
    assert kept.tolist() == turns[first:last].tolist()


def test_of_two_equal_small_steps_one_goes_and_one_as_large_as_allowed_stays():
    wave, turns = np.array([0.0, 1.0, 0.75, 1.0, 0.0]), np.arange(5)
    assert beats._large_steps(turns, wave, np.full(5, 0.5)).tolist() == [0, 3, 4]
    assert beats._large_steps(turns, wave, np.full(5, 0.25)).tolist() == [0, 1, 2, 3, 4]


def test_the_usual_height_is_the_middle_of_five_blocks_and_the_last_block_counts():
    """Blocks of 10 samples, one of 4 at the end that goes with the last; worked by hand."""
    heights = [1.0, 7.0, 2.0, 6.0, 3.0, 5.0]
    wave = np.concatenate([np.r_[0.0, np.full(9, height)] for height in heights] + [np.zeros(4)])
    found = beats._usual_height(wave, 10)
    # reflected at the ends: 2 7 | 1 7 2 6 3 5 | 3 6, of which the median of each five
    middle = [2.0, 6.0, 3.0, 5.0, 3.0, 5.0]
    np.testing.assert_array_equal(found, np.repeat(middle, [10, 10, 10, 10, 10, 14]))


def test_half_way_is_half_way_between_foot_and_peak():
    """From 0.4 at sample 0 to 1 at sample 10 in a straight line, and down again."""
    wave = 1.0 - 0.06 * np.abs(np.arange(21) - 10.0)
    assert beats._half_way(wave, np.array([0, 20]), np.array([10])) == pytest.approx([5.0])


def test_a_weak_early_beat_with_its_pause_stays():
    early = REGULAR_S.copy()
    early[11] -= 0.4
    heights = np.ones(22)
    heights[11] = 0.65
    assert found_near(bumps(early, heights), early[11])


def test_strong_and_weak_beats_in_turn_all_count():
    found = find_beats(bumps(REGULAR_S, [1, 0.65] * 11), RATE_HZ)
    np.testing.assert_allclose(found.peak_s, REGULAR_S, atol=0.03)


def test_a_jerk_hides_no_other_beat(synthetic):
    pulse = synthetic(duration_s=30)
    light = pulse.recording.infrared.copy()
    light[1400:1420] += 0.4
    found = find_beats(-light, RATE_HZ).peak_s
    assert missed_and_invented(found, pulse.peak_s, 1.5, 11, 0.1) == (0, 0)
    assert missed_and_invented(found, pulse.peak_s, 18, 28.5, 0.1) == (0, 0)


@pytest.mark.parametrize("signal", [np.ones(500), np.linspace(0, 1, 500), np.ones(8)])
def test_no_pulse_no_beats(signal):
    found = find_beats(signal, RATE_HZ)
    assert len(found) == 0
    assert found.foot.size == found.peak_s.size == found.interval_s.size == 0


@settings(max_examples=30, deadline=None)
@given(st.floats(1e-3, 1e6), st.floats(-1e3, 1e3), st.integers(0, 99))
def test_beats_do_not_depend_on_scale_or_level(synthetic, scale, level, seed):
    pulse = -synthetic(seed=seed, noise=0.0002).recording.infrared
    found, changed = find_beats(pulse, RATE_HZ), find_beats(scale * (pulse + level), RATE_HZ)
    np.testing.assert_array_equal(found.foot, changed.foot)
    np.testing.assert_allclose(found.peak_s, changed.peak_s, atol=1e-6)


def test_gaps_and_tables_are_refused():
    with pytest.raises(ValueError, match="missing or infinite"):
        find_beats([0, np.nan, 1], RATE_HZ)
    with pytest.raises(ValueError, match="dimensions"):
        find_beats(np.zeros((2, 100)), RATE_HZ)
