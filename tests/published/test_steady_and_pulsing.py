"""Whose part of the moving light is whose, from haemoglobin's printed absorption alone."""

import numpy as np
import pytest

from oximetry_workbook.teach.steady_and_pulsing import MOVES, VENOUS_MOVEMENT, SteadyAndPulsing

WITH_OXYGEN, WITHOUT = np.array([0.080, 0.294]), np.array([0.814, 0.183])
"""Absorption of HbO2 and HHb at 660 and 940 nm [L/(mmol haem cm)]: Zijlstra, Buursma and van
Assendelft 2000, Visible and Near Infrared Absorption Spectra, the 17-wavelength table."""


def blood(saturation):
    return saturation * WITH_OXYGEN + (1.0 - saturation) * WITHOUT


@pytest.mark.parametrize("saturation", [0.97, 0.85, 0.70])
def test_arterial_share_of_what_moves(saturation):
    """Both bloods meet the same light, so a small movement's share goes by volume and absorption.

    The panel takes Prahl's spectra over whole LEDs, hence a few parts of 100 to spare."""
    arterial, venous = blood(saturation), VENOUS_MOVEMENT * blood(saturation - 0.25)
    state = SteadyAndPulsing(
        arterial_saturation=saturation, perfusion_index_percent=0.1, venous_blood=MOVES
    )
    expected = 100.0 * arterial / (arterial + venous)
    np.testing.assert_allclose(state.shares_percent[1, 3], expected, atol=3.0)


def test_venous_blood_that_moves_draws_the_reading_down():
    """In severe tricuspid regurgitation, where veins pulse, meters read lower than blood samples:
    +2 to -11 points (Stewart and Rowbottom 1991, Anaesthesia 46:668). How much venous blood moves
    here is our choice, so only the direction is held to it, and that by the table above."""
    still, moved = SteadyAndPulsing(), SteadyAndPulsing(venous_blood=MOVES)
    alone, both = blood(0.97), blood(0.97) + VENOUS_MOVEMENT * blood(0.72)
    growth_of_ratio = (both[0] / both[1]) / (alone[0] / alone[1])
    assert moved.ratio / still.ratio == pytest.approx(growth_of_ratio, rel=0.06)
    assert moved.read_percent < still.read_percent - 2.0
