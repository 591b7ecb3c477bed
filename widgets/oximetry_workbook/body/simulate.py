"""A scenario becomes a recording: blood, light, tissue, pulse and sensor in a row."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from oximetry_workbook.body.calibration import diffusion_calibration
from oximetry_workbook.body.probe import SMALL_PULSE, Probe
from oximetry_workbook.body.pulse import depth_for_perfusion
from oximetry_workbook.body.quantities import Quantity
from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.body.sensor import (
    STEADY_LEVEL,
    bypass_share,
    digitise,
    motion_swing,
    noise_scale,
    room_light,
    through_and_past,
)
from oximetry_workbook.body.timeline import MOTION, timeline, unit_noise
from oximetry_workbook.meter.recording import MINIMUM_SAMPLES, Recording

FloatArray = NDArray[np.float64]

LONGEST_S = 48 * 3600.0
SLOWEST_HZ, FASTEST_HZ = 20.0, 10_000.0
"""Allowed sampling rates [Hz]: a beat at 220 per minute needs its few samples."""

VENOUS_BREATHING_SHARE = 0.05
"""Half the infrared swing that breathing makes in venous blood, over the pulse
(common practice)."""

MOST_ROUNDS = 8
CLOSE_ENOUGH = 0.005
"""When to stop looking for the blood of a beat: the last correction was smaller than this."""


@dataclass(frozen=True)
class PulseOptics:
    """How the light of both colours answers to a little more blood.

    The natural-log loss is linear x + quadratic x^2 for x parts of a full beat; exact at none,
    half and a whole beat.

    Attributes:
        arterial: Linear and quadratic terms for arterial blood; shape (2 terms, 2 colours).
        venous: The same for an equal volume of venous blood; shape (2, 2).
        log_light: Natural logarithm of the light that arrives between beats over the light
            sent, red and infrared; shape (2,).
    """

    arterial: FloatArray
    venous: FloatArray
    log_light: FloatArray

    @property
    def depth(self) -> FloatArray:
        """Natural-log depth of a whole beat, red and infrared; shape (2,)."""
        return np.asarray(self.arterial.sum(axis=0))


def pulse_optics(scenario: Scenario) -> PulseOptics:
    """Find the arterial blood of a beat that gives the scenario's perfusion index.

    Args:
        scenario: The situation.

    Returns:
        The answer of both colours to that blood, and to as much venous blood.
    """
    probe = Probe(scenario)
    left = probe.site.pulse_left(scenario.vasoconstriction)
    wanted = depth_for_perfusion(scenario.perfusion_index_percent * left)
    volume = SMALL_PULSE
    # the loss bends a little with more blood: each round leaves a tenth of the error or less
    for _ in range(MOST_ROUNDS):
        share = probe.added_loss(np.array([volume]), np.zeros(1))[1, 0] / wanted
        volume /= share
        if abs(share - 1.0) < CLOSE_ENOUGH:
            break
    parts = volume * np.array([0.5, 1.0, 0.0, 0.0])
    losses = probe.added_loss(parts, parts[::-1])
    return PulseOptics(
        arterial=_through(losses[:, 0], losses[:, 1]),
        venous=_through(losses[:, 3], losses[:, 2]),
        log_light=probe.log_light_at_rest(),
    )


def _through(at_half: FloatArray, at_whole: FloatArray) -> FloatArray:
    """Linear and quadratic terms of the parabola through 0, a half and a whole beat."""
    quadratic = 2.0 * (at_whole - 2.0 * at_half)
    return np.array([at_whole - quadratic, quadratic])


def simulate(
    scenario: Scenario,
    duration_s: float = 10.0,
    sampling_rate_hz: float = 100.0,
    seed: int = 0,
) -> Recording:
    """Make the recording that a probe would bring home in a given situation.

    Light falls as blood comes, by photon diffusion through the site's tissue, over the LEDs'
    spectra. Each colour's steady level is brought to half the converter's scale.

    Args:
        scenario: The situation.
        duration_s: Length [s], above 0 up to two days.
        sampling_rate_hz: Samples per second [Hz], 20 to 10 000.
        seed: The same seed gives the same recording.

    Returns:
        Red and infrared on the converter's scale of 0 to 1, the true saturation, and the
        calibration of the probe model (`diffusion_calibration`).

    Raises:
        TypeError: When `scenario` is no Scenario.
        ValueError: For a duration, rate or seed out of range; the message names it.
    """
    check_arguments(scenario, duration_s, sampling_rate_hz, seed)
    time_s, volume, breathing = timeline(scenario, duration_s, sampling_rate_hz, seed)
    optics = pulse_optics(scenario)
    light = np.exp(-loss_over_time(scenario, optics, time_s, volume, breathing, seed))
    red, infrared = at_converter(scenario, optics.log_light, light, time_s, seed)
    return Recording(
        time_s=time_s,
        red=red,
        infrared=infrared,
        reference_percent=np.full(time_s.size, 100.0 * scenario.arterial_saturation),
        probe_calibration=diffusion_calibration(scenario.site, scenario.extinction_table),
    )


def at_converter(
    scenario: Scenario,
    log_light: FloatArray,
    light: FloatArray,
    time_s: FloatArray,
    seed: int,
    steady: FloatArray | float = 1.0,
) -> FloatArray:
    """Turn light through the tissue into numbers: stray light, noise and the converter.

    Args:
        scenario: The situation.
        log_light: Natural logarithm of the light between beats at the start, over the light sent,
            red and infrared; shape (2,).
        light: Light through the tissue over that at the start; shape (2, n).
        time_s: Times [s]; shape (n,).
        seed: Seed of the recording.
        steady: Steady part of `light`, where it changes: photons come by chance, so that noise
            goes with its root; shape (2, n).

    Returns:
        Red and infrared on the converter's scale of 0 to 1; shape (2, n).
    """
    light = through_and_past(light, bypass_share(scenario.bypass_percent, log_light))
    light = light + room_light(time_s, scenario)
    noise = scenario.noise_percent / 100.0 * noise_scale(scenario, log_light)
    light = light + noise[:, None] * np.sqrt(steady) * unit_noise(time_s.size, int(seed))
    return digitise(STEADY_LEVEL * light, int(scenario.converter_bits))


def loss_over_time(
    scenario: Scenario,
    optics: PulseOptics,
    time_s: FloatArray,
    volume: FloatArray,
    breathing: FloatArray,
    seed: int,
) -> FloatArray:
    """Natural-log loss of light by all that moves, over the light between beats.

    Args:
        scenario: The situation.
        optics: What a beat's blood does to the light. Terms of shape (2 terms, 2 colours), or
            (2, 2, n) when they change over time.
        time_s: Times [s]; shape (n,).
        volume: Extra arterial blood, 0 to 1, from `timeline`; shape (n,).
        breathing: Breathing wave from `timeline`; shape (n,).
        seed: Seed of the recording.

    Returns:
        Red and infrared; shape (2, n).
    """
    linear, quadratic = optics.arterial.reshape(2, 2, -1)
    arterial = (linear + quadratic * volume) * volume
    # venous blood is sized by its infrared swing; small beside the steady blood, so that the
    # linear term does
    swing = VENOUS_BREATHING_SHARE * breathing + scenario.venous_pulse * volume
    venous, alike = optics.depth[1] * swing, np.zeros_like(time_s)
    if scenario.motion_percent > 0.0 or scenario.coupling_percent > 0.0:
        hand = motion_swing(time_s, np.random.default_rng([int(seed), MOTION]))
        venous = venous + scenario.motion_percent / 100.0 * hand
        alike = scenario.coupling_percent / 100.0 * hand
    of_venous = optics.venous[0].reshape(2, -1)
    return np.asarray(arterial + of_venous / of_venous[1] * venous + alike)


def check_arguments(
    scenario: Scenario, duration_s: float, sampling_rate_hz: float, seed: int
) -> None:
    """Refuse what no recording can be made from.

    Raises:
        TypeError: When `scenario` is no Scenario.
        ValueError: For a duration [s], rate [Hz] or seed out of range; the message names it.
    """
    if not isinstance(scenario, Scenario):
        raise TypeError(f"scenario is a {type(scenario).__name__}; it must be a Scenario")
    rate = Quantity("Sampling rate", "Hz", SLOWEST_HZ, FASTEST_HZ, 1.0)
    rate.checked("sampling_rate_hz", sampling_rate_hz)
    shortest = MINIMUM_SAMPLES / sampling_rate_hz
    hint = f"; the least is {MINIMUM_SAMPLES} samples, and a reading needs some ten seconds"
    duration = Quantity("Duration", "s", shortest, LONGEST_S, 1.0, hint=hint)
    duration.checked("duration_s", duration_s)
    if isinstance(seed, bool) or not isinstance(seed, int | np.integer) or seed < 0:
        raise ValueError(f"seed is {seed!r}; it must be a whole number of at least 0")
