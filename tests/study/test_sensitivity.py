"""Which assumption moves the number most: against published indices and closed forms."""

import numpy as np
import pytest
import scipy.stats
from hypothesis import given, settings
from hypothesis import strategies as st

from oximetry_workbook.body.calibration import small_pulse_ratio
from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.study.population import Normal, Population
from oximetry_workbook.study.sensitivity import (
    assumptions,
    one_at_a_time,
    reading_model,
    sobol,
)
from oximetry_workbook.study.volunteers import Protocol


class Uniform:
    """An even spread; the published test functions are made for such inputs."""

    def __init__(self, low, high):
        self.label, self.ends = "even", (low, high)

    def ppf(self, share):
        return self.ends[0] + share * (self.ends[1] - self.ends[0])


def by_name(table, column):
    return table.set_index("assumption")[column].sort_index().to_numpy()


def covered(table, name, true):
    """How many of the intervals hold the true index."""
    low, high = by_name(table, f"{name}_low"), by_name(table, f"{name}_high")
    return np.sum((low - 0.005 <= true) & (true <= high + 0.005))


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_ishigami_function_against_its_published_indices(seed):
    """Ishigami and Homma 1990, a = 7, b = 0.1; first order 0.3139, 0.4424, 0 and total 0.5576,
    0.4424, 0.2437 (Saltelli and others 2008, Global Sensitivity Analysis; the example in scipy's
    documentation of `sobol_indices` has the same function)."""

    def ishigami(x):
        return np.sin(x["x1"]) + 7.0 * np.sin(x["x2"]) ** 2 + 0.1 * x["x3"] ** 4 * np.sin(x["x1"])

    inputs = {name: Uniform(-np.pi, np.pi) for name in ("x1", "x2", "x3")}
    table = sobol(ishigami, inputs, 4096, seed)
    first, total = np.array([0.3139, 0.4424, 0.0]), np.array([0.5576, 0.4424, 0.2437])
    np.testing.assert_allclose(by_name(table, "first_order"), first, atol=0.02)
    np.testing.assert_allclose(by_name(table, "total"), total, atol=0.02)
    assert covered(table, "first", first) + covered(table, "total", total) >= 5


def test_a_group_without_people_stays_empty():
    """0.7 and 0.3 leave 5e-17 for the third by rounding, and nobody may be drawn from that."""
    pigment = Population(light_share=0.7, dark_share=0.3).pigment()
    assert pigment.shares == (0.7, 0.0, 0.3)
    assert set(pigment.group(np.linspace(0.0, 1.0, 1001)).tolist()) == {0, 2}


def test_g_function_against_its_closed_form():
    """Sobol's G function: the variance of each factor is 1 / (3 (1 + a)²) (Saltelli and others
    2010, Comput Phys Commun 181:259, from memory)."""
    a = np.array([0.0, 0.5, 3.0, 9.0])
    inputs = {f"x{i}": Uniform(0.0, 1.0) for i in range(4)}

    def g(x):
        each = [(np.abs(4.0 * x[f"x{i}"] - 2.0) + a[i]) / (1.0 + a[i]) for i in range(4)]
        return np.prod(each, axis=0)

    part = 1.0 / (3.0 * (1.0 + a) ** 2)
    whole = np.prod(1.0 + part) - 1.0
    table = sobol(g, inputs, 4096, 1)
    np.testing.assert_allclose(by_name(table, "first_order"), part / whole, atol=0.02)
    total = part * np.prod(1.0 + part) / (1.0 + part) / whole
    np.testing.assert_allclose(by_name(table, "total"), total, atol=0.02)


slopes = st.lists(st.floats(-5.0, 5.0), min_size=1, max_size=6)


@given(slopes, st.floats(0.1, 3.0), st.floats(0.05, 0.99), st.floats(-10.0, 10.0))
def test_one_at_a_time_of_a_linear_model_is_its_closed_form(slope, deviation, coverage, offset):
    """Swing = slope × 2 z × standard deviation, z the normal quantile (scipy)."""
    inputs = {f"x{i}": Normal("", float(i), deviation) for i in range(len(slope))}
    table = one_at_a_time(
        lambda x: offset + sum(s * x[f"x{i}"] for i, s in enumerate(slope)), inputs, coverage
    )
    z = scipy.stats.norm.ppf(0.5 + coverage / 2.0)
    expected = 2.0 * z * deviation * np.array(slope)
    np.testing.assert_allclose(by_name(table, "swing"), expected, atol=1e-9)
    middle = offset + sum(s * i for i, s in enumerate(slope))
    np.testing.assert_allclose(table["at_middle"], middle, atol=1e-9)
    np.testing.assert_allclose((table["at_low"] + table["at_high"]) / 2.0, middle, atol=1e-9)
    assert (np.diff(table["swing"].abs()) <= 1e-12).all()
    np.testing.assert_allclose(by_name(table, "high") - by_name(table, "low"), 2 * z * deviation)


@settings(max_examples=10)
@given(st.lists(st.floats(0.5, 5.0), min_size=2, max_size=5), st.integers(0, 1000))
def test_indices_of_a_linear_model_are_its_shares_of_variance(slope, seed):
    """slope² over their sum, first order and total alike."""
    inputs = {f"x{i}": Normal("", 0.0, 1.0) for i in range(len(slope))}
    table = sobol(lambda x: sum(s * x[f"x{i}"] for i, s in enumerate(slope)), inputs, 4096, seed)
    share = np.square(slope) / np.sum(np.square(slope))
    np.testing.assert_allclose(by_name(table, "first_order"), share, atol=0.05)
    np.testing.assert_allclose(by_name(table, "total"), share, atol=0.05)
    assert (np.diff(table["total"]) <= 0.0).all()


def test_the_seed_decides():
    model, inputs = reading_model(85.0), assumptions()
    again = [sobol(model, inputs, 64, seed)["total"].to_numpy() for seed in (1, 1, 2)]
    np.testing.assert_array_equal(again[0], again[1])
    assert not np.array_equal(again[0], again[2])


@pytest.mark.parametrize("site", ["finger", "wrist"])
def test_a_swing_is_what_two_scenarios_read(site):
    """Each end through a `Scenario`, `small_pulse_ratio` and the probe's curve."""
    protocol = Protocol(site=site)
    inputs = assumptions()
    table = one_at_a_time(reading_model(80.0, protocol), inputs).set_index("assumption")
    medians = {
        name: float(each.ppf(np.array([0.5]))[0])
        for name, each in inputs.items()
        if name not in ("chance", "perfusion_index_percent")
    }
    for name in ("blood_volume_scale", "venous_difference", "infrared_peak_nm"):
        for end in ("low", "high"):
            who = Scenario(site=site, **{**medians, name: table.loc[name, end]})
            expected = protocol.curve()(small_pulse_ratio(who, 0.8))
            assert table.loc[name, f"at_{end}"] == pytest.approx(expected, abs=1e-8)


def test_perfusion_matters_through_chance_alone():
    """At the median of chance a weak pulse reads as a strong one; with noise it strews more, so
    that its total index is there while its first order is not."""
    model, inputs = reading_model(95.0, Protocol(noise_percent=0.3)), assumptions()
    swing = one_at_a_time(model, inputs).set_index("assumption")["swing"]
    assert swing["perfusion_index_percent"] == 0.0
    assert swing["chance"] < -1.0
    table = sobol(model, inputs, 2048).set_index("assumption")
    assert table.loc["perfusion_index_percent", "total"] > 0.1
    assert abs(table.loc["perfusion_index_percent", "first_order"]) < 0.1


def test_what_is_spread_less_matters_less():
    narrow = assumptions(Population(venous_difference_sd=0.02))
    wide = assumptions(Population(venous_difference_sd=0.10))
    totals = [
        sobol(reading_model(80.0), each, 256).set_index("assumption")["total"]
        for each in (narrow, wide)
    ]
    assert totals[0]["venous_difference"] < 0.1 < 0.5 < totals[1]["venous_difference"]


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: reading_model(20.0), "true_percent is 20; allowed is 40 to 100 %"),
        (lambda: one_at_a_time(lambda x: x, {}), "inputs has no assumptions"),
        (lambda: sobol(lambda x: x, {}), "inputs has no assumptions"),
        (lambda: one_at_a_time(reading_model(90.0), assumptions(), 1.0), "coverage is 1;"),
        (lambda: sobol(reading_model(90.0), assumptions(), 1000), "draws is 1000; it must be a po"),
        (lambda: sobol(reading_model(90.0), assumptions(), 32), "draws is 32"),
        (lambda: sobol(reading_model(90.0), assumptions(), 1024.0), "draws is 1024.0"),
        (lambda: sobol(reading_model(90.0), assumptions(), 64, -1), "seed is -1"),
        (
            lambda: sobol(lambda x: 0.0 * x["x"], {"x": Uniform(0.0, 1.0)}, 64),
            "the number does not vary",
        ),
    ],
)
def test_what_is_refused_is_named(call, message):
    with pytest.raises(ValueError, match=message):
        call()
