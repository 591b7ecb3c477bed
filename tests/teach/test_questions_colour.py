"""The answer key of the colour of blood, reckoned another way."""

import math
import re
from importlib.resources import files

import numpy as np
import pytest

from oximetry_workbook.teach.questions import checkpoints, prediction

PREDICTION = prediction("colour")
DARKER, FACTOR, CROSSING, PAIR, PASSED = checkpoints("colour")

HBO2_660, HHB_660 = 319.6, 3226.56
HBO2_940, HHB_940 = 1214.0, 693.44
"""Prahl 1998, omlc.org, rows 660 and 940 nm [cm⁻¹ per mol/L]."""


def chosen(question):
    return question.options[question.answer]


def numbers_in(text):
    return [float(number) for number in re.findall(r"\d+\.\d+|\d+", text)]


def table(name):
    """A table of the package nirsimple: wavelength [nm], HbO2, HHb."""
    text = (files("nirsimple") / "tables" / f"{name}.csv").read_text()
    return np.array([row.split(",") for row in text.split()[1:]], dtype=float).T


def swing(first_nm, second_nm, name):
    """R at 70 % over R at 100 %, straight paths, from a published table."""
    wavelength_nm, oxy, deoxy = table(name)
    taken = {
        s: [
            s * np.interp(nm, wavelength_nm, oxy) + (1.0 - s) * np.interp(nm, wavelength_nm, deoxy)
            for nm in (first_nm, second_nm)
        ]
        for s in (0.7, 1.0)
    }
    return (taken[0.7][0] / taken[0.7][1]) / (taken[1.0][0] / taken[1.0][1])


def test_red_differs_more_than_infrared():
    red, infrared = HHB_660 / HBO2_660, HBO2_940 / HHB_940
    assert red > infrared > 1.0
    assert chosen(PREDICTION) == "Red"
    assert numbers_in(PREDICTION.why) == [660.0, round(red, 1), 940.0, round(infrared, 2)]
    assert re.search("660 nm haemoglobin without.*940 nm haemoglobin with oxygen", PREDICTION.why)


def test_venous_blood_is_darker_since_reduced_haemoglobin_takes_more_red():
    assert HHB_660 > HBO2_660
    assert chosen(DARKER) == "Haemoglobin without oxygen absorbs more red light"


def test_the_red_factor_follows_from_the_printed_numbers():
    _, reduced, oxygenated = numbers_in(FACTOR.text)[:3]
    assert (reduced, oxygenated) == (round(HHB_660), round(HBO2_660))
    venous, arterial = (s * oxygenated + (1 - s) * reduced for s in (0.72, 0.97))
    assert FACTOR.check(venous / arterial).right
    assert FACTOR.check(round(venous / arterial, 1)).right
    for wrong in (reduced / oxygenated, arterial / venous, 0.28 / 0.03):
        assert not FACTOR.check(wrong).right
    assert not FACTOR.check(HBO2_940 / HHB_940).right


def test_the_crossing_is_where_prahls_rows_change_sides():
    """Prahl 1998, rows 796 and 798 nm: HbO2 786.4 and 807.2, HHb 802.96 and 782.36."""
    before, after = 802.96 - 786.4, 782.36 - 807.2
    assert CROSSING.answer == pytest.approx(796.0 + 2.0 * before / (before - after), abs=0.01)


def test_the_usual_round_figure_for_the_crossing_is_accepted():
    """About 800 nm, or 805 (common practice); outside that, a reading of the plot is wrong."""
    assert all(CROSSING.check(nm).right for nm in (797, 800, 805))
    assert not any(CROSSING.check(nm).right for nm in (660, 760, 840, 880))


@pytest.mark.parametrize("name", ["cope", "wray", "moaveni", "takatani", "gratzer"])
def test_the_usual_pair_moves_the_ratio_most_in_any_published_table(name):
    pairs = [tuple(numbers_in(option)) for option in PAIR.options]
    worth = [abs(math.log(swing(*pair, name))) for pair in pairs]
    assert PAIR.answer == int(np.argmax(worth))
    assert sorted(worth)[-1] > 4.0 * sorted(worth)[-2]


def test_the_swing_told_is_prahls():
    red = (0.7 * HBO2_660 + 0.3 * HHB_660) / HBO2_660
    infrared = (0.7 * HBO2_940 + 0.3 * HHB_940) / HBO2_940
    assert f"is {red / infrared:.1f} times that at 100 %" in PAIR.why


def test_twice_the_depth_squares_what_passes():
    """Beer and Lambert in powers of ten: 150 g/L of 64 500 g/mol, 72 % of it with oxygen."""
    extinction = 0.72 * HBO2_660 + 0.28 * HHB_660
    thin, deep = (10.0 ** (-extinction * 150.0 / 64500.0 * depth_cm) for depth_cm in (0.02, 0.04))
    assert numbers_in(PASSED.text) == [round(100.0 * thin), 0.2]
    assert numbers_in(chosen(PASSED)) == [round(100.0 * thin)] * 2
    assert numbers_in(PASSED.why) == [round(100.0 * deep)]
