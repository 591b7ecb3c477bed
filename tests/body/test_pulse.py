"""Beats: when they come, their shape, and the depth that a perfusion index asks for."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.signal import argrelmax
from scipy.stats import norm, pearsonr

from oximetry_workbook.body.pulse import (
    BEAT_SHAPE,
    DICROTIC_WAVE,
    SYSTOLIC_WAVE,
    beat_intervals_s,
    beat_phase,
    blood_volume,
    depth_for_perfusion,
)
from oximetry_workbook.body.scenario import SPECS


def range_of(name):
    return st.floats(SPECS[name].low, SPECS[name].high)


def intervals(
    rate_bpm=60.0, variability=0.0, irregularity=0.0, breathing_bpm=15.0, duration_s=600.0, seed=0
):
    rng = np.random.default_rng(seed)
    return beat_intervals_s(rate_bpm, variability, irregularity, breathing_bpm, duration_s, rng)


def test_a_beat_goes_from_foot_to_peak_and_has_a_notch():
    assert BEAT_SHAPE[0] == BEAT_SHAPE.min() == 0.0
    assert BEAT_SHAPE.max() == 1.0
    systole, dicrotic = argrelmax(BEAT_SHAPE, mode="wrap")[0] / BEAT_SHAPE.size
    assert 0.1 < systole < 0.4 < dicrotic < 0.7
    assert blood_volume(np.array([systole]))[0] > blood_volume(np.array([dicrotic]))[0]


def test_a_beat_is_the_sum_of_two_waves_round_a_circle():
    """Bells summed over five turns at 512 phases, then turned to the foot and brought to 0 to 1."""
    phase = np.arange(BEAT_SHAPE.size) / BEAT_SHAPE.size
    volume = sum(
        height * norm.pdf(phase + turn, centre, width) / norm.pdf(0.0, 0.0, width)
        for centre, width, height in (SYSTOLIC_WAVE, DICROTIC_WAVE)
        for turn in (-2, -1, 0, 1, 2)
    )
    volume = np.roll(volume, -np.argmin(volume))
    expected = (volume - volume.min()) / np.ptp(volume)
    np.testing.assert_allclose(BEAT_SHAPE, expected, atol=1e-9)
    np.testing.assert_array_equal(blood_volume(3.0 + phase), BEAT_SHAPE)
    half_a_step_before = blood_volume(1.0 - 0.5 / BEAT_SHAPE.size)
    assert half_a_step_before == pytest.approx(BEAT_SHAPE[-1] / 2.0, rel=1e-9)


@given(st.floats(0.0, 1000.0))
def test_volume_repeats_every_beat_without_a_jump(phase):
    here, later, soon = blood_volume(phase + np.array([0.0, 1.0, 1e-4]))
    assert 0.0 <= here <= 1.0
    assert later == pytest.approx(here, abs=1e-9)
    assert abs(soon - here) < 0.002


@settings(deadline=None)
@given(
    range_of("heart_rate_bpm"),
    range_of("heart_rate_variability_percent"),
    range_of("irregularity_percent"),
    range_of("breathing_rate_bpm"),
    st.floats(0.1, 100.0),
    st.integers(0, 2**32),
)
def test_beats_have_exactly_the_mean_rate_and_fill_the_recording(
    rate_bpm, variability, irregularity, breathing_bpm, duration_s, seed
):
    rng = np.random.default_rng(seed)
    beats = beat_intervals_s(rate_bpm, variability, irregularity, breathing_bpm, duration_s, rng)
    assert 60.0 / beats.mean() == pytest.approx(rate_bpm, rel=1e-12)
    assert np.all(beats > 0.0)
    time_s = np.linspace(0.0, duration_s, 200)
    phase = beat_phase(time_s, beats, rng)
    assert 0.0 <= phase[0] < 1.0
    assert np.all(np.diff(phase) > 0.0)  # a recording that outlasts its beats would stand still


def test_a_steady_heart_has_equal_intervals():
    np.testing.assert_allclose(intervals(75.0), 0.8, rtol=1e-12)


@pytest.mark.parametrize("percent", [1.0, 5.0, 15.0])
def test_breathing_variability_has_the_rms_asked_for(percent):
    beats = intervals(72.0, variability=percent)
    assert 100.0 * beats.std() / beats.mean() == pytest.approx(percent, rel=0.02)


def test_both_spreads_are_right_to_half_a_percent():
    """In a day: whole breaths by the thousand, and random error of an rms 0.25 %."""
    for spread in ({"variability": 3.0}, {"irregularity": 3.0}):
        beats = intervals(72.0, breathing_bpm=14.3, duration_s=86_400.0, **spread)
        assert 100.0 * beats.std() / beats.mean() == pytest.approx(3.0, rel=0.005)


@pytest.mark.parametrize("rate_bpm", [60.0, 90.0])
def test_breathing_variability_comes_at_the_breathing_rate(rate_bpm):
    beats = intervals(rate_bpm, variability=5.0, breathing_bpm=12.0)
    spectrum = np.abs(np.fft.rfft(beats - beats.mean()))
    cycles_per_beat = np.fft.rfftfreq(beats.size)[np.argmax(spectrum)]
    assert rate_bpm * cycles_per_beat == pytest.approx(12.0, abs=0.2)


@pytest.mark.parametrize(("percent", "tolerance"), [(5.0, 0.06), (20.0, 0.06), (35.0, 0.12)])
def test_irregular_rhythm_has_the_rms_asked_for_and_no_memory(percent, tolerance):
    """2400 beats: random error of an rms 1.5 %. At 35 % the shortest interval allowed, 0.45 of
    the mean, cuts one beat in seventeen and with it a tenth of the spread."""
    beats = intervals(240.0, irregularity=percent)
    assert 100.0 * beats.std() / beats.mean() == pytest.approx(percent, rel=tolerance)
    assert abs(pearsonr(beats[1:], beats[:-1]).statistic) < 4.0 / np.sqrt(beats.size)


def test_no_interval_is_shorter_or_longer_than_a_heart_allows():
    """0.45 and 1.9 of the mean before the mean is made exact; among 2400 both are met."""
    beats = intervals(240.0, irregularity=35.0)
    assert beats.max() / beats.min() == pytest.approx(1.9 / 0.45, rel=1e-9)


def test_the_same_seed_gives_the_same_beats_and_another_one_others():
    kwargs = {"variability": 2.0, "irregularity": 5.0}
    np.testing.assert_array_equal(intervals(seed=3, **kwargs), intervals(seed=3, **kwargs))
    assert not np.array_equal(intervals(seed=3, **kwargs), intervals(seed=4, **kwargs))


@given(range_of("perfusion_index_percent"))
def test_depth_gives_the_perfusion_index(percent):
    """Peak to trough over mean of exp(-depth shape), the definition written out."""
    light = np.exp(-depth_for_perfusion(percent) * BEAT_SHAPE)
    found = 100.0 * (light.max() - light.min()) / light.mean()
    assert found == pytest.approx(percent, rel=1e-9)


def test_depth_of_a_small_pulse_is_its_perfusion_index():
    assert depth_for_perfusion(0.05) == pytest.approx(0.0005, rel=0.001)
