"""Body and meter face to face: what goes in as physics comes out as a reading.

The truth is the scenario's own; the meter knows nothing of it but the light.
"""

import pytest

from oximetry_workbook.body.scenario import SPECS, Scenario
from oximetry_workbook.body.simulate import simulate
from oximetry_workbook.meter.measure import measure

SITES = SPECS["site"].options
SEEDS = range(4)
NOISE_OVER_PERFUSION = 0.005

every_site = pytest.mark.parametrize("site", SITES)
every_seed = pytest.mark.parametrize("seed", SEEDS)
every_duration = pytest.mark.parametrize("duration_s", [10.0, 30.0])


def assert_recovers(scenario, duration_s, seed):
    reading = measure(simulate(scenario, duration_s, seed=seed))
    assert reading.reason is None
    assert reading.spo2_percent == pytest.approx(100.0 * scenario.arterial_saturation, abs=1.0)
    assert reading.heart_rate_bpm == pytest.approx(scenario.heart_rate_bpm, abs=1.0)
    assert reading.perfusion_index_percent == pytest.approx(
        scenario.perfusion_index_percent, rel=0.05
    )


def scenario_with(perfusion=2.0, **fields):
    return Scenario(
        perfusion_index_percent=perfusion,
        noise_percent=NOISE_OVER_PERFUSION * perfusion,
        **fields,
    )


@every_site
@every_duration
@every_seed
@pytest.mark.parametrize("saturation", [0.7, 0.75, 0.8, 0.85, 0.9, 0.95, 1.0])
def test_saturation(site, duration_s, seed, saturation):
    assert_recovers(scenario_with(site=site, arterial_saturation=saturation), duration_s, seed)


@every_site
@every_duration
@every_seed
@pytest.mark.parametrize("rate_bpm", [40, 55, 72, 100, 140, 180])
def test_heart_rate(site, duration_s, seed, rate_bpm):
    assert_recovers(scenario_with(site=site, heart_rate_bpm=rate_bpm), duration_s, seed)


@every_site
@every_duration
@every_seed
@pytest.mark.parametrize("perfusion", [0.3, 1.0, 3.0, 10.0])
def test_perfusion_index(site, duration_s, seed, perfusion):
    assert_recovers(scenario_with(perfusion, site=site), duration_s, seed)


@every_seed
@pytest.mark.parametrize("table", SPECS["extinction_table"].options)
@pytest.mark.parametrize("saturation", [0.72, 0.98])
@pytest.mark.parametrize("rate_bpm", [45, 170])
@pytest.mark.parametrize("perfusion", [0.3, 10.0])
def test_corners(seed, table, saturation, rate_bpm, perfusion):
    scenario = scenario_with(
        perfusion,
        arterial_saturation=saturation,
        heart_rate_bpm=rate_bpm,
        extinction_table=table,
    )
    assert_recovers(scenario, 20.0, seed)


@every_site
@every_duration
@every_seed
def test_a_pulse_under_the_noise_is_withheld_and_told(site, duration_s, seed):
    buried = Scenario(site=site, perfusion_index_percent=0.1, noise_percent=0.5)
    reading = measure(simulate(buried, duration_s, seed=seed))
    assert reading.spo2_percent is None
    assert reading.reason
