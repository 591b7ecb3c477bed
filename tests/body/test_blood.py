"""Properties of the haemoglobin spectra, the tables behind them and the other absorbers."""

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from oximetry_workbook.body import blood
from oximetry_workbook.body.blood import (
    SPECIES,
    TABLES,
    absorption_per_cm,
    isosbestic_wavelengths_nm,
    molar_extinction,
)
from oximetry_workbook.body.chromophores import (
    fat_absorption_per_cm,
    melanin_absorption_per_cm,
    water_absorption_per_cm,
)
from oximetry_workbook.body.tables import load_table, look_up, require_within

species = st.sampled_from(SPECIES)
tables = st.sampled_from(TABLES)
wavelengths_nm = st.floats(450.0, 1000.0)
fractions = st.floats(0.0, 1.0)
absorbers = st.sampled_from(
    [water_absorption_per_cm, fat_absorption_per_cm, melanin_absorption_per_cm]
)


@given(species, wavelengths_nm, tables)
def test_extinction_of_a_number_is_a_finite_float(name, wavelength_nm, table):
    extinction = molar_extinction(name, wavelength_nm, table)
    assert type(extinction) is float
    assert math.isfinite(extinction)
    assert extinction >= 0.0
    # COHb fades to nothing near 1000 nm; the other three absorb everywhere
    assert extinction > 0.0 or (name == "COHb" and wavelength_nm > 940.0)


@given(species, st.lists(wavelengths_nm, min_size=1, max_size=20), tables)
def test_extinction_of_an_array_is_that_of_its_numbers(name, several_nm, table):
    together = molar_extinction(name, np.array(several_nm), table)
    assert isinstance(together, np.ndarray)
    assert together.tolist() == [molar_extinction(name, one_nm, table) for one_nm in several_nm]


def test_extinction_keeps_the_shape_and_takes_whole_numbers():
    assert molar_extinction("HHb", np.full((2, 3), 660.0)).shape == (2, 3)
    assert molar_extinction("HHb", 660) == molar_extinction("HHb", 660.0)
    assert molar_extinction("HHb", np.array([])).shape == (0,)


@pytest.mark.parametrize("name", ["COHb", "MetHb"])
def test_the_other_two_come_from_zijlstra_whatever_the_table(name):
    assert molar_extinction(name, 661.0, "Prahl") == molar_extinction(name, 661.0, "Zijlstra")


@given(wavelengths_nm, fractions, fractions, fractions, tables)
def test_absorption_is_a_linear_mix_in_saturation(wavelength_nm, first, second, share, table):
    mixed = absorption_per_cm(wavelength_nm, share * first + (1 - share) * second, table=table)
    apart = share * absorption_per_cm(wavelength_nm, first, table=table)
    apart += (1 - share) * absorption_per_cm(wavelength_nm, second, table=table)
    assert mixed == pytest.approx(apart, rel=1e-9)


@given(wavelengths_nm, fractions, st.floats(1.0, 400.0), st.floats(0.0, 0.5), st.floats(0.0, 0.5))
def test_absorption_is_the_sum_over_the_species(wavelength_nm, saturation, g_per_l, co, met):
    shares = {
        "HbO2": (1 - co - met) * saturation,
        "HHb": (1 - co - met) * (1 - saturation),
        "COHb": co,
        "MetHb": met,
    }
    # Beer and Lambert: decadic extinction, mol/L of tetramer, natural logarithm
    expected = sum(
        2.302585092994046 * molar_extinction(name, wavelength_nm) * share * g_per_l / 64_500
        for name, share in shares.items()
    )
    actual = absorption_per_cm(wavelength_nm, saturation, g_per_l, co, met)
    assert type(actual) is float
    assert actual == pytest.approx(expected, rel=1e-9, abs=1e-9)


@given(wavelengths_nm, tables)
def test_the_ends_of_saturation_are_the_tables_two_species(wavelength_nm, table):
    for saturation, name in ((0.0, "HHb"), (1.0, "HbO2")):
        found = absorption_per_cm(wavelength_nm, saturation, 64.5, table=table)
        decadic = molar_extinction(name, wavelength_nm, table)
        assert found == pytest.approx(math.log(10.0) * decadic / 1000.0, rel=1e-9)
    of_plain_array = absorption_per_cm(np.float64(wavelength_nm), np.array(0.5), table=table)
    assert type(of_plain_array) is float


@given(wavelengths_nm, fractions, st.floats(1.0, 400.0))
def test_absorption_is_positive_and_proportional_to_haemoglobin(wavelength_nm, saturation, g_per_l):
    one = absorption_per_cm(wavelength_nm, saturation, g_per_l)
    assert 0.0 < one < math.inf
    doubled = absorption_per_cm(wavelength_nm, saturation, 2 * g_per_l)
    assert doubled == pytest.approx(2 * one, rel=1e-12)


def test_blood_without_haemoglobin_absorbs_nothing():
    assert absorption_per_cm(660.0, 0.98, 0.0) == 0.0


def test_all_inputs_broadcast():
    wavelength_nm = np.linspace(630.0, 690.0, 5)
    saturation = np.array([[0.7], [0.9], [1.0]])
    met = np.array([[0.0], [0.1], [0.2]])
    together = absorption_per_cm(wavelength_nm, saturation, 150.0, 0.0, met)
    assert together.shape == (3, 5)
    for row in range(3):
        apart = absorption_per_cm(
            wavelength_nm, float(saturation[row, 0]), methaemoglobin=float(met[row, 0])
        )
        np.testing.assert_allclose(together[row], apart, rtol=1e-12)


def test_without_the_other_two_the_whole_of_prahls_range_is_open():
    assert absorption_per_cm(300.0, 0.98) > 0.0
    with pytest.raises(ValueError, match="wavelength_nm is 300 nm; choose a value from 450"):
        absorption_per_cm(300.0, 0.98, carboxyhaemoglobin=0.01)


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ({"saturation": 1.01}, "saturation is 1.01; choose a value from 0 to 1"),
        ({"saturation": 98}, "saturation is 98"),
        ({"saturation": math.nan}, "saturation is nan"),
        ({"saturation": np.array([0.5, -0.5])}, "saturation is -0.5"),
        ({"saturation": "high"}, "saturation is 'high'; give a number"),
        ({"haemoglobin_g_per_l": -1.0}, "haemoglobin_g_per_l is -1 g/L"),
        ({"haemoglobin_g_per_l": 1001.0}, "haemoglobin_g_per_l is 1001 g/L"),
        ({"carboxyhaemoglobin": -0.1}, "carboxyhaemoglobin is -0.1"),
        ({"carboxyhaemoglobin": 1.01}, "^carboxyhaemoglobin is 1.01"),
        ({"carboxyhaemoglobin": "much"}, "carboxyhaemoglobin is 'much'; give a number"),
        ({"methaemoglobin": 1.01}, "^methaemoglobin is 1.01"),
        (
            {"carboxyhaemoglobin": 0.6, "methaemoglobin": 0.41},
            r"carboxyhaemoglobin \+ methaemoglobin is 1.01",
        ),
        ({"wavelength_nm": 1000.5}, "wavelength_nm is 1000.5 nm; choose a value from 250 to 1000"),
        ({"wavelength_nm": np.array([660.0, np.nan])}, "wavelength_nm is nan"),
        ({"table": "prahl"}, "table is 'prahl'; choose one of Prahl, Zijlstra"),
    ],
)
def test_bad_blood_is_refused(arguments, message):
    with pytest.raises(ValueError, match=message):
        absorption_per_cm(**{"wavelength_nm": 660.0, "saturation": 0.98, **arguments})


def test_unknown_species_is_refused():
    with pytest.raises(ValueError, match="species is 'Hb'; choose one of HbO2, HHb, COHb, MetHb"):
        molar_extinction("Hb", 660.0)


@given(
    st.lists(species, min_size=2, max_size=2, unique=True),
    tables,
    st.floats(450.0, 720.0),
    st.floats(730.0, 1000.0),
)
def test_isosbestic_wavelengths_are_where_the_spectra_cross(pair, table, low_nm, high_nm):
    crossings_nm = isosbestic_wavelengths_nm(*pair, table, low_nm, high_nm)
    assert np.all(np.diff(crossings_nm) > 0)
    assert np.all((crossings_nm >= low_nm) & (crossings_nm <= high_nm))
    first, second = (molar_extinction(name, crossings_nm, table) for name in pair)
    np.testing.assert_allclose(first, second, rtol=1e-6, atol=1e-6)
    # between neighbouring crossings one species stays above the other
    ends_nm = np.concatenate([[low_nm], crossings_nm, [high_nm]])
    for left_nm, right_nm in pairwise(ends_nm):
        inside_nm = np.linspace(left_nm, right_nm, 50)[1:-1]
        above = molar_extinction(pair[0], inside_nm, table) - molar_extinction(
            pair[1], inside_nm, table
        )
        assert np.all(above >= -1e-6) or np.all(above <= 1e-6)


def test_isosbestic_wavelength_of_the_pair_does_not_depend_on_the_order():
    forward = isosbestic_wavelengths_nm("HbO2", "MetHb")
    backward = isosbestic_wavelengths_nm("MetHb", "HbO2")
    np.testing.assert_allclose(forward, backward)


def test_a_crossing_on_a_row_of_the_table_counts_once(monkeypatch):
    """Invented spectra that meet at 700 nm, a row of the table, and at 801 nm, between two."""
    spectra = {"HbO2": lambda nm: (nm - 700.0) * (nm - 801.0), "HHb": np.zeros_like}
    monkeypatch.setattr(blood, "molar_extinction", lambda name, nm, _: spectra[name](nm))
    crossings_nm = isosbestic_wavelengths_nm(low_nm=600.0, high_nm=900.0)
    np.testing.assert_allclose(crossings_nm, [700.0, 801.0], atol=0.02)


def test_a_crossing_is_found_between_any_two_ends():
    """Prahl's HbO2 and HHb meet near 797 nm, between the rows 796 and 798 nm."""
    (crossing_nm,) = isosbestic_wavelengths_nm(low_nm=650.0)
    narrow_nm = isosbestic_wavelengths_nm(low_nm=crossing_nm - 0.1, high_nm=crossing_nm + 0.1)
    np.testing.assert_allclose(narrow_nm, [crossing_nm], rtol=1e-12)


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ({"species_b": "HbO2"}, "both 'HbO2'; choose two species"),
        ({"low_nm": 100.0}, "low_nm is 100 nm; choose a value from 250"),
        ({"high_nm": 1100.0}, "high_nm is 1100 nm"),
        ({"low_nm": 800.0, "high_nm": 700.0}, "low_nm must be the smaller"),
        ({"low_nm": 800.0, "high_nm": 800.0}, "low_nm must be the smaller"),
        ({"table": "none"}, "table is 'none'"),
    ],
)
def test_bad_isosbestic_searches_are_refused(arguments, message):
    with pytest.raises(ValueError, match=message):
        isosbestic_wavelengths_nm(**arguments)


@given(absorbers, st.floats(430.0, 1098.0))
def test_absorbers_of_a_number_are_finite_positive_floats(absorber, wavelength_nm):
    absorption = absorber(wavelength_nm)
    assert type(absorption) is float
    assert 0.0 < absorption < math.inf
    assert absorber(np.array([wavelength_nm])).tolist() == pytest.approx([absorption], rel=1e-14)


@given(absorbers, st.sampled_from([-5.0, 0.0, 200.0, 1201.0, math.nan, math.inf]))
def test_absorbers_refuse_wavelengths_they_do_not_cover(absorber, wavelength_nm):
    with pytest.raises(ValueError, match=r"wavelength_nm is .* nm; choose a value from"):
        absorber(wavelength_nm)


@given(st.floats(250.0, 1190.0), st.floats(1.0, 10.0))
def test_melanin_absorbs_less_at_longer_wavelengths(wavelength_nm, further_nm):
    assert melanin_absorption_per_cm(wavelength_nm) > melanin_absorption_per_cm(
        wavelength_nm + further_nm
    )


@pytest.mark.parametrize(
    "name",
    ["haemoglobin_prahl", "haemoglobin_zijlstra", "water", "fat", "silicon", "cie_1931"],
)
def test_tables_rise_in_wavelength_are_whole_and_cannot_be_changed(name):
    columns = load_table(name)
    assert np.all(np.diff(columns[0]) > 0)
    assert all(np.all(np.isfinite(column) & (column >= 0)) for column in columns)
    with pytest.raises(ValueError, match="read-only"):
        columns[1][0] = 1.0
    assert look_up(name, 1, float(columns[0][-1])) == columns[1][-1]


def test_unknown_table_is_refused_with_the_names_of_those_there_are():
    with pytest.raises(ValueError, match="name is 'milk'; choose one of the tables cie_1931, fat"):
        load_table("milk")


@pytest.mark.parametrize("values", [[1.0, 3.0, 3.5], [3.0, 1.0, 3.5, 0.5]])
def test_the_first_value_outside_is_named_and_the_ends_are_inside(values):
    require_within("depth", np.array([1.0, 3.0]), 1.0, 3.0, "cm")
    with pytest.raises(ValueError, match=r"^depth is 3\.5 cm; choose a value from 1 to 3 cm$"):
        require_within("depth", np.array(values), 1.0, 3.0, "cm")
    with pytest.raises(ValueError, match=r"^share is 2; choose a value from 0 to 1$"):
        require_within("share", 2.0, 0.0, 1.0)
