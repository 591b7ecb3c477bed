"""Steady and pulsing light of each beat, and the ratio of ratios made from them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from oximetry_workbook.meter.beats import IndexArray
from oximetry_workbook.meter.filters import FloatArray

SHARPEST_PART = 6.0
"""The light is smoothed above this multiple of the pulse frequency; less would blunt the pulse."""

SMOOTHING_ORDER = 4
"""Order of the low-pass that smooths the light: at 2 a narrow pulse would lose a twentieth of its
height."""

LOWEST_CUT_HZ = 6.0
"""The smoothing never begins below this frequency [Hz]: a slow pulse may rise as fast."""


@dataclass(frozen=True, eq=False)
class BeatLight:
    """Light of one colour, beat by beat.

    Attributes:
        steady: DC, the mean light over the beat, in detector units; shape (n,).
        pulsing: AC, from peak to trough after the line between the two feet is taken off, in
            detector units; shape (n,).
        wave: (line − light)/DC from the first foot to the last: the pulse, pointing up at
            systole, as a fraction of the steady light; shape (foot[-1] - foot[0],).
    """

    steady: FloatArray
    pulsing: FloatArray
    wave: FloatArray

    @property
    def modulation(self) -> FloatArray:
        """AC/DC, a fraction; shape (n,)."""
        return self.pulsing / self.steady


def smoothing_cut_hz(interval_s: ArrayLike) -> float:
    """Cut-off that spares the pulse and takes the noise above it [Hz].

    The shorter intervals decide (their tenth percentile), so that a spell of fast beats in a
    slow recording is not blunted.

    Args:
        interval_s: Times from beat to beat [s]; NaN is passed over.
    """
    shortest_s = float(np.nanpercentile(np.asarray(interval_s, dtype=np.float64), 10))
    return max(LOWEST_CUT_HZ, SHARPEST_PART / shortest_s)


def beat_light(light: ArrayLike, foot: IndexArray) -> BeatLight:
    """Split the light of each beat into its steady and its pulsing part.

    Taking off the straight line from foot to foot keeps breathing and drift out of AC.

    Args:
        light: Smoothed light of one colour, in detector units; shape (n_samples,).
        foot: Sample numbers of the feet, as in `BeatTimes`; shape (n + 1,).

    Source:
        Webster (editor), Design of Pulse Oximeters, 1997, chapter 9 (from memory).
    """
    samples = np.asarray(light, dtype=np.float64)
    inside = samples[foot[0] : foot[-1]]
    length = np.diff(foot)
    starts = foot[:-1] - foot[0]
    steady = np.add.reduceat(inside, starts) / length
    line = np.interp(np.arange(foot[0], foot[-1]), foot, samples[foot])
    dip = line - inside
    pulsing = np.maximum.reduceat(dip, starts) - np.minimum.reduceat(dip, starts)
    return BeatLight(steady, pulsing, dip / np.repeat(steady, length))


def ratio_peak_to_trough(red: BeatLight, infrared: BeatLight) -> FloatArray:
    """R of each beat, (AC/DC) of red over (AC/DC) of infrared; shape (n,).

    Source:
        Webster 1997, chapter 9 (from memory).
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(red.modulation / infrared.modulation)


def ratio_slope(
    red: BeatLight, infrared: BeatLight, foot: IndexArray
) -> tuple[FloatArray, FloatArray]:
    """R of each beat as the slope of red against infrared, and how well they agree.

    Every sample of the beat counts, not two alone. The line is the principal axis (total least
    squares): both colours carry noise, taken to be the same fraction of their steady light. An
    ordinary least-squares line takes all noise to be in red; that in infrared then makes the
    slope too small.

    Args:
        red: Red light of the beats.
        infrared: Infrared light of the beats.
        foot: Sample numbers of the feet; shape (n + 1,).

    Returns:
        The slope and the correlation (−1 to 1) of each beat; NaN where a colour is constant.

    Source:
        Principal axis: Pearson 1901, Philosophical Magazine 2:559.
    """
    starts, length = foot[:-1] - foot[0], np.diff(foot)

    def covariance(one: FloatArray, other: FloatArray) -> FloatArray:
        sums = [np.add.reduceat(values, starts) for values in (one * other, one, other)]
        return np.asarray(sums[0] - sums[1] * sums[2] / length)

    red_red = covariance(red.wave, red.wave)
    both = covariance(red.wave, infrared.wave)
    infrared_infrared = covariance(infrared.wave, infrared.wave)
    with np.errstate(divide="ignore", invalid="ignore"):
        excess = red_red - infrared_infrared
        slope = (excess + np.hypot(excess, 2 * both)) / (2 * both)
        correlation = both / np.sqrt(red_red * infrared_infrared)
    return np.asarray(slope), np.asarray(correlation)
