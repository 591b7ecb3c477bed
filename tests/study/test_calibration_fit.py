"""Calibration of a study: forms, robustness, the band, people left out, and what is refused."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from oximetry_workbook.meter.curve import Curve
from oximetry_workbook.study.calibration_fit import METHODS, calibrate, leave_one_subject_out
from oximetry_workbook.study.curve_forms import FORMS
from oximetry_workbook.study.small_study import desaturate, draw_volunteers, fit_curve

TRUTHS = {
    "linear": Curve.polynomial("t", [112.0, -26.0], "made up"),
    "quadratic": Curve.polynomial("t", [108.0, -18.0, -3.5], "made up"),
    "rational": Curve.rational("t", [111.0, -24.0], [1.0, 0.09], "made up"),
}


def exact(form, subjects=6):
    """Pairs on a curve, the same R for each subject."""
    ratio = np.tile(np.linspace(0.55, 1.4, 12), subjects)
    return pd.DataFrame(
        {
            "subject": np.repeat(np.arange(subjects), 12),
            "ratio": ratio,
            "sao2_percent": TRUTHS[form](ratio),
        }
    )


@pytest.fixture(scope="module")
def study():
    return desaturate(draw_volunteers(12, 1), seed=1)


@pytest.mark.parametrize("method", METHODS)
@pytest.mark.parametrize("form", FORMS)
def test_pairs_on_a_curve_give_that_curve_back(form, method):
    pairs = exact(form)
    found = calibrate(pairs, form, method)
    where = np.linspace(0.5, 1.5, 30)
    np.testing.assert_allclose(found.curve(where), TRUTHS[form](where), rtol=1e-9)
    np.testing.assert_allclose(found.band(where), [TRUTHS[form](where)] * 2, rtol=1e-7)
    assert found.a_rms == pytest.approx(0.0, abs=1e-7)
    assert leave_one_subject_out(pairs, form, method).a_rms == pytest.approx(0.0, abs=1e-7)


@pytest.mark.parametrize("form", FORMS)
def test_huber_is_moved_less_by_readings_far_off(form):
    pairs = exact(form)
    pairs["sao2_percent"] += np.random.default_rng(2).normal(0.0, 0.3, len(pairs))
    clean = calibrate(pairs, form).curve
    pairs.loc[[3, 15, 30, 44, 61], "sao2_percent"] -= 12.0
    where = np.linspace(0.6, 1.3, 20)
    moved = {
        method: np.max(np.abs(calibrate(pairs, form, method).curve(where) - clean(where)))
        for method in METHODS
    }
    assert moved["huber"] < 0.3 * moved["least squares"]


@pytest.mark.parametrize("degree", [1, 2])
def test_it_is_the_small_studys_fit(study, degree):
    where = study["ratio"].to_numpy()
    ours = calibrate(study, ("linear", "quadratic")[degree - 1])
    np.testing.assert_array_equal(ours.curve(where), fit_curve(study, degree)(where))


def test_arrays_do_as_well_as_a_table(study):
    arrays = {name: study[name].to_numpy() for name in study}
    np.testing.assert_array_equal(calibrate(arrays).coefficients, calibrate(study).coefficients)
    assert leave_one_subject_out(arrays).a_rms == leave_one_subject_out(study).a_rms


@pytest.mark.parametrize("form", FORMS)
def test_order_of_rows_and_names_of_subjects_do_not_matter(study, form):
    shuffled = study.sample(frac=1.0, random_state=3)
    shuffled["subject"] = "S" + shuffled["subject"].astype(str)
    one, other = calibrate(study, form), calibrate(shuffled, form)
    np.testing.assert_allclose(one.band([0.7, 1.2]), other.band([0.7, 1.2]), rtol=1e-8)
    left = [leave_one_subject_out(pairs, form).a_rms for pairs in (study, shuffled)]
    assert left[0] == pytest.approx(left[1], rel=1e-8)


@given(st.floats(0.05, 0.98), st.floats(0.01, 0.01), st.floats(0.3, 2.0))
def test_the_band_holds_the_curve_and_widens_with_confidence(confidence, more, ratio):
    found = calibrate(desaturate(draw_volunteers(6, 2), seed=2))
    low, high = found.band([ratio], confidence)
    lower, higher = found.band([ratio], confidence + more)
    assert lower < low < found.curve(ratio) < high < higher


def test_the_band_holds_the_true_curve_about_as_often_as_it_says():
    """Invented people whose curves lie beside the truth by a normal amount of their own: 400
    studies of 20 people, so 95 % has a standard error of 1.1 %; a little less is expected."""
    rng = np.random.default_rng(8)
    subject = np.repeat(np.arange(20), 12)
    ratio = np.tile(np.linspace(0.55, 1.4, 12), 20)
    held = 0
    for _ in range(400):
        own = rng.normal(0.0, 1.0, 20)[subject] + rng.normal(0.0, 0.5, 240)
        sao2 = np.minimum(110.0 - 25.0 * ratio + own, 100.0)
        low, high = calibrate({"subject": subject, "ratio": ratio, "sao2_percent": sao2}).band(
            [1.0]
        )
        held += bool(low[0] <= 85.0 <= high[0])
    assert 0.91 <= held / 400 <= 0.98


def test_a_band_that_knows_who_is_who_is_wider():
    """Twelve pairs of one person are not twelve people."""
    pairs = exact("linear", 10)
    own = np.random.default_rng(5).normal(0.0, 1.5, 10)[pairs["subject"]]
    pairs["sao2_percent"] = np.minimum(pairs["sao2_percent"] + own, 100.0)
    together = np.subtract(*calibrate(pairs).band([1.0])[::-1])
    apart = np.subtract(*calibrate(pairs.assign(subject=range(120))).band([1.0])[::-1])
    assert together > 2.0 * apart


def test_a_subject_left_out_is_read_with_the_others_curve(study):
    left = leave_one_subject_out(study, "quadratic")
    own = study["subject"] == 7
    curve = calibrate(study[~own], "quadratic").curve
    reading = curve(study.loc[own, "ratio"].to_numpy())
    np.testing.assert_allclose(left.pairs.loc[own.to_numpy(), "spo2_percent"], reading)
    assert left.subjects["subject"].tolist() == list(range(12))
    pooled = np.average(left.subjects["a_rms"] ** 2, weights=left.subjects["n"])
    assert left.a_rms == pytest.approx(np.sqrt(pooled))


@pytest.mark.parametrize("form", FORMS)
def test_people_left_out_are_read_worse_than_those_fitted(study, form):
    assert leave_one_subject_out(study, form).a_rms > calibrate(study, form).a_rms


def test_the_valid_range_ends_where_three_subjects_got_to():
    pairs = exact("linear", 5)
    pairs["sao2_percent"] = np.tile(np.linspace(98.0, 76.0, 12), 5)
    lowest = pairs.index[11::12]
    pairs.loc[lowest, "sao2_percent"] = [70.0, 71.0, 72.0, 73.0, 74.0]
    pairs.loc[pairs.index[::12], "sao2_percent"] = [100.0, 99.5, 99.0, 98.5, 98.0]
    curve = calibrate(pairs).curve
    assert curve.valid_percent == (72.0, 99.0)
    assert calibrate(pairs[pairs["subject"] < 2]).curve.valid_percent == (71.0, 99.5)


def test_findings_are_told(study):
    assert calibrate(study).findings == ()
    small = calibrate(exact("linear")).findings
    assert small[0].startswith("Only 6 subjects")
    assert small[1].startswith("Only 72 pairs")
    swapped = study.assign(ratio=1.0 / study["ratio"])
    assert "rises with R" in " ".join(calibrate(swapped).findings)
    turning = exact("linear")
    turning["sao2_percent"] = 97.0 - 40.0 * (turning["ratio"] - 0.8) ** 2
    assert "turns back near R = 0.80" in " ".join(calibrate(turning, "quadratic").findings)


@pytest.mark.parametrize("form", FORMS)
def test_the_curve_goes_through_json_unchanged(study, form):
    curve = calibrate(study, form, "huber").curve
    again = Curve.from_json(curve.to_json())
    where = np.linspace(0.3, 2.5, 50)
    np.testing.assert_array_equal(again(where), curve(where))
    assert (again.name, again.source) == (curve.name, curve.source)
    assert again.valid_percent == curve.valid_percent


def changed(**columns):
    return exact("linear").assign(**columns)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: calibrate(exact("linear"), "cubic"), "form is 'cubic'; choose one of linear"),
        (lambda: calibrate(exact("linear"), "linear", "l1"), "method is 'l1'; choose one of"),
        (lambda: calibrate(exact("linear").drop(columns="ratio")), "no column ratio"),
        (lambda: calibrate({"subject": [1, 2], "ratio": [1, 2]}), "no column sao2_percent"),
        (lambda: calibrate(changed(ratio=np.nan)), "ratio is nan at row 0"),
        (lambda: calibrate(changed(ratio=-1.0)), "ratio is -1 at row 0; it must be above zero"),
        (lambda: calibrate(changed(ratio=1.0)), "1 different R; give 2"),
        (
            lambda: calibrate(
                changed(ratio=np.where(exact("linear")["ratio"] < 1.0, 0.6, 1.2)),
                "rational",
                "huber",
            ),
            "2 different R; give 3",
        ),
        (lambda: calibrate(changed(sao2_percent=0.9)), "sao2_percent is 0.9 .* multiply fractions"),
        (lambda: calibrate(changed(sao2_percent=101.0)), "sao2_percent is 101"),
        (lambda: calibrate(changed(sao2_percent=90.0)), "no range that 3 subjects cover"),
        (lambda: calibrate(changed(subject="A")), "only the label 'A'"),
        (lambda: calibrate(changed(subject=None)), "subject has no label at row 0"),
        (lambda: calibrate(exact("linear").iloc[10:13], "rational"), "3 pairs are too few"),
        (
            lambda: calibrate({"subject": [1, 2], "ratio": [1.0], "sao2_percent": [90.0, 80.0]}),
            "ratio has 1 values but sao2_percent has 2",
        ),
        (lambda: calibrate(exact("linear")).band([1.0], 95), "confidence is 95"),
        (lambda: calibrate(exact("linear")).band(["R"]), "ratio holds something"),
        (
            lambda: calibrate(
                {
                    "subject": [1, 2] * 4,
                    "ratio": [0.5, 0.6, 0.7, 0.8, 0.9, 1.0, 1.1, 1.2],
                    "sao2_percent": [99.0, 64.0, 78.0, 76.0, 69.0, 90.0, 86.0, 89.0],
                },
                "rational",
            ),
            "rational form does not fit these pairs",
        ),
    ],
)
def test_what_is_refused_is_named(call, message):
    with pytest.raises(ValueError, match=message):
        call()
