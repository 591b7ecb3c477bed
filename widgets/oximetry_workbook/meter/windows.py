"""A long recording read window by window: one row each, withheld where it cannot be believed."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from oximetry_workbook.meter.curve import Curve
from oximetry_workbook.meter.measure import Measurement, curve_for, measure
from oximetry_workbook.meter.recording import MINIMUM_SAMPLES, Recording

if TYPE_CHECKING:
    import pandas as pd

COLUMNS = (
    "time_s",
    "spo2_percent",
    "heart_rate_bpm",
    "perfusion_index_percent",
    "ratio",
    "quality",
    "reason",
)


def windows(
    recording: Recording, window_s: float = 10.0, curve: Curve | None = None, method: str = "slope"
) -> pd.DataFrame:
    """Measure each window of a recording by itself.

    Windows follow one another without overlap, so one with a gap or a movement spoils no other.
    Beats cut by a window's ends are not counted. The last window may be shorter; one of fewer
    than `MINIMUM_SAMPLES` samples is left out. For teaching, not for patient care.

    Args:
        recording: Light over time.
        window_s: Length of a window [s]; some ten seconds hold enough beats.
        curve: As for `measure`.
        method: As for `measure`.

    Returns:
        One row a window, with the `COLUMNS`: `time_s`, when it starts [s]; the values as in
        `Measurement`, NaN where withheld; `reason`, why saturation is withheld, else empty.

    Raises:
        TypeError: `recording` is no Recording.
        ValueError: `window_s` is not above 0 or holds too few samples, or as for `measure`.
    """
    import pandas as pd  # here, since it takes a third of a second to import

    size = _window_size(recording, window_s)
    curve = curve or curve_for(recording)[0]
    starts_s = recording.time_s[: recording.time_s.size - MINIMUM_SAMPLES + 1 : size].tolist()
    parts = (recording.between(*ends) for ends in pairwise([*starts_s, math.inf]))
    rows = [_row(measure(part, curve, None, method), part) for part in parts]
    return pd.DataFrame(rows, columns=list(COLUMNS))


def _window_size(recording: object, window_s: float) -> int:
    if not isinstance(recording, Recording):
        raise TypeError(f"recording is a {type(recording).__name__}; it must be a Recording")
    if not (math.isfinite(window_s) and window_s > 0):
        raise ValueError(f"window_s is {window_s}; it must lie above 0, usually 10 s")
    size = round(window_s * recording.sampling_rate_hz)
    if size < MINIMUM_SAMPLES:
        raise ValueError(
            f"window_s is {window_s:g}, which holds {size} samples; at least {MINIMUM_SAMPLES} are "
            "needed, and some ten seconds for a reading"
        )
    return size


def _row(measured: Measurement, part: Recording) -> tuple[float | str, ...]:
    values = (
        measured.spo2_percent,
        measured.heart_rate_bpm,
        measured.perfusion_index_percent,
        measured.ratio,
    )
    numbers = [np.nan if value is None else value for value in values]
    return (float(part.time_s[0]), *numbers, measured.quality, measured.reason or "")
