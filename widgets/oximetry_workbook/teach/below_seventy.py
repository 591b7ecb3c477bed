"""Below 70 %: one finger's R, and what curves make of it that agree from 70 % up."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache, cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

from oximetry_workbook.body.quantities import check_fields, quantity
from oximetry_workbook.body.scenario import SPECS, Scenario, as_in_scenario
from oximetry_workbook.body.simulate import simulate
from oximetry_workbook.body.sites import SITES
from oximetry_workbook.meter.curve import TEXTBOOK, VALIDATED_PERCENT, Curve, published_curves
from oximetry_workbook.meter.measure import measure
from oximetry_workbook.teach.curves_together import site_curve, site_name
from oximetry_workbook.teach.ratio_to_number import CalibrationStudy

FloatArray = NDArray[np.float64]

TRUE_PERCENT = np.linspace(100.0, 40.0, 13)
"""Saturations of the blood at which a finger is simulated and measured [%]."""

MARKED_PERCENT = np.array([90.0, 80.0, 70.0, 60.0, 50.0, 40.0])
"""Saturations at which the spread of the answers is shown [%]."""

OWN = site_name("finger")
"""The curve that belongs to this probe."""

AGREE_POINTS = 3.0
"""Curves that keep as close to the blood from 70 to 100 % are said to agree: as far as A_rms may
go there. Source: FDA, Pulse Oximeters, guidance of 4 March 2013, docket FDA-2007-D-0205."""

DRAWS = 20
"""Volunteer studies whose fitted curves make a band."""

FORMS = ("line", "quadratic")

FALL_MINUTES = np.linspace(0.0, 4.0, 25)
"""Times of the fall and the rise [min]."""

REST_PERCENT = 95.0
"""Where the fall begins and ends [%]."""

READ_HIGH_TRUE, READ_HIGH_SHOWN = 50.0, 65.0
READ_HIGH_SLOPE, READ_HIGH_OFFSET, READ_HIGH_FROM = 0.94, 8.7, 75.0
"""A meter in print: y = 0.94 x + 8.7 above 75 %, about 65 when the blood carried about 50.
Source: Chapman, Liu, Watson and Rebuck 1986, Chest 89:540, abstract."""


@dataclass(frozen=True)
class BelowSeventy:
    """A finger, its saturation, and a volunteer study that made two of the curves.

    Attributes:
        draw: Which people the study's curves were fitted to, from 70 to 100 %.

    The other fields are those of a `Scenario`.

    Raises:
        ValueError: The message names the field, what was given and what is allowed.
    """

    arterial_saturation: float = field(default=0.5, metadata={"spec": SPECS["arterial_saturation"]})
    blood_volume_scale: float = as_in_scenario("blood_volume_scale")
    thickness_scale: float = as_in_scenario("thickness_scale")
    draw: float = quantity(1, 1, 50, "", "Another draw of volunteers", 1, whole=True)

    def __post_init__(self) -> None:
        check_fields(self)

    @property
    def true_percent(self) -> float:
        """Saturation of the blood [%]."""
        return 100.0 * self.arterial_saturation

    @cached_property
    def ratio(self) -> float:
        """R that the meter finds at the state's saturation."""
        return _measured(self.true_percent, self.blood_volume_scale, self.thickness_scale)

    @cached_property
    def ratios(self) -> FloatArray:
        """R that the meter finds at `TRUE_PERCENT`; shape (13,)."""
        return measured_ratios(self.blood_volume_scale, self.thickness_scale)

    @cached_property
    def fitted(self) -> Mapping[str, Curve]:
        """Line and quadratic through the pairs of the study's volunteers."""
        return CalibrationStudy(draw=self.draw).curves

    @property
    def groups(self) -> Mapping[str, Mapping[str, Curve]]:
        """All curves: published, simulated at the four sites, fitted to volunteers; by name."""
        sites = {site_name(site): site_curve(site) for site in SITES}
        return {"published": published_curves, "simulated": sites, "fitted": self.fitted}

    @property
    def curves(self) -> Mapping[str, Curve]:
        """The ten curves by name."""
        return {name: curve for group in self.groups.values() for name, curve in group.items()}

    @property
    def agreeing(self) -> Mapping[str, Curve]:
        """Those that lie within `AGREE_POINTS` of the blood from 70 to 100 %, by name."""
        return {n: curve for n, curve in self.curves.items() if agrees(curve)}

    @property
    def others(self) -> Mapping[str, Curve]:
        """Those that already disagree from 70 to 100 %, by name."""
        return {n: curve for n, curve in self.curves.items() if not agrees(curve)}

    @property
    def answers(self) -> Mapping[str, float]:
        """What each curve says to the R found [%], by name; not clipped."""
        return {name: float(curve(self.ratio)) for name, curve in self.curves.items()}

    def said(self, curve: Curve) -> FloatArray:
        """What a curve says to R at `TRUE_PERCENT` [%]; not clipped; shape (13,)."""
        return np.asarray(curve(self.ratios))

    def spread(self, true_percent: FloatArray) -> Mapping[str, FloatArray]:
        """Lowest and highest answer of curves that agree from 70 to 100 % [%], not clipped.

        "agreeing" holds those of the state, "fitted" the curves of `DRAWS` studies, and "line"
        and "quadratic" these by their form.

        Args:
            true_percent: Saturations of the blood [%], 40 to 100; shape (m,).

        Returns:
            By group, each of shape (2, m). R between simulated saturations is interpolated.
        """
        ratio = np.interp(true_percent, TRUE_PERCENT[::-1], self.ratios[::-1])
        fits = curves_of_studies()
        groups = {"agreeing": tuple(self.agreeing.values()), "fitted": fits}
        groups |= {form: fits[n :: len(FORMS)] for n, form in enumerate(FORMS)}
        found = {}
        for name, group in groups.items():
            said = np.array([np.asarray(curve(ratio)) for curve in group])
            found[name] = np.array([said.min(axis=0), said.max(axis=0)])
        return found

    @property
    def course(self) -> FloatArray:
        """Saturation of the blood in a fall to the state's and a rise [%]; shape (25,)."""
        dip = np.sin(np.pi * FALL_MINUTES / FALL_MINUTES[-1]) ** 2
        return REST_PERCENT + (self.true_percent - REST_PERCENT) * dip

    def said_in_course(self, curve: Curve) -> FloatArray:
        """What a curve says along `course` [%], not clipped; shape (25,)."""
        ratio = np.interp(self.course, TRUE_PERCENT[::-1], self.ratios[::-1])
        return np.asarray(curve(ratio))

    @property
    def beyond(self) -> bool:
        """Whether the blood carries less than meters are held against."""
        return self.true_percent < VALIDATED_PERCENT[0]


def off_inside(curve: Curve) -> float:
    """How far a curve strays from the blood of the reference finger, 70 to 100 % [points]."""
    return float(np.abs(_errors_inside(curve)).max())


def agrees(curve: Curve) -> bool:
    """Whether a curve lies within `AGREE_POINTS` of the blood from 70 to 100 %."""
    return off_inside(curve) <= AGREE_POINTS


def odd_one() -> Curve:
    """The published curve that strays furthest from the blood from 70 to 100 %."""
    return max(published_curves.values(), key=off_inside)


def _errors_inside(curve: Curve) -> FloatArray:
    errors = np.asarray(curve(measured_ratios(1.0, 1.0))) - TRUE_PERCENT
    return errors[VALIDATED_PERCENT[0] <= TRUE_PERCENT]


def textbook_answer(state: BelowSeventy) -> float:
    """What the textbook line says [%], not clipped."""
    return state.answers[TEXTBOOK.name]


@lru_cache(maxsize=32)
def measured_ratios(blood_volume_scale: float, thickness_scale: float) -> FloatArray:
    """R that the meter finds in a finger at `TRUE_PERCENT`; read-only, shape (13,).

    Args:
        blood_volume_scale: As in a `Scenario`.
        thickness_scale: As in a `Scenario`.
    """
    found = np.array([_measured(p, blood_volume_scale, thickness_scale) for p in TRUE_PERCENT])
    found.flags.writeable = False  # the cache hands the same array to all who ask
    return found


@lru_cache(maxsize=256)
def _measured(true_percent: float, blood_volume_scale: float, thickness_scale: float) -> float:
    scenario = Scenario(
        arterial_saturation=true_percent / 100.0,
        blood_volume_scale=blood_volume_scale,
        thickness_scale=thickness_scale,
    )
    ratio = measure(simulate(scenario)).ratio
    if ratio is None:
        raise RuntimeError(f"no R at {true_percent:g} %, though the pulse is strong")
    return ratio


@cache
def curves_of_studies() -> tuple[Curve, ...]:
    """Curve of each of `FORMS` for `DRAWS` volunteer studies, each with other people."""
    studies = [CalibrationStudy(draw=draw) for draw in range(1, DRAWS + 1)]
    return tuple(study.curves[form] for study in studies for form in FORMS)
