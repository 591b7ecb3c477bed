"""The chain in five sentences: every number in them is the engine's, at both levels."""

import re

import pytest

from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.teach.explain import LEVELS, PUBLIC, STUDENTS, explain
from oximetry_workbook.teach.reading import read
from oximetry_workbook.teach.situations import SITUATIONS

WITHHELD = Scenario(noise_percent=1.0, perfusion_index_percent=0.3)
SCENARIOS = {
    "ordinary": Scenario(),
    "withheld": WITHHELD,
    "beyond": Scenario(arterial_saturation=0.5),
    **{each.name: each.applied_to(Scenario()) for each in SITUATIONS},
}
READINGS = {name: read(scenario) for name, scenario in SCENARIOS.items()}

every_reading = pytest.mark.parametrize("reading", READINGS.values(), ids=READINGS)


@every_reading
@pytest.mark.parametrize("level", LEVELS)
def test_there_are_five_whole_sentences(reading, level):
    sentences = explain(reading, level)
    assert len(sentences) == 5
    for sentence in sentences:
        assert re.fullmatch(r"[A-Z“].{20,420}\.", sentence)
        assert not re.search(r"None|nan|  |\.\.|;\.|\( ", sentence)


@every_reading
def test_the_public_hears_no_symbols(reading):
    text = " ".join(explain(reading, PUBLIC))
    assert not re.search(r"\bR\b|AC/DC|SpO2|SaO2|absorbance|ratio of ratios|\bnm\b", text)


@every_reading
def test_the_numbers_are_the_engines(reading):
    measurement, text = reading.measurement, explain(reading, STUDENTS)
    if measurement.ratio is None:
        assert "cannot be trusted" in text[2]
        assert "withheld" in text[4]
        return
    red, infrared, ratio = (
        float(n) for n in re.findall(r"(\d+\.?\d*) %|R = (\d\.\d\d)", text[2]) for n in n if n
    )
    assert infrared == pytest.approx(measurement.perfusion_index_percent, rel=0.05)
    assert red / infrared == pytest.approx(measurement.ratio, rel=0.1)
    assert ratio == pytest.approx(measurement.ratio, abs=0.0051)
    assert f"{round(measurement.spo2_percent)} %" in text[3]
    assert ("lies beyond" in text[3]) == measurement.extrapolated


def test_carbon_monoxide_is_named_and_both_saturations_told():
    text = explain(READINGS["Smoke"], STUDENTS)[4]
    assert "67.9 % of all haemoglobin" in text  # 97 % of the 70 % that are left
    assert "is 97 %" in text
    assert "carbon monoxide" in text
    assert "carbon monoxide" in explain(READINGS["Smoke"], PUBLIC)[4]


def test_a_withheld_number_is_not_called_right_or_wrong():
    assert "shows no number" in explain(READINGS["withheld"], PUBLIC)[4]


def test_light_that_comes_back_is_not_said_to_go_through():
    wrist = READINGS["Wearable on the wrist"]
    assert "sends some back" in explain(wrist, PUBLIC)[0]
    assert "back out of the wrist" in explain(wrist, STUDENTS)[0]


def test_an_unknown_level_is_refused():
    with pytest.raises(ValueError, match="level is 'children'; choose one of for the public"):
        explain(READINGS["ordinary"], "children")
