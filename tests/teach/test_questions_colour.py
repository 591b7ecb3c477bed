"""The colour chapter's answers, found another way."""

import numpy as np
import pytest

from oximetry_workbook.body.blood import molar_extinction
from oximetry_workbook.teach.questions import colour


def test_red_tells_arterial_from_venous_blood():
    question = colour.prediction()
    factors = [
        max(a, b) / min(a, b)
        for a, b in (
            (molar_extinction("HbO2", nm), molar_extinction("HHb", nm)) for nm in (660.0, 940.0)
        )
    ]
    assert question.options[question.answer] == ("Red", "Infrared")[int(np.argmax(factors))]


def test_the_printed_values_divided():
    """Prahl's tabulation at 660 nm: HHb 3226.56, HbO2 319.6 cm⁻¹/M."""
    assert colour.checkpoints()[1].answer == pytest.approx(3226.56 / 319.6)


def test_the_crossing_is_where_both_absorb_alike():
    crossing = colour.checkpoints()[2].answer
    assert molar_extinction("HbO2", crossing) == pytest.approx(
        molar_extinction("HHb", crossing), rel=1e-6
    )
    assert 780.0 < crossing < 815.0


def test_the_best_pair_by_hand():
    question = colour.checkpoints()[3]

    def absorption(nm, saturation):
        oxygenated, reduced = (molar_extinction(species, nm) for species in ("HbO2", "HHb"))
        return saturation * oxygenated + (1.0 - saturation) * reduced

    def swing(pair):
        at_70, at_100 = (absorption(pair[0], s) / absorption(pair[1], s) for s in (0.7, 1.0))
        return abs(np.log(at_70 / at_100))

    pairs = [(660.0, 940.0), (800.0, 810.0), (880.0, 940.0)]
    assert question.answer == int(np.argmax([swing(pair) for pair in pairs]))


def test_twice_the_depth_is_the_share_of_the_share():
    question = colour.checkpoints()[4]
    assert question.options[question.answer].count("%") == 2
