"""Means and intervals of many readings, against scipy."""

import numpy as np
import pytest
from scipy import stats

from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.body.simulate import simulate
from oximetry_workbook.meter.measure import measure
from oximetry_workbook.teach.many_readings import FEWEST, ManyReadings, shown_percent

VALUES = np.array([[1.0, 2.0, np.nan, 4.0, 7.0], [0.5, np.nan, np.nan, np.nan, 1.0]])


def test_mean_spread_and_interval_are_those_of_scipy():
    many, shown = ManyReadings(VALUES), VALUES[0][np.isfinite(VALUES[0])]
    low, high = stats.t.interval(0.95, shown.size - 1, shown.mean(), stats.sem(shown))
    assert many.mean[0] == pytest.approx(shown.mean())
    assert many.sd[0] == pytest.approx(shown.std(ddof=1))
    assert many.mean[0] - many.half_width[0] == pytest.approx(low)
    assert many.mean[0] + many.half_width[0] == pytest.approx(high)


def test_too_few_tell_nothing():
    many = ManyReadings(VALUES)
    assert many.shown[1] < FEWEST <= many.shown[0]
    for told in (many.mean, many.sd, many.half_width):
        assert np.isfinite(told[0])
        assert np.isnan(told[1])


@pytest.mark.parametrize("withheld", [0, 1, 17, 40])
def test_how_often_is_withheld_with_the_interval_of_wilson(withheld):
    values = np.zeros(40)
    values[:withheld] = np.nan
    many = ManyReadings(values)
    wilson = stats.binomtest(withheld, 40).proportion_ci(0.95, method="wilson")
    assert many.withheld_percent == pytest.approx(100.0 * withheld / 40)
    low, high = many.withheld_interval_percent
    assert low == pytest.approx(100.0 * wilson.low, abs=1e-4)
    assert high == pytest.approx(100.0 * wilson.high, abs=1e-4)


def test_one_reading_is_that_of_ten_seconds_and_none_where_withheld():
    assert shown_percent(Scenario(), 3) == measure(simulate(Scenario(), 10.0, seed=3)).spo2_percent
    assert np.isnan(shown_percent(Scenario(perfusion_index_percent=0.05, noise_percent=1.0), 0))
