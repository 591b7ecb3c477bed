"""Which assumption moves the number most: one at a time, and by its share of the variance."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from oximetry_workbook.body.quantities import Quantity
from oximetry_workbook.meter.curve import Curve
from oximetry_workbook.study.population import Distribution, Normal, Population
from oximetry_workbook.study.volunteers import Protocol, measured_ratios

FloatArray = NDArray[np.float64]
Model = Callable[[Mapping[str, FloatArray]], FloatArray]
"""From values of each assumption by name, (k,) each, to the number looked at; (k,)."""

CHANCE = "chance"

FEWEST_DRAWS, MOST_DRAWS = 64, 65_536
CONFIDENCE = 0.95
RESAMPLES = 200
"""Resamples of the draws, for the 95 % intervals of the indices."""


def assumptions(population: Population | None = None) -> dict[str, Distribution]:
    """What a reading rests on: how people and probes differ, and chance in R.

    Args:
        population: How far people differ; by default as `Population` states.

    Returns:
        Distribution of each assumption by name, as `reading_model` takes them.
    """
    chance = Normal("Chance in R", 0.0, 1.0)
    return {**(population or Population()).distributions(), CHANCE: chance}


def reading_model(
    true_percent: float, protocol: Protocol | None = None, curve: Curve | None = None
) -> Model:
    """Reading at one true saturation, as it follows from a person, a probe and chance.

    It is not cut off at 100 %, nor withheld when the pulse is weak, so that variance stays
    where it arises.

    Args:
        true_percent: Saturation of the arterial blood [%], 40 to 100.
        protocol: Site and noise of the probe; its plateaus are not used.
        curve: From R to saturation; by default the one computed for this probe.

    Returns:
        Model that takes values of the `assumptions` by name and gives readings [%].

    Raises:
        ValueError: The saturation is out of range.
    """
    Quantity("", "%", 40.0, 100.0, 1.0).checked("true_percent", true_percent)
    probe = protocol or Protocol()
    used = curve or probe.curve()

    def readings(values: Mapping[str, FloatArray]) -> FloatArray:
        saturation = np.full((values[CHANCE].size, 1), true_percent / 100.0)
        ratio = measured_ratios(values, saturation, values[CHANCE][:, None], probe, np.inf)
        return np.asarray(used(ratio[:, 0]))

    return readings


def one_at_a_time(
    model: Model, inputs: Mapping[str, Distribution], coverage: float = 0.9
) -> pd.DataFrame:
    """Move one assumption at a time from low to high, with all others at their medians.

    Args:
        model: What gives the number.
        inputs: Distribution of each assumption, by name.
        coverage: Share of people between low and high; 0.9 takes the 5th and 95th percentiles.

    Returns:
        One row an assumption, the largest swing first: assumption, label, low, high (its values),
        at_low, at_high (the number there), at_middle (with all at their medians), and swing
        (at_high less at_low).

    Raises:
        ValueError: There are no assumptions, or the coverage is out of range.
    """
    _check_inputs(inputs)
    Quantity("", "", 0.01, 0.999, 0.01).checked("coverage", coverage)
    shares = np.array([0.5 - coverage / 2.0, 0.5, 0.5 + coverage / 2.0])
    low, middle, high = np.array([each.ppf(shares) for each in inputs.values()]).T
    # rows: all at their medians, then each one low, then each one high
    rows = np.vstack([middle, np.where(np.eye(len(inputs)), low, middle),
                      np.where(np.eye(len(inputs)), high, middle)])  # fmt: skip
    number = model(dict(zip(inputs, rows.T, strict=True)))
    at_low, at_high = number[1:].reshape(2, -1)
    table = _named(inputs, low=low, high=high, at_low=at_low, at_high=at_high)
    table["at_middle"] = number[0]
    table["swing"] = at_high - at_low
    return table.sort_values("swing", key=np.abs, ascending=False, ignore_index=True)


def sobol(
    model: Model, inputs: Mapping[str, Distribution], draws: int = 1024, seed: int = 0
) -> pd.DataFrame:
    """Share of the number's variance that each assumption brings, alone and together with others.

    First order: what would go if this assumption were known. Total: what would stay if all others
    were. Where total exceeds first order, the assumption matters through others. Estimated by
    `scipy.stats.sobol_indices` (Saltelli and others 2010, Comput Phys Commun 181:259).

    Args:
        model: What gives the number; it is asked draws × (assumptions + 2) times.
        inputs: Distribution of each assumption, by name; they vary independently.
        draws: Draws of each, a power of 2 from 64 to 65 536.
        seed: The same seed gives the same table.

    Returns:
        One row an assumption, the largest total first: assumption, label, first_order,
        first_low, first_high, total, total_low, total_high; the ends are those of 95 % intervals.
        An index is only estimated: a small one may come out below 0.

    Raises:
        ValueError: There are no assumptions, draws are no such power of 2, the seed is negative,
            or the number does not vary.
    """
    from scipy import stats  # type: ignore[import-untyped]  # slow to import

    _check_inputs(inputs)
    _check_draws(draws)
    rng = np.random.default_rng(
        int(Quantity("", "", 0, 2**32, 1, whole=True).checked("seed", seed))
    )

    def numbers(values: FloatArray) -> FloatArray:
        found = model(dict(zip(inputs, values, strict=True)))
        if np.ptp(found) == 0.0:
            raise ValueError("the number does not vary; give at least one input a spread")
        return found

    found = stats.sobol_indices(
        func=numbers, n=draws, dists=list(inputs.values()), random_state=rng
    )
    around = found.bootstrap(confidence_level=CONFIDENCE, n_resamples=RESAMPLES)
    first, total = around.first_order.confidence_interval, around.total_order.confidence_interval
    table = _named(
        inputs,
        first_order=found.first_order,
        first_low=first.low,
        first_high=first.high,
        total=found.total_order,
        total_low=total.low,
        total_high=total.high,
    )
    return table.sort_values("total", ascending=False, ignore_index=True)


def _named(inputs: Mapping[str, Distribution], **columns: FloatArray) -> pd.DataFrame:
    labels = [each.label for each in inputs.values()]
    return pd.DataFrame({"assumption": list(inputs), "label": labels, **columns})


def _check_inputs(inputs: Mapping[str, Distribution]) -> None:
    if not inputs:
        raise ValueError("inputs has no assumptions; give at least one, by name")


def _check_draws(draws: object) -> None:
    power = isinstance(draws, int) and draws > 0 and draws & (draws - 1) == 0
    if not power or not FEWEST_DRAWS <= draws <= MOST_DRAWS:  # type: ignore[operator]
        raise ValueError(
            f"draws is {draws!r}; it must be a power of 2 from {FEWEST_DRAWS} to {MOST_DRAWS}, "
            "such as 1024"
        )
