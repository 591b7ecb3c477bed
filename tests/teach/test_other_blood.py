"""Other blood: shares that add up, readings of the whole chain, plain sentences."""

import re
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from oximetry_workbook.body.calibration import diffusion_calibration, small_pulse_ratio
from oximetry_workbook.body.quantities import Choice, specs_of
from oximetry_workbook.body.scenario import SPECS, Scenario
from oximetry_workbook.body.simulate import simulate
from oximetry_workbook.meter.measure import measure
from oximetry_workbook.oxygen.content import oxygen_content_ml_per_dl
from oximetry_workbook.teach.other_blood import (
    MOST_DYE_MG_PER_L,
    ORDINARY,
    OtherBlood,
    readings_along,
    turning_percent,
)
from oximetry_workbook.teach.other_blood_words import (
    content_sentence,
    dye_sentence,
    main_sentence,
    methaemoglobin_sentence,
    monoxide_sentence,
    numbers,
    shares_sentence,
    spectra_sentence,
)
from oximetry_workbook.teach.published_dyes import PUBLISHED_DYES

SENTENCES = (
    main_sentence,
    shares_sentence,
    content_sentence,
    monoxide_sentence,
    methaemoglobin_sentence,
    dye_sentence,
)
FIELDS = specs_of(OtherBlood)
DYES = sorted(PUBLISHED_DYES)


def _values_of(spec):
    if isinstance(spec, Choice):
        return st.sampled_from(spec.options)
    return st.floats(spec.low, spec.high)


any_blood = (
    st.fixed_dictionaries({name: _values_of(spec) for name, spec in FIELDS.items()})
    .filter(lambda values: values["carboxyhaemoglobin"] + values["methaemoglobin"] <= 0.9)
    .map(lambda values: OtherBlood(**values))
)


def check_plain(sentence):
    assert re.fullmatch(r"[A-Z\d][^<>{}&\n]*\.", sentence), sentence
    assert "  " not in sentence
    assert not re.search(r"\b(None|nan|inf|array|True|False)\b", sentence), sentence
    assert not re.search(r"\de[+-]?\d|(?<!\w)-\d", sentence), sentence


@given(any_blood)
@settings(max_examples=150)
def test_every_blood_has_finite_figures_and_plain_sentences(blood):
    assert blood.shares_percent.sum() == pytest.approx(100.0)
    assert blood.shares_percent.min() >= -1e-9
    assert 0.0 < blood.content_ml_per_dl < 32.0
    for sentence in SENTENCES:
        check_plain(sentence(blood))
    for value in numbers(blood).values():
        assert re.fullmatch(r"\d+(\.\d+)?( %)?|–", value)


@given(any_blood)
@settings(max_examples=15)
def test_lines_are_finite_and_end_where_too_little_haemoglobin_is_left(blood):
    monoxide, met = blood.monoxide_line, blood.methaemoglobin_line
    assert np.all(np.diff(monoxide.x) > 0.0)
    ends = ((monoxide, blood.methaemoglobin), (met, blood.carboxyhaemoglobin))
    for line, other in ends:
        assert line.x[-1] == pytest.approx(min(60.0, 90.0 - 100.0 * other))
        assert np.all(np.isfinite(line.percent))
        assert np.all((line.percent >= 0.0) & (line.percent <= 100.0))


@pytest.mark.parametrize(
    ("line", "name", "scale"),
    [
        ("monoxide_line", "carboxyhaemoglobin", 100.0),
        ("methaemoglobin_line", "methaemoglobin", 100.0),
        ("dye_line", "dye_mg_per_l", 1.0),
    ],
)
def test_a_line_holds_the_readings_of_the_simulator_and_the_meter(line, name, scale):
    blood = OtherBlood(arterial_saturation=0.9, dye="indigo carmine", haemoglobin_g_per_l=120.0)
    drawn = getattr(blood, line)
    for index in (0, 7, 24):
        amounts = {"dye_mg_per_l": blood.dye_mg_per_l, name: drawn.x[index] / scale}
        scenario = Scenario(
            arterial_saturation=0.9, dye="indigo carmine", haemoglobin_g_per_l=120.0, **amounts
        )
        reading = measure(simulate(scenario, duration_s=10.0)).spo2_percent
        assert drawn.percent[index] == pytest.approx(reading, abs=1e-9)


def test_the_point_of_the_state_lies_on_its_lines():
    blood = OtherBlood(
        carboxyhaemoglobin=0.3, methaemoglobin=0.2, dye="methylene blue", dye_mg_per_l=5.0
    )
    places = (
        (blood.monoxide_line, 30.0),
        (blood.methaemoglobin_line, 20.0),
        (blood.dye_line, 5.0),
    )
    for line, amount in places:
        assert np.interp(amount, *line) == pytest.approx(blood.shown_percent, abs=0.2)


@pytest.mark.parametrize(
    "changes",
    [
        {"carboxyhaemoglobin": 0.5},
        {"methaemoglobin": 0.35},
        {"haemoglobin_g_per_l": 60.0},
        {"dye": "methylene blue"},
    ],
    ids=lambda each: next(iter(each)),
)
def test_the_reading_is_that_of_a_vanishing_pulse_on_the_probes_own_curve(changes):
    blood = OtherBlood(**changes)
    ratio = small_pulse_ratio(blood.scenario, blood.arterial_saturation)
    expected = np.interp(ratio, *diffusion_calibration("finger"))
    assert blood.shown_percent == pytest.approx(expected, abs=0.5)


def test_functional_and_fractional_saturation_by_their_definitions():
    blood = OtherBlood(arterial_saturation=0.9, carboxyhaemoglobin=0.2, methaemoglobin=0.1)
    with_oxygen, without, monoxide, met = blood.shares_percent
    assert (monoxide, met) == pytest.approx((20.0, 10.0))
    assert 100.0 * with_oxygen / (with_oxygen + without) == pytest.approx(90.0)
    assert with_oxygen == pytest.approx(blood.fractional_percent)
    assert with_oxygen == pytest.approx(63.0)
    np.testing.assert_allclose(blood.carrying_percent(np.array([20.0]), 0.1), 63.0)


def test_content_is_what_the_haemoglobin_left_can_bind_and_a_little_dissolved():
    blood = OtherBlood(haemoglobin_g_per_l=100.0, carboxyhaemoglobin=0.3, methaemoglobin=0.1)
    bound = oxygen_content_ml_per_dl(0.97, 0.0, 100.0, 0.3, 0.1)
    assert bound < blood.content_ml_per_dl < bound + 0.5
    full, nearly = (OtherBlood(arterial_saturation=each) for each in (1.0, 0.999))
    assert full.content_ml_per_dl > nearly.content_ml_per_dl


@pytest.mark.parametrize("dye", DYES)
def test_a_dye_lowers_the_reading_and_leaves_the_oxygen(dye):
    blood = OtherBlood(dye=dye)
    assert np.all(np.diff(blood.dye_line.percent) < 0.0)
    assert blood.content_ml_per_dl == ORDINARY.content_ml_per_dl
    amount, there = blood.dye_point
    assert 0.0 < amount < MOST_DYE_MG_PER_L
    assert there < ORDINARY.functional_percent
    assert PUBLISHED_DYES[dye].source in dye_sentence(blood)


def test_without_a_dye_its_amount_is_nothing():
    bare = OtherBlood(dye="none", dye_mg_per_l=10.0)
    assert bare.dye_point is None
    assert np.ptp(bare.dye_line.percent) == 0.0
    assert "No dye is chosen" in dye_sentence(bare)


def test_methaemoglobin_draws_from_above_and_below_to_the_turning_point():
    turning = turning_percent(0.35)
    for level, way in ((turning + 8.0, -1.0), (turning - 8.0, 1.0)):
        before, after = (
            OtherBlood(arterial_saturation=level / 100.0, methaemoglobin=met).shown_percent
            for met in (0.0, 0.35)
        )
        assert way * (after - before) > 1.0
    still = OtherBlood(arterial_saturation=turning / 100.0, methaemoglobin=0.35).shown_percent
    assert still == pytest.approx(turning, abs=0.5)


def test_words_follow_the_state():
    assert "as ordinary blood does" in main_sentence(ORDINARY)
    assert "both saturations are the same" in shares_sentence(ORDINARY)
    thin = OtherBlood(haemoglobin_g_per_l=75.0)
    # bound: half; dissolved: the same
    assert "51 % of what ordinary blood holds" in main_sentence(thin)
    assert "Below 70 %" in main_sentence(replace(ORDINARY, arterial_saturation=0.5))
    met = OtherBlood(methaemoglobin=0.3)
    assert "30 % MetHb" in shares_sentence(met)
    assert "a functional saturation of 97 %, and" in methaemoglobin_sentence(met)
    assert methaemoglobin_sentence(met.at(70.0)).endswith("a functional saturation of 70 %.")
    check_plain(spectra_sentence())


def test_a_withheld_number_is_told_as_such():
    silent = OtherBlood(arterial_saturation=0.95)
    measurement = silent.reading.measurement
    vars(silent)["reading"] = replace(
        silent.reading, measurement=replace(measurement, spo2_percent=None, reason="No pulse.")
    )
    assert main_sentence(silent) == "No number is shown. No pulse."
    assert numbers(silent)["Meter shows"] == "–"


def test_a_line_leaves_out_what_the_meter_withholds():
    faint = Scenario(perfusion_index_percent=0.05, noise_percent=1.0)
    line = readings_along(faint, "methaemoglobin", 0.6)
    assert line.x.size == line.percent.size == 0


def test_bounds_are_those_of_a_scenario():
    for name in FIELDS.keys() - {"arterial_saturation", "dye_mg_per_l"}:
        assert FIELDS[name] is SPECS[name]
    own, shared = FIELDS["arterial_saturation"], SPECS["arterial_saturation"]
    assert replace(own, label=shared.label) == shared


def test_what_is_out_of_range_is_refused():
    for name, spec in FIELDS.items():
        with pytest.raises(ValueError, match=name):
            OtherBlood(**{name: "ink" if isinstance(spec, Choice) else 1e9})
    together = "COHb 50 % and MetHb 45 % add up to 95 % of all haemoglobin.* at most 90 %"
    with pytest.raises(ValueError, match=together):
        OtherBlood(carboxyhaemoglobin=0.5, methaemoglobin=0.45)


def test_ninety_percent_together_is_allowed_however_the_sum_is_rounded():
    for monoxide in range(30, 61):
        OtherBlood(carboxyhaemoglobin=monoxide / 100.0, methaemoglobin=(90 - monoxide) / 100.0)
