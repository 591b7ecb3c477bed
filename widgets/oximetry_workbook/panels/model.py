"""The bench's state: controls write it, views read it, nothing else passes between them."""

from __future__ import annotations

import traitlets

from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.meter.curve import Curve
from oximetry_workbook.teach.reading import PROBE_CURVE, Reading, read


class BenchModel(traitlets.HasTraits):
    """What the bench stands on.

    Attributes:
        scenario: The situation; the one trait that controls write.
        curve: The calibration curve that the meter uses: one of `reading.CURVE_NAMES`, or a
            curve of the learner's own.
        reading: The situation taken through the chain; the one trait that views watch.
        reference: An earlier reading kept to compare with, or None.
    """

    scenario = traitlets.Instance(Scenario)
    curve = traitlets.Union(
        [traitlets.Unicode(), traitlets.Instance(Curve)], default_value=PROBE_CURVE
    )
    reading = traitlets.Instance(Reading)
    reference = traitlets.Instance(Reading, allow_none=True)

    def __init__(self, scenario: Scenario | None = None) -> None:
        scenario = scenario or Scenario()
        super().__init__(scenario=scenario, reading=read(scenario))
        self.observe(self._read, names=["scenario", "curve"])

    def set(self, name: str, value: object) -> None:
        """Change one field of the scenario.

        Raises:
            ValueError: For a value out of range; the state stays as it was.
        """
        self.scenario = self.scenario.replace(**{name: value})

    def keep_reference(self) -> None:
        """Keep the present reading as the one to compare with."""
        self.reference = self.reading

    def reset(self) -> None:
        """Go back to the default scenario and curve, without a reference."""
        self.reference = None
        self.curve = PROBE_CURVE
        self.scenario = Scenario()

    def start_from_ordinary(self) -> None:
        """Go back to the default scenario; curve and reference stay."""
        self.scenario = Scenario()

    def _read(self, _: object) -> None:
        self.reading = read(self.scenario, self.curve)
