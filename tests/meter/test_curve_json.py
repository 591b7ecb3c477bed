"""Calibration curves as JSON text: there and back, and what is refused."""

import json

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from oximetry_workbook.meter.curve import TEXTBOOK, Curve, published_curves

TABLE = Curve.table("points", [0.4, 0.7, 1.0, 1.6], [100, 93, 85, 70], "made up", (72, 99))
RATIONAL = Curve.rational("rational ₂", [81.4, -18.3], [0.734, 0.111], "made up for the test")
coefficients = st.floats(-1e6, 1e6, allow_subnormal=False).filter(lambda value: value != 0.0)


@pytest.mark.parametrize("curve", [*published_curves.values(), TABLE, RATIONAL])
def test_a_curve_comes_back(curve):
    again = Curve.from_json(curve.to_json())
    where = np.linspace(0.2, 3.0, 60)
    np.testing.assert_array_equal(again(where), curve(where))
    np.testing.assert_array_equal(again.ratio_at(curve(where)), curve.ratio_at(curve(where)))
    assert (again.name, again.source) == (curve.name, curve.source)
    assert again.valid_percent == curve.valid_percent


@given(st.lists(coefficients, min_size=2, max_size=4), st.lists(coefficients, min_size=1))
def test_every_digit_comes_back(above, below):
    curve = Curve.rational("c", above, below, "s")
    assert Curve.from_json(curve.to_json()).numbers == curve.numbers


def test_the_numbers_of_a_curve_cannot_be_changed():
    with pytest.raises(TypeError):
        TEXTBOOK.numbers["numerator"] = (1.0, 2.0)


def changed(**fields):
    return json.dumps({**json.loads(TEXTBOOK.to_json()), **fields})


def without(name):
    content = json.loads(TEXTBOOK.to_json())
    del content[name]
    return json.dumps(content)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("{", "not readable JSON text, at line 1, column 2"),
        ("[1, 2]", "must be a JSON object"),
        (None, "not readable JSON text"),
        (changed(kind="scenario"), "holds no calibration curve"),
        (changed(schema=2), "schema is 2; this version reads 1. Update"),
        (changed(schema=True), "schema is True"),
        (without("schema"), "schema is None"),
        (without("kind"), "holds no calibration curve"),
        (without("form"), "form is None; it must be one of rational, table"),
        (changed(valid_percent="70"), "^valid_percent is '70'"),
        (changed(form="spline"), "form is 'spline'; it must be one of rational, table"),
        (changed(form=["rational"]), r"form is \['rational'\]"),
        (without("numerator"), "numerator is missing"),
        (without("valid_percent"), "valid_percent is missing"),
        (changed(colour="red"), "unknown field 'colour'"),
        (changed(name=" "), "name is ' '; it must be text"),
        (changed(source=3), "source is 3; it must be text"),
        (changed(numerator="110"), "numerator is '110'; it must be a list of numbers"),
        (changed(numerator=[110, True]), "numerator is .* a list of numbers"),
        (changed(numerator=[110, float("nan")]), "holds NaN; every coefficient must be a finite"),
        (changed(numerator=[10**400, 1]), "numerator holds a number that is too large"),
        (changed(denominator=[0]), "denominator is zero throughout"),
        (changed(numerator=[]), "numerator is"),
        (changed(valid_percent=[70]), "valid_percent has 1 values"),
        (changed(valid_percent=[100, 70]), "valid_percent is .100, 70."),
        (TABLE.to_json().replace("0.7,", "1.7,"), "ratio does not rise at point 2"),
    ],
)
def test_what_is_refused_is_named(text, message):
    with pytest.raises(ValueError, match=message):
        Curve.from_json(text)


def test_bare_functions_cannot_be_written():
    with pytest.raises(ValueError, match="'bare' is made of functions"):
        Curve("bare", "made up", np.cos, np.arccos).to_json()
