"""How late blood from the heart comes to where a probe sits."""

from __future__ import annotations

from dataclasses import dataclass

from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.body.sites import SITES


@dataclass(frozen=True)
class Place:
    """A place for a probe in a body that is warm or cold.

    Attributes:
        site: Key of `sites.SITES`.
        delay_s: Mean time of the blood from the heart [s].
        vasoconstriction: How far the vessels are narrowed, as in `Scenario`.
    """

    site: str
    delay_s: float
    vasoconstriction: float = 0.0

    def scenario(self, **changes: object) -> Scenario:
        """A person with a probe here, with the pulse that is usual here.

        Raises:
            ValueError: For an unknown field or a value out of range.
        """
        given: dict[str, object] = {
            "site": self.site,
            "vasoconstriction": self.vasoconstriction,
            "perfusion_index_percent": SITES[self.site].usual_perfusion_index_percent,
        }
        return Scenario().replace(**(given | changes))


PLACES = {
    "ear": Place("ear", 15.0),
    "finger": Place("finger", 30.0),
    "cold finger": Place("finger", 50.0, 0.7),
}
"""Places by name. Ear 10 to 20 s, finger 25 to 40 s, more when cold: common practice, no source
found. Young and others 1992 (Anesth Analg 74:189) found the ear ahead of the finger; Lindholm and
others 2007 (Aviat Space Environ Med 78:770) found the lowest value 15 s earlier there."""
