"""Readings in the states a sentence has to tell apart, and random ones."""

import pytest
from hypothesis import strategies as st

from oximetry_workbook.body.quantities import Choice
from oximetry_workbook.body.scenario import SPECS, Scenario
from oximetry_workbook.teach.reading import read

SITUATIONS = {
    "ordinary": Scenario(),
    "withheld": Scenario(noise_percent=1.0, perfusion_index_percent=0.3),
    "extrapolated": Scenario(arterial_saturation=0.5),
    "weak pulse": Scenario(perfusion_index_percent=0.3),
    "too high": Scenario(arterial_saturation=0.75, methaemoglobin=0.5),
    "too low": Scenario(methaemoglobin=0.3),
}


@pytest.fixture(scope="session")
def readings():
    return {state: read(scenario) for state, scenario in SITUATIONS.items()}


def _values_of(spec):
    if isinstance(spec, Choice):
        return st.sampled_from(spec.options)
    return st.floats(spec.low, spec.high)


def _fits(values):
    return values["carboxyhaemoglobin"] + values["methaemoglobin"] <= 0.9


@pytest.fixture(scope="session")
def any_scenario():
    """Strategy for every scenario there can be."""
    fields = st.fixed_dictionaries({name: _values_of(spec) for name, spec in SPECS.items()})
    return fields.filter(_fits).map(lambda values: Scenario(**values))
