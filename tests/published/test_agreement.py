"""Agreement statistics against the papers they come from and against other libraries."""

import numpy as np
import pandas as pd
import pytest
import scipy.stats
import statsmodels.formula.api as smf
from statsmodels.stats.anova import anova_lm
from statsmodels.stats.weightstats import DescrStatsW

from oximetry_workbook.study.agreement import NAMES, difference_statistics

# Bland and Altman, Lancet 1986; i:307-310: peak expiratory flow [L/min] of 17 people by two
# meters, the first measurement with each. Several public copies agree.
LARGE_METER = [494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427]
SMALL_METER = [512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451]
FLOW = np.subtract(LARGE_METER, SMALL_METER)

# Bland and Altman, J Biopharm Stat 2007; 17:571-582, table 1: cardiac output of 12 people by
# two methods, RV then IC, 60 pairs, in public copies; see the test of the copy below.
CARDIAC = """
1: 7.83 6.57 7.42 5.62 7.89 6.90 7.12 6.57 7.88 6.35
2: 6.16 4.06 7.26 4.29 6.71 4.26 6.54 4.09
3: 4.75 4.71 5.24 5.50 4.86 5.08 4.78 5.02 6.05 6.01 5.42 5.67
4: 4.21 4.14 3.61 4.20 3.72 4.61 3.87 4.68 3.92 5.04
5: 3.13 3.03 2.98 2.86 2.85 2.77 3.17 2.46 3.09 2.32 3.12 2.43
6: 5.92 5.90 6.42 5.81 5.92 5.70 6.27 5.76
7: 7.13 5.09 6.62 4.63 6.58 4.61 6.93 5.09
8: 4.54 4.72 4.81 4.61 5.11 4.36 5.29 4.20 5.39 4.36 5.57 4.20
9: 4.48 3.17 4.92 3.12 3.97 2.96
10: 4.22 4.35 4.65 4.62 4.74 3.16 4.44 3.53 4.50 3.53
11: 6.78 7.20 6.07 6.09 6.52 7.00 6.42 7.10 6.41 7.40 5.76 6.80
12: 5.06 4.50 4.72 4.20 4.90 3.80 4.80 3.80 4.90 4.20 5.10 4.50
"""


@pytest.fixture(scope="module")
def cardiac():
    """The differences RV − IC and the subjects, as a table."""
    rows = []
    for line in CARDIAC.strip().splitlines():
        subject, numbers = line.split(":")
        pairs = np.array(numbers.split(), dtype=float).reshape(-1, 2)
        rows += [(subject, rv - ic) for rv, ic in pairs]
    return pd.DataFrame(rows, columns=["subject", "difference"])


def test_peak_flow_bias_and_limits():
    """1986: mean −2.1, SD 38.8, limits (two SDs of the rounded figures) −79.7 and 75.5 L/min."""
    flow = difference_statistics(FLOW)
    assert flow.n == flow.n_subjects == 17
    assert round(flow.bias, 1) == -2.1
    assert round(flow.sd, 1) == 38.8
    for limit, side, printed in ((flow.lower_limit, -1, -79.7), (flow.upper_limit, 1, 75.5)):
        sd = round((limit - flow.bias) / (side * 1.96), 1)
        assert round(flow.bias, 1) + side * 2 * sd == pytest.approx(printed, abs=1e-9)


def test_peak_flow_intervals():
    """1986: bias −22.0 to 17.8; lower limit −114.3 to −45.1, upper 40.9 to 110.1 L/min.

    The paper's limits lie two SDs out and not 1.96, so the half width is compared: 34.6.
    """
    intervals = difference_statistics(FLOW).intervals
    assert [round(end, 1) for end in intervals["bias"]] == [-22.0, 17.8]
    for name, low, high in (("lower_limit", -114.3, -45.1), ("upper_limit", 40.9, 110.1)):
        half = (intervals[name][1] - intervals[name][0]) / 2
        assert half == pytest.approx((high - low) / 2, abs=0.1)


def test_cardiac_output_with_repeated_measurements(cardiac):
    """2007, section 3, as public reimplementations quote it: mean square within 0.170714026,
    variance 0.98133606, SD 0.99062408, bias 0.6021667, limits −1.3394565 and 2.5437899.

    A letter (Jones, J Biopharm Stat 2019; 29:574) reports an arithmetic error in the paper; the
    analysis of variance below checks the same figures without it.
    """
    output = difference_statistics(cardiac.difference, cardiac.subject)
    assert (output.n, output.n_subjects) == (60, 12)
    assert output.within_sd**2 == pytest.approx(0.170714026, abs=5e-8)
    assert output.sd**2 == pytest.approx(0.98133606, abs=1e-7)
    assert output.sd == pytest.approx(0.99062408, abs=1e-7)
    assert output.bias == pytest.approx(0.6021667, abs=1e-7)
    assert output.lower_limit == pytest.approx(-1.3394565, abs=2e-7)
    assert output.upper_limit == pytest.approx(2.5437899, abs=2e-7)


def test_cardiac_output_ignoring_who_is_who(cardiac):
    """2007, as quoted: SD 0.9610571 when the pairs count as independent, which is too small."""
    pooled = difference_statistics(cardiac.difference)
    assert pooled.sd == pytest.approx(0.9610571, abs=5e-8)
    assert pooled.sd < difference_statistics(cardiac.difference, cardiac.subject).sd


def test_the_copy_of_the_cardiac_data(cardiac):
    """The public R package BAtrending prints for its copy, by restricted likelihood: bias 0.705,
    SD between 0.934, within 0.413, in all 1.022. Its within agrees with the analysis of variance.
    """
    fit = smf.mixedlm("difference ~ 1", cardiac, groups="subject").fit(reml=True)
    between = float(fit.cov_re.iloc[0, 0])
    figures = [fit.params["Intercept"], between**0.5, fit.scale**0.5, (between + fit.scale) ** 0.5]
    assert [round(figure, 3) for figure in figures] == [0.705, 0.934, 0.413, 1.022]
    output = difference_statistics(cardiac.difference, cardiac.subject)
    assert round(output.within_sd, 3) == 0.413


def test_one_way_analysis_of_variance_of_statsmodels(cardiac):
    table = anova_lm(smf.ols("difference ~ C(subject)", cardiac).fit())
    between_square, within = table["mean_sq"]
    m = cardiac.groupby("subject").size().to_numpy()
    m0 = (m.sum() ** 2 - (m**2).sum()) / ((m.size - 1) * m.sum())
    output = difference_statistics(cardiac.difference, cardiac.subject)
    assert output.within_sd**2 == pytest.approx(within, rel=1e-10)
    assert output.between_sd**2 == pytest.approx((between_square - within) / m0, rel=1e-10)


def test_restricted_likelihood_of_statsmodels_when_balanced():
    """With as many pairs from each subject both ways of estimating are one (Searle, from memory).

    The fit stops within some 1e-4 of the optimum.
    """
    generator = np.random.default_rng(11)
    subject = np.repeat(np.arange(15), 6)
    difference = 0.7 + generator.normal(0, 1.5, 15)[subject] + generator.normal(0, 0.8, 90)
    data = pd.DataFrame({"subject": subject, "difference": difference})
    fit = smf.mixedlm("difference ~ 1", data, groups="subject").fit(reml=True)
    ours = difference_statistics(difference, subject)
    assert ours.bias == pytest.approx(fit.params["Intercept"], rel=1e-6)
    assert ours.within_sd**2 == pytest.approx(fit.scale, rel=1e-4)
    assert ours.between_sd**2 == pytest.approx(float(fit.cov_re.iloc[0, 0]), rel=1e-3)


@pytest.mark.parametrize("confidence", [0.8, 0.95, 0.99])
def test_intervals_of_mean_and_spread(confidence):
    """Student's t from statsmodels, chi-squared from scipy."""
    ours = difference_statistics(FLOW, confidence=confidence)
    t_interval = DescrStatsW(FLOW).tconfint_mean(alpha=1 - confidence)
    assert ours.intervals["bias"] == pytest.approx(t_interval, rel=1e-10)
    tails = scipy.stats.chi2.ppf([(1 + confidence) / 2, (1 - confidence) / 2], df=16)
    expected = ours.sd * np.sqrt(16 / tails)
    assert ours.intervals["sd"] == pytest.approx(tuple(expected), rel=1e-10)


def _plainly(groups):
    """The five statistics with nothing but means, group by group."""
    pooled = np.concatenate(groups)
    m = np.array([group.size for group in groups])
    k, n = m.size, m.sum()
    within = sum(((group - group.mean()) ** 2).sum() for group in groups) / (n - k)
    means = np.array([group.mean() for group in groups])
    between_square = (m * (means - pooled.mean()) ** 2).sum() / (k - 1)
    between = max(between_square - within, 0.0) / ((n**2 - (m**2).sum()) / ((k - 1) * n))
    bias, sd = pooled.mean(), (within + between) ** 0.5
    return bias, sd, (pooled**2).mean() ** 0.5, bias - 1.96 * sd, bias + 1.96 * sd


def test_resampling_subjects_agrees_with_scipy(cardiac):
    """scipy.stats.bootstrap over the subjects; ends within a sixth of the standard error."""
    groups = [group.to_numpy() for _, group in cardiac.groupby("subject")["difference"]]
    theirs = scipy.stats.bootstrap(
        (np.arange(len(groups)),),
        lambda chosen: np.array(_plainly([groups[one] for one in chosen])),
        n_resamples=4000,
        vectorized=False,
        method="percentile",
        rng=np.random.default_rng(5),
    )
    ours = difference_statistics(cardiac.difference, cardiac.subject, resamples=20_000)
    for row, name in enumerate(NAMES):
        margin = theirs.standard_error[row] / 6
        ends = theirs.confidence_interval.low[row], theirs.confidence_interval.high[row]
        assert ours.intervals[name] == pytest.approx(ends, abs=margin)
