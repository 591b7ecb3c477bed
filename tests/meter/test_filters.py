"""The filters against scipy.signal, which computes the same thing in time instead of frequency."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import fft, integrate, signal

from oximetry_workbook.meter import filters

RATE_HZ = 100.0


@pytest.fixture(scope="module")
def walk():
    """Steps, drift and noise: a random walk far from zero, as light with a baseline is."""
    return 100 + np.random.default_rng(1).standard_normal(3000).cumsum()


@pytest.mark.parametrize(("low_hz", "high_hz", "order"), [(0.5, 8, 2), (0.4, 8, 2), (0.5, 8, 1)])
def test_band_pass_is_scipys_sosfiltfilt(walk, low_hz, high_hz, order):
    # Reference: scipy.signal.butter and sosfiltfilt. The interior must agree whatever scipy
    # does at the ends; with scipy's padding as long as ours the ends agree as well.
    sections = signal.butter(order, [low_hz, high_hz], "bandpass", fs=RATE_HZ, output="sos")
    ours = filters.band_pass(walk, RATE_HZ, low_hz, high_hz, order)
    scale = np.abs(ours).max()
    default = signal.sosfiltfilt(sections, walk)
    np.testing.assert_allclose(ours[800:-800], default[800:-800], atol=1e-6 * scale)
    padded = signal.sosfiltfilt(sections, walk, padlen=1000)
    np.testing.assert_allclose(ours, padded, atol=1e-5 * scale)


@pytest.mark.parametrize(("high_hz", "order"), [(6.0, 2), (6.0, 4), (22.0, 4), (2.0, 1)])
def test_low_pass_is_scipys_sosfiltfilt(walk, high_hz, order):
    # Reference: scipy.signal.butter and sosfiltfilt.
    sections = signal.butter(order, high_hz, "lowpass", fs=RATE_HZ, output="sos")
    ours = filters.low_pass(walk, RATE_HZ, high_hz, order)
    theirs = signal.sosfiltfilt(sections, walk, padlen=1000)
    np.testing.assert_allclose(ours[300:-300], theirs[300:-300], atol=1e-6 * np.ptp(walk))


@given(st.integers(2, 3_000_000))
def test_fast_length_is_scipys(minimum):
    # Reference: scipy.fft.next_fast_len, whose real transforms have the factors 2, 3 and 5.
    assert filters._fast_length(minimum) == fft.next_fast_len(minimum, real=True)


def test_the_order_is_two_unless_another_is_asked_for(walk):
    two = filters.band_pass(walk, RATE_HZ, 0.5, 8, 2), filters.low_pass(walk, RATE_HZ, 0.5, 2)
    np.testing.assert_array_equal(filters.band_pass(walk, RATE_HZ, 0.5, 8), two[0])
    np.testing.assert_array_equal(filters.low_pass(walk, RATE_HZ, 0.5), two[1])


@pytest.mark.parametrize("order", [1, 4])
def test_noise_shares_are_those_of_filtered_noise(order):
    noise = np.random.default_rng(2).standard_normal(400_000)
    smooth = filters.low_pass(noise, RATE_HZ, 6.0, order)
    kept, taken = filters.white_noise_shares(RATE_HZ, 6.0, order)
    # 400 000 samples with a twelfth independent: the variance is known to about 1 % (2 sigma)
    assert np.var(smooth) == pytest.approx(kept, rel=0.02)
    assert np.var(noise - smooth) == pytest.approx(taken, rel=0.02)


@pytest.mark.parametrize("order", [1, 2, 4])
def test_noise_shares_are_integrals_of_the_squared_gain(order):
    # Reference: scipy.signal.butter and freqz, forward and backward, integrated by scipy.
    sections = signal.butter(order, 6.0, fs=RATE_HZ)

    def gain(angle):
        return np.abs(signal.freqz(*sections, worN=[angle])[1][0]) ** 2

    kept, _ = integrate.quad(lambda angle: gain(angle) ** 2 / np.pi, 0, np.pi, limit=200)
    taken, _ = integrate.quad(lambda angle: (1 - gain(angle)) ** 2 / np.pi, 0, np.pi, limit=200)
    asked = (order,) if order != 2 else ()  # two unless another is asked for
    shares = filters.white_noise_shares(RATE_HZ, 6.0, *asked)
    np.testing.assert_allclose(shares, [kept, taken], rtol=1e-5)


def test_band_pass_forgets_a_line_and_low_pass_keeps_it():
    line = np.linspace(3, 8, 1000)
    np.testing.assert_allclose(filters.band_pass(line, RATE_HZ, 0.5, 8), 0, atol=1e-12)
    np.testing.assert_allclose(filters.low_pass(line, RATE_HZ, 6), line, atol=1e-12)


def test_a_sine_in_the_band_keeps_its_size_and_its_place():
    time_s = np.arange(6000) / RATE_HZ
    sine = np.sin(2 * np.pi * 2 * time_s)
    np.testing.assert_allclose(
        filters.band_pass(sine, RATE_HZ, 0.5, 8)[1000:-1000], sine[1000:-1000], atol=5e-3
    )


def test_upper_cut_off_is_limited_below_nyquist():
    noise = np.random.default_rng(3).standard_normal(200)
    limited = filters.band_pass(noise, 20.0, 0.5, 9.0)
    np.testing.assert_array_equal(filters.band_pass(noise, 20.0, 0.5, 50.0), limited)


@given(st.integers(2, 400), st.floats(0.1, 4), st.floats(5, 60), st.integers(1, 4))
def test_filters_are_linear_along_the_last_axis(count, low_hz, high_hz, order):
    rows = np.random.default_rng(count).standard_normal((2, count))
    for run in (
        lambda x: filters.band_pass(x, RATE_HZ, low_hz, high_hz, order),
        lambda x: filters.low_pass(x, RATE_HZ, high_hz, order),
    ):
        both = run(rows)
        assert np.all(np.isfinite(both))
        np.testing.assert_allclose(run(2 * rows[0] - rows[1]), 2 * both[0] - both[1], atol=1e-9)


def test_a_sample_every_two_seconds_is_a_rate_too():
    slow = filters.low_pass(np.arange(40.0), 0.5, 0.05)
    np.testing.assert_allclose(slow, np.arange(40.0), atol=1e-9)


@given(st.integers(2, 400))
def test_filters_run_the_same_backwards(count):
    noise = np.random.default_rng(count).standard_normal(count)
    forwards = filters.band_pass(noise, RATE_HZ, 0.5, 8)
    backwards = filters.band_pass(noise[::-1], RATE_HZ, 0.5, 8)[::-1]
    np.testing.assert_allclose(forwards, backwards, atol=1e-3)


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (([1.0, np.nan, 2.0], 100, 0.5, 8), "missing or infinite"),
        (([1.0], 100, 0.5, 8), "two samples"),
        (([1.0, 2.0, 3.0], 0, 0.5, 8), "sampling_rate_hz"),
        (([1.0, 2.0, 3.0], 100, 0, 8), "low_hz"),
        (([1.0, 2.0, 3.0], 100, 9, 8), "low_hz"),
        (([1.0, 2.0, 3.0], 100, 8, 8), "low_hz"),
        (([1.0, 2.0, 3.0], 100, 0.5, 8, 0), "order"),
    ],
)
def test_bad_arguments_are_named(arguments, message):
    with pytest.raises(ValueError, match=message):
        filters.band_pass(*arguments)


def test_low_pass_refuses_a_cut_off_of_zero():
    with pytest.raises(ValueError, match="high_hz"):
        filters.low_pass([1.0, 2.0, 3.0], 100, 0)
