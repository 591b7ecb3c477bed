"""Signal quality, 0 to 1: may this beat be believed?

A beat gets three marks, each 0 at a value that noise alone reaches and 1 where nothing is left to
wish for, with a straight line between. Its quality is the lowest of the three: a chain is as weak
as its weakest link. The limits are our own choice, made with simulated noise and pulses; nothing
in print prescribes them.

* clearness: height of the infrared pulse over the rms noise left in it, 6 to 16. The highest and
  lowest points of mere noise lie some 3 to 4 rms apart.
* likeness: correlation of the beat's shape with the median beat's, 0.5 to 0.9.
* agreement: correlation of red and infrared within the beat, 0.5 to 0.9. Blood moves both together;
  the noise of two colours does not.

Regularity is no mark: an irregular heart is not a bad signal.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from oximetry_workbook.meter.beats import BeatTimes, IndexArray
from oximetry_workbook.meter.filters import FloatArray, white_noise_shares
from oximetry_workbook.meter.ratio import SMOOTHING_ORDER, BeatLight

CLEARNESS_LIMITS = (6.0, 16.0)
LIKENESS_LIMITS = (0.5, 0.9)
AGREEMENT_LIMITS = (0.5, 0.9)

LOWEST_QUALITY = 0.3
"""Below this a beat is not used, and below this on average no value is given. Our own choice."""

SHAPE_POINTS = 24
"""Points at which the shapes of beats are compared."""


@dataclass(frozen=True, eq=False)
class BeatMarks:
    """The three marks of each beat, 0 to 1; shape (n,) each. `agreement` is 1 for one colour."""

    clearness: FloatArray
    likeness: FloatArray
    agreement: FloatArray

    @property
    def pulse(self) -> FloatArray:
        """Quality of the pulse wave itself: enough for the pulse rate; shape (n,)."""
        return np.minimum(self.clearness, self.likeness)

    @property
    def quality(self) -> FloatArray:
        """Quality of the beat: the lowest of its marks; shape (n,)."""
        return np.minimum(self.pulse, self.agreement)

    def within(self, chosen: NDArray[np.bool_]) -> BeatMarks:
        """Marks of the chosen beats alone."""
        return BeatMarks(self.clearness[chosen], self.likeness[chosen], self.agreement[chosen])


def beat_marks(
    clearness: FloatArray, likeness: FloatArray, agreement: FloatArray | None
) -> BeatMarks:
    """Turn what was found in the beats into marks.

    Args:
        clearness: Height over noise, from `clearness`.
        likeness: Correlation with the median beat, from `likeness`.
        agreement: Correlation of the colours, from `ratio.ratio_slope`; None for one colour.
    """
    return BeatMarks(
        _mark(clearness, CLEARNESS_LIMITS),
        _mark(likeness, LIKENESS_LIMITS),
        np.ones(likeness.size) if agreement is None else _mark(agreement, AGREEMENT_LIMITS),
    )


def clearness(
    rest: FloatArray, beats: BeatLight, foot: IndexArray, sampling_rate_hz: float, cut_hz: float
) -> FloatArray:
    """Height of each pulse over the noise that smoothing left in it.

    What smoothing took off tells how much noise it left, if the noise is white.

    Args:
        rest: Light as recorded minus smoothed light; shape (n_samples,).
        beats: The beats in the smoothed light.
        foot: Sample numbers of the feet; shape (n + 1,).
        sampling_rate_hz: Samples per second [Hz].
        cut_hz: Cut-off of the smoothing [Hz].

    Returns:
        AC over rms noise in the smoothed light; infinite without noise; shape (n,).
    """
    inside = rest[foot[0] : foot[-1]]
    power = np.add.reduceat(inside * inside, foot[:-1] - foot[0]) / np.diff(foot)
    kept, taken = white_noise_shares(sampling_rate_hz, cut_hz, SMOOTHING_ORDER)
    with np.errstate(divide="ignore"):
        return np.asarray(beats.pulsing / np.sqrt(power * kept / taken))


def likeness(light: BeatLight, beats: BeatTimes) -> FloatArray:
    """Correlation of each beat's shape with the median shape; shape (n,).

    The shapes are laid over each other at their peaks and not stretched, from 0.3 of the usual
    interval before the peak to 0.4 after it: an early beat is cut short, but alike.
    """
    usual = float(np.median(np.diff(beats.foot)))
    apart = np.rint(usual * np.linspace(-0.3, 0.4, SHAPE_POINTS)).astype(np.intp)
    place = beats.peak[:, None] + apart
    inside = np.clip(place, beats.foot[:-1, None], beats.foot[1:, None] - 1)
    shape = _standardised(light.wave[inside - beats.foot[0]])
    return np.asarray(shape @ _standardised(np.median(shape, axis=0)))


def _standardised(shape: FloatArray) -> FloatArray:
    """Mean 0 and length 1 along the last axis, so that a product is a correlation."""
    centred = shape - shape.mean(axis=-1, keepdims=True)
    length = np.sqrt(np.sum(centred * centred, axis=-1, keepdims=True))
    return np.asarray(centred / np.maximum(length, np.finfo(np.float64).tiny))


def _mark(found: FloatArray, limits: tuple[float, float]) -> FloatArray:
    low, high = limits
    marks = np.clip((found - low) / (high - low), 0.0, 1.0)
    return np.where(np.isnan(marks), 0.0, marks)
