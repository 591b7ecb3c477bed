"""Zero-phase Butterworth filters, made of numpy's Fourier transform alone.

The gain is that of `scipy.signal.sosfiltfilt`, to which the tests hold it. Importing scipy.signal
for it would cost every learner's kernel more than a second and tens of megabytes.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]

HIGHEST_FRACTION = 0.45
"""Upper cut-offs are limited to this fraction of the sampling rate, just below Nyquist's 0.5."""

SETTLING = 3.0
"""The ends are extended by so many periods of the lower cut-off: the response has died by then."""


def band_pass(
    signal: ArrayLike, sampling_rate_hz: float, low_hz: float, high_hz: float, order: int = 2
) -> FloatArray:
    """Keep what lies between two frequencies, without shifting it in time.

    Zero phase uses the future: each value depends on samples that come after it. That is right
    for a recording, and impossible for a bedside meter, which has only the past and pays for its
    filter with a delay.

    Args:
        signal: Evenly spaced samples, along the last axis; shape (..., n).
        sampling_rate_hz: Samples per second [Hz].
        low_hz: Lower cut-off [Hz], where half of the amplitude is left, as at `high_hz`.
        high_hz: Upper cut-off [Hz]; limited to 0.45 of the sampling rate.
        order: Order of the Butterworth prototype.

    Returns:
        The filtered signal, of the same shape. A constant and a straight line become zero.

    Raises:
        ValueError: A frequency or the order is out of range, or the signal is not finite.

    Source:
        Squared magnitude of the Butterworth band-pass after the prewarped bilinear transform, as
        in Oppenheim and Schafer, Discrete-Time Signal Processing, section 7.2; ends extended by
        point reflection, as in scipy.signal.sosfiltfilt.
    """
    samples = _checked(signal, sampling_rate_hz, order)
    high_hz = _limited(high_hz, sampling_rate_hz)
    if not 0 < low_hz < high_hz:
        raise ValueError(
            f"low_hz is {low_hz:g}; it must lie above 0 and below high_hz, here {high_hz:g} "
            f"(at most {HIGHEST_FRACTION} of the sampling rate)"
        )
    low, high = (_prewarped(cut_hz, sampling_rate_hz) for cut_hz in (low_hz, high_hz))

    def gain(frequency: FloatArray) -> FloatArray:
        frequency[0] = 1e-300  # stands for zero, which would divide by zero
        detuning = (frequency**2 - low * high) / ((high - low) * frequency)
        with np.errstate(over="ignore"):
            return np.asarray(1 / (1 + detuning ** (2 * order)))

    return _apply(samples, _extension(sampling_rate_hz, low_hz), gain)


def low_pass(
    signal: ArrayLike, sampling_rate_hz: float, high_hz: float, order: int = 2
) -> FloatArray:
    """Keep what lies below a frequency, without shifting it in time.

    Args:
        signal: Evenly spaced samples, along the last axis; shape (..., n).
        sampling_rate_hz: Samples per second [Hz].
        high_hz: Cut-off [Hz]; limited to 0.45 of the sampling rate.
        order: Order of the Butterworth prototype.

    Returns:
        The filtered signal, of the same shape. A constant and a straight line are unchanged.

    Raises:
        ValueError: The frequency or the order is out of range, or the signal is not finite.

    Source:
        As `band_pass`; like it, zero phase, so it uses the future.
    """
    samples = _checked(signal, sampling_rate_hz, order)
    high_hz = _limited(high_hz, sampling_rate_hz)
    if not high_hz > 0:
        raise ValueError(f"high_hz is {high_hz:g}; it must lie above 0")
    high = _prewarped(high_hz, sampling_rate_hz)

    def gain(frequency: FloatArray) -> FloatArray:
        with np.errstate(over="ignore"):
            return np.asarray(1 / (1 + (frequency / high) ** (2 * order)))

    extension = _extension(sampling_rate_hz, high_hz)
    return _apply(samples, extension, gain, keep_line=True)


def white_noise_shares(
    sampling_rate_hz: float, high_hz: float, order: int = 2
) -> tuple[float, float]:
    """Fractions of the power of white noise in what `low_pass` keeps and in what it takes off.

    They tell from the rest, signal minus `low_pass`, how much noise is left in the smooth part.
    The two need not add up to 1, since around the cut-off each holds part of the amplitude.

    Source:
        Means of the squared gain and of its squared complement (Parseval's theorem).
    """
    high = _prewarped(_limited(high_hz, sampling_rate_hz), sampling_rate_hz)
    frequency = np.tan(np.pi * (np.arange(256) + 0.5) / 512)
    gain = 1 / (1 + (frequency / high) ** (2 * order))
    return float(np.mean(gain**2)), float(np.mean((1 - gain) ** 2))


def _checked(signal: ArrayLike, sampling_rate_hz: float, order: int) -> FloatArray:
    samples = np.asarray(signal, dtype=np.float64)
    if samples.ndim == 0 or samples.shape[-1] < 2:
        raise ValueError(f"signal has shape {samples.shape}; at least two samples are needed")
    if not np.all(np.isfinite(samples)):
        raise ValueError("signal holds missing or infinite samples; fill or cut them first")
    if not (math.isfinite(sampling_rate_hz) and sampling_rate_hz > 0):
        raise ValueError(f"sampling_rate_hz is {sampling_rate_hz:g}; it must lie above 0")
    if order < 1:
        raise ValueError(f"order is {order}; it must be 1 or more")
    return samples


def _limited(high_hz: float, sampling_rate_hz: float) -> float:
    return min(high_hz, HIGHEST_FRACTION * sampling_rate_hz)


def _prewarped(cut_hz: float, sampling_rate_hz: float) -> float:
    return math.tan(math.pi * cut_hz / sampling_rate_hz)


def _extension(sampling_rate_hz: float, slowest_hz: float) -> int:
    return math.ceil(SETTLING * sampling_rate_hz / slowest_hz)


def _apply(
    samples: FloatArray,
    extension: int,
    gain: Callable[[FloatArray], FloatArray],
    keep_line: bool = False,
) -> FloatArray:
    """Filter by multiplying the spectrum of the extended signal with the gain.

    The line from the first to the last sample is taken off before. The point reflections about
    both ends then meet at zero, so that the transform's wrapping round makes no jump.
    """
    count = samples.shape[-1]
    first, last = samples[..., :1], samples[..., -1:]
    line = first + (last - first) * np.linspace(0.0, 1.0, count)
    extended = _reflected(samples - line, min(extension, count - 1))
    length = extended.shape[-1]
    spectrum = np.fft.rfft(extended)
    with np.errstate(over="ignore"):  # Nyquist's frequency is warped to infinity
        spectrum *= gain(np.tan(np.pi / length * np.arange(length // 2 + 1)))
    start = min(extension, count - 1)
    filtered = np.fft.irfft(spectrum, length)[..., start : start + count]
    return np.asarray(filtered + line if keep_line else filtered)


def _reflected(samples: FloatArray, extension: int) -> FloatArray:
    """Reflect about both end points, and bridge the rest up to a fast length by a line."""
    count = samples.shape[-1]
    used = count + 2 * extension
    extended = np.empty((*samples.shape[:-1], _fast_length(used)))
    extended[..., extension : extension + count] = samples
    extended[..., :extension] = -samples[..., extension:0:-1]
    extended[..., extension + count : used] = -samples[..., -2 : -extension - 2 : -1]
    spare = np.linspace(0.0, 1.0, extended.shape[-1] - used + 2)[1:-1]
    left, right = extended[..., :1], extended[..., used - 1 : used]
    extended[..., used:] = right + (left - right) * spare
    return extended


@lru_cache(maxsize=64)
def _fast_length(minimum: int) -> int:
    """Smallest length 2^a 3^b 5^c that is not below `minimum`: Fourier transforms like it."""
    best = 1 << (minimum - 1).bit_length()
    five = 1
    while five < best:
        three = five
        while three < best:
            needed = -(-minimum // three)
            best = min(best, three << (needed - 1).bit_length())
            three *= 3
        five *= 5
    return best
