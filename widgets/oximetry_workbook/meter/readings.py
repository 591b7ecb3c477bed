"""Everything a meter knows of each beat, before anything is averaged or withheld."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from oximetry_workbook.meter.beats import BeatTimes
from oximetry_workbook.meter.curve import Curve
from oximetry_workbook.meter.filters import FloatArray, low_pass
from oximetry_workbook.meter.quality import BeatMarks, beat_marks, clearness, likeness
from oximetry_workbook.meter.ratio import (
    SMOOTHING_ORDER,
    BeatLight,
    beat_light,
    ratio_peak_to_trough,
    ratio_slope,
    smoothing_cut_hz,
)

if TYPE_CHECKING:
    import pandas as pd

METHODS = ("slope", "peak_to_trough")
"""Ways to make R of a beat; see `ratio.ratio_slope` and `ratio.ratio_peak_to_trough`."""

COLOURS = ("red", "infrared")

COLUMNS = (
    "time_s",
    "interval_s",
    "ratio",
    "ratio_slope",
    "ratio_peak_to_trough",
    "spo2_percent",
    *(f"{part}_{colour}" for colour in COLOURS for part in ("ac", "dc")),
    "agreement",
    "quality",
)
"""Columns of the table of beats; `measure.Measurement` says what they hold."""


@dataclass(frozen=True, eq=False)
class BeatReadings:
    """What was found in each beat.

    Attributes:
        peak_s: Times of the peaks on the recording's clock [s]; shape (n,).
        interval_s: Time since the beat before [s]; NaN for the first; shape (n,).
        light: Steady and pulsing light of each colour there is.
        ratios: R by each of `METHODS`; NaN for want of a colour; shape (n,) each.
        agreement: Correlation of red and infrared within the beat; shape (n,).
        marks: Marks for quality.
    """

    peak_s: FloatArray
    interval_s: FloatArray
    light: dict[str, BeatLight]
    ratios: dict[str, FloatArray]
    agreement: FloatArray
    marks: BeatMarks


def read_beats(
    channels: dict[str, FloatArray], beats: BeatTimes, sampling_rate_hz: float, start_s: float
) -> BeatReadings:
    """Read each beat.

    Args:
        channels: Light by colour, in detector units; the first is the one the beats were found
            in; shape (n_samples,) each.
        beats: The beats, at least one.
        sampling_rate_hz: Samples per second [Hz].
        start_s: Time of the first sample [s].
    """
    cut_hz = smoothing_cut_hz(beats.interval_s)
    light: dict[str, BeatLight] = {}
    for colour, samples in channels.items():  # one by one: filtering takes ten times their memory
        smoothed = low_pass(samples, sampling_rate_hz, cut_hz, SMOOTHING_ORDER)
        if not light:
            rest = samples - smoothed
        light[colour] = beat_light(smoothed, beats.foot)
    ratios, agreement = _ratios(light, beats)
    first = next(iter(light.values()))
    marks = beat_marks(
        clearness(rest, first, beats.foot, sampling_rate_hz, cut_hz),
        likeness(first, beats),
        agreement if len(light) > 1 else None,
    )
    return BeatReadings(start_s + beats.peak_s, beats.interval_s, light, ratios, agreement, marks)


def _ratios(
    light: dict[str, BeatLight], beats: BeatTimes
) -> tuple[dict[str, FloatArray], FloatArray]:
    if len(light) < len(COLOURS):
        unknown = np.full(len(beats), np.nan)
        return dict.fromkeys(METHODS, unknown), unknown
    red, infrared = (light[colour] for colour in COLOURS)
    slope, agreement = ratio_slope(red, infrared, beats.foot)
    return {"slope": slope, "peak_to_trough": ratio_peak_to_trough(red, infrared)}, agreement


def beat_table(readings: BeatReadings, curve: Curve, method: str) -> pd.DataFrame:
    """Table with the `COLUMNS`, one row a beat."""
    unknown = np.full(readings.peak_s.size, np.nan)
    ratio = readings.ratios[method]
    table = {
        "time_s": readings.peak_s,
        "interval_s": readings.interval_s,
        "ratio": ratio,
        "ratio_slope": readings.ratios["slope"],
        "ratio_peak_to_trough": readings.ratios["peak_to_trough"],
        "spo2_percent": np.clip(curve(ratio), 0.0, 100.0),
    }
    for colour in COLOURS:
        there = readings.light.get(colour)
        table[f"ac_{colour}"] = unknown if there is None else there.pulsing
        table[f"dc_{colour}"] = unknown if there is None else there.steady
    table |= {"agreement": readings.agreement, "quality": readings.marks.quality}
    return _frame(table)


def empty_table() -> pd.DataFrame:
    """The same columns without a row."""
    return _frame({name: np.empty(0) for name in COLUMNS})


def _frame(table: dict[str, FloatArray]) -> pd.DataFrame:
    import pandas as pd  # here, since it takes a third of a second to import

    return pd.DataFrame(np.column_stack([table[name] for name in COLUMNS]), columns=list(COLUMNS))
