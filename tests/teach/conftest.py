"""Readings in the states a sentence has to tell apart."""

import pytest

from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.teach.reading import read

SITUATIONS = {
    "ordinary": Scenario(),
    "withheld": Scenario(noise_percent=1.0, perfusion_index_percent=0.3),
    "extrapolated": Scenario(arterial_saturation=0.5),
    "weak pulse": Scenario(perfusion_index_percent=0.3),
    "too high": Scenario(arterial_saturation=0.75, bypass_percent=50.0),
    "too low": Scenario(red_peak_nm=640.0),
}


@pytest.fixture(scope="session")
def readings():
    return {state: read(scenario) for state, scenario in SITUATIONS.items()}
