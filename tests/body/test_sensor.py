"""Stray light, movement and the converter."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from oximetry_workbook.body.probe import Probe
from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.body.sensor import (
    FLICKER_SHARE,
    MOTION_BAND_HZ,
    bypass_share,
    digitise,
    motion_swing,
    noise_scale,
    room_light,
    through_and_past,
)

light_arrays = arrays(np.float64, (2, 20), elements=st.floats(-3.0, 3.0))


@given(light_arrays, st.integers(6, 24))
def test_converter_clips_and_rounds_to_its_steps(light, bits):
    seen = digitise(light, bits)
    steps = 2**bits - 1
    assert seen.min() >= 0.0
    assert seen.max() <= 1.0
    np.testing.assert_allclose(seen * steps, np.round(seen * steps), atol=1e-8)
    assert np.max(np.abs(seen - np.clip(light, 0.0, 1.0))) <= 0.5 / steps * (1.0 + 1e-6)
    np.testing.assert_array_equal(digitise(seen, bits), seen)


def test_converter_has_two_to_the_bits_values():
    assert np.unique(digitise(np.linspace(0.0, 1.0, 10_000), 6)).size == 64


def test_quantisation_noise_is_a_step_over_the_root_of_twelve():
    """Rms of rounding for a signal much larger than a step (textbook of signal processing)."""
    signal = np.random.default_rng(0).uniform(0.0, 1.0, 100_000)
    error = digitise(signal, 8) - signal
    assert error.std() == pytest.approx(1.0 / 255.0 / np.sqrt(12.0), rel=0.02)


@given(light_arrays, st.floats(0.0, 0.95), st.floats(0.0, 0.95))
def test_light_past_the_tissue_shrinks_the_pulse_and_keeps_the_level(light, red, infrared):
    mixed = through_and_past(light, np.array([red, infrared]))
    share = 1.0 - np.array([[red], [infrared]])
    np.testing.assert_allclose(
        np.ptp(mixed, axis=1), share[:, 0] * np.ptp(light, axis=1), atol=1e-12
    )
    np.testing.assert_allclose(mixed - 1.0, share * (light - 1.0), atol=1e-12)


@given(st.floats(0.0, 95.0), st.floats(-8.0, 0.0), st.floats(-8.0, 0.0))
def test_both_leds_spill_the_same_light(percent, log_red, log_infrared):
    """Stray light = share / (1 - share) x light through the tissue, the same for both colours."""
    log_light = np.array([log_red, log_infrared])
    share = bypass_share(percent, log_light)
    assert share[1] == pytest.approx(percent / 100.0)
    stray = share / (1.0 - share) * np.exp(log_light)
    assert stray[0] == pytest.approx(stray[1], rel=1e-9, abs=1e-15)


def strongest_frequency_hz(signal, rate_hz):
    spectrum = np.abs(np.fft.rfft(signal - signal.mean()))
    return np.fft.rfftfreq(signal.size, 1.0 / rate_hz)[np.argmax(spectrum)]


@pytest.mark.parametrize(
    ("mains_hz", "rate_hz", "expected_hz"),
    [(50.0, 90.0, 10.0), (60.0, 100.0, 20.0), (50.0, 1000.0, 100.0), (60.0, 1000.0, 120.0)],
)
def test_flicker_is_twice_the_mains_folded_at_the_sampling_rate(mains_hz, rate_hz, expected_hz):
    """Folding: |2 mains - k rate|; 100 Hz sampled at 90 Hz appears at 10 Hz."""
    time_s = np.arange(round(10.0 * rate_hz)) / rate_hz
    scenario = Scenario(ambient_light_percent=40.0, mains_frequency_hz=mains_hz)
    light = room_light(time_s, scenario)
    assert strongest_frequency_hz(light, rate_hz) == pytest.approx(expected_hz, abs=0.1)
    assert light.mean() == pytest.approx(0.4, rel=1e-6)
    assert light.std() == pytest.approx(0.4 * FLICKER_SHARE / np.sqrt(2.0), rel=1e-6)


def test_flicker_sampled_at_its_own_rate_stands_still():
    light = room_light(np.arange(500) / 100.0, Scenario(ambient_light_percent=40.0))
    np.testing.assert_allclose(light, light[0], atol=1e-9)


def test_no_room_light_is_dark():
    np.testing.assert_array_equal(room_light(np.arange(5) / 100.0, Scenario()), 0.0)


def test_a_quarter_of_the_photons_doubles_the_noise_over_the_light():
    """Poisson statistics; what differs from ordinary tissue is the skin, not the blood."""
    usual = Probe(Scenario()).log_light_at_rest()
    dark = Scenario(melanin_fraction=0.2)
    fewer = usual - np.log([4.0, 9.0])
    np.testing.assert_allclose(noise_scale(dark, fewer), [2.0, 3.0], rtol=1e-12)
    np.testing.assert_array_equal(noise_scale(Scenario(), fewer), [1.0, 1.0])


@pytest.mark.parametrize("seed", range(5))
def test_movement_has_rms_one_and_stays_in_its_band(seed):
    time_s = np.arange(60_000) / 50.0
    swing = motion_swing(time_s, np.random.default_rng(seed))
    assert swing.std() == pytest.approx(1.0, rel=0.02)
    power = np.abs(np.fft.rfft(swing * np.hanning(swing.size))) ** 2
    frequency = np.fft.rfftfreq(swing.size, 0.02)
    low, high = MOTION_BAND_HZ
    inside = (frequency > low - 0.01) & (frequency < high + 0.01)
    assert power[inside].sum() > 0.999 * power.sum()
