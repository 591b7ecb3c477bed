"""Other haemoglobins, thin blood and dyes, against what was found in people and dogs."""

import numpy as np
import pytest

from oximetry_workbook.teach.other_blood import (
    DOGS_POINT_PERCENT,
    PLATEAU_PERCENT,
    SMOKERS_OFFSET,
    SMOKERS_WEIGHT,
    OtherBlood,
    pure_ratio,
    turning_percent,
)
from oximetry_workbook.teach.published_dyes import PUBLISHED_DYES

# Zijlstra, Buursma and van Assendelft 2000, 17-wavelength series, L per mmol of haem and cm
HAEM_AT_660 = {"HbO2": 0.080, "HHb": 0.814, "COHb": 0.061, "MetHb": 0.819}
HAEM_AT_940 = {"HbO2": 0.294, "HHb": 0.183, "COHb": 0.001, "MetHb": 0.729}


def straight_path_ratio(saturation, met):
    """R of a mixture by Beer-Lambert, from the table above."""
    red, infrared = (
        (1.0 - met) * (saturation * e["HbO2"] + (1.0 - saturation) * e["HHb"]) + met * e["MetHb"]
        for e in (HAEM_AT_660, HAEM_AT_940)
    )
    return red / infrared


@pytest.mark.parametrize("cohb_percent", [1.0, 3.0, 5.2, 8.6])
@pytest.mark.parametrize("saturation", [0.98, 0.9, 0.8, 0.7])
def test_smokers(cohb_percent, saturation):
    """SpO2 - HbO2 = 1.06 COHb - 2.49, SaO2 65 to 100 % (Tashiro and others 1988, J Anesth 2:36).

    COHb 3.0, SD 1.0, and 5.2, SD 1.7 %. The line starts 2.5 points below at no COHb, which is
    those meters' own bias.
    """
    blood = OtherBlood(arterial_saturation=saturation, carboxyhaemoglobin=cohb_percent / 100.0)
    hbo2 = 100.0 * saturation * (1.0 - cohb_percent / 100.0)
    published = hbo2 + 1.06 * cohb_percent - 2.49
    assert blood.shown_percent == pytest.approx(published, abs=2.5)
    drawn = blood.counted_as_oxygen(np.array([cohb_percent]), SMOKERS_WEIGHT, SMOKERS_OFFSET)
    assert drawn == pytest.approx(published)


def test_the_meter_hardly_sees_carbon_monoxide_but_simple_physics_sees_too_much_of_it():
    """Over 90 % with HbO2 under 30 % in dogs (Barker and Tremper 1987, Anesthesiology 66:677).

    This chain falls short of it, and the chapter says so: it reads far above HbO2, and yet
    below the dogs.
    """
    blood = OtherBlood(arterial_saturation=1.0, carboxyhaemoglobin=0.6)
    assert blood.fractional_percent + 40.0 < blood.shown_percent < DOGS_POINT_PERCENT[1]


def test_methaemoglobin_levels_off_in_the_eighties():
    """Near 85 % from 30 to 35 % on (Barker and others 1989, Anesthesiology 70:112, from memory).

    Read: "trends toward 80 to 85 %", continuing education page of the American Society of
    Anesthesiologists; "tend towards 85 %", abstract of Potential errors in pulse oximetry III,
    1991 (Ralston, Webb and Runciman, Anaesthesia 46:291, authors and pages from memory).
    """
    line = OtherBlood(arterial_saturation=1.0).methaemoglobin_line
    first, last, level = PLATEAU_PERCENT
    there = (line.x >= first) & (line.x <= last)
    assert np.all(np.abs(line.percent[there] - level) < 3.0)
    early, late = np.interp([0.0, 20.0, 35.0, 55.0], *line).reshape(2, 2)
    assert early[0] - early[1] > 3.0 * (late[0] - late[1])


def test_methaemoglobin_alone():
    """R = 0.819 / 0.729 = 1.12 (extinctions: Zijlstra and others 2000)."""
    assert pure_ratio("MetHb") == pytest.approx(0.819 / 0.729, rel=0.01)
    assert pure_ratio("COHb") > 50.0 * pure_ratio("MetHb")


def test_the_turning_point():
    """Near 70 % by spectra alone (Zijlstra and others 1991, Clin Chem 37:1633); higher here.

    The table's own turning point is where blood without MetHb has the R of MetHb alone.
    """
    levels = np.linspace(0.0, 1.0, 1001)
    pure = HAEM_AT_660["MetHb"] / HAEM_AT_940["MetHb"]
    spectra = 100.0 * levels[np.argmin(np.abs(straight_path_ratio(levels, 0.0) - pure))]
    assert spectra == pytest.approx(70.0, abs=2.0)
    assert straight_path_ratio(spectra / 100.0, 0.35) == pytest.approx(pure, rel=0.01)
    assert spectra < turning_percent(0.35) < spectra + 8.0


@pytest.mark.parametrize(
    ("saturation", "published_points"),
    [(0.985, 0.13), (0.875, -1.31), (0.751, -2.71), (0.613, -5.18), (0.536, -9.95)],
)
def test_thin_blood(saturation, published_points):
    """Additional error in a volunteer with 80 g/L (Severinghaus and Koh 1990, J Clin Monit 6:85).

    One subject; between makers it ranged from -3.2 to -14.5 points at about 53 %.
    """
    thin, usual = (
        OtherBlood(arterial_saturation=saturation, haemoglobin_g_per_l=each).shown_percent
        for each in (80.0, 150.0)
    )
    assert thin - usual == pytest.approx(published_points, abs=2.0)


def test_dyes_in_people():
    """Methylene blue: 65 % at the lowest (Scheller and others 1986, as told in a continuing
    education page of the American Society of Anesthesiologists); indigo carmine: 92 % (the same
    study, from memory).

    Indocyanine green, 12.5 mg: 1.9, SD 1.2 points (Yoo and others 2015, J Neurosurg
    Anesthesiol 27:57). Doses in 5 litres of blood; people meet a first, stronger wave.
    """
    read = {
        dye: OtherBlood(dye=dye, dye_mg_per_l=found.mg_per_l).shown_percent
        for dye, found in PUBLISHED_DYES.items()
    }
    assert read["methylene blue"] == pytest.approx(65.0, abs=8.0)
    assert read["indigo carmine"] == pytest.approx(92.0, abs=4.0)
    assert 97.0 - read["indocyanine green"] == pytest.approx(1.9, abs=1.2)
    doses_mg = {"methylene blue": 50.0, "indocyanine green": 12.5, "indigo carmine": 40.0}
    for dye, found in PUBLISHED_DYES.items():
        assert found.mg_per_l == doses_mg[dye] / 5.0
