"""Sentences and tables about a weak pulse at four places, good enough to read out."""

from __future__ import annotations

import math

import numpy as np

from oximetry_workbook.body.sites import SITES
from oximetry_workbook.meter.quality import LOWEST_QUALITY
from oximetry_workbook.teach.weak_pulse import (
    PLACES,
    PUBLISHED_FALL_PERCENT,
    ManySites,
    WeakPulse,
)
from oximetry_workbook.teach.words import figure, percent, signed

SCATTER_POINTS = 1.0
"""Single readings whose standard deviation is above this are said to jump."""

SINGLE_COLUMNS = ("Pulse left", "Quality", "One reading")
CLEAR_QUALITY = 0.9
"""From here on a pulse counts as clear of the noise."""

PLUS_MINUS = "\N{NO-BREAK SPACE}±\N{NO-BREAK SPACE}"

MANY_COLUMNS = ("Quality", "Error, points", "Withheld")


def pulse_sentence(state: WeakPulse) -> str:
    """Say how much of its pulse each place keeps, and which keeps most."""
    left = state.perfusion_index_percent
    strongest = PLACES[int(np.argmax(left))]
    kept = ", ".join(
        f"{place} {figure(100.0 * SITES[place].pulse_left(state.vasoconstriction))} %"
        for place in PLACES
    )
    return (
        f"Of its pulse in warmth each place keeps: {kept}. The strongest pulse is now at the "
        f"{strongest}: {figure(left.max())} % of the infrared light."
    )


def single_table(state: WeakPulse) -> list[list[str]]:
    """Write one reading of each place: a row of its name and `SINGLE_COLUMNS` for each."""
    return [
        [
            place,
            f"{figure(left)} %",
            f"{round(100.0 * made.quality)} %",
            percent(made.spo2_percent),
        ]
        for place, left, made in zip(
            PLACES, state.perfusion_index_percent, state.single, strict=True
        )
    ]


def many_table(many: ManySites) -> list[list[str]]:
    """Write what many readings gave: a row of a place's name and `MANY_COLUMNS` for each."""
    return [[place, *_many_cells(many, k)] for k, place in enumerate(PLACES)]


def _many_cells(many: ManySites, place: int) -> tuple[str, str, str]:
    mean, half = many.errors.mean[place], many.errors.half_width[place]
    low, high = (ends[place] for ends in many.errors.withheld_interval_percent)
    error = "–" if math.isnan(mean) else f"{signed(mean)}{PLUS_MINUS}{figure(half, 1)}"
    withheld = f"{many.errors.withheld_percent[place]:.0f} % ({low:.0f}–{high:.0f})"
    return f"{100.0 * many.quality.mean[place]:.0f} %", error, withheld


def verdict(state: WeakPulse) -> str:
    """Say at which places a single reading gives a number."""
    silent = [
        (place, round(100.0 * made.quality))
        for place, made in zip(PLACES, state.single, strict=True)
        if made.spo2_percent is None
    ]
    if not silent:
        return (
            f"All four places give a number; the arteries carry {percent(state.true_percent)}. "
            "A number is no proof of a good pulse: look at the pulse left and the quality."
        )
    names = " and the ".join(place for place, _ in silent)
    others = [place for place in PLACES if place not in dict(silent)]
    sentence = (
        f"No number at the {names}: the pulse there does not stand clear of the noise. "
        f"A signal quality of {100.0 * LOWEST_QUALITY:.0f} % is needed."
    )
    return f"{sentence} {_still_speaking(others)}"


def _still_speaking(places: list[str]) -> str:
    return f"Still a number at the {' and the '.join(places)}." if places else "No place is left."


def quality_sentence(state: WeakPulse) -> str:
    """Say which places are near the limit under which a number is withheld."""
    limit = 100.0 * LOWEST_QUALITY
    poor = [
        f"{place} {round(100.0 * made.quality)} %"
        for place, made in zip(PLACES, state.single, strict=True)
        if made.quality < CLEAR_QUALITY
    ]
    if not poor:
        return f"All pulses stand clear of the noise. Below {limit:.0f} % a number is withheld."
    return f"Not clear of the noise: {', '.join(poor)}. Below {limit:.0f} % it is withheld."


def errors_sentence(many: ManySites | None, minutes: float) -> str:
    """Say what many readings give: how far off they are and how they scatter."""
    if many is None:
        return (
            f"Press the button to measure each place for {figure(minutes)} minutes, a reading "
            "each 10 s."
        )
    sd = many.errors.sd
    told = np.isfinite(sd)
    if not told.any():
        return f"{_span(many)} no place gave enough readings to tell an error."
    worst = int(np.nanargmax(sd))
    silent = [place for place, known in zip(PLACES, told, strict=True) if not known]
    jumps = "and jumps about" if sd[worst] > SCATTER_POINTS else "and holds still"
    sentence = (
        f"{_span(many)} single readings scatter most at the {PLACES[worst]}: standard deviation "
        f"{figure(sd[worst])} points, mean error {signed(many.errors.mean[worst])}{PLUS_MINUS}"
        f"{figure(many.errors.half_width[worst], 1)}. What is shown there {_lean(many, worst)} "
        f"{jumps}."
    )
    return sentence + (f" Too few numbers at the {' and the '.join(silent)}." if silent else "")


def _span(many: ManySites) -> str:
    return f"Over {many.minutes} minutes at each place"


def _lean(many: ManySites, place: int) -> str:
    mean, half = many.errors.mean[place], many.errors.half_width[place]
    if abs(mean) <= half:
        return "is right on average"
    return "leans upward" if mean > 0.0 else "leans downward"


def published_narrowing() -> tuple[float, float]:
    """Narrowing that gives the finger's published fall, and the ear's fall [%] it brings here."""
    kept = 1.0 - PUBLISHED_FALL_PERCENT["finger"][0] / 100.0
    narrowing = math.log(kept) / math.log(SITES["finger"].constricted_share)
    return narrowing, 100.0 * (1.0 - SITES["ear"].pulse_left(narrowing))


def published_sentence() -> str:
    """Say what a study of cold found, and where this model agrees and where not."""
    finger, ear = (
        f"{mean:.0f}{PLUS_MINUS}{sd:.0f} %"
        for mean, sd in (PUBLISHED_FALL_PERCENT[place] for place in ("finger", "ear"))
    )
    narrowing, here = published_narrowing()
    return (
        f"Measured, the other hand in ice water: the finger’s pulse fell by {finger}, the ear’s by "
        f"{ear} (Awad and others 2001). Here that is a narrowing of {figure(100.0 * narrowing)} %, "
        f"and the ear loses {figure(here)} %: more than was measured."
    )
