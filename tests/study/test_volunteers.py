"""Virtual volunteers: who is drawn, what is done with them, and how far chance goes."""

import numpy as np
import pandas as pd
import pytest
import scipy.stats
from hypothesis import given, settings
from hypothesis import strategies as st

from oximetry_workbook.body.calibration import small_pulse_ratio
from oximetry_workbook.body.many_people import PERSONAL
from oximetry_workbook.body.scenario import SPECS, Scenario
from oximetry_workbook.body.sensor import noise_scale
from oximetry_workbook.body.simulate import pulse_optics, simulate
from oximetry_workbook.meter.curve import Curve
from oximetry_workbook.meter.measure import measure
from oximetry_workbook.study.breakdown import accuracy
from oximetry_workbook.study.pairs import read_pairs
from oximetry_workbook.study.population import GROUPS, MELANIN, Normal, Pigment, Population
from oximetry_workbook.study.volunteers import (
    MOST_NOISE_OVER_PULSE,
    READING_S,
    Protocol,
    desaturation_study,
    draw_people,
    ratio_sd,
)

seeds = st.integers(0, 10_000)


@given(st.integers(1, 60), seeds)
def test_people_are_repeatable_scenarios_and_the_first_stay(n, seed):
    people = draw_people(n, seed=seed)
    assert people["subject"].tolist() == list(range(1, n + 1))
    for name in Population().distributions():
        assert people[name].between(SPECS[name].low, SPECS[name].high).all()
    pd.testing.assert_frame_equal(draw_people(n + 3, seed=seed).head(n), people)


@pytest.mark.parametrize("name", sorted(set(Population().distributions()) - {"melanin_fraction"}))
def test_people_spread_as_stated(name):
    """Kolmogorov and Smirnov's test against scipy's normal distribution, away from the bounds."""
    spread = Population().distributions()[name]
    value = draw_people(4000, seed=3)[name].to_numpy()
    z = np.log(value / spread.middle) if spread.of_logarithm else value - spread.middle
    assert scipy.stats.kstest(z, "norm", (0.0, spread.deviation)).pvalue > 1e-3


def test_fields_vary_independently():
    values = draw_people(4000, seed=1)[list(Population().distributions())]
    between = values.corr("spearman").to_numpy() - np.eye(values.shape[1])
    assert np.abs(between).max() < 5.0 / np.sqrt(4000)


@given(st.integers(10, 80), seeds, st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_groups_are_filled_in_their_shares(n, seed, dark, rest):
    population = Population(dark_share=dark, light_share=(1.0 - dark) * rest)
    people = draw_people(n, population, seed)
    for group, share in zip(GROUPS, population.pigment().shares, strict=True):
        ours = people[people["group"] == group]
        # steps of the golden section: discrepancy below a few over n, whatever the interval
        assert abs(len(ours) - share * n) < 2.0 + np.log(n)
        low, high = MELANIN[group]
        assert ours["melanin_fraction"].between(low * 0.999999, high * 1.000001).all()


@given(st.lists(st.floats(0.0, 1.0), min_size=2, max_size=9), st.floats(0.0, 1.0))
def test_melanin_rises_with_its_share_of_people(shares, light):
    pigment = Pigment("", (light, 0.0, 1.0 - light))
    assert (np.diff(pigment.ppf(np.sort(shares))) >= -1e-12).all()


@given(st.floats(0.001, 0.999), st.floats(-5.0, 5.0), st.floats(0.01, 3.0))
def test_quantiles_against_scipy(share, middle, deviation):
    ours = Normal("", middle, deviation).ppf(np.array([share]))
    assert ours[0] == pytest.approx(scipy.stats.norm(middle, deviation).ppf(share), abs=1e-9)
    ours = Normal("", np.exp(middle), deviation, True).ppf(np.array([share]))
    theirs = scipy.stats.lognorm(deviation, scale=np.exp(middle)).ppf(share)
    assert ours[0] == pytest.approx(theirs, rel=1e-9)


def test_quantiles_keep_their_shape_and_have_ends():
    found = Normal("", 0.0, 1.0).ppf(np.array([[0.0, 0.25, 0.5], [0.75, 0.975, 1.0]]))
    assert found.shape == (2, 3)
    np.testing.assert_allclose(found[0], [-8.2095, scipy.stats.norm.ppf(0.25), 0.0], atol=1e-4)
    np.testing.assert_allclose(found[1], [0.67449, scipy.stats.norm.ppf(0.975), 8.2095], atol=1e-4)


@settings(max_examples=20)
@given(
    st.integers(1, 6),
    seeds,
    st.lists(st.floats(40.0, 100.0), min_size=1, max_size=5),
    st.integers(1, 4),
    st.floats(0.0, 5.0),
)
def test_every_volunteer_goes_through_the_whole_protocol(n, seed, plateaus, samples, reach):
    protocol = Protocol(tuple(plateaus), samples, reach)
    readings = desaturation_study(draw_people(n, seed=seed), protocol, seed=seed)
    assert readings["plateau_percent"].tolist() == np.tile(np.repeat(plateaus, samples), n).tolist()
    assert readings["sample"].tolist() == list(range(1, samples + 1)) * len(plateaus) * n
    assert (readings["sao2_percent"] - readings["plateau_percent"]).abs().max() <= reach + 1e-9
    assert readings["sao2_percent"].max() <= 100.0
    assert readings["spo2_percent"].dropna().between(0.0, 100.0).all()
    pd.testing.assert_series_equal(
        readings["ratio"].isna(), readings["spo2_percent"].isna(), check_names=False
    )


def test_more_people_do_not_move_the_readings_of_the_first():
    few, many = (desaturation_study(draw_people(n, seed=4), seed=4) for n in (5, 30))
    pd.testing.assert_frame_equal(many.head(len(few)), few)


def test_ratios_are_those_of_the_slow_way_and_chance_of_the_stated_size():
    """Scenario by scenario with `small_pulse_ratio` and `noise_scale`; less that, and over its
    standard deviation, R is standard normal (Kolmogorov and Smirnov, scipy)."""
    people = draw_people(40, seed=6)
    readings = desaturation_study(people, seed=6).dropna()
    own = people.set_index("subject")[[name for name in PERSONAL if name in people]]
    z = []
    for row in readings.itertuples():
        who = Scenario(arterial_saturation=row.sao2_percent / 100.0, **own.loc[row.subject])
        noise = noise_scale(who, pulse_optics(who).log_light)
        noise = noise * who.noise_percent / row.perfusion_index_percent
        ratio = small_pulse_ratio(who, who.arterial_saturation)
        z.append((row.ratio - ratio) / ratio_sd(np.array(ratio), noise))
    assert len(z) > 1000
    assert scipy.stats.kstest(z, "norm").pvalue > 1e-3


def test_without_chance_a_reading_is_the_slow_ways_to_a_billionth(monkeypatch):
    monkeypatch.setattr("oximetry_workbook.study.volunteers.BREATHING_RATIO_SD", 0.0)
    people = draw_people(5, seed=2)
    readings = desaturation_study(people, Protocol(noise_percent=0.0, site="forehead"), seed=2)
    own = people.set_index("subject")[[name for name in PERSONAL if name in people]]
    slow = [
        small_pulse_ratio(Scenario(site="forehead", **own.loc[s]), percent / 100.0)
        for s, percent in zip(readings["subject"], readings["sao2_percent"], strict=True)
    ]
    np.testing.assert_allclose(readings["ratio"], slow, rtol=1e-9)


SITUATIONS = [
    {"noise_percent": 0.0},
    {"noise_percent": 0.02},
    {"noise_percent": 0.08},
    {"noise_percent": 0.05, "perfusion_index_percent": 0.3},
    {"noise_percent": 0.03, "melanin_fraction": 0.4},
    {"noise_percent": 0.03, "thickness_scale": 1.3, "blood_volume_scale": 2.0},
    {"noise_percent": 0.03, "site": "forehead"},
]


def spread_over_expected(changes, saturation, recordings, first_seed):
    """Standard deviation of R over that many simulated recordings, over the one the study uses."""
    who = Scenario(**{"perfusion_index_percent": 1.0, **changes}, arterial_saturation=saturation)
    seeds = range(first_seed, first_seed + recordings)
    found = [measure(simulate(who, READING_S, seed=seed)).ratio for seed in seeds]
    noise = noise_scale(who, pulse_optics(who).log_light)
    noise = noise * who.noise_percent / who.perfusion_index_percent
    return np.std(found, ddof=1) / ratio_sd(np.array(small_pulse_ratio(who, saturation)), noise)


@pytest.mark.parametrize("saturation", [1.0, 0.85, 0.7])
@pytest.mark.parametrize("changes", SITUATIONS, ids=str)
def test_chance_in_a_reading_is_that_of_simulated_recordings(changes, saturation):
    """100 recordings give a standard deviation to 7 % (1 / √200): the bound is 3.5 times that."""
    assert spread_over_expected(changes, saturation, 100, 500) == pytest.approx(1.0, abs=0.25)


def test_chance_fits_over_all_situations_together():
    """Other seeds in each of 21 situations of 30 recordings: together to 3 % (1 / √1260)."""
    share = [
        spread_over_expected(changes, saturation, 30, 1000 * (3 * row + column + 1))
        for row, changes in enumerate(SITUATIONS)
        for column, saturation in enumerate((1.0, 0.85, 0.7))
    ]
    assert np.sqrt(np.mean(np.square(share))) == pytest.approx(1.0, abs=0.08)


@pytest.mark.parametrize("saturation", [1.0, 0.7])
@pytest.mark.parametrize(("share", "withheld"), [(0.75, 0.0), (1.3, 1.0)])
def test_the_meter_withholds_where_the_study_does(saturation, share, withheld):
    """A quarter below the bound nearly all recordings are read, a third above nearly none."""
    who = Scenario(
        arterial_saturation=saturation,
        perfusion_index_percent=0.2,
        noise_percent=0.2 * share * MOST_NOISE_OVER_PULSE,
    )
    found = [measure(simulate(who, READING_S, seed=s)).ratio is None for s in range(30)]
    assert np.mean(found) == pytest.approx(withheld, abs=0.1)


def test_weak_pulses_are_withheld():
    people = draw_people(3, seed=1).assign(perfusion_index_percent=[0.05, 1.0, 5.0])
    readings = desaturation_study(people, Protocol(noise_percent=0.05))
    withheld = readings.groupby("subject")["ratio"].apply(lambda ratio: ratio.isna().mean())
    assert withheld.tolist() == [1.0, 0.0, 0.0]


def test_people_who_are_the_reference_are_read_without_error():
    """No spread, hardly any noise, and the reference's own melanin: the curve is theirs."""
    alike = Population(
        blood_volume_spread=0.0,
        thickness_sd=0.0,
        scattering_spread=0.0,
        haemoglobin_mean_g_per_l=150.0,
        haemoglobin_sd_g_per_l=0.0,
        venous_difference_sd=0.0,
        red_peak_sd_nm=0.0,
        infrared_peak_sd_nm=0.0,
        perfusion_median_percent=10.0,
        perfusion_spread=0.0,
    )
    people = draw_people(30, alike, 1).assign(melanin_fraction=0.03)
    readings = desaturation_study(people, Protocol(noise_percent=0.0))
    error = readings["spo2_percent"] - readings["sao2_percent"]
    assert error.abs().max() < 0.3  # six standard deviations of the breathing part


def test_another_curve_reads_the_same_ratios_otherwise():
    people = draw_people(3)
    line = Curve.polynomial("line", (110.0, -25.0), "common practice", (70.0, 100.0))
    ours, theirs = desaturation_study(people), desaturation_study(people, curve=line)
    pd.testing.assert_series_equal(ours["ratio"], theirs["ratio"])
    np.testing.assert_allclose(
        theirs["spo2_percent"], np.clip(110.0 - 25.0 * theirs["ratio"], 0.0, 100.0)
    )


def test_the_table_is_read_as_a_real_studys():
    readings = desaturation_study(draw_people(12, seed=1), seed=1)
    pairs = read_pairs(readings)
    assert len(pairs.table) == len(readings) == 12 * 28
    result = accuracy(pairs, resamples=100)
    inside = readings[readings["sao2_percent"] >= 70.0]
    error = inside["spo2_percent"] - inside["sao2_percent"]
    assert result.overall.a_rms == pytest.approx(np.sqrt(np.mean(error**2)), rel=1e-9)
    assert {part.name for part in result.groups} == set(GROUPS)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: draw_people(0), "n is 0; allowed is 1 to 20000"),
        (lambda: draw_people(2.5), "n is 2.5; allowed are whole numbers"),
        (lambda: draw_people(3, seed=-1), "seed is -1"),
        (lambda: Population(light_share=0.7, dark_share=0.6), "add up to 1.3"),
        (lambda: Population(thickness_sd=2.0), "thickness_sd is 2; allowed is 0 to 0.2"),
        (lambda: Protocol(()), r"plateaus_percent is \(\); give one plateau or more"),
        (lambda: Protocol((100.0, 30.0)), "each from 40 to 100 %"),
        (lambda: Protocol((np.nan,)), "plateaus_percent is nan at row 0"),
        (lambda: Protocol(site="toe"), "site is 'toe'; allowed are finger"),
        (lambda: Protocol(samples_per_plateau=1.5), "samples_per_plateau is 1.5"),
        (lambda: desaturation_study(draw_people(2).head(0)), "people has no rows"),
        (
            lambda: desaturation_study(draw_people(2).drop(columns="group")),
            "people has no column group",
        ),
        (
            lambda: desaturation_study(draw_people(2).assign(thickness_scale=9.0)),
            "thickness_scale is 9",
        ),
        (lambda: desaturation_study(draw_people(2), seed=0.5), "seed is 0.5"),
    ],
)
def test_what_is_refused_is_named(call, message):
    with pytest.raises(ValueError, match=message):
        call()
