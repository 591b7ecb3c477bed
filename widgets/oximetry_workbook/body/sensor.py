"""From light at the detector to numbers: stray light, noise and the converter."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from oximetry_workbook.body.probe import Probe
from oximetry_workbook.body.scenario import Scenario

FloatArray = NDArray[np.float64]

STEADY_LEVEL = 0.5
"""Steady light on the converter's scale of 0 to 1: a meter drives each LED until its colour
sits in mid-range (common practice)."""

FLICKER_SHARE = 0.3
"""Part of the room light that flickers at twice the mains frequency (common practice)."""

USUAL_TISSUE: dict[str, object] = {
    name: getattr(Scenario(), name)
    for name in (
        "melanin_fraction",
        "thickness_scale",
        "blood_volume_scale",
        "scattering_scale",
        "varnish",
    )
}
"""What decides how much light comes through, blood's own colour apart, as it usually is."""

MOTION_BAND_HZ = (0.5, 4.0)
MOTION_TONES = 12
"""Hand movement is a sum of this many tones in this band (common practice)."""


def bypass_share(bypass_percent: float, log_light: FloatArray) -> FloatArray:
    """Share of each colour's light at the detector that went past the tissue.

    Both LEDs spill alike, but the tissue lets through more of one colour than of the other: the
    colour that suffers more on the straight way has the larger share of light past it.

    Args:
        bypass_percent: Share in the infrared [%], below 100.
        log_light: Natural logarithm of the light through the tissue over the light sent, red and
            infrared; shape (2,).

    Returns:
        Shares from 0 to 1, red and infrared; shape (2,).
    """
    infrared = bypass_percent / 100.0
    odds = infrared / (1.0 - infrared) * np.exp(log_light[1] - log_light)
    return np.asarray(odds / (1.0 + odds))


def through_and_past(light: FloatArray, share_past: FloatArray) -> FloatArray:
    """Mix light that crossed the tissue with light that went past it and does not pulse.

    Args:
        light: Light through the tissue, 1 between beats; shape (2, n).
        share_past: Share of the light at the detector that went past; shape (2,).
    """
    past = share_past[:, None]
    return np.asarray((1.0 - past) * light + past)


def room_light(time_s: FloatArray, scenario: Scenario) -> FloatArray:
    """Room light at the detector, over the steady infrared level; shape (n,).

    The flicker at 100 or 120 Hz is faster than many sampling rates, so that it comes out
    folded to a lower frequency, as in life.
    """
    flicker = np.cos(2.0 * np.pi * 2.0 * scenario.mains_frequency_hz * time_s + 1.0)
    return scenario.ambient_light_percent / 100.0 * (1.0 + FLICKER_SHARE * flicker)


def motion_swing(time_s: FloatArray, rng: np.random.Generator) -> FloatArray:
    """Movement of a hand over time with rms 1 in the long run; shape (n,)."""
    frequency = rng.uniform(*MOTION_BAND_HZ, MOTION_TONES)
    phase = rng.uniform(0.0, 2.0 * np.pi, MOTION_TONES)
    swing = np.zeros_like(time_s)
    for f, p in zip(frequency, phase, strict=True):
        swing += np.sin(2.0 * np.pi * f * time_s + p)
    return np.asarray(swing * np.sqrt(2.0 / MOTION_TONES))


def noise_scale(scenario: Scenario, log_light: FloatArray) -> FloatArray:
    """How much larger the noise is, over the steady level, than in ordinary tissue.

    Photons come by chance: with a quarter of the light, their noise over the light doubles
    (Poisson statistics). LEDs are taken to run at the same power whatever they meet.

    Args:
        scenario: The situation.
        log_light: Natural logarithm of the light through the tissue over the light sent, red and
            infrared; shape (2,).

    Returns:
        Factors of red and infrared, 1 where nothing differs from ordinary tissue; shape (2,).
    """
    if all(getattr(scenario, name) == usual for name, usual in USUAL_TISSUE.items()):
        return np.ones(2)
    usual = Probe(scenario.replace(**USUAL_TISSUE)).log_light_at_rest()
    return np.asarray(np.exp((usual - log_light) / 2.0))


def digitise(signal: FloatArray, bits: int) -> FloatArray:
    """Clip to the converter's scale of 0 to 1 and round to its steps."""
    steps = 2.0**bits - 1.0
    return np.asarray(np.round(np.clip(signal, 0.0, 1.0) * steps) / steps)
