"""Why a value is withheld, told so that a learner knows what was found and what to do."""

from __future__ import annotations

import numpy as np

from oximetry_workbook.meter.beats import BeatTimes
from oximetry_workbook.meter.filters import FloatArray
from oximetry_workbook.meter.quality import LOWEST_QUALITY, BeatMarks
from oximetry_workbook.meter.recording import Recording

CLIPPED_SHARE = 0.05
"""More than this share of samples at exactly one limit looks like a converter at its end."""

CLIPPED_PILE = 4.0
"""And so many times more of them than on the next level: a coarse converter also repeats values,
but a smooth wave's outermost level holds only some 2.4 times the next. Both are our own choice."""

FEWEST_BEATS = 3
"""With fewer whole beats there is nothing to compare a beat with. Our own choice."""

SHORT_S = 8.0
"""In less time [s] a slow pulse may not fit in often enough: 30 per minute, four beats."""

PLAUSIBLE_PER_MINUTE = (24.0, 250.0)
"""Pulse rates outside this are breathing or noise, not a heart. Our own choice."""


_NEEDED = f"{100 * LOWEST_QUALITY:.0f} %"


def sample_fault(recording: Recording) -> str | None:
    """Why nothing at all can be measured from these samples; None when they look sound."""
    for colour, light in channels(recording).items():
        reason = _missing(colour, light, recording.time_s)
        for fault in (_flat, _dark, _clipped):
            reason = reason or fault(colour, light)
        if reason is not None:
            return reason
    return None


def missing_colour(recording: Recording) -> str | None:
    """Why saturation cannot be measured although a pulse may; None when both colours are there."""
    for colour in ("red", "infrared"):
        if getattr(recording, colour) is None:
            return (
                f"There is no {colour} light in this recording: one colour gives the pulse, but "
                "saturation takes two. Record with both."
            )
    return None


def channels(recording: Recording) -> dict[str, FloatArray]:
    """The colours that were recorded, infrared first: the pulse is sought there."""
    both = {"infrared": recording.infrared, "red": recording.red}
    return {colour: light for colour, light in both.items() if light is not None}


def _missing(colour: str, light: FloatArray, time_s: FloatArray) -> str | None:
    present = np.isfinite(light)
    if present.all():
        return None
    first_s = float(time_s[int(np.argmin(present))])
    return (
        f"{light.size - int(present.sum())} of {light.size} {colour} samples are missing, the "
        f"first at {first_s:.2f} s. Choose a stretch without gaps."
    )


def _flat(colour: str, light: FloatArray) -> str | None:
    if light.min() < light.max():
        return None
    return (
        f"The {colour} light stays at {light[0]:g} throughout: a flat line holds no pulse. Check "
        "that the sensor is connected and on the skin, and that the light is not so bright that "
        "the converter stays at its limit."
    )


def _dark(colour: str, light: FloatArray) -> str | None:
    below = light <= 0
    if not below.any():
        return None
    return (
        f"The {colour} light is zero or negative in {int(below.sum())} of {light.size} samples, so "
        "there is no steady light to compare the pulse with. Record the light as it is, with "
        "nothing taken off it, and check that the lamp is on."
    )


def _clipped(colour: str, light: FloatArray) -> str | None:
    for limit, side, advice in (
        (float(light.max()), "highest", "turn the lamp or the gain down"),
        (float(light.min()), "lowest", "turn the lamp or the gain up"),
    ):
        share = float(np.mean(light == limit))
        if share > CLIPPED_SHARE and piled_up(light, limit):
            return (
                f"{100 * share:.0f} % of the {colour} samples are exactly {limit:g}, the {side} "
                "value: the converter has reached its limit and cuts the pulse off, or its steps "
                f"are coarser than the pulse; {advice}, or use a finer converter."
            )
    return None


def piled_up(light: FloatArray, limit: float) -> bool:
    """Whether far more samples lie on the limit than on the level next to it.

    Args:
        light: Samples, none missing, not all alike; shape (n,).
        limit: Their highest or lowest value.
    """
    others = light[light != limit]
    level = others[np.argmin(np.abs(others - limit))]
    return bool(light.size - others.size > CLIPPED_PILE * np.sum(others == level))


def rhythm_fault(beats: BeatTimes, duration_s: float) -> str | None:
    """Why these rises and falls are no pulse; None when they may be one."""
    if len(beats) < FEWEST_BEATS:
        if duration_s < SHORT_S:
            return (
                f"{duration_s:.1f} s hold only {len(beats)} whole beats and at least "
                f"{FEWEST_BEATS} are needed: record some ten seconds."
            )
        return "No pulse was found. Check that the sensor sits on a warm, well perfused site."
    rate = 60 / float(np.nanmean(beats.interval_s))
    low, high = PLAUSIBLE_PER_MINUTE
    if low <= rate <= high:
        return None
    what = "slow: breathing or drift" if rate < low else "fast: noise"
    return (
        f"No pulse was found: the light rises and falls {rate:.0f} times a minute, which is too "
        f"{what}, not a heart. Check the site, hold still and try again."
    )


def empty_window(averaging_s: float | None) -> str:
    """Why nothing can be averaged when no whole beat lies in the window."""
    return f"No whole beat lies in the last {averaging_s} s: average over a longer time."


def pulse_fault(marks: BeatMarks) -> str | None:
    """Why the pulse wave cannot be believed; None when it can."""
    quality = float(np.mean(marks.pulse))
    if quality >= LOWEST_QUALITY:
        return None
    if np.mean(marks.clearness) < LOWEST_QUALITY:
        return (
            "The pulse is drowned in noise: it stands out too little from what is left of the "
            f"noise after smoothing (a signal quality of {_NEEDED} is needed). "
            "Warm the finger, shade the sensor from other light, or try another site."
        )
    return (
        f"The beats do not look alike (a signal quality of {_NEEDED} is needed), as "
        "when the finger moves. Hold still and try again."
    )


def colour_fault(marks: BeatMarks) -> str | None:
    """Why the two colours cannot be compared although there is a pulse; None when they can."""
    quality = float(np.mean(marks.quality))
    if quality >= LOWEST_QUALITY:
        return None
    return (
        "The colours disagree: red does not rise and fall with infrared (a signal quality of "
        f"{_NEEDED} is needed), so no ratio can be trusted. Check both lamps, reduce "
        "noise, hold still."
    )
