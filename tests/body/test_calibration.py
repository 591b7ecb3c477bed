"""Many saturations at once are those of one probe after another."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from oximetry_workbook.body.calibration import (
    CALIBRATION_SATURATION,
    beer_lambert_calibration,
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


def test_straight_paths_give_the_ratio_of_the_printed_extinctions():
    """Beer and Lambert with Prahl 1998, omlc.org, rows 660 and 940 nm: HbO2 319.6 and 1214, HHb
    3226.56 and 693.44; R is 0.263 at 100 %, 4.65 at 0 %."""
    ratio, percent = beer_lambert_calibration()
    np.testing.assert_allclose(percent, np.arange(100.0, -1.0, -1.0), atol=1e-12)
    share = percent / 100.0
    red, infrared = 319.6 * share + 3226.56 * (1 - share), 1214 * share + 693.44 * (1 - share)
    np.testing.assert_allclose(ratio, red / infrared, rtol=1e-12)
    assert [round(ratio[0], 3), round(ratio[-1], 2)] == [0.263, 4.65]


def test_a_calibration_cannot_be_spoilt_by_those_who_read_it():
    table = diffusion_calibration("finger")
    assert table.shape == (2, CALIBRATION_SATURATION.size)
    with pytest.raises(ValueError, match="read-only"):
        table[0, 0] = 1.0
