"""What may be spent, what was, and whether that is within the budget."""

from dataclasses import asdict, dataclass

NOT_MEASURED = "not measured"


@dataclass(frozen=True)
class Budget:
    """A limit and what was measured against it.

    Attributes:
        what: What is counted.
        limit: At most so much of it.
        unit: In this unit, written after both numbers.
        measured: So much it was; None where it could not be measured.
        floor: What it is compared with, as measured in the same run.
    """

    what: str
    limit: float
    unit: str
    measured: float | None
    floor: str = "–"

    @property
    def held(self):
        """Whether it was held; None where nothing was measured."""
        return None if self.measured is None else bool(self.measured <= self.limit)

    def verdict(self):
        """Whether it held, "yes" or "no"; or that it was not measured."""
        return NOT_MEASURED if self.held is None else ("no", "yes")[self.held]

    def row(self):
        """Cells of a table of budgets."""
        measured = NOT_MEASURED if self.measured is None else self._with_unit(self.measured)
        limit = f"at most {self._with_unit(self.limit)}"
        return [self.what, limit, measured, self.floor, self.verdict()]

    def _with_unit(self, value):
        return f"{value:.3g} {self.unit}".rstrip()

    def line(self):
        """The same as a sentence."""
        _, limit, measured, _, verdict = self.row()
        return f"Budget: {self.what}: {limit}. Measured: {measured}. Held: {verdict}."

    def plain(self):
        """The same for JSON."""
        return asdict(self) | {"held": self.held}


def markdown(budgets):
    """A table of budgets."""
    head = ["what", "budget", "measured", "beside it in the same run", "held"]
    lines = [head, ["---"] * len(head), *(each.row() for each in budgets)]
    body = "\n".join("| " + " | ".join(line) + " |" for line in lines)
    return f"## Budgets\n\n{body}\n"
