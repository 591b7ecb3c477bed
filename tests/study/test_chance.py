"""Chance: against direct simulation, scipy's normal tails, and what must hold whatever the case."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import norm

from oximetry_workbook.body.quantities import specs_of
from oximetry_workbook.study.cells import SATURATION_PERCENT, log_below, log_shown
from oximetry_workbook.study.chance import (
    after,
    before,
    low_by_day,
    low_every_time,
    predictive_value,
    shown_at_most,
)
from oximetry_workbook.study.people_and_meter import MeterError, People

PEOPLE = People(prevalence=0.05)
ERROR = MeterError(a_rms_points=2.5, bias_points=-0.5, person_share=0.3, sitting_share=0.4)
PERSONS = 1_500_000


def any_of(cls):
    fields = {name: st.floats(spec.low, spec.high) for name, spec in specs_of(cls).items()}
    return st.fixed_dictionaries(fields)


peoples = st.floats(0.001, 0.999).map(lambda share: People(prevalence=share))
errors = (
    any_of(MeterError)
    .filter(lambda values: abs(values["bias_points"]) <= 0.9 * values["a_rms_points"])
    .map(lambda values: MeterError(**values))
)


class Crowd:
    """Persons and readings drawn one by one, with no formula but the model's own words."""

    def __init__(self, people, error, persons, readings, other_days, seed):
        rng = np.random.default_rng(seed)
        self.low = rng.random(persons) < people.prevalence
        self.true = np.empty(persons)
        wanting = np.ones(persons, dtype=bool)
        while wanting.any():  # nobody is above 100 %: drawn again
            mean = np.where(self.low, people.low_mean_percent, people.healthy_mean_percent)
            sd = np.where(self.low, people.low_sd_points, people.healthy_sd_points)
            self.true[wanting] = rng.normal(mean[wanting], sd[wanting])
            wanting = self.true > 100.0
        variance = error.a_rms_points**2 - error.bias_points**2
        person = np.sqrt(variance * error.person_share)
        left = variance * (1.0 - error.person_share)
        sitting, moment = (
            np.sqrt(left * share) for share in (error.sitting_share, 1.0 - error.sitting_share)
        )
        out = self.true + error.bias_points + rng.normal(0.0, person, persons)
        sittings = readings if other_days else 1
        out = out[:, None] + rng.normal(0.0, sitting, (persons, sittings))
        out = out + rng.normal(0.0, moment, (persons, readings))
        self.shown = np.minimum(np.floor(out + 0.5), 100.0)


def agrees(found, share):
    """Whether a share lies within four standard errors of the one counted among many."""
    error = np.sqrt(share * (1.0 - share) / found.size)
    return abs(np.mean(found) - share) < 4.0 * error


@pytest.mark.parametrize("other_days", [False, True])
@pytest.mark.parametrize("readings", [(92,), (91, 94), (93, 94, 93)])
def test_belief_after_readings_against_direct_simulation(readings, other_days):
    crowd = Crowd(PEOPLE, ERROR, PERSONS, len(readings), other_days, seed=len(readings))
    chosen = np.all(crowd.shown == readings, axis=1)
    assert chosen.sum() > 2000
    belief = after(PEOPLE, ERROR, readings, other_days)
    assert agrees(crowd.low[chosen], belief.low_group)
    for percent in (90.0, 92.0, 94.0, 96.0):
        assert agrees(crowd.true[chosen] < percent, belief.below(percent))
    # the same check fails for a wrong idea of the people
    wrong = after(People(prevalence=0.2), ERROR, readings, other_days)
    assert not agrees(crowd.low[chosen], wrong.low_group)
    assert not agrees(crowd.true[chosen] < 94.0, wrong.below(94.0))


def test_mistaking_the_sitting_for_other_days_is_noticed():
    crowd = Crowd(PEOPLE, ERROR, PERSONS, 3, False, seed=4)
    chosen = np.all(crowd.shown == (92, 92, 92), axis=1)
    assert agrees(crowd.low[chosen], after(PEOPLE, ERROR, (92, 92, 92)).low_group)
    assert not agrees(crowd.low[chosen], after(PEOPLE, ERROR, (92, 92, 92), True).low_group)


def test_single_readings_under_a_threshold_against_direct_simulation():
    crowd = Crowd(PEOPLE, ERROR, PERSONS, 1, False, seed=5)
    low, healthy = shown_at_most(PEOPLE, ERROR, 92)
    assert agrees(crowd.shown[crowd.low] <= 92, low)
    assert agrees(crowd.shown[~crowd.low] <= 92, healthy)
    assert not agrees(crowd.shown[~crowd.low] <= 91, healthy)


@pytest.mark.parametrize("other_days", [False, True])
def test_low_every_time_against_direct_simulation(other_days):
    crowd = Crowd(PEOPLE, ERROR, PERSONS, 3, other_days, seed=7)
    low, healthy = low_every_time(PEOPLE, ERROR, 92, 3, other_days)
    seen = np.all(crowd.shown <= 92, axis=1)
    assert agrees(seen[crowd.low], low)
    assert agrees(seen[~crowd.low], healthy)
    # as if nothing were shared: the same check fails
    assert not agrees(seen[~crowd.low], shown_at_most(PEOPLE, ERROR, 92)[1] ** 3)


def test_low_once_is_low_every_time_of_one():
    for other_days in (False, True):
        once = low_every_time(PEOPLE, ERROR, 92, 1, other_days)
        assert once == pytest.approx(shown_at_most(PEOPLE, ERROR, 92), abs=1e-4)


def test_a_month_of_checks_against_direct_simulation():
    healthy = People(prevalence=0.0)
    crowd = Crowd(healthy, ERROR, 40_000, 60, True, seed=6)
    seen = np.cumsum(crowd.shown <= 92, axis=1) > 0
    by_day = low_by_day(healthy, ERROR, 92, checks_a_day=2)
    naive = low_by_day(healthy, ERROR, 92, checks_a_day=2, all_new=True)
    for day in (1, 7, 30):
        assert agrees(seen[:, 2 * day - 1], by_day[day - 1])
    assert not agrees(seen[:, -1], naive[-1])


@given(peoples, errors, st.lists(st.integers(80, 100), min_size=1, max_size=5), st.booleans())
def test_beliefs_are_probabilities_and_do_not_mind_the_order(people, error, readings, other_days):
    belief = after(people, error, readings, other_days)
    assert np.all(belief.shares >= 0.0)
    assert belief.shares.sum() == pytest.approx(1.0)
    assert -1e-12 <= belief.low_group <= 1.0 + 1e-12
    below = [belief.below(percent) for percent in (60.0, 90.0, 92.0, 94.0, 100.0)]
    assert np.all(np.diff(below) >= -1e-12)
    assert below[-1] == pytest.approx(1.0)
    again = after(people, error, readings[::-1], other_days)
    np.testing.assert_allclose(again.shares, belief.shares, atol=1e-9)


@given(errors, st.integers(75, 99))
def test_a_single_reading_has_no_other_day(error, reading):
    """One error of the same size, however it is split: the same belief."""
    plain = MeterError(error.a_rms_points, error.bias_points, 0.0, 0.0)
    beliefs = [
        after(PEOPLE, each, [reading], other_days)
        for each, other_days in ((error, False), (error, True), (plain, False))
    ]
    for belief in beliefs[1:]:
        np.testing.assert_allclose(belief.shares, beliefs[0].shares, atol=2e-5)


@given(errors, st.integers(75, 98))
def test_a_higher_reading_never_means_a_lower_saturation(error, reading):
    lower, higher = (after(PEOPLE, error, [each]) for each in (reading, reading + 1))
    assert higher.mean_percent > lower.mean_percent
    for percent in (88.0, 92.0, 95.0):
        assert higher.below(percent) <= lower.below(percent) + 1e-12


@given(errors, st.integers(60, 99), st.integers(1, 24))
def test_the_chance_of_a_low_reading_grows_by_day_and_stays_under_the_naive_one(
    error, threshold, checks
):
    by_day = low_by_day(PEOPLE, error, threshold, checks, 10)
    naive = low_by_day(PEOPLE, error, threshold, checks, 10, all_new=True)
    assert np.all(np.diff(by_day) >= -1e-12)
    assert np.all((by_day > -1e-12) & (by_day <= 1.0))
    assert np.all(by_day <= naive + 1e-9)  # Jensen: a spared person is likely to be spared again


def test_before_any_reading_belief_is_the_people():
    belief = before(PEOPLE)
    assert belief.low_group == PEOPLE.prevalence
    np.testing.assert_array_equal(belief.shares, PEOPLE.shares)
    assert belief.mean_percent == pytest.approx(0.95 * 96.5 + 0.05 * 88.0, abs=0.01)


def test_parts_of_the_error_add_up_and_repeats_take_away_only_the_new():
    parts = (ERROR.person_sd_points, ERROR.sitting_sd_points, ERROR.moment_sd_points)
    assert sum(part**2 for part in parts) + 0.5**2 == pytest.approx(2.5**2)
    for other_days in (False, True):
        assert ERROR.sd_of_mean(1, other_days) == pytest.approx(ERROR.spread_points)
    assert ERROR.sd_of_mean(10**9, True) == pytest.approx(ERROR.person_sd_points, rel=1e-6)
    assert ERROR.sd_of_mean(10**9, False) == pytest.approx(np.hypot(*parts[:2]), rel=1e-6)
    assert ERROR.sd_of_mean(3, True) < ERROR.sd_of_mean(3, False)


@pytest.mark.parametrize("scale", [1.0, 10.0, 300.0])
def test_normal_tails_against_scipy(scale):
    sds = scale * np.linspace(-1.0, 1.0, 801)
    np.testing.assert_allclose(log_below(sds), norm.logcdf(sds), rtol=2e-6, atol=1e-15)


def test_the_chance_of_a_number_shown_against_scipy():
    middles = np.linspace(88.0, 97.0, 91)
    np.testing.assert_allclose(
        np.exp(log_shown(92.0, middles, 1.3)),
        norm.cdf(92.5, middles, 1.3) - norm.cdf(91.5, middles, 1.3),
        rtol=1e-9,
    )
    np.testing.assert_allclose(np.exp(log_shown(100.0, middles, 1.3)), norm.sf(99.5, middles, 1.3))


def test_all_numbers_shown_add_up_to_one():
    middles = np.array([91.3, 97.0, 99.9])
    total = sum(np.exp(log_shown(float(shown), middles, 0.7)) for shown in range(80, 101))
    np.testing.assert_allclose(total, 1.0)


@given(st.floats(0.0, 1.0), st.floats(0.01, 1.0), st.floats(0.01, 1.0))
@settings(max_examples=50)
def test_the_table_of_two_by_two_counts_people(p, s, f):
    assert predictive_value(p, s, f) == pytest.approx(p * s / (p * s + (1 - p) * f))


def test_everybody_reads_at_most_full():
    assert shown_at_most(PEOPLE, ERROR, 100) == (1.0, 1.0)
    assert low_every_time(PEOPLE, ERROR, 100, 5) == (1.0, 1.0)
    np.testing.assert_array_equal(low_by_day(PEOPLE, ERROR, 100, 1, 3), np.ones(3))


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: after(PEOPLE, ERROR, []), "readings is empty"),
        (lambda: after(PEOPLE, ERROR, [92.5]), "whole numbers"),
        (lambda: after(PEOPLE, ERROR, [101]), "50 to 100"),
        (
            lambda: after(People(prevalence=0.0, healthy_sd_points=0.3), MeterError(1.0), [50]),
            "impossible",
        ),
        (lambda: shown_at_most(PEOPLE, ERROR, 20), "threshold_percent is 20"),
        (lambda: low_every_time(PEOPLE, ERROR, 20, 3), "threshold_percent is 20"),
        (lambda: low_every_time(PEOPLE, ERROR, 92, 0), "readings is 0"),
        (lambda: low_by_day(PEOPLE, ERROR, 92, 0), "checks_a_day is 0"),
        (lambda: low_by_day(PEOPLE, ERROR, 92, 2, days=0), "days is 0"),
        (lambda: predictive_value(2.0, 0.9, 0.1), "write 0.02 for 2 %"),
        (lambda: predictive_value(1.0, 0.0, 0.1), "nobody has a positive result"),
        (lambda: MeterError(a_rms_points=1.0, bias_points=1.0), "at most 0.9"),
        (lambda: MeterError(person_share=25.0), "person_share is 25"),
        (lambda: People(prevalence=2.0), "prevalence is 2"),
        (lambda: ERROR.sd_of_mean(0, False), "at least 1"),
    ],
)
def test_bad_input_is_refused_in_words(call, words):
    with pytest.raises(ValueError, match=words):
        call()


def test_cells_cover_all_saturations():
    assert SATURATION_PERCENT.size == 1000
    assert SATURATION_PERCENT[0] == pytest.approx(50.025)
    assert SATURATION_PERCENT[-1] == pytest.approx(99.975)
