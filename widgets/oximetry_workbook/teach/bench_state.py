"""What the bench's sliders and lists say, all in one: what its links and files carry."""

from __future__ import annotations

from dataclasses import dataclass, fields

from oximetry_workbook.body.quantities import choice
from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.meter.curve import Curve
from oximetry_workbook.teach.reading import CURVE_NAMES, PROBE_CURVE


@dataclass(frozen=True)
class BenchState(Scenario):
    """A scenario and the calibration curve that the meter reads it with.

    Attributes:
        curve: Name of the curve, one of `reading.CURVE_NAMES`.

    Raises:
        ValueError: As `Scenario`, and for an unknown curve.
    """

    curve: str = choice("Calibration curve", *CURVE_NAMES)

    @classmethod
    def of(cls, scenario: Scenario, curve: str | Curve = PROBE_CURVE) -> BenchState:
        """Join a scenario and a curve; one that a link cannot carry becomes the probe's own."""
        known = curve if isinstance(curve, str) and curve in CURVE_NAMES else PROBE_CURVE
        return cls(**{name: getattr(scenario, name) for name in _NAMES}, curve=known)

    @property
    def scenario(self) -> Scenario:
        """The scenario alone."""
        return Scenario(**{name: getattr(self, name) for name in _NAMES})


_NAMES = tuple(each.name for each in fields(Scenario))
