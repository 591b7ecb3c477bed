"""Calibration fits and accuracy by group against certified data sets and other libraries."""

import numpy as np
import pandas as pd
import pytest
import statsmodels.api as sm
import statsmodels.formula.api as smf
from scipy.optimize import curve_fit, least_squares
from scipy.optimize._numdiff import approx_derivative
from scipy.stats import t
from statsmodels.stats.sandwich_covariance import cov_cluster

from oximetry_workbook.study.accuracy import accuracy
from oximetry_workbook.study.calibration_fit import calibrate, leave_one_subject_out
from oximetry_workbook.study.curve_forms import (
    FORMS,
    HUBER_SDS,
    curve_values,
    gradient,
    huber_fit,
    huber_loss,
    least_squares_fit,
)
from oximetry_workbook.study.small_study import desaturate, draw_volunteers

# NIST Statistical Reference Datasets, nonlinear regression, Thurber (electron mobility of
# semiconductors over the logarithm of density; 37 observations; cubic over cubic; higher
# difficulty): x y, as in several public copies that agree.
THURBER = """
-3.067 80.574  -2.981 84.248  -2.921 87.264  -2.912 87.195  -2.840 89.076  -2.797 89.608
-2.702 89.868  -2.699 90.101  -2.633 92.405  -2.481 95.854  -2.363 100.696  -2.322 101.060
-1.501 401.672  -1.460 390.724  -1.274 567.534  -1.212 635.316  -1.100 733.054  -1.046 759.087
-0.915 894.206  -0.714 990.785  -0.566 1090.109  -0.545 1080.914  -0.400 1122.643
-0.309 1178.351  -0.109 1260.531  -0.103 1273.514  0.010 1288.339  0.119 1327.543
0.377 1353.863  0.790 1414.509  0.963 1425.208  1.006 1421.384  1.115 1442.962  1.572 1464.350
1.841 1468.705  2.047 1447.894  2.200 1457.628
"""
THURBER_CERTIFIED = [
    1.2881396800e03,
    1.4910792535e03,
    5.8323836877e02,
    7.5416644291e01,
    9.6629502864e-01,
    3.9797285797e-01,
    4.9727297349e-02,
]
THURBER_SDS = [
    4.6647963344e00,
    3.9571156086e01,
    2.8698696102e01,
    5.5675370270e00,
    3.1333340687e-02,
    1.4984928198e-02,
    6.5842344623e-03,
]

# NIST StRD, nonlinear regression, Kirby2 (line width in a scanning electron microscope; 151
# observations; quadratic over quadratic): x y, as in two public copies that agree.
KIRBY2 = """
9.65 .0082 10.74 .0112 11.81 .0149 12.88 .0198 14.06 .0248 15.28 .0324 16.63 .0420 18.19 .0549
19.88 .0719 21.84 .0963 24.00 .1291 26.25 .1710 28.86 .2314 31.85 .3227 35.79 .4809 40.18 .7084
44.74 1.0220 49.53 1.4580 53.94 1.9520 58.29 2.5410 62.63 3.2230 67.03 3.9990 71.25 4.8520
75.22 5.7320 79.33 6.7270 83.56 7.8350 87.75 9.0250 91.93 10.2670 96.10 11.5780 100.28 12.9440
104.46 14.3770 108.66 15.8560 112.71 17.3310 116.88 18.8850 121.33 20.5750 125.79 22.3200
125.79 22.3030 128.74 23.4600 130.27 24.0600 133.33 25.2720 134.79 25.8530 137.93 27.1100
139.33 27.6580 142.46 28.9240 143.90 29.5110 146.91 30.7100 148.51 31.3500 151.41 32.5200
153.17 33.2300 155.97 34.3300 157.76 35.0600 160.56 36.1700 162.30 36.8400 165.21 38.0100
166.90 38.6700 169.92 39.8700 170.32 40.0300 171.54 40.5000 173.79 41.3700 174.57 41.6700
176.25 42.3100 177.34 42.7300 179.19 43.4600 181.02 44.1400 182.08 44.5500 183.88 45.2200
185.75 45.9200 186.80 46.3000 188.63 47.0000 190.45 47.6800 191.48 48.0600 193.35 48.7400
195.22 49.4100 196.23 49.7600 198.05 50.4300 199.97 51.1100 201.06 51.5000 202.83 52.1200
204.69 52.7600 205.86 53.1800 207.58 53.7800 209.50 54.4600 210.65 54.8300 212.33 55.4000
215.43 56.4300 217.16 57.0300 220.21 58.0000 221.98 58.6100 225.06 59.5800 226.79 60.1100
229.92 61.1000 231.69 61.6500 234.77 62.5900 236.60 63.1200 239.63 64.0300 241.50 64.6200
244.48 65.4900 246.40 66.0300 249.35 66.8900 251.32 67.4200 254.22 68.2300 256.24 68.7700
259.11 69.5900 261.18 70.1100 264.02 70.8600 266.13 71.4300 268.94 72.1600 271.09 72.7000
273.87 73.4000 276.08 73.9300 278.83 74.6000 281.08 75.1600 283.81 75.8200 286.11 76.3400
288.81 76.9800 291.08 77.4800 293.75 78.0800 295.99 78.6000 298.64 79.1700 300.84 79.6200
302.02 79.8800 303.48 80.1900 305.65 80.6600 308.27 81.2200 310.41 81.6600 313.01 82.1600
315.12 82.5900 317.71 83.1400 319.79 83.5000 322.36 84.0000 324.42 84.4000 326.98 84.8900
329.01 85.2600 331.56 85.7400 333.56 86.0700 336.10 86.5400 338.08 86.8900 340.60 87.3200
342.57 87.6500 345.08 88.1000 347.02 88.4300 349.52 88.8300 351.44 89.1200 353.93 89.5400
355.83 89.8500 358.32 90.2500 360.20 90.5500 362.67 90.9300 364.53 91.2000 367.00 91.5500
371.30 92.2000
"""
KIRBY2_CERTIFIED = [
    1.6745063063e00,
    -1.3927397867e-01,
    2.5961181191e-03,
    -1.7241811870e-03,
    2.1664802578e-05,
]

# NIST StRD, linear regression, Pontius; as in the small study's test.
PONTIUS = """
.11019 .21956 .32949 .43899 .54803 .65694 .76562 .87487 .98292 1.09146 1.20001 1.30822 1.41599
1.52399 1.63194 1.73947 1.84646 1.95392 2.06128 2.16844 .11052 .22018 .32939 .43886 .54798 .65739
.76596 .87474 .98300 1.09150 1.20004 1.30818 1.41613 1.52408 1.63159 1.73965 1.84696 1.95445
2.06177 2.16829
"""

STRD = {
    "Thurber": (THURBER, (3, 3), THURBER_CERTIFIED, 5.6427082397e03),
    "Kirby2": (KIRBY2, (2, 2), KIRBY2_CERTIFIED, 3.9050739624e00),
}

WHERE = np.array([0.5, 0.9, 1.3, 1.7])


@pytest.fixture(scope="module")
def pairs():
    """Twelve invented volunteers, every fortieth R far off, one column of powers of R."""
    pairs = desaturate(draw_volunteers(12, 4), seed=4)
    pairs.loc[::40, "ratio"] *= 1.25
    return pairs


def powers(ratio, form):
    return np.vander(ratio, FORMS[form][0] + 1, increasing=True)


@pytest.mark.parametrize("name", STRD)
def test_rational_forms_against_nist(name):
    """Certified coefficients and residual sum of squares, 11 digits, without starting values."""
    data, degrees, certified, square_sum = STRD[name]
    x, y = np.array(data.split(), dtype=float).reshape(-1, 2).T
    found = least_squares_fit(x, y, degrees)
    np.testing.assert_allclose(found, certified, rtol=1e-6)
    residuals = y - curve_values(x, found, degrees)
    assert np.sum(residuals**2) == pytest.approx(square_sum, rel=1e-10)


def test_slopes_of_a_rational_form_against_nist():
    """Thurber's certified standard deviations come from the same slopes: s² (JᵀJ)⁻¹, 30 degrees
    of freedom."""
    x, y = np.array(THURBER.split(), dtype=float).reshape(-1, 2).T
    found = least_squares_fit(x, y, (3, 3))
    slopes = gradient(x, found, (3, 3))
    variance = np.sum((y - curve_values(x, found, (3, 3))) ** 2) / 30
    sds = np.sqrt(variance * np.diag(np.linalg.inv(slopes.T @ slopes)))
    np.testing.assert_allclose(sds, THURBER_SDS, rtol=1e-5)


def test_quadratic_against_nist_pontius():
    """Certified: B0 0.673565789473684E-03, B1 0.732059160401003E-06, B2 -0.316081871345029E-14."""
    x = np.tile(150_000.0 * np.arange(1, 21), 2)
    found = least_squares_fit(x, np.array(PONTIUS.split(), dtype=float), (2, 0))
    certified = [0.673565789473684e-3, 0.732059160401003e-6, -0.316081871345029e-14]
    np.testing.assert_allclose(found, certified, rtol=1e-9)


@pytest.mark.parametrize("form", ["linear", "quadratic"])
def test_least_squares_and_band_against_statsmodels(pairs, form):
    """statsmodels: ordinary least squares, covariance clustered by subject, Student's t."""
    theirs = sm.OLS(pairs["sao2_percent"], powers(pairs["ratio"], form)).fit(
        cov_type="cluster", cov_kwds={"groups": pairs["subject"]}, use_t=True
    )
    ours = calibrate(pairs, form)
    np.testing.assert_allclose(ours.coefficients, theirs.params, rtol=1e-9)
    np.testing.assert_allclose(ours.covariance, theirs.cov_params(), rtol=1e-8)
    interval = theirs.t_test(powers(WHERE, form)).conf_int(alpha=0.1)
    np.testing.assert_allclose(np.transpose(ours.band(WHERE, 0.9)), interval, rtol=1e-9)


@pytest.mark.parametrize("form", ["linear", "quadratic"])
def test_robust_fit_against_statsmodels(pairs, form):
    """statsmodels: robust linear model, Huber's T at 1.345, scale by median absolute deviation."""
    model = sm.RLM(pairs["sao2_percent"], powers(pairs["ratio"], form), M=sm.robust.norms.HuberT())
    theirs = model.fit(maxiter=1000, tol=1e-13, conv="coefs")
    ours = calibrate(pairs, form, "huber")
    np.testing.assert_allclose(ours.coefficients, theirs.params, rtol=1e-8)
    assert not np.allclose(ours.coefficients, calibrate(pairs, form).coefficients, rtol=1e-3)


def volunteers(seed):
    """R and saturation of 4 to 18 invented volunteers."""
    pairs = desaturate(draw_volunteers(4 + seed % 15, seed), seed=seed)
    return pairs["ratio"].to_numpy(), pairs["sao2_percent"].to_numpy()


def heavy_tails(seed):
    """Sixty pairs about a rational curve, off by Student's t with two degrees of freedom."""
    rng = np.random.default_rng(seed)
    ratio = rng.uniform(0.5, 1.5, 60)
    return ratio, (111.0 - 24.0 * ratio) / (1.0 + 0.09 * ratio) + 2.0 * rng.standard_t(2, 60)


def one_in_ten_far_off(seed):
    rng = np.random.default_rng(seed)
    ratio = rng.uniform(0.5, 1.5, 60)
    percent = (111.0 - 24.0 * ratio) / (1.0 + 0.09 * ratio) + rng.normal(0.0, 1.5, 60)
    percent[rng.choice(60, 6, replace=False)] += rng.choice([-25.0, 15.0], 6)
    return ratio, np.minimum(percent, 100.0)


@pytest.mark.parametrize("draw", [volunteers, heavy_tails, one_in_ten_far_off])
def test_robust_rational_fit_settles_in_200_of_200_draws_where_scipy_ends(draw):
    """scipy: least_squares with Huber's loss, scale held where ours came to rest."""
    settled = 0
    for seed in range(200):
        ratio, percent = draw(seed)
        ours, scale = huber_fit(ratio, percent, (1, 1))
        residuals = percent - curve_values(ratio, ours, (1, 1))
        assert scale == pytest.approx(np.median(np.abs(residuals)) / 0.6744897501960817, rel=1e-8)
        theirs = least_squares(
            lambda c, x=ratio, y=percent: curve_values(x, c, (1, 1)) - y,
            [110.0, -25.0, 0.0],
            loss="huber",
            f_scale=HUBER_SDS * scale,
            x_scale="jac",
            **dict.fromkeys(("xtol", "ftol", "gtol"), 1e-13),
        )
        assert huber_loss(residuals, HUBER_SDS * scale) == pytest.approx(theirs.cost, rel=1e-9)
        gap = curve_values(ratio, ours, (1, 1)) - curve_values(ratio, theirs.x, (1, 1))
        settled += np.max(np.abs(gap)) < 1e-4 * scale
    assert settled == 200


def test_least_squares_that_run_off_are_refused_where_the_robust_fit_has_an_end():
    """A few pairs far off can ask for D(0) of the other sign: with D(0) = 1 there is no end."""
    ratio, percent = heavy_tails(113)
    with pytest.raises(ValueError, match="rational form does not fit these pairs"):
        least_squares_fit(ratio, percent, (1, 1))
    truth = (111.0 - 24.0 * WHERE[:3]) / (1.0 + 0.09 * WHERE[:3])
    found = curve_values(WHERE[:3], huber_fit(ratio, percent, (1, 1))[0], (1, 1))
    np.testing.assert_allclose(found, truth, atol=4.0)


@pytest.mark.parametrize("form", ["linear", "quadratic"])
@pytest.mark.parametrize("draw", [heavy_tails, one_in_ten_far_off])
def test_robust_polynomials_of_many_draws_against_statsmodels(draw, form):
    """statsmodels: robust linear model as above."""
    for seed in range(10):
        ratio, percent = draw(seed)
        model = sm.RLM(percent, powers(ratio, form), M=sm.robust.norms.HuberT())
        theirs = model.fit(maxiter=1000, tol=1e-13, conv="coefs")
        ours, scale = huber_fit(ratio, percent, FORMS[form])
        np.testing.assert_allclose(ours, theirs.params, rtol=1e-6)
        assert scale == pytest.approx(theirs.scale, rel=1e-8)


def test_robust_covariance_against_statsmodels(pairs):
    """Huber's estimate is one Newton step from itself: at its end the working least squares, with
    slopes only where residuals still count, has statsmodels' clustered covariance."""
    ours = calibrate(pairs, "linear", "huber")
    columns = powers(pairs["ratio"].to_numpy(), "linear")
    residuals = pairs["sao2_percent"].to_numpy() - columns @ ours.coefficients
    scale = np.median(np.abs(residuals)) / 0.6744897501960817
    counts = np.abs(residuals) <= HUBER_SDS * scale
    scores = columns * np.clip(residuals, -HUBER_SDS * scale, HUBER_SDS * scale)[:, np.newaxis]
    summed = pd.DataFrame(scores).groupby(pairs["subject"].to_numpy()).sum().to_numpy()
    bread = sm.OLS(residuals[counts], columns[counts]).fit().normalized_cov_params
    expected = 12 / 11 * 251 / 250 * bread @ summed.T @ summed @ bread
    np.testing.assert_allclose(ours.covariance, expected, rtol=1e-6)


def test_rational_fit_and_band_against_scipy_and_statsmodels(pairs):
    """scipy: curve_fit and numerical slopes; statsmodels: covariance clustered by subject."""

    def curve(ratio, a0, a1, b1):
        return (a0 + a1 * ratio) / (1.0 + b1 * ratio)

    ratio, sao2 = pairs["ratio"].to_numpy(), pairs["sao2_percent"].to_numpy()
    theirs, _ = curve_fit(curve, ratio, sao2, p0=[110.0, -25.0, 0.1], xtol=1e-14, ftol=1e-14)
    ours = calibrate(pairs, "rational")
    np.testing.assert_allclose(ours.coefficients, theirs, rtol=1e-5)
    slopes, where = (
        approx_derivative(lambda c, at=at: curve(at, *c), ours.coefficients, method="3-point")
        for at in (ratio, WHERE)
    )
    working = sm.OLS(sao2 - curve(ratio, *ours.coefficients), slopes).fit()
    covariance = cov_cluster(working, pairs["subject"].to_numpy())
    half = t.ppf(0.975, 11) * np.sqrt(np.diag(where @ covariance @ where.T))
    middle = curve(WHERE, *ours.coefficients)
    np.testing.assert_allclose(ours.band(WHERE), [middle - half, middle + half], rtol=1e-7)


@pytest.mark.parametrize("form", ["linear", "quadratic"])
def test_left_out_errors_against_the_hat_matrix(pairs, form):
    """Cook and Weisberg, Residuals and Influence in Regression, 1982 (from memory): residuals of
    cases left out together are (I − H)⁻¹ times their residuals, H their block of statsmodels'
    hat matrix."""
    columns = powers(pairs["ratio"], form)
    fitted = sm.OLS(pairs["sao2_percent"].to_numpy(), columns).fit()
    hat = columns @ fitted.normalized_cov_params @ columns.T
    left = leave_one_subject_out(pairs, form)
    for row in left.subjects.itertuples():
        own = (pairs["subject"] == row.subject).to_numpy()
        error = -np.linalg.solve(np.eye(own.sum()) - hat[np.ix_(own, own)], fitted.resid[own])
        assert row.bias == pytest.approx(np.mean(error), abs=1e-9)
        assert row.a_rms == pytest.approx(np.sqrt(np.mean(error**2)), rel=1e-9)


@pytest.fixture(scope="module")
def two_groups():
    """Sixty people, ten pairs each, half of whom read two points higher; invented."""
    rng = np.random.default_rng(11)
    subject = np.repeat(np.arange(60), 10)
    sao2 = rng.uniform(70.0, 98.0, 600)
    own = rng.normal(0.0, 1.5, 60)[subject] + 2.0 * (subject < 30)
    spo2 = sao2 + own + rng.normal(0.0, 1.0, 600)
    group = np.where(subject < 30, "dark", "light")
    return pd.DataFrame(
        {"subject": subject, "group": group, "sao2_percent": sao2, "spo2_percent": spo2}
    )


def test_difference_of_groups_against_a_mixed_model(two_groups):
    """statsmodels: linear mixed model of the error, group as fixed and subject as random effect.

    With as many pairs from each subject its estimate is the difference of means. Resampling k
    subjects finds their variance by a factor (k − 1)/k too small, 30 in a group here; and 20,000
    resamples leave a chance error of 1 % in either end.
    """
    table = two_groups.assign(error=two_groups["spo2_percent"] - two_groups["sao2_percent"])
    model = smf.mixedlm("error ~ C(group, Treatment('light'))", table, groups=table["subject"])
    theirs = model.fit(reml=True)
    (ours,) = accuracy(two_groups, resamples=20_000).differences
    assert (ours.first, ours.second) == ("dark", "light")
    assert ours.bias == pytest.approx(theirs.fe_params.iloc[1], abs=1e-6)
    half = 1.959964 * theirs.bse_fe.iloc[1] * np.sqrt(29 / 30)
    low, high = ours.intervals["bias"]
    assert (high - low) / 2 == pytest.approx(half, rel=0.04)


def test_groups_against_a_mixed_model(two_groups):
    """statsmodels: within each group an intercept, a subject variance and a residual variance."""
    table = two_groups.assign(error=two_groups["spo2_percent"] - two_groups["sao2_percent"])
    for part in accuracy(two_groups).groups:
        own = table[table["group"] == part.name]
        theirs = smf.mixedlm("error ~ 1", own, groups=own["subject"]).fit(reml=True)
        assert part.agreement.bias == pytest.approx(theirs.fe_params.iloc[0], abs=1e-6)
        assert part.agreement.between_sd**2 == pytest.approx(theirs.cov_re.iloc[0, 0], rel=1e-3)
        assert part.agreement.within_sd**2 == pytest.approx(theirs.scale, rel=1e-3)
