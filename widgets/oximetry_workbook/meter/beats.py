"""Find the beats in a pulse wave: each beat is one large rise, from its foot to its peak."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from oximetry_workbook.meter.filters import FloatArray, band_pass

IndexArray = NDArray[np.intp]

LOW_HZ, HIGH_HZ = 0.4, 8.0
"""Band [Hz] in which beats are sought. Elgendi and others 2013 take 0.5 to 8; at 30 per minute
that halves the pulse itself and lifts the dicrotic wave beside it, so it begins lower here."""

BLOCK_S = 2.5
"""The usual height is read in blocks this long [s]: at 30 per minute each still holds a beat."""

SMALLEST_RISE = 0.45
"""A rise below this fraction of the usual height is a dicrotic wave or noise. Our own choice."""

DOUBLE_RISE, DOUBLE_SPAN = 0.75, 1.3
"""A rise below this fraction of both its neighbours' is a dicrotic wave or noise if those two lie
no further apart than this multiple of the usual interval. Our own choice. A weak early beat, with
the pause that follows it, stays; so do strong and weak beats in turn."""

NEIGHBOURS = 9
"""The usual interval is the median of so many."""


@dataclass(frozen=True, eq=False)
class BeatTimes:
    """Complete beats: each begins at a foot, has one peak, and ends at the next foot.

    Attributes:
        foot: Sample numbers of the feet (end of diastole), rising; shape (n + 1,), or (0,)
            when there are no beats. Beat i spans samples foot[i] to foot[i + 1].
        peak: Sample numbers of the systolic peaks; shape (n,).
        foot_s: Times of the feet from the first sample [s]; shape as `foot`.
        peak_s: Times of the peaks from the first sample, between samples [s]; shape (n,).
        rise_s: Times at which the wave has risen half-way from foot to peak [s]; shape (n,).
    """

    foot: IndexArray
    peak: IndexArray
    foot_s: FloatArray
    peak_s: FloatArray
    rise_s: FloatArray

    def __len__(self) -> int:
        return self.peak.size

    @property
    def interval_s(self) -> FloatArray:
        """Time since the beat before [s]; NaN for the first beat; shape (n,).

        From rise to rise: noise moves a steep flank less than a round peak.
        """
        return np.diff(self.rise_s, prepend=np.nan)


def find_beats(pulse: ArrayLike, sampling_rate_hz: float) -> BeatTimes:
    """Find systolic peaks and feet in a single pulse wave.

    The wave must point up at systole, as blood volume does. Light does the opposite, for blood
    absorbs: pass the light with its sign turned.

    The wave is band-passed to 0.4 to 8 Hz. Its turning points alternate between troughs and
    peaks. Steps between neighbours that stay under 0.45 of the usual height, smallest first,
    are taken out with both their ends: that removes noise and dicrotic waves. What is left is one
    rise a beat, but for a few strong dicrotic waves, which give themselves away by being weaker
    than both their neighbours and in the way of a usual interval. Otherwise nothing is assumed
    about regularity.

    Args:
        pulse: Evenly spaced samples, without gaps; shape (n,).
        sampling_rate_hz: Samples per second [Hz]; at least some 20.

    Returns:
        The complete beats. Noise alone also has rises: whether they are a pulse is for
        `quality` to say.

    Raises:
        ValueError: The samples are not finite, or the sampling rate is below 0.9 Hz.

    Source:
        Band, nearly: Elgendi, Norton, Brearley, Abbott and Schuurmans 2013,
        PLoS ONE 8:e76585. Removing the smallest steps first is persistence, as in Edelsbrunner
        and Harer, Computational Topology, 2010, chapter VII.
    """
    wave = band_pass(pulse, sampling_rate_hz, LOW_HZ, HIGH_HZ)
    if wave.ndim != 1:
        raise ValueError(f"pulse has {wave.ndim} dimensions; it must have one")
    turns = _turning_points(wave)
    height = _usual_height(wave, round(BLOCK_S * sampling_rate_hz))
    turns = _large_steps(turns, wave, SMALLEST_RISE * height[turns])
    turns = _without_doubles(_from_foot_to_foot(turns, wave), wave)
    foot, peak = turns[::2], turns[1::2]
    peak_s = (peak + _summit(wave, peak)) / sampling_rate_hz
    rise_s = _half_way(wave, foot, peak) / sampling_rate_hz
    return BeatTimes(foot, peak, foot / sampling_rate_hz, peak_s, rise_s)


def _turning_points(wave: FloatArray) -> IndexArray:
    """Sample numbers where the wave turns; troughs and peaks alternate by construction."""
    rising = np.diff(wave) > 0
    return np.flatnonzero(rising[1:] != rising[:-1]) + 1


def _usual_height(wave: FloatArray, block: int) -> FloatArray:
    """Height of the pulse around each sample: running median of five blocks' ranges.

    The median keeps one jerk of the finger from hiding the beats around it.
    """
    starts = np.arange(max(1, wave.size // block)) * block
    ranges = np.maximum.reduceat(wave, starts) - np.minimum.reduceat(wave, starts)
    which = np.minimum(np.arange(wave.size) // block, starts.size - 1)
    return np.asarray(_running_median(ranges, 5)[which])


def _large_steps(turns: IndexArray, wave: FloatArray, smallest: FloatArray) -> IndexArray:
    """Take out steps under `smallest`, the smallest of each neighbourhood first.

    A step smaller than both its neighbours can go with its two ends: a larger rise (or fall)
    then runs through. Several such steps go in one round, since they never touch.
    """
    while turns.size > 1:
        step = np.abs(np.diff(wave[turns]))
        padded = np.concatenate(([np.inf], step, [np.inf]))
        least = (step < padded[:-2]) & (step <= padded[2:]) & (step < smallest[:-1])
        if not np.any(least):
            break
        keep = np.ones(turns.size, dtype=bool)
        keep[:-1] &= ~least
        keep[1:] &= ~least
        turns, smallest = turns[keep], smallest[keep]
    return turns


def _from_foot_to_foot(turns: IndexArray, wave: FloatArray) -> IndexArray:
    """Drop a leading peak and a trailing peak; fewer than one whole beat is none."""
    if turns.size > 1 and wave[turns[0]] > wave[turns[1]]:
        turns = turns[1:]
    turns = turns[: turns.size - (turns.size + 1) % 2]
    return turns if turns.size >= 3 else turns[:0]


def _without_doubles(turns: IndexArray, wave: FloatArray) -> IndexArray:
    """Take out the rises that `DOUBLE_RISE` and `DOUBLE_SPAN` are about."""
    foot, peak = turns[:-1:2], turns[1::2]
    if peak.size < 3:
        return turns
    rise = wave[peak] - wave[foot]
    weak = rise[1:-1] < DOUBLE_RISE * np.minimum(rise[:-2], rise[2:])
    usual = _running_median(np.diff(peak).astype(np.float64), NEIGHBOURS)[1:]
    double = 1 + np.flatnonzero(weak & (peak[2:] - peak[:-2] < DOUBLE_SPAN * usual))
    return np.delete(turns, np.concatenate((2 * double, 2 * double + 1)))


def _running_median(values: FloatArray, count: int) -> FloatArray:
    """Median of so many neighbours (an odd number); the ends are reflected."""
    around = np.pad(values, count // 2, mode="reflect")
    windows = np.lib.stride_tricks.sliding_window_view(around, count)
    return np.asarray(np.median(windows, axis=1))


def _summit(wave: FloatArray, peak: IndexArray) -> FloatArray:
    """Place of the highest point from the highest sample [samples]: vertex of a parabola."""
    before, top, after = wave[peak - 1], wave[peak], wave[peak + 1]
    return np.asarray((before - after) / (2 * (before - 2 * top + after)))


def _half_way(wave: FloatArray, foot: IndexArray, peak: IndexArray) -> FloatArray:
    """Place where each beat last rises through half its height before its peak [samples]."""
    if peak.size == 0:
        return np.empty(0)
    half = (wave[foot[:-1]] + wave[peak]) / 2
    number = np.arange(foot[0], foot[-1])
    length = np.diff(foot)
    low = (number < np.repeat(peak, length)) & (wave[foot[0] : foot[-1]] < np.repeat(half, length))
    last = np.maximum.reduceat(np.where(low, number, 0), foot[:-1] - foot[0])
    return np.asarray(last + (half - wave[last]) / (wave[last + 1] - wave[last]))
