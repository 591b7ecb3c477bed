"""Sentences about numbers below 70 %: what they are worth."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from oximetry_workbook.meter.curve import VALIDATED_PERCENT, Curve
from oximetry_workbook.teach.below_seventy import (
    DRAWS,
    OWN,
    READ_HIGH_SHOWN,
    READ_HIGH_TRUE,
    BelowSeventy,
    odd_one,
    off_inside,
    textbook_answer,
)
from oximetry_workbook.teach.curves_together import said
from oximetry_workbook.teach.words import figure

FloatArray = NDArray[np.float64]

SPOKEN_PERCENT = np.array([90.0, 70.0, 50.0])

_RANGE = f"{VALIDATED_PERCENT[0]:.0f} to {VALIDATED_PERCENT[1]:.0f} %"


def numbers(state: BelowSeventy) -> dict[str, str]:
    """Write the panel's numbers, by what they are."""
    answers, agreeing = state.answers, state.agreeing
    of_these = [answers[name] for name in agreeing]
    return {
        "Blood carries": f"{figure(state.true_percent, 3)} %",
        "Ratio R": f"{state.ratio:.2f}",
        "Probe’s own curve": _short(answers[OWN]),
        "Textbook line": _short(textbook_answer(state)),
        f"Lowest of {len(agreeing)}": _short(min(of_these)),
        f"Highest of {len(agreeing)}": _short(max(of_these)),
    }


def _short(percent: float) -> str:
    """Write what a curve says, short enough for a cell."""
    return said(percent).replace("over ", "> ").replace("below ", "< ")


def verdict(state: BelowSeventy) -> str:
    """Say what the number is worth here."""
    answers = [state.answers[name] for name in state.agreeing]
    low, high = min(answers), max(answers)
    apart = (
        f"The same light: {len(answers)} curves that agree from {_RANGE} say {said(low)} to "
        f"{said(high)}."
    )
    if not state.beyond:
        return (
            f"{apart} Here each kind of meter is held against blood samples with its own curve. "
            "That settles which answer is right for it."
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


def odd_sentence(state: BelowSeventy) -> str:
    """Say which curves do not agree even where volunteers are, and that they prove nothing."""
    off = [figure(off_inside(curve)) for curve in state.others.values()]
    return (
        f"{len(off)} published curves are off by up to {', '.join(off[:-1])} and {off[-1]} points "
        f"already from {_RANGE}; {odd_one().name} is the worst. They belong to other probes, or "
        "were passed on wrongly, and prove nothing about lower numbers."
    )


def spread_sentence(state: BelowSeventy) -> str:
    """Say how far curves that agree in range spread, there and beyond."""
    found = state.spread(SPOKEN_PERCENT)
    at = ", ".join(f"{p:.0f}" for p in SPOKEN_PERCENT[:-1])
    return (
        f"At {at} and {SPOKEN_PERCENT[-1]:.0f} %, the {len(state.agreeing)} that agree from "
        f"{_RANGE} lie {_apart(found['agreeing'])} points apart, those fitted to {DRAWS} studies "
        f"{_apart(found['fitted'])}. Lines alone spread by {_apart(found['line'])}, quadratics by "
        f"{_apart(found['quadratic'])}."
    )


def _apart(ends: FloatArray) -> str:
    """Write distances between lowest and highest answers, shape (2, m) [points]."""
    *first, last = (f"{each:.1f}" for each in np.diff(ends, axis=0)[0])
    return f"{', '.join(first)} and {last}"


def trend_sentence(state: BelowSeventy) -> str:
    """Say what the curves have in common when the blood falls and rises."""
    true = state.course[0] - state.course[state.course.size // 2]
    if abs(true) < 1.0:
        return "The blood stays where it is; lower the saturation to see a fall."
    way = "falls" if true > 0.0 else "rises"
    falls, of_others = (
        np.sign(true) * _falls(state, curves) for curves in (state.agreeing, state.others)
    )
    together = f"All {falls.size} that agree follow" if min(falls) > 0.0 else "Not all follow"
    rest = f" So do the {of_others.size} others." if min(of_others) > 0.0 else ""
    return (
        f"The blood {way} by {figure(abs(true))} points and comes back. {together}, at the same "
        f"time, by {figure(min(np.abs(falls)))} to {figure(max(np.abs(falls)))} points.{rest} The "
        "direction can be trusted further than the size."
    )


def _falls(state: BelowSeventy, curves: Mapping[str, Curve]) -> FloatArray:
    """By how much each curve falls from the start of the course to its middle [points]."""
    said = np.array([state.said_in_course(curve) for curve in curves.values()])
    return np.asarray(said[:, 0] - said[:, said.shape[1] // 2])


def answers_line(state: BelowSeventy) -> str:
    """Write in one line what curves that agree, and those that do not, say at a saturation."""
    at = np.array([state.true_percent])
    agreeing, fitted = (_span(*state.spread(at)[name][:, 0]) for name in ("agreeing", "fitted"))
    others = [state.answers[name] for name in state.others]
    return (
        f"blood {state.true_percent:.0f} %: {len(state.agreeing)} that agree {agreeing}, fits of "
        f"{DRAWS} studies {fitted}, {len(others)} others {_span(min(others), max(others))}"
    )


def _span(low: float, high: float) -> str:
    return f"{said(low)} to {said(high)}"
