"""Sentences about what stands still and what moves, good enough to read out."""

from __future__ import annotations

import math
from dataclasses import replace

from oximetry_workbook.meter.curve import VALIDATED_PERCENT
from oximetry_workbook.teach.steady_and_pulsing import (
    BEATS,
    MOVES,
    STILL,
    SUBSTANCES,
    TAKEN_OUT,
    SteadyAndPulsing,
)
from oximetry_workbook.teach.words import figure, percent

DIVIDED_OUT_POINTS = 0.5
"""An error below this does not show on a display in whole percent."""

FAINT_PERCENT = 0.2
"""Infrared swing [%] below which the panel warns that a real meter may show nothing (our own
choice)."""


def stack_sentence(state: SteadyAndPulsing, axis_end: float = math.inf) -> str:
    """Say what the stack of layers shows, where the axis of the moving part ends (absorbance)."""
    if state.ratio is None:
        return "Every layer stands still."
    moving = state.layers[-2:].sum(axis=0)
    red, infrared = 100.0 * moving / state.layers.sum(axis=0)
    cut = (
        " A bar on the right is cut: it is taller than its axis." if max(moving) > axis_end else ""
    )
    return (
        f"What moves is {figure(red)} % of all that red loses and {figure(infrared)} % of what "
        f"infrared loses.{cut}"
    )


def light_sentence(state: SteadyAndPulsing) -> str:
    """Say what the light at the detector does, and how much of the view it fills."""
    if state.ratio is None:
        return "Nothing moves: the light stands still, however much it is magnified."
    red, infrared = state.swing_percent
    both = state.venous_blood == MOVES and state.arterial_blood == BEATS
    share = " The perfusion slider sets the arterial part of it." if both else ""
    return (
        f"At each beat red swings by {figure(red)} % of its mean, infrared by "
        f"{figure(infrared)} %.{share} {_view(state)}"
    )


def _view(state: SteadyAndPulsing) -> str:
    filled = state.magnification * float(100.0 - state.light_percent.min())
    if filled > 100.0:
        return "At this magnification it no longer fits: turn it down."
    hint = ": turn the magnification up" if filled < 10.0 else ""
    return f"The deeper one takes {figure(filled)} parts in 100 of the height{hint}."


def shares_sentence(state: SteadyAndPulsing) -> str:
    """Say how much of everything, and of what moves, is arterial blood."""
    everything, moving = state.shares_percent[:, SUBSTANCES.index("arterial blood")]
    red, infrared = (figure(share) for share in everything)
    whole = f"Arterial blood is {red} parts in 100 of all that red loses, {infrared} of infrared."
    if state.ratio is None:
        return f"{whole} Nothing moves, so none of it can be told from the rest."
    return f"{whole} Of what moves it is {figure(moving[0])} and {figure(moving[1])}."


def numbers(state: SteadyAndPulsing) -> dict[str, str]:
    """Write the panel's numbers, by what they are."""
    red, infrared = (f"{figure(swing, 1 if swing < 0.1 else 2)} %" for swing in state.swing_percent)
    empty = state.venous_blood == TAKEN_OUT
    return {
        "Meter reads": percent(state.read_percent),
        "Arteries carry": f"{figure(100.0 * state.arterial_saturation, 3)} %",
        "Veins carry": "–" if empty else f"{figure(state.venous_percent, 3)} %",
        "Red swings by": red,
        "Infrared by": infrared,
    }


def verdict(state: SteadyAndPulsing) -> str:
    """Say whose voice the moving part is, and what a meter would make of it."""
    if state.read_percent is None:
        return (
            "Nothing moves. Steady light alone does not tell arteries from veins, skin or bone, "
            "so there is nothing to read."
        )
    sentence = f"{_who(state)} {_makes_of_it(state)}"
    if state.read_percent < VALIDATED_PERCENT[0]:
        sentence += " Below 70 % any curve is a guess: volunteers are not taken there."
    if state.swing_percent[1] < FAINT_PERCENT:
        sentence += " This panel has no noise; on so faint a pulse a real meter would likely "
        sentence += "withhold the number."
    return sentence


def _who(state: SteadyAndPulsing) -> str:
    if state.venous_blood != MOVES:
        return "Only arterial blood moves, and a meter listens to nothing else."
    if state.arterial_blood == BEATS:
        return "Venous blood moves too, and a meter takes it for arterial."
    return "Only venous blood moves, and a meter takes it for arterial."


def _makes_of_it(state: SteadyAndPulsing) -> str:
    true = 100.0 * state.arterial_saturation
    reads = f"It would read {percent(state.read_percent)}; the arteries carry {percent(true)}"
    if state.venous_blood == MOVES:
        return f"{reads}, the veins {percent(state.venous_percent)}."
    if state.venous_blood == TAKEN_OUT:
        change = abs(_read(state) - _read(replace(state, venous_blood=STILL)))
        return (
            f"{reads}. Taking all venous blood out moves the reading by {points(change)}, "
            "since the light takes another way."
        )
    error = _read(state) - true
    if abs(error) < DIVIDED_OUT_POINTS:
        return f"{reads}. What stands still has divided out."
    return (
        f"{reads}. What stands still divides out, yet it shapes the way of the light: that leaves "
        f"{points(abs(error))}."
    )


def points(value: float) -> str:
    """Write a number of percentage points, one of them in the singular."""
    return f"{figure(value)} point" + ("" if figure(value) == "1" else "s")


def _read(state: SteadyAndPulsing) -> float:
    read = state.read_percent
    if read is None:
        raise ValueError("nothing moves; let arterial or venous blood move")
    return read
