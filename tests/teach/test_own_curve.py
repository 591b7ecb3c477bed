"""A curve of the learner's own: read with care, used by the meter, told with its limits."""

import numpy as np
import pytest

from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.meter.curve import TEXTBOOK, Curve
from oximetry_workbook.teach.bench_state import BenchState
from oximetry_workbook.teach.own_curve import (
    LONGEST_CURVE,
    kept_sentence,
    own_name,
    own_sentence,
    read_own_curve,
)
from oximetry_workbook.teach.reading import CURVE_NAMES, PROBE_CURVE, curve_of, read

OWN = Curve.polynomial("my line", [112.0, -28.0], "eleven volunteers", (72.0, 99.0))


def test_what_is_written_is_read_from_text_and_from_a_file_with_a_mark():
    for content in (OWN.to_json(), OWN.to_json().encode("utf-8-sig")):
        again = read_own_curve(content)
        assert (again.name, again.valid_percent) == (OWN.name, OWN.valid_percent)
        np.testing.assert_array_equal(again([0.5, 1.0, 2.0]), OWN([0.5, 1.0, 2.0]))


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"\xff\xfe\x00\xd8", "is not text"),
        (OWN.to_json()[:-9], "not readable JSON"),
        ("{}", "holds no calibration curve"),
        (OWN.to_json().replace("112.0", "NaN"), "holds NaN"),
        (" " * (LONGEST_CURVE + 1), f"at most {LONGEST_CURVE} are read"),
    ],
)
def test_what_is_no_curve_is_refused_in_words(content, message):
    with pytest.raises(ValueError, match=message):
        read_own_curve(content)


def test_the_meter_reads_with_it_and_nothing_of_it_stays_behind():
    names = CURVE_NAMES
    own = read(Scenario(), OWN).measurement
    assert own.curve is OWN
    assert own.spo2_percent == pytest.approx(min(112.0 - 28.0 * own.ratio, 100.0))
    assert names == CURVE_NAMES
    assert read(Scenario()).measurement.curve is not OWN
    assert curve_of(OWN) is OWN
    assert curve_of(TEXTBOOK.name) is TEXTBOOK
    assert curve_of(PROBE_CURVE) is None


@pytest.mark.parametrize(("saturation", "beyond"), [(0.9, False), (0.6, True)])
def test_beyond_its_own_range_the_number_counts_as_a_guess(saturation, beyond):
    measurement = read(Scenario(arterial_saturation=saturation), OWN).measurement
    assert measurement.extrapolated == beyond
    assert ("a guess" in own_sentence(OWN, measurement.ratio)) == beyond


def test_a_shared_state_falls_back_to_the_probes_own():
    assert BenchState.of(Scenario(), OWN).curve == PROBE_CURVE
    assert BenchState.of(Scenario(), TEXTBOOK.name).curve == TEXTBOOK.name


def test_sentences_name_the_curve_and_its_range_and_cut_long_names():
    assert "72 to 99 %" in kept_sentence(OWN, True)
    assert "this browser" in kept_sentence(OWN, True)
    assert "this page only" in kept_sentence(OWN, False)
    named = Curve.polynomial("Ward B", [112.0, -28.0], "eleven volunteers")
    assert own_sentence(named, 1.0) == "Your own: Ward B says 84 %, in its checked range."
    assert "No curve" in kept_sentence(None, True)
    long = Curve.polynomial("x" * 5000, [112.0, -28.0], "y" * 5000)
    assert len(own_name(long)) < 150
    assert len(kept_sentence(long, True)) < 500
