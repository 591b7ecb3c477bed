"""What is noticeable about the samples, told in sentences with places in time."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from oximetry_workbook.meter.faults import channels, piled_up
from oximetry_workbook.meter.files.times import PLACES, PLAUSIBLE_HZ, and_more
from oximetry_workbook.meter.recording import Recording

FloatArray = NDArray[np.float64]
Mask = NDArray[np.bool_]

FLAT_S = 1.0
"""Light that stays the same for so long [s] is no pulse: each beat changes it. Our own choice."""

CLIPPED_SAMPLES = 3
"""So many samples in a row at the highest or lowest value may be cut off. Our own choice."""

SHORT_S = 10.0
"""A shorter recording [s] holds only a few beats."""


def find_faults(recording: Recording) -> Iterator[str]:
    """Tell what is noticeable: sampling, missing samples, clipping, flat stretches, dark light."""
    yield from _about_sampling(recording)
    for colour, light in channels(recording).items():
        yield from _about_light(colour, light, recording)
    if recording.reference_percent is not None:
        yield from _about_reference(recording.reference_percent, recording)


def _about_sampling(recording: Recording) -> Iterator[str]:
    rate, (low, high) = recording.sampling_rate_hz, PLAUSIBLE_HZ
    if not low <= rate <= high:
        yield (
            f"{rate:.4g} samples per second are not plausible for a pulse ({low:g} to {high:g} "
            "are): check the time's unit."
        )
    if recording.duration_s < SHORT_S:
        yield f"{recording.duration_s:.3g} s are short: a reading takes some ten seconds."


def _about_light(colour: str, light: FloatArray, recording: Recording) -> Iterator[str]:
    present = np.isfinite(light)
    if not present.all():
        yield _missing(colour, present, recording)
    sound = light[present] if not present.all() else light
    if not sound.size:
        return
    starts, lengths = _equal_runs(light)
    yield from _clipped(colour, light, sound, (starts, lengths), recording)
    inside = (light[starts] != sound.max()) & (light[starts] != sound.min())
    if sound.max() == sound.min():
        inside[:] = True
    flat = inside & (lengths >= FLAT_S * recording.sampling_rate_hz)
    if flat.any():
        yield (
            f"The {colour} light does not change for {_longest(lengths[flat], recording)} s or "
            f"less, {_places(starts[flat], recording)}."
        )
    dark = light <= 0
    if dark.any():
        yield (
            f"The {colour} light is zero or negative in {int(dark.sum())} of {light.size} samples, "
            f"{_places(_starts(dark), recording)}: has something been taken off?"
        )


def _missing(colour: str, present: Mask, recording: Recording) -> str:
    share = 100 * (1 - float(np.mean(present)))
    return (
        f"{present.size - int(present.sum())} of {present.size} {colour} samples ({share:.3g} %) "
        f"are missing, {_places(_starts(~present), recording)}."
    )


def _clipped(
    colour: str,
    light: FloatArray,
    sound: FloatArray,
    runs: tuple[NDArray[np.int64], NDArray[np.int64]],
    recording: Recording,
) -> Iterator[str]:
    starts, lengths = runs
    for side, limit in (("highest", float(sound.max())), ("lowest", float(sound.min()))):
        cut = (light[starts] == limit) & (lengths >= CLIPPED_SAMPLES)
        if cut.any() and sound.max() > sound.min() and piled_up(sound, limit):
            yield (
                f"The {colour} light is clipped: it stays at {limit:g}, its {side} value, for "
                f"{_longest(lengths[cut], recording)} s or less, {_places(starts[cut], recording)}."
            )


def _about_reference(reference: FloatArray, recording: Recording) -> Iterator[str]:
    present = reference[np.isfinite(reference)]
    if not present.size:
        yield "The reference holds no value."
    elif present.max() <= 1.0:
        yield "The reference is at most 1: fractions? It is read as a percentage."
    elif present.min() < 0 or present.max() > 100:
        beyond = (reference < 0) | (reference > 100)
        yield (
            f"The reference is outside 0 to 100 % in {int(beyond.sum())} samples, "
            f"{_places(_starts(beyond), recording)}."
        )


def _equal_runs(light: FloatArray) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """First sample and length of each run of equal samples; a missing sample equals none."""
    starts = np.concatenate([[0], np.flatnonzero(light[1:] != light[:-1]) + 1])
    return starts, np.diff(np.concatenate([starts, [light.size]]))


def _starts(mask: Mask) -> NDArray[np.int64]:
    """First sample of each stretch where the mask is true."""
    return np.flatnonzero(mask & ~np.concatenate([[False], mask[:-1]]))


def _longest(lengths: NDArray[np.int64], recording: Recording) -> str:
    return f"{float(lengths.max()) / recording.sampling_rate_hz:.3g}"


def _places(starts: NDArray[np.int64], recording: Recording) -> str:
    named = [f"{recording.time_s[i]:.2f} s" for i in starts[:PLACES].tolist()]
    return "at " + ", ".join(named) + and_more(starts.size)
