"""Two samples of blood: ratios and shares by hand, and sentences for every state."""

import math
import re
from importlib.resources import files

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from oximetry_workbook.body.blood import molar_extinction
from oximetry_workbook.body.colour import blood_colour
from oximetry_workbook.body.quantities import Choice, specs_of
from oximetry_workbook.body.tables import load_table
from oximetry_workbook.teach.colours import (
    NOTICED_POINTS,
    PAIR_SATURATION,
    SHOWN_NM,
    USELESS_SWING,
    BloodSamples,
    colours_sentence,
    contrast,
    pair_ratio,
    pair_sentence,
    pair_swing,
    red_light_passed,
    spectra_sentence,
    tissue_absorption_per_cm,
    window_sentence,
)
from oximetry_workbook.teach.words import figure

SPECS = specs_of(BloodSamples)
PRAHL = {660: (319.6, 3226.56), 940: (1214.0, 693.44)}
"""HbO2 and HHb by wavelength, Prahl 1998, omlc.org [cm⁻¹ per mol/L]."""
ZIJLSTRA = {660: (0.080, 0.814), 940: (0.294, 0.183)}
"""The same by Zijlstra, Buursma and van Assendelft 2000, 17-wavelength series [L/(mmol cm)]."""

wavelengths = st.floats(600.0, 1000.0)
tables = st.sampled_from(["Prahl", "Zijlstra"])


def _values_of(spec):
    if isinstance(spec, Choice):
        return st.sampled_from(spec.options)
    return st.floats(spec.low, spec.high)


any_samples = st.builds(BloodSamples, **{name: _values_of(spec) for name, spec in SPECS.items()})


def mixture(row, saturation):
    oxygenated, reduced = row
    return saturation * oxygenated + (1.0 - saturation) * reduced


def numbers_in(text):
    return [float(number) for number in re.findall(r"\d+\.\d+|\d+", text)]


def channels(colour):
    return [int(colour[place : place + 2], 16) for place in (1, 3, 5)]


def test_the_pair_ratio_by_hand_from_prahls_rows():
    by_hand = [mixture(PRAHL[660], s) / mixture(PRAHL[940], s) for s in PAIR_SATURATION]
    np.testing.assert_allclose(pair_ratio(660.0, 940.0), by_hand, rtol=1e-9)
    np.testing.assert_allclose(BloodSamples().pair_ratio, by_hand, rtol=1e-9)


def test_the_pair_ratio_by_hand_from_zijlstras_printed_rows():
    """Three decimals are printed, so that the least of them is good to 1 in 160."""
    by_hand = [mixture(ZIJLSTRA[660], s) / mixture(ZIJLSTRA[940], s) for s in PAIR_SATURATION]
    np.testing.assert_allclose(pair_ratio(660.0, 940.0, "Zijlstra"), by_hand, rtol=0.01)
    samples = BloodSamples(extinction_table="Zijlstra")
    np.testing.assert_allclose(samples.pair_ratio, by_hand, rtol=0.01)


@given(wavelengths, wavelengths, tables, st.integers(0, PAIR_SATURATION.size - 1))
def test_the_pair_ratio_is_that_of_mixed_extinctions(first_nm, second_nm, table, k):
    above, below = (
        mixture([molar_extinction(kind, nm, table) for kind in ("HbO2", "HHb")], PAIR_SATURATION[k])
        for nm in (first_nm, second_nm)
    )
    assert pair_ratio(first_nm, second_nm, table)[k] == pytest.approx(above / below, rel=1e-9)


@given(wavelengths, wavelengths, tables)
def test_the_other_way_round_a_pair_gives_the_inverse(first_nm, second_nm, table):
    there, back = pair_ratio(first_nm, second_nm, table), pair_ratio(second_nm, first_nm, table)
    np.testing.assert_allclose(there * back, 1.0, rtol=1e-12)
    swings = pair_swing(first_nm, second_nm, table) * pair_swing(second_nm, first_nm, table)
    assert swings == pytest.approx(1.0, rel=1e-9)
    assert pair_swing(first_nm, first_nm, table) == 1.0


def test_the_swing_of_the_usual_pair_by_hand():
    at_70, at_100 = (mixture(PRAHL[660], s) / mixture(PRAHL[940], s) for s in (0.7, 1.0))
    assert pair_swing(660.0, 940.0) == pytest.approx(at_70 / at_100, rel=1e-9)
    assert f"is {at_100:.2f} at 100 % and {at_70:.1f} at 70 %." in pair_sentence(BloodSamples())


@pytest.mark.parametrize(
    ("first_nm", "second_nm", "words"),
    [
        (660.0, 940.0, "at 70 %."),
        (940.0, 660.0, "so it falls as oxygen falls."),
        (800.0, 810.0, "hardly knows about oxygen"),
        (700.0, 700.0, "it changes by 0 %"),
    ],
)
def test_a_pair_is_said_to_rise_to_fall_or_to_be_useless(first_nm, second_nm, words):
    assert words in pair_sentence(BloodSamples(first_nm=first_nm, second_nm=second_nm))


@given(any_samples)
def test_a_pair_is_called_useless_by_its_swing(samples):
    swing = pair_swing(samples.first_nm, samples.second_nm, samples.extinction_table)
    words = pair_sentence(samples)
    assert ("hardly knows" in words) == (1 / USELESS_SWING < swing < USELESS_SWING)
    assert ("falls as oxygen falls" in words) == (swing <= 1 / USELESS_SWING)


@pytest.mark.parametrize("saturation", [0.0, 0.72, 1.0])
@pytest.mark.parametrize("depth_mm", [0.02, 0.2, 5.0])
def test_red_light_passed_by_hand(saturation, depth_mm):
    """Powers of ten, 150 g/L of 64 500 g/mol."""
    exponent = mixture(PRAHL[660], saturation) * 150.0 / 64500.0 * depth_mm / 10.0
    assert red_light_passed(saturation, depth_mm) == pytest.approx(10.0**-exponent, rel=1e-9)


@given(any_samples)
def test_the_darker_blood_is_the_one_with_less_oxygen(samples):
    words = colours_sentence(samples)
    venous, arterial = samples.venous_saturation, samples.arterial_saturation
    passed = [100.0 * red_light_passed(s, samples.depth_mm) for s in (arterial, venous)]
    if abs(passed[0] - passed[1]) < NOTICED_POINTS:
        assert "hardly differ" in words
    else:
        darker = "venous" if venous < arterial else "arterial"
        assert f"The {darker} blood holds back more red" in words


def test_the_screen_shows_arterial_blood_brighter_in_red():
    samples = BloodSamples()
    arterial, venous = channels(samples.arterial_colour), channels(samples.venous_colour)
    assert arterial[0] > venous[0]
    other_table = BloodSamples(extinction_table="Zijlstra")
    assert channels(other_table.venous_colour) == venous
    assert samples.venous_colour == blood_colour(0.72, 0.2)
    alike = BloodSamples(venous_saturation=0.97)
    assert alike.venous_colour == alike.arterial_colour == samples.arterial_colour


@pytest.mark.parametrize("table", ["Prahl", "Zijlstra"])
@pytest.mark.parametrize("species", ["HbO2", "HHb"])
def test_the_spectrum_is_that_of_the_chosen_table(species, table):
    drawn = BloodSamples(extinction_table=table).spectrum(species)
    assert drawn.shape == SHOWN_NM.shape
    rows, unit = (PRAHL, 1.0) if table == "Prahl" else (ZIJLSTRA, 4000.0)  # four haems
    for nm, row in rows.items():
        wanted = unit * row[0 if species == "HbO2" else 1]
        assert drawn[nm == SHOWN_NM] == pytest.approx(wanted, rel=0.01)


@pytest.mark.parametrize(
    ("nm", "times", "stronger"),
    [(660, 3226.56 / 319.6, "without oxygen"), (940, 1214.0 / 693.44, "with oxygen")],
)
def test_the_contrast_is_the_larger_over_the_smaller(nm, times, stronger):
    found = contrast(float(nm))
    assert (found.oxygenated, found.reduced) == PRAHL[nm]
    assert found.times == pytest.approx(times)
    assert found.stronger == stronger


@pytest.mark.parametrize(
    ("first_nm", "pull"), [(660.0, "pull in opposite directions"), (880.0, "pull the same way")]
)
def test_spectra_are_said_to_pull_as_they_do(first_nm, pull):
    assert pull in spectra_sentence(BloodSamples(first_nm=first_nm))


def window_by_hand():
    """Blood and water in their shares at whole rows of both tables, from Prahl's and Segelstein's.

    Prahl's as the package nirsimple carries it ("gratzer"), in powers of ten.
    """
    text = (files("nirsimple") / "tables" / "gratzer.csv").read_text()
    rows = np.array([row.split(",") for row in text.split()[1:]], dtype=float)
    wavelength_nm, oxygenated, reduced = rows[rows[:, 0] >= 400.0].T
    per_cm = math.log(10.0) * 150.0 / 64500.0 * mixture((oxygenated, reduced), 0.97)
    water_nm, water_per_cm = load_table("water")[:2]
    return wavelength_nm, 0.02 * per_cm + 0.65 * np.interp(wavelength_nm, water_nm, water_per_cm)


def test_the_window_is_where_blood_and_water_together_take_least():
    wavelength_nm, total = window_by_hand()
    least_nm, green = numbers_in(window_sentence())[:3:2]
    assert least_nm == wavelength_nm[np.argmin(total)]
    assert green == float(figure(total[wavelength_nm == 540.0].item() / total.min()))


def test_the_window_lies_between_what_blood_and_what_water_take():
    """In the far red, where blood has fallen and water has not yet risen (common practice)."""
    wavelength_nm, total = window_by_hand()
    assert 650.0 < wavelength_nm[np.argmin(total)] < 720.0
    assert total[-1] > 2.0 * total.min()


def test_what_tissue_is_made_of_is_drawn_in_its_share():
    """Melanin: 1.70e12 λ^-3.48 per cm of melanosome (Jacques, omlc.org, 1998), a share of 3 %."""
    parts = tissue_absorption_per_cm()
    assert set(parts) == {"arterial blood", "venous blood", "water", "melanin"}
    for wavelength_nm, per_cm in parts.values():
        assert wavelength_nm.shape == per_cm.shape
        assert np.all(np.isfinite(per_cm))
        assert np.all(per_cm > 0.0)
    wavelength_nm, melanin = parts["melanin"]
    np.testing.assert_allclose(melanin, 0.03 * 1.70e12 * wavelength_nm**-3.48)
    for name, saturation in (("arterial blood", 0.97), ("venous blood", 0.72)):
        wavelength_nm, per_cm = parts[name]
        by_hand = 0.02 * math.log(10.0) * 150.0 / 64500.0 * mixture(PRAHL[660], saturation)
        assert per_cm[wavelength_nm == 660.0] == pytest.approx(by_hand)


@given(any_samples)
def test_sentences_are_plain_for_any_samples(samples):
    for sentence in (colours_sentence, spectra_sentence, pair_sentence):
        words = sentence(samples)
        assert not re.search(r"\bNone\b|\bnan\b|\binf\b|\d[eE][-+]?\d|[{}]|  |-\d", words)
        assert re.fullmatch(r"[A-Z][^<>{}\n]*\.", words)
    assert re.fullmatch("#[0-9a-f]{6}", samples.arterial_colour)
    assert re.fullmatch("#[0-9a-f]{6}", samples.venous_colour)


@pytest.mark.parametrize(
    ("field", "given"),
    [
        ("arterial_saturation", 97),
        ("venous_saturation", -0.1),
        ("depth_mm", 0),
        ("first_nm", 599),
        ("second_nm", math.nan),
        ("extinction_table", "Nobody"),
    ],
)
def test_bad_samples_are_refused_by_name(field, given):
    with pytest.raises(ValueError, match=f"{field} is {given!r}; allowed"):
        BloodSamples(**{field: given})


@pytest.mark.parametrize("nm", [200.0, 1100.0])
def test_a_contrast_outside_the_table_is_refused(nm):
    with pytest.raises(ValueError, match="wavelength_nm"):
        contrast(nm)
