"""Below 70 %: figures in print, and the published curves worked by hand."""

import numpy as np
import pytest

from oximetry_workbook.body.probe import Probe
from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.meter.curve import VALIDATED_PERCENT, published_curves
from oximetry_workbook.teach.below_seventy import (
    READ_HIGH_FROM,
    READ_HIGH_OFFSET,
    READ_HIGH_SHOWN,
    READ_HIGH_SLOPE,
    READ_HIGH_TRUE,
    BelowSeventy,
)

WITH_OXYGEN, WITHOUT = np.array([0.080, 0.294]), np.array([0.814, 0.183])
"""Absorption of HbO2 and HHb at 660 and 940 nm [L/(mmol haem cm)]: Zijlstra, Buursma and van
Assendelft 2000, Visible and Near Infrared Absorption Spectra, the 17-wavelength table."""


def test_the_meter_in_print():
    """Chapman, Liu, Watson and Rebuck 1986, Chest 89:540, abstract: y = 0.94 SaO2 + 8.7 above
    75 percent; about 65 percent when SaO2 was about 50. The line's own mean there, 0.09 percent
    off, checks that slope and offset belong together."""
    assert (READ_HIGH_SLOPE, READ_HIGH_OFFSET, READ_HIGH_FROM) == (0.94, 8.7, 75.0)
    assert (READ_HIGH_TRUE, READ_HIGH_SHOWN) == (50.0, 65.0)
    middle = (READ_HIGH_FROM + 100.0) / 2.0
    assert abs(READ_HIGH_SLOPE * middle + READ_HIGH_OFFSET - middle) < 4.0


def test_the_range_held_against_blood_begins_at_seventy():
    """FDA, Pulse Oximeters, guidance of 4 March 2013: 70 to 100 %."""
    assert VALIDATED_PERCENT == (70.0, 100.0)


@pytest.mark.parametrize(
    ("name", "by_hand"),
    [
        ("textbook line 110 − 25 R", lambda r: 110.0 - 25.0 * r),
        ("line 114.9 − 33.437 R", lambda r: 114.9 - 33.437 * r),
        ("112.69 − 34.66 R + 1.596 R²", lambda r: 112.69 - 34.66 * r + 1.596 * r * r),
        ("94.845 + 30.354 R − 45.06 R²", lambda r: 94.845 + 30.354 * r - 45.06 * r * r),
    ],
)
def test_published_answers_by_hand(name, by_hand):
    """Coefficients as widely quoted; their sources stand in meter/curve.py."""
    for share in (0.6, 0.5, 0.4):
        state = BelowSeventy(arterial_saturation=share)
        assert state.answers[name] == pytest.approx(by_hand(state.ratio))


def test_published_curves_disagree_already_at_seventy_whatever_the_engine():
    """By hand: the textbook line says 70 % at R = 1.6. The others, as quoted, say there:"""
    r = (110.0 - 70.0) / 25.0
    steep, bent = 114.9 - 33.437 * r, 112.69 - 34.66 * r + 1.596 * r * r
    odd = 94.845 + 30.354 * r - 45.06 * r * r
    assert (round(steep), round(bent), round(odd)) == (61, 61, 28)
    assert set(BelowSeventy().others) == set(published_curves) - {"textbook line 110 − 25 R"}


@pytest.mark.parametrize("saturation", [0.6, 0.5, 0.4])
def test_ratio_is_absorption_times_path(saturation):
    """R is the red absorption of blood times its path over the same in infrared (the modified
    Beer-Lambert law, Delpy and others 1988, Phys Med Biol 33:1433). Absorption is Zijlstra's as
    printed, at single wavelengths; the engine takes Prahl's table over whole LEDs. Compared as
    the growth from 70 % down, in which constant differences of the tables drop out."""

    def by_hand(s):
        red, infrared = s * WITH_OXYGEN + (1.0 - s) * WITHOUT
        red_cm, infrared_cm = Probe(Scenario(arterial_saturation=s)).path_length_cm()
        return red * red_cm / (infrared * infrared_cm)

    growth = BelowSeventy(saturation).ratio / BelowSeventy(0.7).ratio
    assert growth == pytest.approx(by_hand(saturation) / by_hand(0.7), rel=0.01)


def test_the_engine_reads_less_high_than_the_meter_in_print_and_the_page_gives_both():
    """No curve here reaches the 65 of Chapman's meter at 50 %: its curve was another one."""
    state = BelowSeventy(arterial_saturation=0.5)
    assert max(state.answers.values()) < READ_HIGH_SHOWN
    assert max(state.answers.values()) > READ_HIGH_TRUE + 3.0
