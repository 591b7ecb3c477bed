"""The small study's least squares and its size of error against outside sources."""

import numpy as np
import pandas as pd
import pytest
import statsmodels.api as sm

from oximetry_workbook.study.agreement import agreement
from oximetry_workbook.study.small_study import desaturate, draw_volunteers, fit_curve

# NIST Statistical Reference Datasets, linear regression, Norris (calibration of ozone monitors,
# 36 observations, a line): y, x; certified coefficients below.
NORRIS = """
0.1 0.2  338.8 337.4  118.1 118.2  888.0 884.6  9.2 10.1  228.1 226.5  668.5 666.3  998.5 996.3
449.1 448.6  778.9 777.0  559.2 558.2  0.3 0.4  0.1 0.6  778.1 775.5  668.8 666.9  339.3 338.0
448.9 447.5  10.8 11.6  557.7 556.0  228.3 228.1  998.0 995.8  888.8 887.6  119.6 120.2  0.3 0.3
0.6 0.3  557.6 556.8  339.3 339.1  888.0 887.2  998.5 999.0  778.9 779.0  10.2 11.1  117.6 118.3
228.9 229.2  668.4 669.1  449.2 448.9  0.2 0.5
"""

# NIST StRD, linear regression, Pontius (calibration of load cells, 40 observations, a quadratic):
# x runs twice from 150000 to 3000000 in steps of 150000; y as printed.
PONTIUS = """
.11019 .21956 .32949 .43899 .54803 .65694 .76562 .87487 .98292 1.09146 1.20001 1.30822 1.41599
1.52399 1.63194 1.73947 1.84646 1.95392 2.06128 2.16844 .11052 .22018 .32939 .43886 .54798 .65739
.76596 .87474 .98300 1.09150 1.20004 1.30818 1.41613 1.52408 1.63159 1.73965 1.84696 1.95445
2.06177 2.16829
"""


def table(x, y):
    return pd.DataFrame({"ratio": x, "sao2_percent": y})


def test_line_against_nist_norris():
    """Certified: B0 -0.262323073774029, B1 1.00211681802045."""
    y, x = np.array(NORRIS.split(), dtype=float).reshape(-1, 2).T
    curve = fit_curve(table(x, y), 1)
    assert x.size == 36
    assert curve(0.0) == pytest.approx(-0.262323073774029, rel=1e-11)
    assert curve(1000.0) - curve(0.0) == pytest.approx(1002.11681802045, rel=1e-12)


def test_quadratic_against_nist_pontius():
    """Certified: B0 0.673565789473684E-03, B1 0.732059160401003E-06, B2 -0.316081871345029E-14."""
    y = np.array(PONTIUS.split(), dtype=float)
    x = np.tile(150_000.0 * np.arange(1, 21), 2)
    curve = fit_curve(table(x, y), 2)
    at = [curve(each) for each in (0.0, 1e6, 2e6)]
    square = (at[2] - 2.0 * at[1] + at[0]) / 2.0
    assert at[0] == pytest.approx(0.673565789473684e-3, rel=1e-9)
    assert square == pytest.approx(-0.316081871345029e-2, rel=1e-9)
    assert at[1] - at[0] - square == pytest.approx(0.732059160401003, rel=1e-11)


@pytest.mark.parametrize("degree", [1, 2])
def test_fit_of_volunteers_against_statsmodels(degree):
    """statsmodels 0.14, ordinary least squares."""
    pairs = desaturate(draw_volunteers(10, 1), seed=1)
    columns = np.vander(pairs["ratio"], degree + 1, increasing=True)
    theirs = sm.OLS(pairs["sao2_percent"], columns).fit().fittedvalues
    np.testing.assert_allclose(fit_curve(pairs, degree)(pairs["ratio"].to_numpy()), theirs)


@pytest.mark.parametrize("seed", range(1, 6))
def test_a_calibrated_probe_meets_the_guidance_on_new_people(seed):
    """FDA, Pulse Oximeters, guidance of 4 March 2013, docket FDA-2007-D-0205: A_rms at most 3.0 %
    from 70 to 100 % for probes that shine through. The other way, oximeters scatter by a point
    or more against blood (precision some 2 %, common practice): the simulation is not too good."""
    curve = fit_curve(desaturate(draw_volunteers(10, seed), seed=seed), 1)
    new = desaturate(draw_volunteers(40, seed + 500), seed=seed + 500)
    result = agreement(
        curve(new["ratio"].to_numpy()), new["sao2_percent"], new["subject"], resamples=100
    )
    assert 1.0 < result.a_rms <= 3.0
