"""Many saturations at once are those of one probe after another."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from oximetry_workbook.body.calibration import (
    CALIBRATION_SATURATION,
    diffusion_calibration,
    small_pulse_ratio,
    small_pulse_ratios,
)
from oximetry_workbook.body.probe import SMALL_PULSE, Probe


@settings(max_examples=25)
@given(st.data())
def test_many_saturations_at_once_are_those_one_by_one(any_scenario, data):
    scenario = data.draw(any_scenario)
    saturation = data.draw(st.lists(st.floats(0.4, 1.0), min_size=1, max_size=4))

    def ratio(fraction):
        probe = Probe(scenario.replace(arterial_saturation=fraction))
        arterial = probe.resting_arterial_fraction + np.array([0.0, SMALL_PULSE])
        light = probe.log_light(arterial, np.full(2, probe.resting_venous_fraction))
        red, infrared = light[:, 0] - light[:, 1]
        return red / infrared

    one_by_one = [ratio(fraction) for fraction in saturation]
    together = small_pulse_ratios(scenario, np.array(saturation))
    np.testing.assert_allclose(together, one_by_one, rtol=1e-9)
    assert small_pulse_ratio(scenario, saturation[0]) == pytest.approx(together[0], rel=1e-12)


def test_a_calibration_cannot_be_spoilt_by_those_who_read_it():
    table = diffusion_calibration("finger")
    assert table.shape == (2, CALIBRATION_SATURATION.size)
    with pytest.raises(ValueError, match="read-only"):
        table[0, 0] = 1.0
