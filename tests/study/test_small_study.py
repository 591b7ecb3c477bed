"""The small study: who is drawn, what is sampled, what is fitted, and what is refused."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from oximetry_workbook.body.calibration import small_pulse_ratio
from oximetry_workbook.body.scenario import SPECS, Scenario
from oximetry_workbook.study.small_study import (
    PEOPLE,
    PLATEAUS,
    SAMPLES_PER_PLATEAU,
    desaturate,
    draw_volunteers,
    fit_curve,
    true_ratios,
)

SAMPLES = PLATEAUS * SAMPLES_PER_PLATEAU

seeds = st.integers(0, 10_000)


@given(st.integers(1, 60), seeds, st.floats(0.0, 3.0))
def test_people_are_repeatable_scenarios_and_the_first_stay(n, seed, spread):
    people = draw_volunteers(n, seed, spread)
    assert people.shape == (n, len(PEOPLE))
    for name in people:
        assert people[name].between(SPECS[name].low, SPECS[name].high).all()
    pd.testing.assert_frame_equal(draw_volunteers(n + 3, seed, spread).head(n), people)


@given(seeds)
def test_without_spread_all_are_alike(seed):
    people = draw_volunteers(5, seed, 0.0)
    for name, (middle, *_) in PEOPLE.items():
        assert people[name].tolist() == pytest.approx([middle] * 5)


@pytest.mark.parametrize("spread", [0.5, 1.0])
@pytest.mark.parametrize("name", PEOPLE)
def test_people_spread_as_stated(name, spread):
    """A thousand people: the standard error of a standard deviation is 1/√2000, 2.2 %; the bounds
    of the scenario cut off less than 3 % of melanin and scattering."""
    middle, deviation, of_logarithm = PEOPLE[name]
    value = draw_volunteers(1000, 5, spread)[name].to_numpy()
    z = np.log(value / middle) if of_logarithm else value - middle
    assert np.std(z) == pytest.approx(spread * deviation, rel=0.09)
    assert abs(np.mean(z)) < 4.0 * spread * deviation / np.sqrt(1000)


def test_other_seeds_draw_other_people():
    assert not np.allclose(draw_volunteers(5, 1), draw_volunteers(5, 2))


@given(st.integers(1, 8), st.floats(40.0, 95.0), seeds)
def test_every_volunteer_gives_21_pairs_within_the_range(n, lowest, seed):
    pairs = desaturate(draw_volunteers(n, seed), lowest, seed=seed)
    assert pairs.groupby("subject").size().tolist() == [SAMPLES] * n
    assert pairs["sao2_percent"].between(lowest - 1e-9, 100.0).all()
    assert np.isfinite(pairs["ratio"]).all()


def test_plateaus_are_evenly_spaced_over_the_range():
    pairs = desaturate(draw_volunteers(200, 3), 70.0, seed=3)
    sao2 = pairs["sao2_percent"].to_numpy().reshape(200, PLATEAUS, SAMPLES_PER_PLATEAU)
    np.testing.assert_allclose(sao2.mean(axis=(0, 2)), np.linspace(99.0, 71.0, 7), atol=0.12)
    assert np.ptp(sao2, axis=(0, 2)).max() <= 2.0


def test_without_scatter_a_pair_is_the_persons_own_truth():
    people = draw_volunteers(4, 7)
    pairs = desaturate(people, 60.0, 0.0, seed=7)
    for subject, own in pairs.groupby("subject"):
        scenario = Scenario(**people.iloc[subject].to_dict())
        expected = [small_pulse_ratio(scenario, s / 100.0) for s in own["sao2_percent"]]
        np.testing.assert_allclose(own["ratio"], expected, rtol=1e-12)


@pytest.mark.parametrize("scatter", [1.0, 5.0])
def test_scatter_is_relative_and_as_stated(scatter):
    people = draw_volunteers(100, 2)
    noisy, clean = (desaturate(people, 70.0, each, seed=2) for each in (scatter, 0.0))
    share = noisy["ratio"] / clean["ratio"] - 1.0
    # 2100 pairs: standard error of a standard deviation 1.5 %
    assert 100.0 * share.std() == pytest.approx(scatter, rel=0.06)
    pd.testing.assert_series_equal(noisy["sao2_percent"], clean["sao2_percent"])


def test_more_people_do_not_move_the_pairs_of_the_first():
    few, many = (desaturate(draw_volunteers(n, 4), seed=4) for n in (5, 30))
    pd.testing.assert_frame_equal(many.head(len(few)), few)


def test_ratio_rises_as_saturation_falls():
    people = draw_volunteers(40, 9, 2.0)
    assert (np.diff(true_ratios(people, np.linspace(1.0, 0.4, 31)), axis=1) > 0.0).all()


def test_people_part_more_at_low_saturation():
    spread = true_ratios(draw_volunteers(40, 1), np.array([1.0, 0.85, 0.7, 0.5])).std(axis=0)
    assert (np.diff(spread) > 0.0).all()


def test_saturations_may_differ_from_person_to_person():
    people = draw_volunteers(3, 1)
    each = np.array([[0.9], [0.8], [0.7]])
    together = true_ratios(people, np.array([0.9, 0.8, 0.7]))
    np.testing.assert_allclose(true_ratios(people, each)[:, 0], np.diag(together))


@given(
    st.floats(80.0, 130.0),
    st.floats(-40.0, -10.0),
    st.floats(-5.0, 5.0),
    st.lists(st.floats(0.3, 3.0), min_size=6, max_size=30, unique=True).filter(
        lambda given: np.diff(np.sort(given)).min() > 0.01
    ),
)
def test_points_on_a_curve_give_that_curve_back(c0, c1, c2, ratio):
    ratio = np.array(ratio)
    for degree, square in ((1, 0.0), (2, c2)):
        true = c0 + c1 * ratio + square * ratio**2
        curve = fit_curve(pd.DataFrame({"ratio": ratio, "sao2_percent": true}), degree)
        np.testing.assert_allclose(curve(ratio), true, atol=1e-6)


@pytest.mark.parametrize("degree", [1, 2])
def test_nothing_is_left_for_the_fit_to_explain(degree):
    pairs = desaturate(draw_volunteers(10, 1), seed=1)
    left = pairs["sao2_percent"] - fit_curve(pairs, degree)(pairs["ratio"].to_numpy())
    for power in range(degree + 1):
        assert abs((left * pairs["ratio"] ** power).sum()) < 1e-7


def test_the_curve_knows_where_its_samples_end():
    curve = fit_curve(desaturate(draw_volunteers(10, 1), 80.0), 1, 80.0)
    assert curve.valid_percent == (80.0, 100.0)
    assert curve.extrapolated(curve.ratio_at(79.0))
    assert not curve.extrapolated(curve.ratio_at(81.0))


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: draw_volunteers(0), "n is 0; it must be a whole number from 1 to 1000"),
        (lambda: draw_volunteers(2.5), "n is 2.5; it must be a whole number"),
        (lambda: draw_volunteers(True), "n is True"),
        (lambda: draw_volunteers(5, -1), "seed is -1"),
        (lambda: draw_volunteers(5, 1, 9.0), "spread is 9; allowed is 0 to 3"),
        (lambda: draw_volunteers(5, 1, float("nan")), "spread is nan"),
        (lambda: desaturate(draw_volunteers(2), 20.0), "lowest_percent is 20; allowed is 40 to"),
        (lambda: desaturate(draw_volunteers(2), 70.0, 30.0), "scatter_percent is 30"),
        (lambda: desaturate(draw_volunteers(2).head(0)), "volunteers has no rows"),
        (lambda: desaturate(pd.DataFrame({"age": [30.0]})), "unknown field 'age'"),
        (lambda: true_ratios(draw_volunteers(1), np.array([1.2])), "saturation"),
        (lambda: fit_curve(desaturate(draw_volunteers(2)), 3), "degree is 3; choose 1"),
        (lambda: fit_curve(pd.DataFrame({"ratio": [1.0]}), 1), "pairs has no column sao2_percent"),
        (
            lambda: fit_curve(pd.DataFrame({"ratio": [1.0, 1.0], "sao2_percent": [85, 86]}), 1),
            "1 different R; give 2",
        ),
        (
            lambda: fit_curve(pd.DataFrame({"ratio": [1.0, np.nan], "sao2_percent": [85, 86]}), 1),
            "ratio is missing in some rows",
        ),
    ],
)
def test_what_is_refused_is_named(call, message):
    with pytest.raises(ValueError, match=message):
        call()
