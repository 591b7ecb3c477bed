"""A small volunteer study: people who differ, lowered saturation, and a curve through the pairs.

It is the way a calibration curve is won: volunteers breathe less and less oxygen, blood samples
tell the truth, the probe tells R. Here the people are invented and R comes from photon diffusion.
"""

from __future__ import annotations

from typing import cast

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from oximetry_workbook.body.many_people import many_people_ratios
from oximetry_workbook.body.quantities import Quantity
from oximetry_workbook.body.scenario import SPECS
from oximetry_workbook.meter.curve import Curve
from oximetry_workbook.study.curve_forms import least_squares_fit

FloatArray = NDArray[np.float64]

PEOPLE = {
    "blood_volume_scale": (1.0, 0.25, True),
    "thickness_scale": (1.0, 0.08, False),
    "scattering_scale": (1.0, 0.12, True),
    "haemoglobin_g_per_l": (145.0, 13.0, False),
    "melanin_fraction": (0.08, 0.80, True),
    "red_peak_nm": (660.0, 1.5, False),
    "infrared_peak_nm": (940.0, 3.0, False),
}
"""Middle and spread of each field at spread 1: (median, standard deviation, whether the deviation
is that of the natural logarithm). Melanin runs from light to dark skin, 1.3 to 43 % (Jacques,
from memory); the LEDs are sorted ones. All spreads are our choice (common practice)."""

MOST_VOLUNTEERS = 1000
PLATEAUS = 7
SAMPLES_PER_PLATEAU = 3
"""Together 21 pairs a person: ten people give more than the 200 pairs that FDA's guidance of
4 March 2013 (docket FDA-2007-D-0205) asks for."""

PLATEAU_WANDERS_PERCENT = 1.0
"""Nobody's saturation stands still: samples lie up to this far from their plateau [%]."""

LOWEST_PERCENT, HIGHEST_LOWEST_PERCENT = 40.0, 95.0
FULL_PERCENT = 100.0

_PLACES, _SCATTER = 1, 2
"""Streams of chance, so that more scatter does not move the plateaus."""


def draw_volunteers(n: int, seed: int = 0, spread: float = 1.0) -> pd.DataFrame:
    """Draw invented people, each with a probe of one make.

    Fields vary independently and normally (some in their logarithm), as `PEOPLE` says, kept
    within the scenario's own bounds. The first people of a larger draw are those of a smaller.

    Args:
        n: People, 1 to 1000.
        seed: The same seed draws the same people.
        spread: How far they differ, relative to `PEOPLE`, 0 to 3; at 0 all are alike.

    Returns:
        One row a person, one column for each field of a `Scenario` that varies.

    Raises:
        ValueError: The number, the seed or the spread is out of range; the message names it.
    """
    _check_whole("n", n, 1, MOST_VOLUNTEERS)
    _check_whole("seed", seed, 0, 2**32)
    Quantity("Spread", "", 0.0, 3.0, 0.1).checked("spread", spread)
    chance = spread * np.random.default_rng(seed).standard_normal((n, len(PEOPLE)))
    columns = {}
    for (name, (middle, deviation, of_logarithm)), z in zip(PEOPLE.items(), chance.T, strict=True):
        value = middle * np.exp(deviation * z) if of_logarithm else middle + deviation * z
        spec = cast(Quantity, SPECS[name])
        columns[name] = np.clip(value, spec.low, spec.high)
    return pd.DataFrame(columns)


def desaturate(
    volunteers: pd.DataFrame,
    lowest_percent: float = 70.0,
    scatter_percent: float = 2.0,
    seed: int = 0,
) -> pd.DataFrame:
    """Lower every volunteer's saturation in seven plateaus and take three pairs on each.

    Plateaus are evenly spaced from just under 100 % to just above the lowest saturation; no
    sample lies outside of these two. The blood sample is taken to be exact.

    Args:
        volunteers: What `draw_volunteers` returns; columns are fields of a `Scenario`.
        lowest_percent: Lowest saturation taken [%], 40 to 95.
        scatter_percent: Standard deviation of a single R from sample to sample, over R [%],
            0 to 20: noise, small movements, a pulse that changes.
        seed: Of places and scatter. The first people's pairs do not depend on later people.

    Returns:
        Columns subject (row number of the volunteer), sao2_percent and ratio (R); 21 rows for
        each volunteer, in their order.

    Raises:
        ValueError: There are no volunteers, a column is no field of a `Scenario`, or a number
            is out of range; the message names it.
    """
    if volunteers.empty:
        raise ValueError("volunteers has no rows; draw at least one with draw_volunteers")
    lowest = Quantity("Lowest", "%", LOWEST_PERCENT, HIGHEST_LOWEST_PERCENT, 1.0)
    lowest.checked("lowest_percent", lowest_percent)
    Quantity("Scatter", "%", 0.0, 20.0, 0.5).checked("scatter_percent", scatter_percent)
    _check_whole("seed", seed, 0, 2**32)
    sao2 = _sample_places(len(volunteers), lowest_percent, seed)
    chance = np.random.default_rng([seed, _SCATTER]).standard_normal(sao2.shape)
    ratio = true_ratios(volunteers, sao2 / 100.0) * (1.0 + scatter_percent / 100.0 * chance)
    return pd.DataFrame(
        {
            "subject": np.repeat(np.arange(len(volunteers)), sao2.shape[1]),
            "sao2_percent": sao2.ravel(),
            "ratio": ratio.ravel(),
        }
    )


def _sample_places(people: int, lowest_percent: float, seed: int) -> FloatArray:
    """Saturation of every sample [%]; shape (people, 21)."""
    reach = PLATEAU_WANDERS_PERCENT
    plateaus = np.linspace(FULL_PERCENT - reach, lowest_percent + reach, PLATEAUS)
    rng = np.random.default_rng([seed, _PLACES])
    wander = rng.uniform(-reach, reach, (people, PLATEAUS * SAMPLES_PER_PLATEAU))
    return np.asarray(np.repeat(plateaus, SAMPLES_PER_PLATEAU) + wander)


def true_ratios(volunteers: pd.DataFrame, saturation: FloatArray) -> FloatArray:
    """Ratio of ratios R of each volunteer, free of scatter.

    Args:
        volunteers: As in `desaturate`.
        saturation: Fractions, 0 to 1; shape (m,) for the same ones, or (people, m).

    Returns:
        R; shape (people, m).
    """
    return many_people_ratios(
        {str(name): values.to_numpy() for name, values in volunteers.items()}, saturation
    )


def fit_curve(pairs: pd.DataFrame, degree: int, lowest_percent: float = 70.0) -> Curve:
    """Fit SaO2 = c0 + c1 R (+ c2 R²) to pairs by least squares.

    Args:
        pairs: Columns sao2_percent and ratio, as `desaturate` returns.
        degree: 1 for a line, 2 for a quadratic.
        lowest_percent: Lowest saturation taken [%], where the curve's range begins.

    Returns:
        The curve; outside the range taken it answers as extrapolated.

    Raises:
        ValueError: The degree is neither 1 nor 2, a column or a value is missing, or there are
            fewer different R than coefficients.
    """
    if degree not in (1, 2):
        raise ValueError(f"degree is {degree!r}; choose 1 for a line or 2 for a quadratic")
    ratio, sao2 = (_column(pairs, name) for name in ("ratio", "sao2_percent"))
    return Curve.polynomial(
        name="line" if degree == 1 else "quadratic",
        coefficients=least_squares_fit(ratio, sao2, (degree, 0)),
        source="Least squares through the pairs of simulated volunteers",
        valid_percent=(lowest_percent, FULL_PERCENT),
    )


def _column(pairs: pd.DataFrame, name: str) -> FloatArray:
    if name not in pairs:
        raise ValueError(f"pairs has no column {name}; it needs ratio and sao2_percent")
    values = pairs[name].to_numpy(dtype=np.float64)
    if not np.all(np.isfinite(values)):
        raise ValueError(f"{name} is missing in some rows of pairs; leave these rows out")
    return values


def _check_whole(name: str, value: object, low: int, high: int) -> None:
    whole = isinstance(value, int | np.integer) and not isinstance(value, bool)
    if not whole or not low <= cast(int, value) <= high:
        raise ValueError(f"{name} is {value!r}; it must be a whole number from {low} to {high}")
