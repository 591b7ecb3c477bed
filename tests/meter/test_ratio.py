"""Ratio of ratios and perfusion against what was put into the light."""

import numpy as np
import pytest
from scipy import linalg

from oximetry_workbook.meter.beats import find_beats
from oximetry_workbook.meter.filters import low_pass
from oximetry_workbook.meter.ratio import (
    SMOOTHING_ORDER,
    BeatLight,
    beat_light,
    ratio_peak_to_trough,
    ratio_slope,
    smoothing_cut_hz,
)

RATE_HZ = 100.0
RATES = [40, 60, 90, 120, 150, 180]


def read(recording):
    beats = find_beats(-recording.infrared, RATE_HZ)
    cut_hz = smoothing_cut_hz(beats.interval_s)
    both = low_pass([recording.red, recording.infrared], RATE_HZ, cut_hz, SMOOTHING_ORDER)
    return beats, *(beat_light(light, beats.foot) for light in both)


def ratio_put_in(pulse, modulation, ratio):
    """(AC/DC) of red over that of infrared: pulse height over the mean of 1 − m p."""
    mean = pulse.mean()
    return ratio * (1 - modulation * mean) / (1 - ratio * modulation * mean)


@pytest.mark.parametrize("shape", ["round", "narrow"])
@pytest.mark.parametrize("rate", RATES)
def test_perfusion_of_clean_light_is_right_within_a_twentieth(synthetic, rate, shape):
    for seed in range(4):
        pulse = synthetic(rate, seed=seed, shape=shape, duration_s=15)
        _, _, infrared = read(pulse.recording)
        put_in = 0.02 / (1 - 0.02 * pulse.pulse.mean())
        assert np.median(infrared.modulation) == pytest.approx(put_in, rel=0.05)


@pytest.mark.parametrize("ratio", [0.4, 0.6, 1.0, 1.6])
@pytest.mark.parametrize("rate", RATES)
def test_ratio_of_clean_light_is_right_within_seven_thousandths(synthetic, rate, ratio):
    for seed in range(4):
        pulse = synthetic(rate, ratio=ratio, seed=seed, duration_s=15, breathing=0.0002)
        beats, red, infrared = read(pulse.recording)
        put_in = ratio_put_in(pulse.pulse, 0.02, ratio)
        slope, agreement = ratio_slope(red, infrared, beats.foot)
        assert np.median(slope) == pytest.approx(put_in, rel=0.007)
        assert np.median(ratio_peak_to_trough(red, infrared)) == pytest.approx(put_in, rel=0.007)
        assert agreement.min() > 0.999


def test_drift_is_no_pulse(synthetic):
    still = synthetic(seed=3)
    drift = np.linspace(0, 0.05, still.recording.time_s.size)
    beats = read(still.recording)[0]
    slanted = low_pass(still.recording.infrared + drift, RATE_HZ, 6.0, SMOOTHING_ORDER)
    steady = low_pass(still.recording.infrared, RATE_HZ, 6.0, SMOOTHING_ORDER)
    np.testing.assert_allclose(
        beat_light(slanted, beats.foot).pulsing, beat_light(steady, beats.foot).pulsing, rtol=1e-9
    )


def test_principal_axis_is_that_of_orthogonal_regression():
    # Reference: the first right singular vector of the centred cloud (scipy.linalg.svd), the line
    # of least perpendicular distance; and numpy's correlation.
    rng = np.random.default_rng(4)
    truth = rng.standard_normal(300)
    infrared = truth + 0.3 * rng.standard_normal(300)
    red = 0.5 * truth + 0.3 * rng.standard_normal(300)
    foot = np.array([0, 300])
    one = np.ones(1)
    slope, agreement = ratio_slope(BeatLight(one, one, red), BeatLight(one, one, infrared), foot)
    cloud = np.column_stack([infrared - infrared.mean(), red - red.mean()])
    across, up = linalg.svd(cloud)[2][0]
    assert slope[0] == pytest.approx(up / across)
    assert agreement[0] == pytest.approx(np.corrcoef(red, infrared)[0, 1])


def test_noise_biases_the_slope_less_than_least_squares(synthetic):
    """Ordinary least squares loses the noise's share of the infrared; the principal axis does not.

    Thirty seeds with some eleven beats each; the spread of the mean is below 0.01.
    """
    principal, ordinary = [], []
    for seed in range(30):
        pulse = synthetic(ratio=0.8, noise=0.006, seed=seed)
        clean = synthetic(ratio=0.8, seed=seed).recording
        beats = find_beats(-clean.infrared, RATE_HZ)
        cut_hz = smoothing_cut_hz(beats.interval_s)
        recorded = [pulse.recording.red, pulse.recording.infrared]
        smooth = low_pass(recorded, RATE_HZ, cut_hz, SMOOTHING_ORDER)
        red, infrared = (beat_light(light, beats.foot) for light in smooth)
        principal.append(np.median(ratio_slope(red, infrared, beats.foot)[0]))
        ordinary.append(np.polyfit(infrared.wave, red.wave, 1)[0])
    assert abs(np.mean(principal) - 0.8) < 0.05
    assert np.mean(ordinary) < 0.7


def test_smoothing_follows_the_faster_beats():
    assert smoothing_cut_hz([np.nan, 2.0, 2.0]) == 6.0
    assert smoothing_cut_hz([np.nan, 0.5, 0.5]) == pytest.approx(12.0)
    assert smoothing_cut_hz([1.0] * 80 + [0.4] * 20) == pytest.approx(15.0)
    # the tenth percentile of evenly spread intervals lies a tenth of the way up
    assert smoothing_cut_hz(np.linspace(0.4, 1.0, 101)) == pytest.approx(6.0 / 0.46)
