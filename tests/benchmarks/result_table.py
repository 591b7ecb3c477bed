"""A table of measurements, as Markdown and as JSON."""

from dataclasses import asdict, dataclass, field

import numpy as np
from budgets import Budget
from scoring import Share


@dataclass
class Table:
    """A heading, what was done, columns and rows; a cell is text, a number, a `Share` or None.

    Attributes:
        budgets: What of it has a limit.
    """

    title: str
    method: str
    columns: list[str]
    rows: list[list] = field(default_factory=list)
    budgets: list[Budget] = field(default_factory=list)

    def markdown(self):
        lines = [self.columns, ["---"] * len(self.columns), *self.rows]
        body = "\n".join("| " + " | ".join(map(_cell, line)) + " |" for line in lines)
        held = "".join(f"\n{budget.line()}\n" for budget in self.budgets)
        return f"## {self.title}\n\n{self.method}\n\n{body}\n{held}"

    def plain(self):
        """The same as plain dictionaries and lists, for JSON; what is no number becomes None."""
        budgets = [budget.plain() for budget in self.budgets]
        return _without_nan(asdict(self) | {"budgets": budgets})


def _cell(value):
    if value is None:
        return "–"
    if isinstance(value, Share):
        return _percent(value)
    if isinstance(value, float):
        return f"{value:.0f}" if abs(value) >= 100 else f"{value:.2g}"
    return str(value)


def _percent(share):
    if np.isnan(share.value):
        return "none"
    return f"{100 * share.value:.1f} ({100 * share.low:.1f} to {100 * share.high:.1f})"


def _without_nan(value):
    if isinstance(value, dict):
        return {name: _without_nan(each) for name, each in value.items()}
    if isinstance(value, list):
        return [_without_nan(each) for each in value]
    return None if isinstance(value, float) and np.isnan(value) else value
