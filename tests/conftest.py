"""What tests of several layers share."""

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st

from oximetry_workbook.body.quantities import Choice
from oximetry_workbook.body.scenario import SPECS, Scenario

# A busy machine must not fail a test.
settings.register_profile("patient", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("patient")


def pytest_collection_modifyitems(items):
    """Run the browser's tests last: from the first of them on, Playwright's event loop runs."""
    items.sort(key=lambda item: "browser" in item.path.parts)


def _values_of(spec):
    if isinstance(spec, Choice):
        return st.sampled_from(spec.options)
    if spec.whole:
        return st.integers(int(spec.low), int(spec.high))
    return st.floats(spec.low, spec.high)


def _fits(values):
    return values["carboxyhaemoglobin"] + values["methaemoglobin"] <= 0.9


@pytest.fixture(scope="session")
def any_scenario():
    """Strategy for every scenario there can be."""
    fields = st.fixed_dictionaries({name: _values_of(spec) for name, spec in SPECS.items()})
    return fields.filter(_fits).map(lambda values: Scenario(**values))
