"""Accuracy of a meter in a volunteer study: overall, by saturation, and by group of people.

One figure for everybody and every saturation hides what matters most: how the meter does where
saturation is low, and whether it does as well for one group of people as for another.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import combinations
from types import MappingProxyType
from typing import Any

import numpy as np
import pandas as pd

from oximetry_workbook.meter.curve import VALIDATED_PERCENT, Curve
from oximetry_workbook.study.agreement import Agreement, agreement, resampled_statistics
from oximetry_workbook.study.columns import finite_vector
from oximetry_workbook.study.pairs import StudyPairs

DECILES_PERCENT = ((70.0, 80.0), (80.0, 90.0), (90.0, 100.0))
"""Ranges of blood saturation [%]; a value on an edge belongs to the higher one, 100 to the last."""

COMPARED = ("bias", "a_rms")


@dataclass(frozen=True)
class Part:
    """Agreement within a part of the pairs.

    Attributes:
        name: Of the range or the group.
        n: Pairs.
        n_subjects: Subjects.
        agreement: Its statistics [points]; None with fewer than two subjects.
    """

    name: str
    n: int
    n_subjects: int
    agreement: Agreement | None


@dataclass(frozen=True)
class GroupDifference:
    """How the meter differs between two groups, the first less the second [points].

    Attributes:
        first: Name of a group.
        second: Name of another.
        bias: Difference of the biases.
        a_rms: Difference of the A_rms.
        intervals: Confidence interval (low, high) of both, by name, each on its own: of several
            differences one may leave zero out by chance. Read-only.
    """

    first: str
    second: str
    bias: float
    a_rms: float
    intervals: Mapping[str, tuple[float, float]]


@dataclass(frozen=True, eq=False)
class Accuracy:
    """Accuracy of a study, all of the pairs with blood between 70 and 100 %.

    Attributes:
        overall: Of all of them.
        deciles: By saturation of the blood, `DECILES_PERCENT`.
        groups: By group, in order of appearance; empty without groups.
        differences: Between any two groups that have an agreement.
        subjects: One row a subject: subject, n, bias, a_rms, and its shares of the pairs and of
            the summed squared error, share_of_pairs and share_of_error (0 to 1).
        lowest_percent: Lowest blood saturation among the pairs [%].
        highest_percent: Highest [%].
        n_outside: Pairs passed over because the blood was below 70 %.
        n_without_reading: Pairs passed over because there was no reading.
        confidence: Of all intervals.
    """

    overall: Agreement
    deciles: tuple[Part, ...]
    groups: tuple[Part, ...]
    differences: tuple[GroupDifference, ...]
    subjects: pd.DataFrame
    lowest_percent: float
    highest_percent: float
    n_outside: int
    n_without_reading: int
    confidence: float


@dataclass(frozen=True)
class _Settings:
    confidence: float
    resamples: int
    seed: int


def accuracy(
    pairs: StudyPairs | pd.DataFrame | Mapping[str, Any],
    curve: Curve | None = None,
    confidence: float = 0.95,
    resamples: int = 2000,
    seed: int = 0,
) -> Accuracy:
    """Accuracy overall, by saturation decile and by group, and the differences between groups.

    Intervals of differences hold the middle of the differences of resampled studies: the
    subjects of each group are drawn with replacement, whole, as many as there are.

    Args:
        pairs: What `read_pairs` returns, or columns subject, sao2_percent and spo2_percent (or
            ratio and a curve), and group if there are any, as a table or as arrays by name.
        curve: Turns R into readings; they take the place of spo2_percent.
        confidence: Of the intervals, between 0 and 1.
        resamples: Resampled studies, 100 or more.
        seed: Makes the resampling repeatable.

    Returns:
        The statistics of SpO2 − SaO2 in points of percent, for blood from 70 to 100 %.

    Raises:
        ValueError: A column is missing, a subject belongs to two groups, or as in `agreement`.
    """
    table = _table(pairs, curve)
    without = table["spo2_percent"].isna()
    within = table["sao2_percent"].between(*VALIDATED_PERCENT)
    used = table[within & ~without].reset_index(drop=True)
    if used.empty:
        raise ValueError("no pair has a reading and blood between 70 and 100 %; give some")
    settings = _Settings(confidence, resamples, seed)
    overall = _agreement(used, settings)
    groups = _groups(used, settings)
    return Accuracy(
        overall=overall,
        deciles=_deciles(used, settings),
        groups=groups,
        differences=_differences(used, groups, settings),
        subjects=_subjects(used),
        lowest_percent=float(used["sao2_percent"].min()),
        highest_percent=float(used["sao2_percent"].max()),
        n_outside=int((~within & ~without).sum()),
        n_without_reading=int(without.sum()),
        confidence=confidence,
    )


def _table(
    pairs: StudyPairs | pd.DataFrame | Mapping[str, Any], curve: Curve | None
) -> pd.DataFrame:
    table = pd.DataFrame(pairs.table if isinstance(pairs, StudyPairs) else pairs)
    for name in ("subject", "sao2_percent", "spo2_percent" if curve is None else "ratio"):
        if name not in table:
            hint = "; give it, or ratio and a curve" if name == "spo2_percent" else ""
            raise ValueError(f"pairs has no column {name}{hint}")
    if curve is not None:
        table = table.assign(spo2_percent=curve(table["ratio"].to_numpy(dtype=np.float64)))
    sao2 = finite_vector("sao2_percent", table["sao2_percent"])
    if np.any(sao2 > VALIDATED_PERCENT[1]):
        raise ValueError(f"sao2_percent goes up to {sao2.max():g}; blood holds 100 % at most")
    try:
        spo2 = table["spo2_percent"].to_numpy(dtype=np.float64)
    except (TypeError, ValueError):
        raise ValueError("spo2_percent holds something that is not a number") from None
    table = table.assign(sao2_percent=sao2, spo2_percent=spo2)
    return _with_groups(table) if "group" in table else table


def _with_groups(table: pd.DataFrame) -> pd.DataFrame:
    if table["group"].isna().any():
        raise ValueError("group is missing in some rows; give every subject one, or drop it")
    table = table.assign(group=table["group"].astype(str))
    several = table.groupby("subject")["group"].nunique()
    if (several > 1).any():
        raise ValueError(
            f"subject {several.idxmax()} belongs to {several.max()} groups; people in one group "
            "each are compared here: correct it, or run the groups one by one"
        )
    return table


def _agreement(table: pd.DataFrame, settings: _Settings) -> Agreement:
    return agreement(
        table["spo2_percent"],
        table["sao2_percent"],
        table["subject"],
        settings.confidence,
        settings.resamples,
        settings.seed,
    )


def _part(name: str, table: pd.DataFrame, settings: _Settings) -> Part:
    n_subjects = table["subject"].nunique()
    result = _agreement(table, settings) if n_subjects > 1 else None
    return Part(name, len(table), n_subjects, result)


def _deciles(table: pd.DataFrame, settings: _Settings) -> tuple[Part, ...]:
    edges = [low for low, _ in DECILES_PERCENT[1:]]
    place = np.digitize(table["sao2_percent"], edges)
    return tuple(
        _part(f"{low:g} to {high:g} %", table[place == number], settings)
        for number, (low, high) in enumerate(DECILES_PERCENT)
    )


def _groups(table: pd.DataFrame, settings: _Settings) -> tuple[Part, ...]:
    if "group" not in table:
        return ()
    parts = table.groupby("group", sort=False)
    return tuple(_part(str(name), part, settings) for name, part in parts)


def _differences(
    table: pd.DataFrame, groups: tuple[Part, ...], settings: _Settings
) -> tuple[GroupDifference, ...]:
    resampled = {}
    for number, group in enumerate(groups):
        if group.agreement is not None:
            own = table[table["group"] == group.name]
            resampled[group.name] = resampled_statistics(
                own["spo2_percent"] - own["sao2_percent"],
                own["subject"],
                settings.resamples,
                settings.seed + 1 + number,  # groups are drawn independently of each other
            )
    statistics = {group.name: group.agreement for group in groups}
    tail = (1.0 - settings.confidence) / 2.0
    found = []
    for first, second in combinations(resampled, 2):
        intervals = {}
        for name in COMPARED:
            spread = resampled[first][name] - resampled[second][name]
            low, high = np.quantile(spread, [tail, 1.0 - tail])
            intervals[name] = (float(low), float(high))
        bias, a_rms = (
            float(getattr(statistics[first], name) - getattr(statistics[second], name))
            for name in COMPARED
        )
        found.append(GroupDifference(first, second, bias, a_rms, MappingProxyType(intervals)))
    return tuple(found)


def _subjects(table: pd.DataFrame) -> pd.DataFrame:
    error = table["spo2_percent"] - table["sao2_percent"]
    each = pd.DataFrame({"subject": table["subject"], "error": error, "square": error**2})
    by_subject = each.groupby("subject", sort=False).agg(
        n=("error", "size"), bias=("error", "mean"), total=("square", "sum")
    )
    total = float(by_subject["total"].sum())
    by_subject["a_rms"] = np.sqrt(by_subject["total"] / by_subject["n"])
    by_subject["share_of_pairs"] = by_subject["n"] / len(table)
    by_subject["share_of_error"] = by_subject["total"] / total if total > 0.0 else 0.0
    return by_subject.drop(columns="total").reset_index()
