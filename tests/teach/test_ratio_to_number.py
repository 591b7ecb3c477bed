"""The chapter on the curve: what is drawn, what the sentences say, and that they fit together."""

import json
import math
import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from oximetry_workbook.body.calibration import diffusion_calibration, small_pulse_ratio
from oximetry_workbook.body.probe import Probe
from oximetry_workbook.body.quantities import Choice, specs_of
from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.body.sites import SITES
from oximetry_workbook.meter.curve import published_curves
from oximetry_workbook.study.small_study import PEOPLE
from oximetry_workbook.teach.curves_together import (
    STRAIGHT,
    CurvesTogether,
    curves_sentence,
    paths_sentence,
    said,
    site_curve,
    site_name,
)
from oximetry_workbook.teach.ratio_to_number import (
    FDA_A_RMS_POINTS,
    TRUE_PERCENT,
    CalibrationStudy,
    beyond_sentence,
    error_sentence,
    ethics_sentence,
    formula,
    people_sentence,
    said_over_draws,
    study_sentence,
)

NOTEBOOK = Path(__file__).parents[2] / "workbook" / "05_from_ratio_to_number.ipynb"
CURVE_SENTENCES = (curves_sentence, paths_sentence)
STUDY_SENTENCES = (
    study_sentence,
    beyond_sentence,
    ethics_sentence,
    error_sentence,
    people_sentence,
)


def any_state(kind):
    fields = {
        name: st.sampled_from(spec.options)
        if isinstance(spec, Choice)
        else st.floats(spec.low, spec.high)
        for name, spec in specs_of(kind).items()
    }
    return st.builds(kind, **fields)


def check_plain(sentence):
    assert re.fullmatch(r"[A-Z\d][^<>{}&\n]*\.", sentence), sentence
    assert "  " not in sentence
    assert not re.search(r"\b(None|nan|inf|array)\b", sentence), sentence
    assert not re.search(r"\de[+-]?\d", sentence), sentence


@given(any_state(CurvesTogether))
def test_sentences_about_curves_are_plain(state):
    for sentence in CURVE_SENTENCES:
        check_plain(sentence(state))


@settings(max_examples=30)
@given(any_state(CalibrationStudy))
def test_sentences_about_any_study_are_plain_and_its_numbers_finite(study):
    for sentence in STUDY_SENTENCES:
        check_plain(sentence(study))
    for numbers in (study.errors, study.true_ratio, study.mean_ratio, [study.largest_gap]):
        assert np.isfinite(numbers).all()


@pytest.mark.parametrize("table", ["Prahl", "Zijlstra"])
@pytest.mark.parametrize("site", SITES)
def test_a_sites_curve_is_the_probes_calibration(site, table):
    ratio, percent = diffusion_calibration(site, table)
    np.testing.assert_allclose(site_curve(site, table)(ratio), percent, atol=1e-9)


def test_nine_curves_of_three_origins():
    curves = CurvesTogether().curves
    assert set(curves) == {STRAIGHT, *map(site_name, SITES), *published_curves}
    assert len(curves) == 9


@given(any_state(CurvesTogether))
def test_the_plain_law_always_says_less_than_the_finger(state):
    assert state.percents[STRAIGHT] < state.percents[site_name("finger")] - 2.0


@pytest.mark.parametrize("saturation", [0.5, 0.7, 0.85, 1.0])
@pytest.mark.parametrize("site", SITES)
def test_red_goes_further_than_infrared(site, saturation):
    red, infrared = Probe(Scenario(site=site, arterial_saturation=saturation)).path_length_cm()
    assert red > infrared


@pytest.mark.parametrize(
    ("percent", "words"),
    [(101.0, "over 100 %"), (100.2, "100 %"), (73.6, "74 %"), (-24.0, "below 0 %")],
)
def test_off_the_scale_is_said_in_words(percent, words):
    assert said(percent) == words


def test_curves_sentence_tells_lowest_and_highest():
    state = CurvesTogether(ratio=0.8)
    percents = state.percents.values()
    found = re.findall(r"(\d+) %", curves_sentence(state))
    assert [int(each) for each in found] == [round(min(percents)), round(max(percents))]


def test_formula_is_the_curve():
    for fit in ("line", "quadratic"):
        curve = CalibrationStudy(fit=fit).curve
        numbers = [float(n) for n in re.findall(r"[\d.]+", formula(curve).replace("R²", "R"))]
        signs = [-1.0 if s == "−" else 1.0 for s in re.findall(r"[−+]", formula(curve))]
        coefficients = [numbers[0], *np.multiply(signs, numbers[1:])]
        assert np.polyval(coefficients[::-1], 0.9) == pytest.approx(curve(0.9), abs=0.15)


def test_the_study_is_the_one_asked_for():
    study = CalibrationStudy(volunteers=12.4, lowest_percent=80.0)
    assert study.count == len(study.people) == study.agreement.n_subjects == 12
    assert study.pairs["sao2_percent"].min() >= 80.0
    assert study.curve is study.curves["line"]
    assert replace(study, fit="quadratic").other.name == "line"


def test_agreement_is_that_of_the_pairs():
    study = CalibrationStudy(fit="quadratic")
    expected = study.curve(study.pairs["ratio"].to_numpy()) - study.pairs["sao2_percent"]
    assert study.agreement.a_rms == pytest.approx(np.sqrt((expected**2).mean()))
    assert abs(study.agreement.bias) < 1e-9


def test_new_people_are_others_and_on_the_whole_fit_less_well():
    studies = [CalibrationStudy(draw=d, volunteers=5) for d in range(1, 21)]
    own = np.mean([study.agreement.a_rms**2 for study in studies])
    new = np.mean([study.new_agreement.a_rms**2 for study in studies])
    assert new > own
    assert studies[0].new_agreement.n_subjects == 40


def test_said_at_is_the_curve_at_the_true_ratio():
    study = CalibrationStudy()
    index = list(TRUE_PERCENT).index(70.0)
    ratio = study.true_ratio[:, index].mean()
    assert study.said_at(70.0)["line"] == pytest.approx(study.curves["line"](ratio))


def test_forms_agree_inside_and_part_beyond():
    alike = CalibrationStudy(spread=0.0, scatter_percent=0.0)
    beyond = alike.said_at(50.0)
    assert alike.largest_gap < 0.6
    assert beyond["line"] - beyond["quadratic"] > 2.0
    assert beyond["quadratic"] < 50.0 < beyond["line"]


def test_repeated_studies_part_more_beyond_their_samples():
    said_beyond = said_over_draws(CalibrationStudy(), 10)
    inside = [CalibrationStudy(draw=d).said_at(85.0)["quadratic"] for d in range(1, 11)]
    assert np.std(said_beyond["quadratic"]) > 5.0 * np.std(inside)
    assert np.std(said_beyond["quadratic"]) > np.std(said_beyond["line"])


@pytest.mark.parametrize(
    ("lowest", "words"),
    [
        (50.0, "No ethics committee would allow 50 %"),
        (59.0, "No ethics committee would allow 59 %"),
        (60.0, "Few research studies went to 60 %"),
        (69.0, "hardly any ethics committee"),
        (70.0, "Here volunteers stop, for their safety"),
        (80.0, "the guidance asks for 70 to 100 %"),
    ],
)
def test_the_lowest_saturation_is_judged(lowest, words):
    assert words in ethics_sentence(CalibrationStudy(lowest_percent=lowest))


@pytest.mark.parametrize(("lowest", "pressure"), [(70.0, 37), (60.0, 31), (50.0, 27)])
def test_oxygen_pressure_at_the_lowest_saturation(lowest, pressure):
    """Severinghaus 1979, J Appl Physiol 46:599: 50 % at 26.9, 60 % near 31, 70 % near 37 mmHg."""
    sentence = ethics_sentence(CalibrationStudy(lowest_percent=lowest))
    assert f"down to {pressure} mmHg" in sentence


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"spread": 0.0}, "All volunteers are alike"),
        ({"volunteers": 5}, "5 volunteers and 105 pairs are fewer than the guidance’s 10 and 200"),
        ({}, "keep to one side"),
        ({"spread": 0.2, "scatter_percent": 5.0}, "More samples help as well"),
    ],
)
def test_people_are_judged(changes, words):
    assert words in people_sentence(CalibrationStudy(**changes))


@pytest.mark.parametrize(("scatter", "word"), [(2.0, "within"), (10.0, "beyond")])
def test_errors_are_held_against_the_guidance(scatter, word):
    study = CalibrationStudy(scatter_percent=scatter)
    assert f"{word} the 3.0 that the guidance allows" in error_sentence(study)
    assert (study.new_agreement.a_rms <= FDA_A_RMS_POINTS) == (word == "within")


@pytest.mark.parametrize("changes", [{"volunteers": 4}, {"fit": "cubic"}, {"lowest_percent": 40}])
def test_states_out_of_range_are_refused(changes):
    with pytest.raises(ValueError, match=next(iter(changes))):
        CalibrationStudy(**changes)


def test_the_table_of_people_in_the_notebook_is_the_codes():
    cells = json.loads(NOTEBOOK.read_text("utf-8"))["cells"]
    text = "".join("".join(cell["source"]) for cell in cells if cell["cell_type"] == "markdown")
    rows = re.findall(
        r"^\| ([^|]+) \| ([\d.]+)[^|]* \| (a factor of )?([\d.]+)[^|]* \|$", text, re.MULTILINE
    )
    told = [(float(middle), float(d), bool(factor)) for _, middle, factor, d in rows]
    assert told == [
        (middle, round(math.exp(d), 2) if factor else d, factor)
        for middle, d, factor in PEOPLE.values()
    ]


def test_the_other_led_in_the_notebook_is_the_engines():
    ratios = [small_pulse_ratio(Scenario(red_peak_nm=nm), 0.80) for nm in (655.0, 660.0)]
    told = (
        f"is {ratios[0]:.2f} instead of {ratios[1]:.2f}, and the finger’s curve by diffusion says "
    )
    says = NOTEBOOK.read_text("utf-8").replace("\N{NO-BREAK SPACE}", " ")
    assert f"{told}{site_curve('finger')(ratios[0]):.0f} %" in says


@pytest.mark.parametrize("volunteers", [5, 10, 40])
def test_precision_that_shows_larger_than_a_rms_without_bias_is_explained(volunteers):
    told = error_sentence(CalibrationStudy(volunteers=volunteers))
    precision, a_rms = (float(n) for n in re.findall(r"(?:precision|, A_rms) (\d\.\d)", told)[:2])
    assert ("few people" in told) == (precision > a_rms)
