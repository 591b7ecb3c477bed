"""From a column of times to evenly spaced sample times in seconds; nothing is changed untold."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from oximetry_workbook.meter.files.columns import TIME_UNITS
from oximetry_workbook.meter.files.source import UnreadableRecordingError
from oximetry_workbook.meter.recording import TIMING_TOLERANCE

FloatArray = NDArray[np.float64]

PLAUSIBLE_HZ = (10.0, 2000.0)
"""Sampling rates of pulse recordings. Slower misses the beat's shape. Our own choice."""

GAP = 1.5
"""A step longer than so many usual ones is a gap: at least one sample may be missing in it."""

FURTHEST = 1.0
"""A sample may be written down this far off the even grid, in sampling intervals; then its time is
taken as rounded or jittered. Further off, the order of events is no longer certain."""

DAY_S = 86400.0

LONGEST_EMPTY = 4
"""Gaps are filled with missing samples up to this multiple of the samples there are."""

PLACES = 3
"""So many places are named in a sentence."""


@dataclass(frozen=True)
class Clock:
    """When the samples were taken.

    Attributes:
        time_s: Evenly spaced times [s], with those of missing samples; shape (m,).
        position: Place of each row among them, or None when none is missing; shape (n,).
        findings: Gaps, in sentences.
        assumptions: What was changed about the times, in sentences.
    """

    time_s: FloatArray
    position: NDArray[np.int64] | None = None
    findings: tuple[str, ...] = ()
    assumptions: tuple[str, ...] = ()

    def placed(self, values: FloatArray) -> FloatArray:
        """Values on the clock, NaN where a sample is missing."""
        if self.position is None:
            return values
        spread = np.full(self.time_s.size, np.nan)
        spread[self.position] = values
        return spread


def likely_unit(written: FloatArray, name: str) -> tuple[str, str]:
    """The unit in which the sampling rate is plausible, and the sentence that tells it.

    Raises:
        UnreadableRecordingError: There is none.
    """
    steps = np.diff(written[: 1 << 16])
    steps = steps[np.isfinite(steps) & (steps > 0)]
    step = float(np.median(steps)) if steps.size else 0.0
    low, high = PLAUSIBLE_HZ
    for unit, length_s in TIME_UNITS.items():
        if step > 0 and low <= 1 / (step * length_s) <= high:
            counted = " If it counts samples, give the sampling rate instead." if step == 1 else ""
            return unit, (
                f"The unit of {name!r} is not written: {unit} is assumed, which makes "
                f"{1 / (step * length_s):.4g} samples per second.{counted}"
            )
    raise UnreadableRecordingError(
        f"the unit of {name!r} is not written, and its usual step of {step:g} makes no sampling "
        f"rate of {low:g} to {high:g} Hz in any of {', '.join(TIME_UNITS)}; give the time's unit "
        "or the sampling rate"
    )


def days_counted(time_s: FloatArray) -> tuple[FloatArray, int]:
    """Times of day that go on past midnight, and how many midnights there were.

    A step back by more than half a day is taken for midnight. Any other is left for
    `check_increasing` to refuse.
    """
    midnight = np.diff(time_s) < -0.5 * DAY_S
    days = np.concatenate([[0], np.cumsum(midnight)])
    return time_s + DAY_S * days[: time_s.size], int(days[-1])


def check_increasing(time_s: FloatArray) -> None:
    """Refuse times that are missing, double or unsorted.

    Raises:
        UnreadableRecordingError: Names the first such place and how many there are.
    """
    if time_s.size < 2:
        return
    missing = ~np.isfinite(time_s)
    if missing.any():
        raise UnreadableRecordingError(
            f"the time is missing in {int(missing.sum())} of {missing.size} rows, the first is row "
            f"{int(np.argmax(missing)) + 1} below the header; fill them, or leave the time out and "
            "give the sampling rate"
        )
    wrong = time_s[1:] <= time_s[:-1]
    if wrong.any():
        at = int(np.argmax(wrong))
        double = int(np.sum(time_s[1:] == time_s[:-1]))
        back = int(wrong.sum()) - double
        raise UnreadableRecordingError(
            f"the time does not increase (rows with the time of the row before: {double}; rows "
            f"with an earlier time: {back}), first in row {at + 2} below the header "
            f"({time_s[at + 1]:.6g} s after {time_s[at]:.6g} s); "
            "sort the rows and remove the doubles, or, if the rows are in order and evenly "
            f"sampled, leave the time out and give the sampling rate{_mean_rate(time_s)}"
        )


def even_clock(time_s: FloatArray) -> Clock:
    """Put increasing times on an even grid, with room for missing samples where there are gaps.

    Times that are even already are kept as they are, to the last digit.

    Raises:
        UnreadableRecordingError: They are too uneven for that.
    """
    if time_s.size < 2:
        return Clock(time_s)
    steps = np.diff(time_s)
    usual = float(np.median(steps))
    if np.abs(steps - usual).max() <= TIMING_TOLERANCE * usual:
        return Clock(time_s)
    step_s, position = _grid(time_s, steps, usual)
    count = int(position[-1]) + 1
    if count > LONGEST_EMPTY * time_s.size:
        gaps = _gap_places(time_s, steps > GAP * usual, steps)
        raise UnreadableRecordingError(
            f"the times are too uneven: {gaps}, and most of the recording would be "
            "missing; cut it there, or, if it is evenly sampled, "
            f"leave the time out and give the sampling rate{_mean_rate(time_s)}"
        )
    grid_s = time_s[0] + step_s * np.arange(count)
    off_s = float(np.abs(time_s - grid_s[position]).max())
    if off_s > FURTHEST * step_s:
        raise UnreadableRecordingError(
            f"the times are too uneven: they lie up to {off_s:.3g} s off an even grid of "
            f"{step_s:.6g} s; resample the recording, or, if it is evenly sampled, leave the time "
            f"out and give the sampling rate{_mean_rate(time_s)}"
        )
    return _told_clock(grid_s, position, time_s, off_s)


def _grid(time_s: FloatArray, steps: FloatArray, usual: float) -> tuple[float, NDArray[np.int64]]:
    """Step of the grid, and the place of each row: every gap starts anew at the nearest place."""
    gap = steps > GAP * usual
    step_s = float(np.mean(steps[~gap]))
    starts = np.concatenate([[0], np.flatnonzero(gap) + 1])
    places = np.minimum(np.rint((time_s[starts] - time_s[0]) / step_s), 2.0**52)
    shift = np.maximum.accumulate(places.astype(np.int64) - starts)
    lengths = np.diff(np.concatenate([starts, [time_s.size]]))
    return step_s, np.arange(time_s.size) + np.repeat(shift, lengths)


def _told_clock(
    grid_s: FloatArray, position: NDArray[np.int64], time_s: FloatArray, off_s: float
) -> Clock:
    step_s = float(grid_s[1] - grid_s[0])
    findings, assumptions = [], []
    if off_s > TIMING_TOLERANCE * step_s:
        assumptions.append(
            f"The times are uneven, by up to {1000 * off_s:.3g} ms: evenly spaced ones are used, "
            f"{1 / step_s:.6g} samples per second."
        )
    absent = np.diff(position) - 1
    lost = int(absent.sum())
    if not lost:
        return Clock(grid_s, None, (), tuple(assumptions))
    findings.append(
        f"{lost} samples are missing in gaps of the time: "
        f"{_gap_places(time_s, absent > 0, np.diff(time_s))}."
    )
    assumptions.append(f"The gaps hold {lost} missing samples now, and nothing is measured there.")
    return Clock(grid_s, position, tuple(findings), tuple(assumptions))


def _gap_places(time_s: FloatArray, gap: NDArray[np.bool_], steps: FloatArray) -> str:
    at = np.flatnonzero(gap)
    named = [f"{steps[i]:.3g} s after {time_s[i]:.2f} s" for i in at[:PLACES].tolist()]
    return ", ".join(named) + and_more(at.size)


def and_more(count: int) -> str:
    """How many places there are beyond those named."""
    return f" and {count - PLACES} more" if count > PLACES else ""


def _mean_rate(time_s: FloatArray) -> str:
    span_s = float(time_s.max() - time_s.min())
    return f" (the mean is {(time_s.size - 1) / span_s:.6g} Hz)" if span_s > 0 else ""
