"""Dyes against published masses, peaks and the fall of the reading seen in people."""

import math

import numpy as np
import pytest

from oximetry_workbook.body.blood import absorption_per_cm
from oximetry_workbook.body.dyes import (
    MOLAR_MASS_G_PER_MOL,
    dye_absorption_per_cm,
    dye_extinction,
)

ATOMIC_WEIGHT = {
    "H": 1.008, "C": 12.011, "N": 14.007, "O": 15.999, "Na": 22.990, "S": 32.06, "Cl": 35.45,
}  # fmt: skip
"""IUPAC standard atomic weights, abridged to five figures (2021)."""

FORMULAS = {
    "methylene blue": {"C": 16, "H": 18, "Cl": 1, "N": 3, "S": 1},
    "indocyanine green": {"C": 43, "H": 47, "N": 2, "Na": 1, "O": 6, "S": 2},
    "indigo carmine": {"C": 16, "H": 8, "N": 2, "Na": 2, "O": 8, "S": 2},
}

FINE_NM = np.arange(450.0, 1000.5, 0.5)


def reading(dye, mg_per_l, saturation=0.98):
    """Saturation read by two single wavelengths and Beer's law, without the dye in its mind."""

    def ratio(level, dye_mg_per_l):
        red, infrared = (
            absorption_per_cm(nm, level) + dye_absorption_per_cm(dye, nm, dye_mg_per_l)
            for nm in (660.0, 940.0)
        )
        return red / infrared

    levels = np.linspace(1.0, 0.0, 1001)  # falling, for the ratio then rises
    return float(np.interp(ratio(saturation, mg_per_l), ratio(levels, 0.0), levels))


@pytest.mark.parametrize("dye", FORMULAS)
def test_molar_masses_are_those_of_the_formulas(dye):
    mass = sum(ATOMIC_WEIGHT[element] * count for element, count in FORMULAS[dye].items())
    # indigo carmine 466.36: FAO JECFA Monographs 10, 2010; indocyanine green 775: Merck Index
    assert MOLAR_MASS_G_PER_MOL[dye] == pytest.approx(mass, abs=0.05)


@pytest.mark.parametrize(
    ("dye", "low_nm", "high_nm"),
    [
        # Sidi and others 1987, plasma of dogs: peak in the 660 to 670 nm range
        ("methylene blue", 660.0, 670.0),
        # Landsman and others 1976, from memory: 805 nm in plasma, within 6. In water, which it
        # must not be, 780 (Yuan, Chen and Zhu 2004, J. Biomed. Opt. 9:497)
        ("indocyanine green", 799.0, 811.0),
        # handbooks of food colours: 608 to 612 nm in water
        ("indigo carmine", 608.0, 612.0),
    ],
)
def test_peaks_are_where_they_were_published(dye, low_nm, high_nm):
    assert low_nm <= FINE_NM[np.argmax(dye_extinction(dye, FINE_NM))] <= high_nm


def test_methylene_blue_against_a_laboratory_course():
    """1 to 5 mg/L in 1 cm at 660 nm, a university course's open record (GitHub axarce/CEE4530)."""
    mg_per_l = np.array([1.0, 2.0, 3.0, 4.0, 5.0])
    absorbance = np.array([0.2216, 0.3686, 0.5812, 0.7560, 0.9999])
    predicted = dye_absorption_per_cm("methylene blue", 660.0, mg_per_l) / math.log(10.0)
    slopes = [values @ mg_per_l / (mg_per_l @ mg_per_l) for values in (absorbance, predicted)]
    # the record does not say whether the dye was weighed with its water (14 % less dye)
    assert slopes[1] == pytest.approx(slopes[0], rel=0.15)


def test_indocyanine_green_takes_more_at_830_than_at_660_nm():
    """Yuan, Chen and Zhu 2004, J. Biomed. Opt. 9:497: so when bound, the reverse in water."""
    assert dye_extinction("indocyanine green", 830.0) > dye_extinction("indocyanine green", 660.0)


def test_indigo_carmine_has_its_specific_absorbance():
    """480 for 1 % through 1 cm at 610 nm: Commission Regulation (EU) 231/2012 (from memory)."""
    ten_mg_per_l = dye_absorption_per_cm("indigo carmine", 610.0, 10.0) / math.log(10.0)
    assert ten_mg_per_l == pytest.approx(480.0 * 10.0 / 10_000.0, rel=0.01)


def test_the_reading_falls_as_far_as_in_people():
    """Doses spread through 5 litres of blood; real readings dip further while the dye is unmixed.

    Methylene blue: 65 % at the lowest (Scheller, Unger and Kelner 1986, Anesthesiology 65:550, as
    told in a continuing education page of the American Society of Anesthesiologists; the dose,
    50 mg, from memory). Indocyanine green 12.5 mg: down by 1.9, SD 1.2 points (Yoo and others
    2015, J. Neurosurg. Anesthesiol. 27:57). Indigo carmine, 40 mg: small next to methylene blue
    (Scheller and others 1986, from memory).
    """
    blue = reading("methylene blue", 10.0)
    green = reading("indocyanine green", 2.5)
    indigo = reading("indigo carmine", 8.0)
    assert 0.60 < blue < 0.85
    assert 0.3 < 100.0 * (0.98 - green) < 4.3
    assert blue < indigo < 0.98


def test_without_dye_the_reading_is_the_saturation():
    assert reading("none", 10.0) == pytest.approx(0.98, abs=1e-4)
