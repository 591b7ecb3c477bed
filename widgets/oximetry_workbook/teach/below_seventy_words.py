"""Sentences about numbers below 70 %: what they are worth."""

from __future__ import annotations

import numpy as np

from oximetry_workbook.meter.curve import VALIDATED_PERCENT
from oximetry_workbook.teach.below_seventy import (
    OWN,
    READ_HIGH_SHOWN,
    READ_HIGH_TRUE,
    BelowSeventy,
    textbook_answer,
)
from oximetry_workbook.teach.curves_together import said
from oximetry_workbook.teach.words import figure

OF_GROUP = {
    "published": "the published curves",
    "simulated": "the simulated ones",
    "fitted": "the fitted ones",
}
SPOKEN_PERCENT = np.array([90.0, 60.0, 50.0, 40.0])


def numbers(state: BelowSeventy) -> dict[str, str]:
    """Write the panel's numbers, by what they are."""
    answers = state.answers
    return {
        "Blood carries": f"{figure(state.true_percent, 3)} %",
        "Ratio R": f"{state.ratio:.2f}",
        "Probe’s own curve": _short(answers[OWN]),
        "Textbook line": _short(textbook_answer(state)),
        "Lowest of ten": _short(min(answers.values())),
        "Highest of ten": _short(max(answers.values())),
    }


def _short(percent: float) -> str:
    """Write what a curve says, short enough for a cell."""
    return said(percent).replace("over ", "> ").replace("below ", "< ")


def verdict(state: BelowSeventy) -> str:
    """Say what the number is worth here."""
    answers = state.answers.values()
    low, high = min(answers), max(answers)
    apart = f"The same light: ten curves say {said(low)} to {said(high)}."
    if not state.beyond:
        return (
            f"{apart} From {VALIDATED_PERCENT[0]:.0f} to 100 % each kind of meter is held against "
            "blood samples with its own curve. That settles which answer is right for it."
        )
    return (
        f"{apart} Here no volunteers’ blood decides between them. The display is worth two "
        "words: very low. Watch whether it rises or falls; do not read it as a value."
    )


def shown_sentence(state: BelowSeventy) -> str:
    """Say what the plot of shown against true shows."""
    own, line = state.answers[OWN], textbook_answer(state)
    fitted = " and ".join(f"{said(state.answers[f])} ({f})" for f in state.fitted)
    return (
        f"At a true {figure(state.true_percent, 3)} % the probe’s own curve says {said(own)}, the "
        f"textbook line {said(line)}, the curves of this study {fitted}. The diamond is a meter "
        f"in print: about {READ_HIGH_SHOWN:.0f} at {READ_HIGH_TRUE:.0f} % (Chapman and others "
        "1986)."
    )


def spread_sentence(state: BelowSeventy) -> str:
    """Say how far each group of curves spreads, in range and beyond."""
    found = state.spread(SPOKEN_PERCENT)
    parts = []
    for name, (low, high) in found.items():
        apart = [_apart(a, b) for a, b in zip(low, high, strict=True)]
        parts.append(f"{OF_GROUP[name]} lie {', '.join(apart[:-1])} and {apart[-1]}")
    at = ", ".join(f"{p:.0f}" for p in SPOKEN_PERCENT[:-1])
    return f"At {at} and {SPOKEN_PERCENT[-1]:.0f} %, {'; '.join(parts)} points apart."


def _apart(low: float, high: float) -> str:
    """Distance of two answers as a display from 0 to 100 % would show them [points]."""
    return figure(float(np.clip(high, 0.0, 100.0) - np.clip(low, 0.0, 100.0)))


def trend_sentence(state: BelowSeventy) -> str:
    """Say what the curves have in common when the blood falls and rises."""
    middle = state.course.size // 2
    falls = [
        float(-np.diff(np.clip(state.said_in_course(curve)[[0, middle]], 0.0, 100.0))[0])
        for curve in state.curves.values()
    ]
    true = state.course[0] - state.course[middle]
    if abs(true) < 1.0:
        return "The blood stays where it is; lower the saturation to see a fall."
    way = "falls" if true > 0.0 else "rises"
    together = "All ten follow" if min(np.sign(true) * np.array(falls)) > 0.0 else "Not all follow"
    return (
        f"The blood {way} by {figure(abs(true))} points and comes back. {together}, at the same "
        f"time, by {figure(min(np.abs(falls)))} to {figure(max(np.abs(falls)))} points. The "
        "direction can be trusted further than the size."
    )


def answers_line(state: BelowSeventy) -> str:
    """Write in one line what each origin's curves say to the R of a saturation."""
    at = np.array([state.true_percent])
    parts = [
        f"{name} {said(low[0])} to {said(high[0])}"
        for name, (low, high) in state.spread(at).items()
    ]
    return f"blood {state.true_percent:.0f} %, R = {state.ratio:.2f}: {', '.join(parts)}"
