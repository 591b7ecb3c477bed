"""A recording of one's own: what a file holds, readings window by window, lines to draw."""

from __future__ import annotations

import io
import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from oximetry_workbook.meter.curve import VALIDATED_PERCENT, Curve
from oximetry_workbook.meter.decimate import decimate_min_max
from oximetry_workbook.meter.files import Preview
from oximetry_workbook.meter.measure import curve_for, measure
from oximetry_workbook.meter.quality import LOWEST_QUALITY
from oximetry_workbook.meter.recording import Recording
from oximetry_workbook.meter.windows import windows
from oximetry_workbook.teach.reading import CAUTION
from oximetry_workbook.teach.words import figure, percent, signed

if TYPE_CHECKING:
    import pandas as pd

FloatArray = NDArray[np.float64]

ROLES = ("time", "red", "infrared", "reference")
"""What a column of a file can be."""

TIME_WORDS = {
    "s": "seconds",
    "ms": "milliseconds",
    "us": "microseconds",
    "clock": "clock time",
}
"""How times may be written, in words."""

POINTS = 2000
"""So many points of a line are drawn at most: more than a screen has pixels across."""

SLICES = 50
LEAST_WINDOWS = 10
"""Readings are handed over in at most `SLICES` parts of at least so many windows."""


@dataclass(frozen=True, eq=False)
class Readings:
    """A recording read so far.

    Attributes:
        windows: One row a window as from `meter.windows`, and `reference_percent`, the mean of
            the reference in the window [%], NaN where there is none.
        beats: One row a beat, as `Measurement.beats`; beats cut by a window's end are missing.
        curve: The calibration curve.
        curve_origin: Why that curve.
        window_s: Length of a window [s].
    """

    windows: pd.DataFrame
    beats: pd.DataFrame
    curve: Curve
    curve_origin: str
    window_s: float

    @property
    def shown(self) -> NDArray[np.bool_]:
        """Whether each window has a saturation; shape (windows,)."""
        return np.asarray(self.windows["spo2_percent"].notna().to_numpy(), dtype=np.bool_)

    @property
    def good_beats(self) -> NDArray[np.bool_]:
        """Whether each beat may be believed; shape (beats,)."""
        return np.asarray(self.beats["quality"].to_numpy(np.float64) >= LOWEST_QUALITY)

    @property
    def middle_s(self) -> FloatArray:
        """Middle of each window, the last taken for whole [s]; shape (windows,)."""
        return np.asarray(self.windows["time_s"].to_numpy(np.float64) + 0.5 * self.window_s)

    @property
    def beyond_reference(self) -> FloatArray:
        """Saturation less reference where there are both [percentage points]."""
        away = self.windows["spo2_percent"] - self.windows["reference_percent"]
        return np.asarray(away.dropna().to_numpy(np.float64))


def read_in_parts(
    recording: Recording, window_s: float, curve: Curve | None
) -> Iterator[tuple[float, Readings]]:
    """Read a recording window by window, some windows at a time.

    Args:
        recording: Light over time.
        window_s: Length of a window [s].
        curve: As for `measure`.

    Yields:
        The share done, above 0 to 1, and the readings so far.

    Raises:
        ValueError: The window holds too few samples, or the calibration is unusable.
    """
    import pandas as pd  # here, since it takes a third of a second to import

    used, origin = (curve, "given") if curve is not None else curve_for(recording)
    count = max(1, math.ceil(recording.duration_s / window_s))
    at_a_time = max(LEAST_WINDOWS, math.ceil(count / SLICES))
    # between whole samples, so that rounding moves none of them to a neighbouring window
    half_s = 0.5 / recording.sampling_rate_hz
    edges = recording.time_s[0] - half_s + window_s * np.arange(count + 1)
    tables: list[pd.DataFrame] = []
    beats: list[pd.DataFrame] = []
    for number in range(count):
        found = _read_window(recording, edges[number], edges[number + 1], used)
        if found is not None:
            tables, beats = [*tables, found[0]], [*beats, found[1]]
        if tables and ((number + 1) % at_a_time == 0 or number + 1 == count):
            tables, beats = [_joined(pd, tables)], [_joined(pd, beats)]
            yield (number + 1) / count, Readings(tables[0], beats[0], used, origin, window_s)


def _read_window(
    recording: Recording, start_s: float, end_s: float, curve: Curve
) -> tuple[pd.DataFrame, pd.DataFrame] | None:
    """Row of a window and its beats; None for a rest of too few samples at the end."""
    try:
        part = recording.between(start_s, end_s)
    except ValueError:
        if start_s > recording.time_s[0]:
            return None
        raise
    # one window twice as wide as the part: rounding cannot cut it in two
    row = windows(part, 2.0 * part.duration_s, curve)
    reference = part.reference_percent
    row["reference_percent"] = np.nan
    if reference is not None and np.isfinite(reference).any():
        row["reference_percent"] = float(np.nanmean(reference))
    return row, measure(part, curve).beats


def _joined(pd: object, tables: list[pd.DataFrame]) -> pd.DataFrame:
    filled = [each for each in tables if len(each)] or tables[:1]
    return pd.concat(filled, ignore_index=True)  # type: ignore[attr-defined, no-any-return]


def drawn_line(
    time_s: FloatArray, values: FloatArray, start_s: float, end_s: float
) -> tuple[FloatArray, FloatArray]:
    """What to draw of values over time between two times [s]: at most `POINTS` points.

    Missing samples at the ends are left off, those inside break the line. Without any value the
    arrays are empty.
    """
    first, last = np.searchsorted(time_s, start_s), np.searchsorted(time_s, end_s, "right")
    x, y = decimate_min_max(time_s[first:last], values[first:last], POINTS)
    there = np.flatnonzero(np.isfinite(y))
    if not there.size:
        return np.empty(0), np.empty(0)
    part = slice(there[0], there[-1] + 1)
    return x[part], y[part]


LEAST_SPAN = 1e-12
"""Values closer together than this are drawn as one."""


def nice_ends(low: float, high: float, most: int = 5) -> FloatArray:
    """Round ticks that hold two values between the first and the last; at most `most` + 2."""
    span = high - low or abs(high)
    if span < LEAST_SPAN:
        span = 1.0
    step = 10.0 ** math.floor(math.log10(span / most))
    step *= next(rung for rung in (1.0, 2.0, 5.0, 10.0) if span / (rung * step) <= most)
    first, last = math.floor(low / step), math.ceil(high / step)
    return step * np.arange(first, max(last, first + 1) + 1, dtype=np.float64)


def found_sentences(preview: Preview) -> tuple[str, ...]:
    """Say what a file holds and which column was taken for what."""
    parts = []
    if preview.duration_s is not None and preview.sampling_rate_hz is not None:
        parts.append(
            f"{preview.rows} samples, {figure(preview.duration_s, 4)} s at "
            f"{figure(preview.sampling_rate_hz, 4)} per second."
        )
    if preview.delimiter:
        parts.append(f"Cells parted by: {preview.delimiter}. Decimal sign: {preview.decimal}.")
    for role in ROLES:
        column = preview.chosen.get(role)
        said = f"“{column}”, " if column is not None else ""
        parts.append(f"{role.capitalize()}: {said}{preview.why[role]}.")
    if preview.time_unit:
        parts.append(f"Times read as: {TIME_WORDS[preview.time_unit]}.")
    return tuple(parts)


def numbers(readings: Readings) -> dict[str, str]:
    """Write the numbers of all windows by name."""
    table, shown = readings.windows, readings.shown
    saturation = table["spo2_percent"].to_numpy(np.float64)[shown]
    rate = table["heart_rate_bpm"].dropna()
    away = readings.beyond_reference
    return {
        "Windows": str(len(table)),
        "Withheld": str(int((~shown).sum())),
        "SpO₂, median": percent(float(np.median(saturation)) if saturation.size else None),
        "SpO₂, lowest": percent(float(saturation.min()) if saturation.size else None),
        "Pulse, per min": f"{rate.median():.0f}" if len(rate) else "–",
        "Error, points": signed(float(away.mean())) if away.size else "–",
    }


def saturation_sentence(readings: Readings) -> str:
    """Say what the windows show, with which curve, and why some show nothing."""
    shown, table = readings.shown, readings.windows
    curve = f"The curve: {curve_words(readings)}."
    if not shown.any():
        return f"No window has a number. {_reasons(table)} {curve}"
    saturation = table["spo2_percent"].to_numpy(np.float64)
    lowest = int(np.nanargmin(saturation))
    start_s = float(table["time_s"].iloc[lowest])
    value = percent(saturation[lowest])
    said = f"The lowest window begins at {figure(start_s, 4)} s: {value}. {curve}"
    if saturation[lowest] < VALIDATED_PERCENT[0]:
        said += " Below 70 % the number tells “very low”, not how low."
    return said if shown.all() else f"{said} {_reasons(table)}"


def curve_words(readings: Readings) -> str:
    """Name the curve, and why that one where the name does not say it."""
    name, origin = readings.curve.name, readings.curve_origin
    return name if origin in (name, "given") else f"{name}, {origin.rpartition(', ')[2]}"


def _reasons(table: pd.DataFrame) -> str:
    withheld = table[table["spo2_percent"].isna()]
    counted = withheld["reason"].value_counts()
    most = counted.index[0]
    return f"Withheld: {len(withheld)} of {len(table)}, most often because: {most}"


def beats_sentence(readings: Readings) -> str:
    """Say what the ratios of the single beats show."""
    good = readings.good_beats
    ratio = readings.beats["ratio"].to_numpy(np.float64)[good]
    ratio = ratio[np.isfinite(ratio)]
    if not ratio.size:
        return "No beat gives a ratio of ratios that may be believed."
    low, middle, high = np.percentile(ratio, (5.0, 50.0, 95.0))
    return (
        f"{ratio.size} good beats of {good.size}. Nine in ten of the good lie between "
        f"R = {low:.2f} and {high:.2f}, the middle at {middle:.2f}."
    )


def table_csv(table: pd.DataFrame, readings: Readings, source: str) -> str:
    """Write windows or beats as CSV text, with their origin and the caution on top.

    Args:
        table: `readings.windows` or `readings.beats`.
        readings: What they belong to.
        source: Name of the file they were read from.
    """
    text = io.StringIO()
    lines = (
        f"Read from {source} with the Oximetry Workbook",
        CAUTION,
        f"curve: {curve_words(readings)}; "
        f"window: {readings.window_s:g} s; time_s of a window: when it starts",
    )
    text.writelines(f"# {' '.join(line.split())}\n" for line in lines)
    table.to_csv(text, index=False, lineterminator="\n")
    return text.getvalue()
