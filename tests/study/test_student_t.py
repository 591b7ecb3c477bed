"""Student's t against scipy and a printed table."""

import numpy as np
import pytest
from scipy import stats

from oximetry_workbook.study.student_t import student_t


@pytest.mark.parametrize("confidence", [0.01, 0.5, 0.8, 0.95, 0.99, 0.9999])
def test_it_is_that_of_scipy(confidence):
    freedom = np.array([*range(1, 121), 999, 1000, 9999])
    expected = stats.t.ppf((1.0 + confidence) / 2.0, freedom)
    np.testing.assert_allclose(student_t(freedom, confidence), expected, rtol=1e-10)


@pytest.mark.parametrize(("freedom", "t"), [(1, 12.706), (2, 4.303), (9, 2.262), (30, 2.042)])
def test_it_is_that_of_the_table(freedom, t):
    """NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.2: two-sided 95 %."""
    assert student_t(freedom, 0.95) == pytest.approx(t, abs=5e-4)


def test_it_keeps_the_shape():
    assert student_t(np.full((2, 3), 4.0), 0.95).shape == (2, 3)
    assert student_t(4, 0.95).shape == ()


@pytest.mark.parametrize("bad", [0, -3, 1.5, np.nan, np.inf])
def test_bad_degrees_of_freedom_are_named(bad):
    with pytest.raises(ValueError, match=r"freedom is .*whole numbers of at least 1"):
        student_t([3, bad], 0.95)


@pytest.mark.parametrize("bad", [0.0, 1.0, -0.5, 95, np.nan])
def test_a_bad_confidence_is_named(bad):
    with pytest.raises(ValueError, match=r"confidence is .*between 0 and 1"):
        student_t(3, bad)
