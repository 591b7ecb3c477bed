"""What the display shows over time: every second, the beats of the last seconds.

Filters and the meter's idea of a normal beat look at the whole recording, as in `measure`. But
no beat counts before it is known to be over.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from oximetry_workbook.meter.display import clamped, trailing_median
from oximetry_workbook.meter.filters import FloatArray
from oximetry_workbook.meter.measure import Measurement
from oximetry_workbook.meter.quality import LOWEST_QUALITY

EVERY_S = 1.0
"""The display changes this often [s] (common practice)."""


@dataclass(frozen=True, eq=False)
class Trend:
    """A display over time.

    Attributes:
        time_s: When the display changes [s]; shape (n,).
        spo2_percent: What it shows from then on, not rounded [%]; NaN while withheld; shape (n,).
    """

    time_s: FloatArray
    spo2_percent: FloatArray


def trend(measurement: Measurement, averaging_s: float, start_s: float, end_s: float) -> Trend:
    """Follow the display through a recording that has been measured once.

    At each time t the median R of the good beats known in (t − averaging_s, t] goes through the
    curve. As in `measure`, nothing is shown where the beats' mean quality is under 0.3, or where
    there is none. A beat is known once the next one has peaked.

    Args:
        measurement: From `measure`, of the whole recording.
        averaging_s: Length of the window [s].
        start_s: First time of the display on the recording's clock [s].
        end_s: Last time [s].

    Returns:
        The display every `EVERY_S` seconds.

    Raises:
        ValueError: `averaging_s` is not above 0, or `end_s` is before `start_s`.
    """
    if not (math.isfinite(start_s) and math.isfinite(end_s) and start_s <= end_s):
        raise ValueError(f"start_s is {start_s} and end_s {end_s}; the end must not come first")
    count = math.floor((end_s - start_s) / EVERY_S + 1e-9) + 1
    shown_s = start_s + EVERY_S * np.arange(count, dtype=np.float64)
    known_s, ratio, quality = _known_beats(measurement)
    good = np.where(quality >= LOWEST_QUALITY, ratio, np.nan)
    median = _medians(known_s, good, shown_s, averaging_s)
    median[_mean_quality(known_s, quality, shown_s, averaging_s) < LOWEST_QUALITY] = np.nan
    return Trend(shown_s, np.asarray(clamped(measurement.curve(median))))


def _known_beats(measurement: Measurement) -> tuple[FloatArray, FloatArray, FloatArray]:
    """When each beat is known to be over [s], its R and its quality; the last never is."""
    columns = (measurement.beats[name].to_numpy() for name in ("time_s", "ratio", "quality"))
    peak_s, ratio, quality = columns
    return peak_s[1:], ratio[:-1], quality[:-1]


def _medians(
    known_s: FloatArray, values: FloatArray, shown_s: FloatArray, averaging_s: float
) -> FloatArray:
    # the display's own times join in as beats without a value, so that windows end with them
    times = np.concatenate([known_s, shown_s])
    order = np.argsort(times, kind="stable")
    joined = np.concatenate([values, np.full(shown_s.size, np.nan)])
    answer = np.empty(times.size)
    answer[order] = trailing_median(times[order], joined[order], averaging_s)
    return answer[known_s.size :]


def _mean_quality(
    known_s: FloatArray, quality: FloatArray, shown_s: FloatArray, averaging_s: float
) -> FloatArray:
    """Mean quality of the beats in each window; 0 without a beat."""
    total = np.concatenate([[0.0], np.cumsum(quality)])
    first, end = (
        np.searchsorted(known_s, times, side="right") for times in (shown_s - averaging_s, shown_s)
    )
    return np.asarray((total[end] - total[first]) / np.maximum(end - first, 1))
