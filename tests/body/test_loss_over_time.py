"""What moves the light of a recording, written out anew for one cause after the other."""

import numpy as np
import pytest
from scipy.signal import find_peaks

from oximetry_workbook.body.probe import Probe
from oximetry_workbook.body.scenario import SPECS, Scenario
from oximetry_workbook.body.sensor import motion_swing
from oximetry_workbook.body.simulate import (
    VENOUS_BREATHING_SHARE,
    _through,
    at_converter,
    pulse_optics,
    simulate,
)
from oximetry_workbook.body.timeline import MOTION

STILL = {"noise_percent": 0.0, "converter_bits": 24, "heart_rate_variability_percent": 0.0}


def log_light(duration_s=10.0, sampling_rate_hz=100.0, seed=0, **changes):
    recording = simulate(Scenario(**STILL, **changes), duration_s, sampling_rate_hz, seed)
    return recording.time_s, np.log(2.0 * np.array([recording.red, recording.infrared]))


def test_two_terms_meet_the_loss_of_half_and_of_a_whole_beat():
    half, whole = np.array([0.3, 0.5]), np.array([0.5, 1.1])
    linear, quadratic = _through(half, whole)
    np.testing.assert_allclose(linear / 2.0 + quadratic / 4.0, half)
    np.testing.assert_allclose(linear + quadratic, whole)


@pytest.mark.parametrize("site", SPECS["site"].options)
def test_half_a_beat_loses_what_half_its_blood_takes(site):
    """The probe itself asked for half of the blood that gives the whole beat's depth."""
    scenario = Scenario(site=site, perfusion_index_percent=20.0)
    linear, quadratic = pulse_optics(scenario).arterial
    blood = np.linspace(0.0, 0.03, 3001)
    losses = Probe(scenario).added_loss(blood, np.zeros_like(blood))
    whole = np.interp((linear + quadratic)[1], losses[1], blood)
    half = Probe(scenario).added_loss(np.array([whole / 2.0]), np.zeros(1))[:, 0]
    np.testing.assert_allclose(linear / 2.0 + quadratic / 4.0, half, rtol=1e-4)


@pytest.mark.parametrize("breaths_per_min", [12.0, 21.0])
def test_breathing_swings_the_feet_at_its_own_rate(breaths_per_min):
    """At the feet no arterial blood is added: what is left is a sine of the venous share."""
    time_s, light = log_light(60.0, 500.0, heart_rate_bpm=75, breathing_rate_bpm=breaths_per_min)
    feet, _ = find_peaks(light[1], distance=240)
    turn = 2.0 * np.pi * breaths_per_min / 60.0 * time_s[feet]
    columns = np.column_stack([np.sin(turn), np.cos(turn), np.ones(feet.size)])
    (sine, cosine, _), rest, *_ = np.linalg.lstsq(columns, light[1, feet], rcond=None)
    swing = VENOUS_BREATHING_SHARE * pulse_optics(Scenario()).depth[1]
    assert np.hypot(sine, cosine) == pytest.approx(swing, rel=0.02)
    assert rest[0] / feet.size < (0.02 * swing) ** 2


@pytest.mark.parametrize("percent", [0.03, 2.0])
def test_movement_takes_light_as_the_hand_swings(percent):
    """Percent of the infrared light, however little; red by the ratio of venous blood."""
    time_s, rest = log_light(seed=4)
    moved = log_light(seed=4, motion_percent=percent)[1]
    hand = percent / 100.0 * motion_swing(time_s, np.random.default_rng([4, MOTION]))
    venous = pulse_optics(Scenario()).venous[0]
    np.testing.assert_allclose(rest[1] - moved[1], hand, atol=1e-6)
    np.testing.assert_allclose(rest[0] - moved[0], venous[0] / venous[1] * hand, atol=1e-6)
    shifted = log_light(seed=4, coupling_percent=percent)[1]
    np.testing.assert_allclose(rest - shifted, np.array([hand, hand]), atol=1e-6)


def test_a_quarter_of_the_light_has_half_the_noise_of_photons():
    """Poisson: the noise of steady light goes with its root."""
    scenario = Scenario(noise_percent=0.1, converter_bits=24)
    time_s, usual = np.arange(1000) / 100.0, Probe(Scenario()).log_light_at_rest()

    def noise(level):
        light = np.full((2, 1000), level)
        return at_converter(scenario, usual, light, time_s, 0, steady=light) - 0.5 * level

    np.testing.assert_allclose(noise(0.25), noise(1.0) / 2.0, atol=2e-7)
