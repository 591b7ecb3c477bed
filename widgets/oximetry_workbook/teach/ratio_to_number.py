"""A volunteer study in small: what its curve is worth inside its data, and what beyond."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property, lru_cache

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from oximetry_workbook.body.quantities import check_fields, choice, quantity
from oximetry_workbook.meter.curve import VALIDATED_PERCENT, Curve
from oximetry_workbook.oxygen.dissociation import po2_mmhg
from oximetry_workbook.study.agreement import Agreement, difference_statistics
from oximetry_workbook.study.small_study import desaturate, draw_volunteers, fit_curve, true_ratios
from oximetry_workbook.teach.words import signed

FloatArray = NDArray[np.float64]

FDA_A_RMS_POINTS = 3.0
FDA_VOLUNTEERS, FDA_PAIRS = 10, 200
"""Largest A_rms of a probe that shines through, fewest volunteers and pairs, between 70 and
100 %. Source: FDA, Pulse Oximeters, guidance of 4 March 2013, docket FDA-2007-D-0205."""

RESEARCH_PERCENT = 60.0
"""How far down research studies have gone (Bickler and others 2005, Anesthesiology 102:715, with
readings between 60 and 70 %)."""

TRUE_PERCENT = np.linspace(100.0, 45.0, 23)
"""Saturations at which the volunteers' truth is drawn [%], far beyond what is taken."""

EXAMPLE_PERCENT = 50.0
"""Saturation at which extrapolation is held against the truth [%]."""

NEW_PEOPLE = 40
_NEW_DRAWS = 1000
"""Added to the number of a draw: other people than any draw holds."""


@dataclass(frozen=True)
class CalibrationStudy:
    """A study on simulated fingers, and which curve to fit to its pairs.

    Attributes:
        volunteers: How many people.
        spread: How far they and their LEDs differ, relative to `study.small_study.PEOPLE`.
        scatter_percent: Standard deviation of a single R, over R [%].
        fit: Form of the curve.
        lowest_percent: Lowest saturation taken [%].
        draw: Which people, and which chance.

    Raises:
        ValueError: The message names the field, what was given and what is allowed.
    """

    volunteers: float = quantity(10, 5, 40, "", "Volunteers", 1)
    spread: float = quantity(1.0, 0.0, 2.0, "", "Spread between people, relative", 0.1)
    scatter_percent: float = quantity(2.0, 0.0, 10.0, "%", "Measurement scatter of R", 0.5)
    fit: str = choice("Curve to fit", "line", "quadratic")
    lowest_percent: float = quantity(70.0, 50.0, 90.0, "%", "Lowest saturation taken", 1.0)
    draw: float = quantity(1, 1, 50, "", "Another draw of people", 1)

    def __post_init__(self) -> None:
        check_fields(self)

    @property
    def count(self) -> int:
        """Volunteers, as a whole number."""
        return round(self.volunteers)

    @cached_property
    def people(self) -> pd.DataFrame:
        """The volunteers; see `study.small_study.draw_volunteers`."""
        return draw_volunteers(self.count, round(self.draw), self.spread)

    @cached_property
    def pairs(self) -> pd.DataFrame:
        """Pairs of R and saturation; see `study.small_study.desaturate`."""
        return desaturate(self.people, self.lowest_percent, self.scatter_percent, round(self.draw))

    @cached_property
    def curves(self) -> dict[str, Curve]:
        """Both curves through the pairs, by form."""
        return {
            form: fit_curve(self.pairs, degree, self.lowest_percent)
            for degree, form in enumerate(("line", "quadratic"), start=1)
        }

    @property
    def curve(self) -> Curve:
        """The curve chosen."""
        return self.curves[self.fit]

    @property
    def other(self) -> Curve:
        """The curve not chosen."""
        return self.curves["quadratic" if self.fit == "line" else "line"]

    @cached_property
    def errors(self) -> FloatArray:
        """What the curve says less the truth, for each pair [points]; not clipped to 100 %."""
        return _errors(self.curve, self.pairs)

    @cached_property
    def agreement(self) -> Agreement:
        """Of the curve with the pairs it came from."""
        return difference_statistics(self.errors, self.pairs["subject"])

    @cached_property
    def new_agreement(self) -> Agreement:
        """Of the curve with pairs of other people of the same kind, from 70 to 100 %."""
        new = new_pairs(self.spread, self.scatter_percent, round(self.draw))
        return difference_statistics(_errors(self.curve, new), new["subject"])

    @cached_property
    def true_ratio(self) -> FloatArray:
        """R of each volunteer at `TRUE_PERCENT`, free of scatter; shape (people, 23)."""
        return true_ratios(self.people, TRUE_PERCENT / 100.0)

    @cached_property
    def mean_ratio(self) -> FloatArray:
        """The volunteers' mean R at `TRUE_PERCENT`; shape (23,)."""
        return np.asarray(self.true_ratio.mean(axis=0))

    def said_at(self, true_percent: float) -> dict[str, float]:
        """What both curves say where the volunteers' mean R is that of a true saturation [%]."""
        ratio = float(np.interp(true_percent, TRUE_PERCENT[::-1], self.mean_ratio[::-1]))
        return {form: curve(ratio) for form, curve in self.curves.items()}

    @property
    def largest_gap(self) -> float:
        """Largest difference of both curves where there are samples [points]."""
        taken = np.linspace(self.lowest_percent, 100.0, 61)
        ratio = np.interp(taken, TRUE_PERCENT[::-1], self.mean_ratio[::-1])
        return float(np.max(np.abs(self.curve(ratio) - self.other(ratio))))


def said_over_draws(study: CalibrationStudy, draws: int = 20) -> dict[str, FloatArray]:
    """What both curves of repeated studies say at a true 50 %.

    Args:
        study: What to repeat, each time with other people.
        draws: How often.

    Returns:
        Percent by form; each of shape (draws,).
    """
    said = [replace(study, draw=d).said_at(EXAMPLE_PERCENT) for d in range(1, draws + 1)]
    return {form: np.array([each[form] for each in said]) for form in ("line", "quadratic")}


@lru_cache(maxsize=4)
def new_pairs(spread: float, scatter_percent: float, draw: int) -> pd.DataFrame:
    """Pairs of forty people who had no part in the curve; not to be written to."""
    seed = draw + _NEW_DRAWS
    return desaturate(draw_volunteers(NEW_PEOPLE, seed, spread), 70.0, scatter_percent, seed)


def _errors(curve: Curve, pairs: pd.DataFrame) -> FloatArray:
    return np.asarray(curve(pairs["ratio"].to_numpy()) - pairs["sao2_percent"].to_numpy())


def formula(curve: Curve) -> str:
    """Write a line or quadratic with its coefficients, as in 110 − 25.0 R."""
    at = [float(curve(r)) for r in (0.0, 1.0, 2.0)]
    square = (at[2] - 2.0 * at[1] + at[0]) / 2.0
    slope = at[1] - at[0] - square
    words = f"{at[0]:.1f} {_term(slope, 'R')}"
    return words if curve.name == "line" else f"{words} {_term(square, 'R²')}"


def _term(coefficient: float, power: str) -> str:
    return f"{'−' if coefficient < 0 else '+'} {abs(coefficient):.1f} {power}"


def study_sentence(study: CalibrationStudy) -> str:
    """Say what the study found."""
    return (
        f"{study.count} volunteers, {len(study.pairs)} pairs. The {study.fit} is "
        f"{formula(study.curve)}; the points scatter about it by "
        f"{study.agreement.sd:.1f} saturation points."
    )


def beyond_sentence(study: CalibrationStudy) -> str:
    """Say what both curves make of a saturation that volunteers are spared."""
    said = study.said_at(EXAMPLE_PERCENT)
    return (
        f"Where there are samples, line and quadratic lie at most {study.largest_gap:.1f} "
        f"points apart. At a true {EXAMPLE_PERCENT:.0f} % the line says {said['line']:.1f} and "
        f"the quadratic {said['quadratic']:.1f}."
    )


def ethics_sentence(study: CalibrationStudy) -> str:
    """Say what the lowest saturation means for volunteers."""
    lowest, bound = study.lowest_percent, VALIDATED_PERCENT[0]
    pressure = f"At {lowest:.0f} % the oxygen pressure in the arteries is down to "
    pressure += f"{po2_mmhg(lowest / 100.0):.0f} mmHg."
    if lowest < RESEARCH_PERCENT:
        return (
            f"No ethics committee would allow {lowest:.0f} %. {pressure} Brain and heart would be "
            "in danger; only simulated volunteers go there."
        )
    if lowest < bound:
        return (
            f"Below {bound:.0f} % hardly any ethics committee would agree. {pressure} Few "
            f"research studies went to {RESEARCH_PERCENT:.0f} %."
        )
    if lowest > bound:
        return (
            f"Kind to the volunteers, but the guidance asks for {bound:.0f} to 100 %: from "
            f"{lowest:.0f} % down this curve is guessed."
        )
    return f"Here volunteers stop, for their safety. {pressure}"


def error_sentence(study: CalibrationStudy) -> str:
    """Say how large the errors are, and what the guidance allows."""
    own, new = study.agreement, study.new_agreement
    low, high = own.intervals["a_rms"]
    shown_larger = round(own.sd, 1) > round(own.a_rms, 1)
    few = " (larger, to allow for few people)" if shown_larger else ""
    verdict = "within" if new.a_rms <= FDA_A_RMS_POINTS else "beyond"
    return (
        f"Bias {signed(own.bias)}, precision {own.sd:.1f}{few}, A_rms {own.a_rms:.1f} (95 % "
        f"interval {low:.1f} to {high:.1f}), on the people who made the curve. On "
        f"{new.n_subjects} others, from 70 to 100 %: A_rms {new.a_rms:.1f}, {verdict} the "
        f"{FDA_A_RMS_POINTS:.1f} that the guidance allows."
    )


def people_sentence(study: CalibrationStudy) -> str:
    """Say what few volunteers, or people who differ, do to the curve."""
    if study.spread == 0.0:
        return (
            "All volunteers are alike here, which no group is. What is left is measurement "
            "scatter, and the form of the curve."
        )
    if study.count < FDA_VOLUNTEERS or len(study.pairs) < FDA_PAIRS:
        return (
            f"{study.count} volunteers and {len(study.pairs)} pairs are fewer than the guidance’s "
            f"{FDA_VOLUNTEERS} and {FDA_PAIRS}. So few people may all lean to one side; look at "
            "another draw."
        )
    between, within = study.agreement.between_sd or 0.0, study.agreement.within_sd or 0.0
    sizes = f"Errors vary by {between:.1f} points from person to person and by {within:.1f} within"
    if between > within:
        return (
            f"{sizes} a person. A person’s points keep to one side of the curve: more samples of "
            "the same people help little, more people help."
        )
    return f"{sizes} a person. More samples help as well as more people do."
