"""Content, air pressure, alveolar oxygen and carbon monoxide against what others published."""

import numpy as np
import pytest

from oximetry_workbook.oxygen.altitude import (
    alveolar_po2_mmhg,
    barometric_pressure_mmhg,
    inspired_po2_mmhg,
)
from oximetry_workbook.oxygen.carbon_monoxide import po2_beside_co_mmhg, saturation_beside_co
from oximetry_workbook.oxygen.content import (
    HUEFNER_ML_PER_G,
    oxygen_content_ml_per_dl,
    oxygen_delivery_ml_per_min,
)
from oximetry_workbook.oxygen.dissociation import MMHG_PER_KPA, saturation


@pytest.mark.parametrize(
    ("height_m", "hpa"),
    [
        (0.0, 1013.25),
        (1000.0, 898.76),
        (2000.0, 795.01),
        (3000.0, 701.21),
        (5000.0, 540.48),
        (8000.0, 356.51),
    ],
)
def test_standard_atmosphere(height_m, hpa):
    """US Standard Atmosphere 1976, table I, by geometric altitude: to the last printed digit."""
    pressure_hpa = 10.0 * barometric_pressure_mmhg(height_m) / MMHG_PER_KPA
    assert pressure_hpa == pytest.approx(hpa, abs=0.01)


def test_standard_atmosphere_of_another_implementation():
    """The public package ambiance 1.3.1, after the ICAO manual, Doc 7488-CD."""
    atmosphere = pytest.importorskip("ambiance").Atmosphere
    heights = np.linspace(0.0, 11_000.0, 23)
    theirs_mmhg = atmosphere(heights).pressure / 1000.0 * MMHG_PER_KPA
    np.testing.assert_allclose(barometric_pressure_mmhg(heights), theirs_mmhg, rtol=2e-6)


@pytest.mark.parametrize(
    ("height_m", "inspired_mmhg"),
    [(0, 150), (1000, 132), (2000, 115), (3000, 100), (5000, 75), (8000, 46), (10_000, 32)],
)
def test_inspired_oxygen(height_m, inspired_mmhg):
    """A table of air pressure and inspired oxygen at altitudes in a review for paediatricians
    (Arch Dis Child, table 1 of an article on flight and altitude), whole mmHg; oxygen taken as
    21 % there."""
    inspired = inspired_po2_mmhg(barometric_pressure_mmhg(height_m), 0.21)
    assert inspired == pytest.approx(inspired_mmhg, abs=0.75)


def test_lungs_on_everest():
    """Grocott and others, N Engl J Med 2009; 360:140, abstract: at 8400 m, 272 mmHg, mean PaCO2
    13.3, mean PaO2 24.6 and mean alveolar-arterial difference 5.4 mmHg; inspired oxygen 47 mmHg
    (text). Their exchange ratio was not 0.8: within 1.5 mmHg."""
    assert round(inspired_po2_mmhg(272.0)) == 47
    assert alveolar_po2_mmhg(272.0, 13.3) == pytest.approx(24.6 + 5.4, abs=1.5)


def test_standard_atmosphere_is_below_that_on_everest():
    """West and others, J Appl Physiol 1983; 54:1188, abstract: 253.0 mmHg at 8848 m and 400.4 at
    5400 m, "considerably higher" than the standard atmosphere."""
    for height_m, measured_mmhg in ((8848.0, 253.0), (5400.0, 400.4)):
        assert 0.90 < barometric_pressure_mmhg(height_m) / measured_mmhg < 0.97


def test_residents_of_cusco():
    """Pereira-Victorio and others 2014, abstract: at 3350 m, 118 healthy adults, pH 7.42, PaO2
    61.08, PaCO2 30.62 and PAO2 62.52 mmHg, saturation 91.13 %, 14.74 g/dL haemoglobin, content
    18.18 mL/dL.

    The standard atmosphere is too thin for Cusco by some mmHg, as on Everest.
    """
    alveolar = alveolar_po2_mmhg(barometric_pressure_mmhg(3350.0), 30.62)
    assert 58.0 < alveolar < 62.52
    assert 100 * saturation(61.08, ph=7.42, pco2_mmhg=30.62) == pytest.approx(91.13, abs=1.0)
    content = oxygen_content_ml_per_dl(0.9113, 61.08, 147.4)
    assert round(content, 1) == 18.2


@pytest.mark.parametrize(
    ("po2_kpa", "percent", "content_ml_per_l"), [(10.0, 97.0, 197.0), (4.5, 57.0, 116.0)]
)
def test_worked_examples_of_content(po2_kpa, percent, content_ml_per_l):
    """Royal College of Emergency Medicine, learning module on oxygen in human physiology: 150 g/L,
    1.34 mL/g and 0.23 mL/L for each kPa. Rounded to whole mL/L."""
    content = oxygen_content_ml_per_dl(percent / 100.0, po2_kpa * MMHG_PER_KPA)
    assert 10.0 * content == pytest.approx(content_ml_per_l, abs=0.75)


def test_worked_example_of_delivery():
    """e-SAFE anaesthesia, session 05_02: 150 g/L, 98 %, 13 kPa: 200 mL/L; 5 L/min: 1000 mL/min."""
    content = oxygen_content_ml_per_dl(0.98, 13.0 * MMHG_PER_KPA)
    assert 10.0 * content == pytest.approx(200.0, abs=0.5)
    assert oxygen_delivery_ml_per_min(content, 5.0) == pytest.approx(1000.0, abs=2.5)


def test_huefners_number_lies_where_it_was_measured():
    """Below chemistry's 4 x 22.39 L/mol over 64.5 kg/mol; within two standard deviations of
    1.368 +- 0.017 mL/g (Dijkhuizen and others, Pflügers Arch 1977; 369:223, abstract)."""
    assert HUEFNER_ML_PER_G < 4 * 22.39 / 64.5
    assert abs(HUEFNER_ML_PER_G - 1.368) < 2 * 0.017


def test_poisoned_and_anaemic_blood_unload():
    """Penney, lecture on pulmonary physiology, figure 9.02: down to 20 mmHg, blood with 40 % of
    normal haemoglobin gives off about 70 % of its oxygen, blood with 60 % carbon monoxide about
    25 %."""
    anaemic = 1.0 - saturation(20.0) / saturation(100.0)
    poisoned = 1.0 - saturation_beside_co(20.0, 0.6) / saturation_beside_co(100.0, 0.6)
    assert anaemic == pytest.approx(0.70, abs=0.04)
    assert poisoned == pytest.approx(0.25, abs=0.04)


def test_carbon_monoxide_makes_the_curve_a_hyperbola():
    """Zwart and others 1984, abstract: as it rises, half saturation falls gradually, and the shape
    changes gradually towards a hyperbola. A hyperbola has a Hill slope of 1; the ordinary curve
    about 2.7 (textbooks)."""
    slopes, halves = [], []
    for taken in (0.0, 0.2, 0.4, 0.6):
        low, high = po2_beside_co_mmhg(0.45, taken), po2_beside_co_mmhg(0.55, taken)
        halves.append(po2_beside_co_mmhg(0.5, taken))
        slopes.append(2.0 * np.log(0.55 / 0.45) / np.log(high / low))
    assert slopes[0] == pytest.approx(2.7, abs=0.15)
    assert all(np.diff(slopes) < 0.0)
    assert all(np.diff(halves) < 0.0)
    assert slopes[-1] > 1.0
