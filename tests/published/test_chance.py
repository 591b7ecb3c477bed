"""Chance against a textbook's closed form, a published worked example, and published tables."""

import numpy as np
import pytest

from oximetry_workbook.study.cells import SATURATION_PERCENT
from oximetry_workbook.study.chance import after, predictive_value
from oximetry_workbook.study.people_and_meter import MeterError, People

SHEPPARD = 1.0 / 12.0
"""Variance that rounding to whole numbers adds: Sheppard's correction, width squared over twelve
(E. Weisstein, Concise Encyclopedia of Mathematics, which sends to Kendall for the proof)."""

# A wearable's study, each participant's A_rms and bias [points] and number of pairs: PMC10726006,
# table 4 (table read, not the article). Pooled as printed: A_rms 2.4, bias 0.05, 373 pairs.
PARTICIPANTS = """
2.0 1 20  1.8 0.5 25  1.8 -0.8 25  3.6 -0.5 25  3.0 1.7 24  2.3 -1.2 25  2.6 -0.5 25  4.2 3.4 25
2.8 0.6 25  2.5 -0.7 25  1.7 0.4 25  1.3 -0.7 26  2.2 -1.3 26  0.9 -0.4 26  0.9 -0.4 26
"""


def closed_form(mean, sd, average, variance):
    """Posterior mean and sd of a normal prior and a normal average with known variance.

    Gelman and others, Bayesian Data Analysis (3rd edition 2013), section 2.5: precisions add, and
    the mean is weighted with them. The same formula was read on public teaching pages.
    """
    precision = 1.0 / sd**2 + 1.0 / variance
    return (mean / sd**2 + average / variance) / precision, precision**-0.5


@pytest.mark.parametrize("a_rms", [1.5, 2.0, 3.0])
@pytest.mark.parametrize("readings", [(88,), (84, 86), (90, 85, 87, 86)])
@pytest.mark.parametrize("other_days", [False, True])
def test_one_group_against_the_conjugate_normal(a_rms, readings, other_days):
    people = People(prevalence=1.0, low_mean_percent=85.0, low_sd_points=2.5)
    error = MeterError(a_rms, bias_points=0.5, person_share=0.2, sitting_share=0.3)
    spread = a_rms**2 - 0.5**2
    sitting = 0.3 * 0.8 * spread
    shared = 0.2 * spread + (0.0 if other_days else sitting)
    new = 0.7 * 0.8 * spread + (sitting if other_days else 0.0) + SHEPPARD
    mean, sd = closed_form(85.0, 2.5, np.mean(readings) - 0.5, shared + new / len(readings))
    belief = after(people, error, readings, other_days)
    assert belief.mean_percent == pytest.approx(mean, abs=0.01)
    assert belief.sd_points == pytest.approx(sd, abs=0.01)
    # the check can fail: what is shared does not average out
    naive = closed_form(85.0, 2.5, np.mean(readings) - 0.5, (shared + new) / len(readings))
    if len(readings) > 1:
        assert abs(belief.sd_points - naive[1]) > 0.05


def test_two_by_two_against_the_mammography_example():
    """Eddy 1982, in Kahneman, Slovic and Tversky, Judgment under Uncertainty, p. 249 (from
    memory): 1 %, 79.2 %, 9.6 % give 7.7 %. Gigerenzer and Hoffrage 1995, Psychol Rev 102:684: 10 in
    1000 ill, 8 of 10 and 95 of 990 test positive, so 8 of 103 (read as lecture notes quote it).
    Widely quoted form, read: 1 %, 80 %, 9.6 % give 7.8 %."""
    assert round(100.0 * predictive_value(0.01, 0.792, 0.096), 1) == 7.7
    assert round(100.0 * predictive_value(0.01, 0.80, 0.096), 1) == 7.8
    assert predictive_value(10 / 1000, 8 / 10, 95 / 990) == pytest.approx(8 / 103)


def test_the_healthy_against_published_reference_values():
    """British Thoracic Society, guideline for oxygen use 2017, after Crapo and others 1999,
    seated adults of 45 to 54 years: mean 96.5 %, range of two standard deviations 94.4 to 98.5 %
    (read in a secondary page)."""
    shares = People().healthy
    assert shares @ SATURATION_PERCENT == pytest.approx(96.5, abs=0.05)
    edges = np.interp([0.0228, 0.9772], np.cumsum(shares), SATURATION_PERCENT + 0.025)
    np.testing.assert_allclose(edges, [94.4, 98.5], atol=0.15)


def test_the_person_s_share_of_the_error_against_a_published_table():
    """Variance between participants' biases, less what chance within them makes, over the mean
    square of all errors: near the default of a quarter."""
    a_rms, bias, pairs = np.array(PARTICIPANTS.split(), dtype=float).reshape(-1, 3).T
    pooled = np.sqrt(np.average(a_rms**2, weights=pairs))
    assert pairs.sum() == 373
    assert round(pooled, 1) == 2.4
    within = a_rms**2 - bias**2
    between = np.var(bias, ddof=1) - np.mean(within / pairs)
    assert MeterError().person_share == pytest.approx(between / pooled**2, abs=0.05)
