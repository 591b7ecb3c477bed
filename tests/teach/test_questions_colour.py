"""The answer key of the colour of blood, reckoned another way."""

import math
import re
from importlib.resources import files

import numpy as np
import pytest

from oximetry_workbook.teach.questions import checkpoints, prediction

PREDICTION = prediction("colour")
LIGHTS, MIXED, CROSSING, AT_IT, ONE, PAIR, PASSED = checkpoints("colour")

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


def extinction(saturation, pair):
    """Of blood, by Prahl's rows [cm⁻¹ per mol/L]."""
    return saturation * pair[0] + (1.0 - saturation) * pair[1]


RED, INFRARED = (HBO2_660, HHB_660), (HBO2_940, HHB_940)


def test_less_red_and_a_little_more_infrared_pass_when_oxygen_leaves():
    full, low = (
        [
            100.0 * 10.0 ** (-extinction(s, pair) * 150.0 / 64500.0 * 0.02)
            for pair in (RED, INFRARED)
        ]
        for s in (1.0, 0.7)
    )
    assert low[0] < 0.95 * full[0]
    assert low[1] > 1.005 * full[1]
    assert chosen(LIGHTS) == "Less red, a little more infrared"
    told = [round(full[0]), round(low[0]), round(full[1], 1), round(low[1], 1)]
    assert numbers_in(LIGHTS.why) == told


def test_mixtures_differ_less_than_the_pure_kinds():
    times = extinction(0.72, RED) / extinction(0.97, RED)
    assert chosen(MIXED) == f"About {times:.0f} times"
    assert f"{HHB_660 / HBO2_660:.0f} times as much as haemoglobin with it" in MIXED.text
    assert f"is {times:.1f}." in MIXED.why


def test_at_the_crossing_oxygen_makes_no_difference():
    """By the definition of an isosbestic point."""
    assert AT_IT.check(1.0).right
    assert not AT_IT.check(extinction(0.72, RED) / extinction(0.97, RED)).right
    assert not AT_IT.check(extinction(0.72, INFRARED) / extinction(0.97, INFRARED)).right


def test_one_light_alone_takes_twice_as_much_from_less_oxygen_or_from_more_blood():
    fallen = (HHB_660 - 2.0 * extinction(0.97, RED)) / (HHB_660 - HBO2_660)
    assert 0.0 < fallen < 0.97
    assert chosen(ONE).startswith("Red light alone cannot tell")
    before, after = (extinction(s, RED) / extinction(s, INFRARED) for s in (0.97, fallen))
    assert f"Blood at {100 * fallen:.0f} %" in ONE.why
    assert f"from {before:.2f} to {after:.2f}" in ONE.why


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
