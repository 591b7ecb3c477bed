"""A desaturation study: pairs, curve and errors found another way; sentences for any state."""

import re

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from oximetry_workbook.study.calibration_fit import leave_one_subject_out
from oximetry_workbook.study.pairs import read_pairs
from oximetry_workbook.teach import own_study_words as words
from oximetry_workbook.teach.own_study import (
    METERS_OWN,
    NEW_CURVE,
    OWN_FILE,
    SPREADS,
    OwnStudy,
    leave_each_out,
    with_file,
)

FITS = [
    (form, method) for form in ("linear", "quadratic") for method in ("least squares", "robust")
]

FILE = b"""volunteer;R;SpO2 (%);SaO2 (%);skin tone;remark
A;0,50;98;98,5;one;x
A;0,95;88;86,0;one;
A;1,45;73;71,0;one;
B;0,52;97;97,0;two;
B;1,00;86;85,5;two;
B;1,50;;70,5;two;
C;0,55;98;96,0;two;
C;1,05;85;83,0;two;
C;1,40;75;73,5;two;
"""


def test_least_squares_and_errors_as_numpy_finds_them():
    study = OwnStudy(form="quadratic")
    table = study.pairs.table
    expected = np.polynomial.Polynomial.fit(table["ratio"], table["sao2_percent"], 2)
    errors = expected(table["ratio"].to_numpy()) - table["sao2_percent"].to_numpy()
    np.testing.assert_allclose(study.errors, errors, atol=1e-8)
    counted = errors[table["sao2_percent"] >= 70.0]
    assert study.result.overall.a_rms == pytest.approx(np.sqrt(np.mean(counted**2)))
    assert study.result.overall.bias == pytest.approx(counted.mean())


@pytest.mark.parametrize(("form", "method"), FITS)
def test_the_last_slice_is_leaving_one_subject_out(form, method):
    study = OwnStudy(subjects=5, form=form, method=method)
    huber = {"robust": "huber"}.get(method, method)
    expected = leave_one_subject_out(study.fitted_pairs, form, huber)
    shares, found = zip(*leave_each_out(study), strict=True)
    assert found[-1].a_rms_points == pytest.approx(expected.a_rms)
    np.testing.assert_allclose(shares, np.arange(1, 6) / 5.0)
    # least squares on other people cannot beat least squares on one's own
    if method == "least squares":
        assert found[-1].a_rms_points > found[-1].fitted_points


def test_fields_move_the_invented_pairs():
    usual = OwnStudy()
    assert OwnStudy(seed=2).pairs.table["ratio"].iloc[0] != usual.pairs.table["ratio"].iloc[0]
    assert OwnStudy(subjects=5).pairs.table["subject"].nunique() == 5
    assert OwnStudy(lowest_percent=60.0).pairs.table["sao2_percent"].min() < 62.0
    wide, narrow = (OwnStudy(spread=s).result.overall.a_rms for s in (2.0, 0.0))
    assert narrow < usual.result.overall.a_rms < wide
    for name in SPREADS:
        assert getattr(OwnStudy(spread=0.0).population, name) == 0.0


def test_invented_people_come_without_groups_and_with_the_warning():
    study = OwnStudy()
    assert "group" not in study.pairs.table
    assert not study.result.groups
    assert words.not_shown(study)[0] == words.NOT_SKIN
    assert "do not reproduce" in words.NOT_SKIN
    assert "3.6 points" in words.NOT_SKIN  # Bickler and others 2005, abstract: 3.56


def test_a_file_with_both_readings_is_judged_either_way():
    study = with_file(OwnStudy(form="linear"), FILE)
    assert study.source == OWN_FILE
    assert study.judged == NEW_CURVE
    ratio = np.array([0.50, 0.95, 1.45, 0.52, 1.00, 1.50, 0.55, 1.05, 1.40])
    sao2 = np.array([98.5, 86.0, 71.0, 97.0, 85.5, 70.5, 96.0, 83.0, 73.5])
    slope, start = np.polyfit(ratio, sao2, 1)
    np.testing.assert_allclose(study.errors, start + slope * ratio - sao2, atol=1e-8)
    own = OwnStudy(source=OWN_FILE, judged=METERS_OWN, uploaded=study.uploaded)
    np.testing.assert_allclose(own.errors, [-0.5, 2.0, 2.0, 0.0, 0.5, 2.0, 2.0, 1.5])
    assert own.result.n_without_reading == 1
    assert words.NOT_SKIN not in words.not_shown(own)
    assert any("remark" in each for each in words.findings(own))


def test_a_file_without_one_of_the_readings_is_judged_by_the_other():
    table = read_pairs(FILE).table.dropna()
    only_r, only_reading = (table.drop(columns=c) for c in ("spo2_percent", "ratio"))
    own = with_file(OwnStudy(judged=METERS_OWN, form="linear"), only_r.to_csv().encode())
    assert own.judged == NEW_CURVE
    other = with_file(OwnStudy(), only_reading.to_csv().encode())
    assert other.judged == METERS_OWN
    assert other.calibration is None
    assert "no R" in words.curve_sentence(other)
    with pytest.raises(ValueError, match="no column ratio"):
        next(leave_each_out(other))


@pytest.mark.parametrize(
    ("fields", "message"),
    [
        ({"source": OWN_FILE}, "source is .* no file was read; choose a CSV file"),
        ({"subjects": 3}, "subjects is 3; allowed is 4 to 30"),
        ({"form": "cubic"}, "form is 'cubic'; allowed are quadratic, linear, rational"),
        ({"uploaded": 7}, "uploaded is 7; give what read_pairs returns"),
    ],
)
def test_what_is_refused(fields, message):
    with pytest.raises(ValueError, match=message):
        OwnStudy(**fields)


def test_judging_a_reading_the_file_lacks_is_refused():
    table = read_pairs(FILE).table
    pairs = read_pairs(pd.DataFrame(table.drop(columns="spo2_percent")))
    with pytest.raises(ValueError, match=r"judged is .* no column spo2_percent"):
        OwnStudy(source=OWN_FILE, judged=METERS_OWN, uploaded=pairs)


@given(
    st.builds(
        OwnStudy,
        subjects=st.integers(4, 30),
        spread=st.floats(0.0, 2.0),
        lowest_percent=st.floats(50.0, 90.0),
        seed=st.integers(0, 99),
        form=st.sampled_from(["quadratic", "linear"]),
        method=st.sampled_from(["least squares", "robust"]),
        judged=st.sampled_from([NEW_CURVE, METERS_OWN]),
    )
)
@settings(max_examples=20, deadline=None)
def test_sentences_of_any_state_are_plain(study):
    makers = ("curve", "deciles", "errors", "limits", "swings")
    texts = [getattr(words, f"{name}_sentence")(study) for name in makers]
    texts += [*words.shown(study), *words.not_shown(study), *words.numbers(study).values()]
    for text in texts:
        assert text
        assert not re.search(r"\b(None|nan|inf|array)\b|[<>{}]|  ", text), text
    assert not set(words.shown(study)) & set(words.not_shown(study))


def test_the_sentence_of_people_left_out():
    assert words.left_out_sentence(None) == words.PRESS
    *_, (_, found) = leave_each_out(OwnStudy(subjects=5))
    sentence = words.left_out_sentence(found)
    assert sentence.startswith("5 left out")
    assert f"{found.a_rms_points:.2f}" in sentence
