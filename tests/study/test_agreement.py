"""Properties of the agreement statistics, how often their intervals hold, what they refuse."""

import math

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from oximetry_workbook.study import agreement as module
from oximetry_workbook.study.agreement import NAMES, agreement, difference_statistics

differences = st.lists(st.floats(-30.0, 30.0), min_size=2, max_size=40)
labelled = st.lists(
    st.tuples(st.floats(-30.0, 30.0), st.sampled_from("ABCDEF")), min_size=2, max_size=40
).filter(lambda rows: len({label for _, label in rows}) >= 2)


def split(rows):
    return [value for value, _ in rows], [label for _, label in rows]


def of_subjects(values, labels, **options):
    return difference_statistics(values, labels, **{"resamples": 100, **options})


def invented_study(subjects=20, pairs=10, bias=1.0, between=1.5, within=1.0, seed=3):
    """Differences with known variances, and who they came from."""
    generator = np.random.default_rng(seed)
    who = np.repeat(np.arange(subjects), pairs)
    own = generator.normal(bias, between, subjects)
    return own[who] + generator.normal(0.0, within, who.size), who


@given(differences)
def test_mean_square_is_bias_squared_plus_variance(values):
    result = difference_statistics(values)
    n = len(values)
    expected = math.hypot(result.bias, result.sd * math.sqrt((n - 1) / n))
    assert result.a_rms == pytest.approx(expected, rel=1e-9, abs=1e-9)
    assert (result.n, result.n_subjects) == (n, n)
    assert result.between_sd is None
    assert result.within_sd is None


@given(differences)
def test_classical_intervals_hold_their_estimate(values):
    result = difference_statistics(values)
    assert tuple(result.intervals) == NAMES
    for name, (low, high) in result.intervals.items():
        assert math.isfinite(low)
        assert math.isfinite(high)
        assert low - 1e-9 <= getattr(result, name) <= high + 1e-9


@given(labelled)
def test_variances_add_up(rows):
    result = of_subjects(*split(rows))
    assert result.sd == pytest.approx(math.hypot(result.between_sd, result.within_sd), abs=1e-12)
    assert result.lower_limit == pytest.approx(result.bias - 1.96 * result.sd, abs=1e-9)
    assert result.upper_limit == pytest.approx(result.bias + 1.96 * result.sd, abs=1e-9)


@given(labelled)
def test_bias_and_accuracy_are_those_of_all_pairs(rows):
    values, labels = split(rows)
    alone, together = difference_statistics(values), of_subjects(values, labels)
    assert together.bias == pytest.approx(alone.bias, abs=1e-9)
    assert together.a_rms == pytest.approx(alone.a_rms, abs=1e-6)


@given(labelled, st.randoms(use_true_random=False))
def test_neither_order_nor_names_matter(rows, chance):
    names = dict(zip("ABCDEF", [3, "x", 2.5, ("a", 1), b"b", True], strict=True))
    shuffled = [(value, names[label]) for value, label in rows]
    chance.shuffle(shuffled)
    before, after = of_subjects(*split(rows)), of_subjects(*split(shuffled))
    for name in (*NAMES, "between_sd", "within_sd"):
        assert getattr(after, name) == pytest.approx(getattr(before, name), abs=1e-6)


@given(labelled, st.floats(-50.0, 50.0), st.floats(0.1, 10.0))
def test_shift_and_unit_carry_through(rows, shift, unit):
    values, labels = split(rows)
    before = of_subjects(values, labels)
    after = of_subjects([unit * value + shift for value in values], labels)
    assert after.sd == pytest.approx(unit * before.sd, rel=1e-6, abs=1e-5)
    for name in ("bias", "lower_limit", "upper_limit"):
        moved = unit * getattr(before, name) + shift
        assert getattr(after, name) == pytest.approx(moved, abs=1e-4)
        ends = [unit * end + shift for end in before.intervals[name]]
        assert after.intervals[name] == pytest.approx(ends, abs=1e-4)


@given(differences)
def test_one_pair_each_is_the_plain_study(values):
    alone, each = difference_statistics(values), of_subjects(values, range(len(values)))
    for name in NAMES:
        assert getattr(each, name) == pytest.approx(getattr(alone, name), abs=1e-6)


def test_differences_far_from_zero_keep_their_digits():
    values, who = invented_study()
    near, far = of_subjects(values, who), of_subjects(values + 1e6, who)
    assert far.sd == pytest.approx(near.sd, rel=1e-7)
    assert far.a_rms == pytest.approx(math.hypot(far.bias, np.std(values)), rel=1e-12)


def test_the_variances_put_in_come_out():
    values, who = invented_study(subjects=4000, pairs=5)
    result = of_subjects(values, who)
    assert result.bias == pytest.approx(1.0, abs=0.08)
    assert result.between_sd == pytest.approx(1.5, rel=0.05)
    assert result.within_sd == pytest.approx(1.0, rel=0.05)


def test_variance_between_is_never_below_zero():
    # each subject spreads widely about the same mean
    result = of_subjects([-5.0, 5.0, -4.0, 4.0, -6.0, 6.0], list("AABBCC"))
    assert result.between_sd == 0.0
    assert result.sd == result.within_sd


def test_the_same_seed_gives_the_same_intervals():
    values, who = invented_study()
    first, again = of_subjects(values, who, seed=1), of_subjects(values, who, seed=1)
    assert first.intervals == again.intervals
    assert first.intervals != of_subjects(values, who, seed=2).intervals


def test_resampling_in_small_blocks_changes_nothing(monkeypatch):
    values, who = invented_study()
    at_once = of_subjects(values, who)
    monkeypatch.setattr(module, "DRAWS_AT_ONCE", 130)
    assert of_subjects(values, who).intervals == at_once.intervals


def test_more_confidence_means_wider_intervals():
    values, who = invented_study()
    for subject in (None, who):
        narrow = difference_statistics(values, subject, confidence=0.5).intervals
        wide = difference_statistics(values, subject, confidence=0.99).intervals
        for name in NAMES:
            assert wide[name][0] < narrow[name][0] < narrow[name][1] < wide[name][1]


def test_knowing_who_is_who_widens_the_interval_of_the_bias():
    values, who = invented_study(between=2.0, within=0.5)
    alone = difference_statistics(values).intervals["bias"]
    together = difference_statistics(values, who).intervals["bias"]
    assert together[1] - together[0] > 2 * (alone[1] - alone[0])


def test_classical_intervals_hold_the_truth_as_often_as_they_say():
    """2000 studies of 30 normal differences: 95 % ± 1.5 points, three standard errors."""
    generator = np.random.default_rng(8)
    bias, sd = 4.0, 2.0
    truth = [bias, sd, math.hypot(bias, sd), bias - 1.96 * sd, bias + 1.96 * sd]
    held = np.zeros(len(NAMES))
    for _ in range(2000):
        intervals = difference_statistics(generator.normal(bias, sd, 30)).intervals
        held += [
            intervals[name][0] <= true <= intervals[name][1]
            for name, true in zip(NAMES, truth, strict=True)
        ]
    assert held / 2000 == pytest.approx(np.full(len(NAMES), 0.95), abs=0.015)


def test_resampled_intervals_hold_the_truth_nearly_as_often_as_they_say():
    """400 studies of 40 subjects with five pairs each; pooled pairs would hold it far less."""
    held, pooled = 0, 0
    for seed in range(400):
        values, who = invented_study(subjects=40, pairs=5, seed=seed)
        low, high = of_subjects(values, who, resamples=400).intervals["bias"]
        held += low <= 1.0 <= high
        low, high = difference_statistics(values).intervals["bias"]
        pooled += low <= 1.0 <= high
    assert 0.90 <= held / 400 <= 0.98
    assert pooled / 400 < 0.80


def test_no_spread_at_all():
    result = difference_statistics([2.0, 2.0, 2.0])
    assert (result.bias, result.sd, result.a_rms) == (2.0, 0.0, 2.0)
    assert set(result.intervals.values()) == {(2.0, 2.0), (0.0, 0.0)}
    assert of_subjects([2.0, 2.0, 2.0], "AAB").sd == 0.0


def test_the_meter_minus_the_blood():
    result = agreement([97.0, 92.0, 84.0, 75.0], [96.0, 90.0, 81.0, 73.0])
    assert result.bias == 2.0
    assert result.a_rms == pytest.approx(math.sqrt(18 / 4))
    assert result.n == 4


@settings(max_examples=25)
@given(st.lists(st.tuples(st.floats(60.0, 100.0), st.floats(60.0, 100.0)), min_size=4, max_size=30))
def test_readings_go_through_to_the_differences(pairs):
    spo2, sao2 = np.array(pairs).T
    who = np.arange(len(pairs)) % 2
    direct = difference_statistics(spo2 - sao2, who, 0.9, 100, 7)
    assert agreement(spo2, sao2, who, confidence=0.9, resamples=100, seed=7) == direct


def test_columns_of_a_table_will_do():
    values, who = invented_study()
    table = pd.DataFrame({"sao2": 85.0, "spo2": 85.0 + values, "who": who}, index=who)
    from_table = agreement(table.spo2, table.sao2, table.who)
    assert from_table.sd == pytest.approx(difference_statistics(values, who).sd, rel=1e-9)


def test_the_intervals_cannot_be_changed():
    with pytest.raises(TypeError):
        difference_statistics([1.0, 2.0]).intervals["bias"] = (0.0, 0.0)


GOOD = [97.0, 92.0, 84.0]


@pytest.mark.parametrize(
    ("spo2", "sao2", "options", "message"),
    [
        (GOOD, GOOD[:2], {}, "spo2_percent has 3 values but sao2_percent has 2"),
        ([97.0, math.nan, 84.0], GOOD, {}, "spo2_percent is nan at row 1; leave out pairs"),
        (GOOD, [97.0, 92.0, math.inf], {}, "sao2_percent is inf at row 2"),
        ([0.97, 0.92, 0.84], GOOD, {}, "spo2_percent is 0.97 at row 0; .* multiply fractions"),
        (GOOD, [0.97, 0.92, 0.84], {}, "sao2_percent is 0.97 at row 0; .* multiply fractions"),
        (GOOD, [97.0, 100.5, 84.0], {}, "sao2_percent is 100.5 at row 1; .* up to 100 are"),
        ([97.0, 92.0, 111.0], GOOD, {}, "spo2_percent is 111 at row 2; .* up to 110 are"),
        ([97.0, 0.0, 84.0], GOOD, {}, "spo2_percent is 0 at row 1"),
        (["97", "low", "84"], GOOD, {}, "spo2_percent holds something that is not a number"),
        ([GOOD], GOOD, {}, "spo2_percent has 2 dimensions"),
        ([97.0], [96.0], {}, "there are 1 pairs; at least 2 are needed"),
        ([], [], {}, "there are 0 pairs"),
        (GOOD, GOOD, {"subject": "AB"}, "subject has 2 labels for 3 pairs"),
        (GOOD, GOOD, {"subject": "AAA"}, "subject has only the label 'A'"),
        (GOOD, GOOD, {"subject": ["A", None, "B"]}, "subject has no label at row 1"),
        (GOOD, GOOD, {"subject": [1.0, 2.0, math.nan]}, "subject has no label at row 2"),
        (GOOD, GOOD, {"confidence": 95}, "confidence is 95; choose a value between 0 and 1"),
        (GOOD, GOOD, {"confidence": math.nan}, "confidence is nan"),
        (GOOD, GOOD, {"subject": "ABB", "resamples": 10}, "resamples is 10; choose 100 or more"),
    ],
)
def test_pairs_that_cannot_be_are_refused(spo2, sao2, options, message):
    with pytest.raises(ValueError, match=message):
        agreement(spo2, sao2, **options)
