"""Sentences about wrong light, good enough to read out."""

from __future__ import annotations

from oximetry_workbook.meter.beats import HIGH_HZ, LOW_HZ
from oximetry_workbook.meter.display import rounded
from oximetry_workbook.teach.words import figure, main_sentence, signed
from oximetry_workbook.teach.wrong_light import (
    TRUE_PERCENT,
    LedLight,
    PastTheTissue,
    RoomLight,
)

NO_VARNISH = "none"

STANDS_STILL_HZ = 0.05
"""Folded flicker slower than this does not complete half a swing in ten seconds."""

FALSE_COUNT = 0.05
"""A pulse rate off by more than this share is worth a word."""

FAINT_VARNISH = 0.995
"""Above this share of light let through, varnish is not worth a sentence."""


def close_up_sentence(state: RoomLight) -> str:
    """Say how often the lamp flickers, and how often the meter looks."""
    if state.ambient_light_percent == 0.0:
        return "The room is dark: no lamp, no flicker."
    return (
        f"The lamp brightens {figure(state.flicker_hz, 4)} times a second; the meter looks "
        f"{figure(state.sampling_rate_hz, 3)} times. Each spot is one look."
    )


def folding_sentence(state: RoomLight) -> str:
    """Say where the flicker comes out in the samples."""
    whole = round(state.flicker_hz / state.sampling_rate_hz)
    if whole == 0:
        rule = f"The flicker at {figure(state.flicker_hz, 4)} Hz is slow enough to be seen as it is"
    else:
        rule = (
            f"{figure(state.flicker_hz, 4)} Hz lies {figure(state.folded_hz, 3)} Hz from "
            f"{_times(whole)}{figure(state.sampling_rate_hz, 3)} Hz: that is what the samples show"
        )
    return f"{rule}. {_where(state)}"


def _times(whole: int) -> str:
    return "" if whole == 1 else f"{whole} times "


def _where(state: RoomLight) -> str:
    band = f"{figure(LOW_HZ)} to {figure(HIGH_HZ)} Hz"
    if state.folded_hz < STANDS_STILL_HZ:
        return "A flicker that stands still is steady light, and steady light divides out."
    if state.in_pulse_band:
        per_minute = figure(60.0 * state.folded_hz)
        return f"It lies in the band of a pulse, {band}, as a false beat of {per_minute} a minute."
    return f"It lies outside the band of a pulse, {band}: to this meter it is noise."


def seen_sentence(state: RoomLight) -> str:
    """Say what the recorded light does, and how large the lamp's part is beside the pulse."""
    if state.ambient_light_percent == 0.0:
        return "Without a lamp only blood moves the light, infrared more than red."
    ratio = state.reading.measurement.ratio
    if ratio is None:
        return "The lamp spoils what the blood has to say."
    still = state.folded_hz < STANDS_STILL_HZ
    who = (
        "The lamp seems to stand still, so only blood moves the light."
        if still
        else "The lamp moves red and infrared alike; blood does not."
    )
    return f"{who} Red moves {ratio:.2f} times as far as infrared."


def room_verdict(state: RoomLight) -> str:
    """Say what the meter shows under the lamp, and what gives a false beat away."""
    counted, beats = state.reading.measurement.heart_rate_bpm, state.scenario.heart_rate_bpm
    sentence = main_sentence(state.reading)
    if counted is None or abs(counted / beats - 1.0) < FALSE_COUNT:
        return sentence
    return (
        f"{sentence} It counts {rounded(counted)} beats a minute where the heart makes "
        f"{beats:.0f}: the count gives the lamp away."
    )


def filter_sentence(state: PastTheTissue) -> str:
    """Say how much light varnish leaves."""
    if state.varnish == NO_VARNISH or state.varnish_coats == 0.0:
        return "The nail is bare: all light passes."
    red, infrared = state.let_through_percent
    if min(red, infrared) > 100.0 * FAINT_VARNISH:
        return "This varnish hardly takes any light."
    return (
        f"Behind the {state.varnish} varnish {figure(red)} % of the red light is left and "
        f"{figure(infrared)} % of the infrared. Steady and pulsing light are dimmed alike."
    )


def shares_sentence(state: PastTheTissue) -> str:
    """Say how much of the light met no blood."""
    if state.bypass_percent == 0.0:
        return "All light at the detector has crossed the finger."
    red, infrared = (_share(share) for share in state.shares_percent[1])
    return (
        f"{infrared} % of the infrared and {red} % of the red light went past the finger. "
        "Light that met no blood does not pulse: it makes the pulse look smaller."
    )


def _share(percent_past: float) -> str:
    return figure(percent_past, 3 if percent_past >= 99.0 else 2)


def spectra_sentence(state: LedLight) -> str:
    """Say where the peaks lie."""
    red, infrared = state.peaks_nm
    by_red, by_infrared = (signed(moved) for moved in state.moved_nm)
    return (
        f"The peaks lie at {red:.1f} and {infrared:.1f} nm: {by_red} and {by_infrared} nm from "
        "those that the curve was made for."
    )


def errors_sentence(errors: tuple[float | None, ...]) -> str:
    """Say how the error grows as saturation falls."""
    told = [
        (true, error) for true, error in zip(TRUE_PERCENT, errors, strict=True) if error is not None
    ]
    if not told:
        return "The meter withholds its number at every saturation."
    highest, lowest = told[0], told[-1]
    sentence = (
        f"At {highest[0]:.0f} % the error is {signed(highest[1])} points, at {lowest[0]:.0f} % "
        f"{signed(lowest[1])}."
    )
    withheld = len(errors) - len(told)
    if withheld:
        sentence += f" At {withheld} of {len(errors)} saturations the number is withheld."
    return sentence
