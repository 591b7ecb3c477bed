"""The whole meter: right where the light is good, silent where it is not."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from oximetry_workbook.meter.curve import TEXTBOOK, Curve, published_curves
from oximetry_workbook.meter.measure import _judged, _usual_interval_s, measure
from oximetry_workbook.meter.quality import BeatMarks
from oximetry_workbook.meter.ratio import BeatLight
from oximetry_workbook.meter.readings import COLUMNS, METHODS, BeatReadings
from oximetry_workbook.meter.recording import Recording

RATES = [40, 60, 80, 100, 130, 160, 190, 220]


def remade(recording, **channels):
    given_channels = {"red": recording.red, "infrared": recording.infrared} | channels
    return Recording(recording.time_s, **given_channels)


def assert_withheld(measurement, *words):
    assert measurement.spo2_percent is None
    assert measurement.ratio is None
    assert measurement.extrapolated is False
    for word in words:
        assert word in measurement.reason


def assert_no_pulse(measurement, *words):
    assert_withheld(measurement, *words)
    assert measurement.heart_rate_bpm is None
    assert measurement.perfusion_index_percent is None


# Right


@pytest.mark.parametrize("shape", ["round", "narrow"])
@pytest.mark.parametrize("rate", RATES)
def test_clean_light_always_gives_right_values(synthetic, rate, shape):
    """Noise a two-hundredth of the pulse; required: rate within 1 per minute, index within 5 %."""
    for seed in range(15):
        pulse = synthetic(rate, noise=0.0001, seed=seed, shape=shape)
        reading = measure(pulse.recording)
        assert reading.reason is None
        assert reading.heart_rate_bpm == pytest.approx(pulse.rate_bpm, abs=1)
        assert reading.perfusion_index_percent == pytest.approx(2, rel=0.05)
        assert reading.ratio == pytest.approx(0.6, rel=0.02)
        assert reading.quality > 0.9


@pytest.mark.parametrize("rate", RATES)
def test_moderate_noise_still_gives_values(synthetic, rate):
    """Perfusion 2 % and noise 0.3 % of the steady light, with the small red pulse of R = 0.47."""
    for seed in range(15):
        reading = measure(synthetic(rate, noise=0.003, ratio=0.47, seed=seed).recording)
        assert reading.reason is None
        assert reading.heart_rate_bpm == pytest.approx(rate, rel=0.04)
        assert reading.ratio == pytest.approx(0.47, abs=0.1)


def test_an_irregular_heart_is_no_bad_signal(synthetic):
    for seed in range(15):
        pulse = synthetic(80, irregularity=0.25, noise=0.0002, seed=seed, duration_s=20)
        reading = measure(pulse.recording)
        assert reading.reason is None
        assert reading.quality > 0.9
        assert reading.heart_rate_bpm == pytest.approx(pulse.rate_bpm, rel=0.1)


@pytest.mark.parametrize("method", ["slope", "peak_to_trough"])
def test_both_methods_agree_on_clean_light(synthetic, method):
    reading = measure(synthetic(ratio=1.0).recording, method=method)
    assert reading.spo2_percent == pytest.approx(85, abs=0.4)
    np.testing.assert_array_equal(reading.beats["ratio"], reading.beats[f"ratio_{method}"])


def test_the_value_is_the_curves(synthetic):
    recording = synthetic().recording
    for curve in published_curves.values():
        reading = measure(recording, curve)
        assert reading.spo2_percent == curve(reading.ratio)
        assert reading.curve is curve
        assert reading.curve_origin == "given"


def test_without_a_curve_it_says_which_it_took(synthetic):
    recording = synthetic(ratio=1.0).recording
    plain = measure(recording)
    assert plain.curve is TEXTBOOK
    assert plain.curve_origin == "textbook line, for want of a calibration"
    table = np.array([[0.5, 1.0, 2.0], [100.0, 80.0, 40.0]])
    own = measure(
        Recording(recording.time_s, recording.red, recording.infrared, probe_calibration=table)
    )
    assert own.curve.name == own.curve_origin == "computed for this probe"
    assert own.curve.source == "The probe_calibration of the recording"
    assert own.spo2_percent == pytest.approx(80, abs=0.6)


def test_extrapolated_and_clamped(synthetic):
    low = measure(synthetic(ratio=2.0).recording)
    assert low.extrapolated
    assert low.spo2_percent == pytest.approx(60, abs=1)
    assert not measure(synthetic(ratio=0.6).recording).extrapolated
    for ratio, shown in ((0.2, 100), (4.8, 0)):
        reading = measure(synthetic(ratio=ratio).recording)
        assert reading.spo2_percent == shown
        assert reading.extrapolated == (shown == 0)
        assert (reading.beats["spo2_percent"] == shown).all()


def test_the_window_is_the_last_seconds(synthetic):
    early, late = synthetic(ratio=0.6).recording, synthetic(ratio=1.4).recording
    half = early.time_s.size // 2
    recording = remade(early, red=np.concatenate([early.red[:half], late.red[half:]]))
    last = measure(recording, averaging_s=3.0)
    assert last.ratio == pytest.approx(1.4, rel=0.02)
    assert last.averaging_s == 3.0
    assert len(last.beats) == len(measure(recording).beats)


def test_the_window_ends_with_the_last_sample(synthetic):
    """A window that begins half a sample after a peak is without that beat, half before has it."""
    recording = synthetic(duration_s=20, ratio=1.0, noise=0.002).recording
    beats = measure(recording).beats
    peak_s, ratios = beats["time_s"].to_numpy(), beats["ratio"].to_numpy()
    since_s = recording.time_s[-1] - peak_s[-3]
    assert measure(recording, averaging_s=since_s - 0.005).ratio == np.median(ratios[-2:])
    assert measure(recording, averaging_s=since_s + 0.005).ratio == np.median(ratios[-3:])


def test_table_of_beats(synthetic):
    pulse = synthetic(duration_s=20)
    beats = measure(pulse.recording).beats
    assert tuple(beats.columns) == COLUMNS
    assert np.abs(beats["time_s"].to_numpy()[:, None] - pulse.peak_s).min(axis=1).max() < 0.05
    np.testing.assert_allclose(beats["ac_infrared"] / beats["dc_infrared"], 0.02, rtol=0.05)
    np.testing.assert_allclose(beats["dc_red"], 2, rtol=0.02)
    partner = np.abs(beats["time_s"].to_numpy()[:, None] - pulse.peak_s).argmin(axis=1)
    assert np.all(np.diff(partner) == 1)
    intervals_s = np.diff(pulse.peak_s[partner])
    np.testing.assert_allclose(beats["interval_s"][1:], intervals_s, atol=0.03)


def test_times_are_those_of_the_recordings_clock():
    """A sine of blood, 75 per minute, from 5 s on: its peaks lie a quarter of a turn later."""
    time_s = 5 + np.arange(1000) / 100
    blood = np.sin(2 * np.pi * 1.25 * time_s)
    beats = measure(Recording(time_s, 1 - 0.006 * blood, 1 - 0.01 * blood)).beats
    late = (1.25 * beats["time_s"] - 0.25 + 0.5) % 1 - 0.5
    assert np.abs(late[3:-3]).max() / 1.25 < 0.001


def judged(synthetic, quality, ratio, modulation, window):
    """What is shown of beats made up one by one, a second apart, with the textbook line."""
    count, one = len(quality), np.ones(len(quality))
    marks = BeatMarks(np.array(quality), one, one)
    light = {
        "infrared": BeatLight(one, np.array(modulation), np.zeros(count)),
        "red": BeatLight(one, one, np.zeros(count)),
    }
    ratios = dict.fromkeys(METHODS, np.array(ratio))
    interval_s = np.where(np.arange(count) == 0, np.nan, 1.0)
    readings = BeatReadings(np.arange(float(count)), interval_s, light, ratios, one, marks)
    nothing = measure(synthetic(duration_s=1).recording, TEXTBOOK)
    return _judged(nothing, readings, np.array(window), None)


def test_medians_are_of_the_good_beats_in_the_window(synthetic):
    """Worked by hand: of six beats the first is too early and the third bad; 0.3 is good."""
    shown = judged(
        synthetic,
        quality=[1.0, 0.3, 0.29, 1.0, 1.0, 0.91],
        ratio=[9.0, 0.5, 9.0, 0.6, 0.8, 1.6],
        modulation=[0.9, 0.01, 0.9, 0.02, 0.04, 0.12],
        window=[False, True, True, True, True, True],
    )
    assert shown.ratio == pytest.approx(0.7)
    assert shown.spo2_percent == pytest.approx(110 - 25 * 0.7)
    assert shown.perfusion_index_percent == pytest.approx(3.0)
    assert shown.quality == pytest.approx(0.7)


@pytest.mark.parametrize(("ratio", "outside"), [(0.4, False), (1.61, False), (1.63, True)])
def test_extrapolated_goes_by_the_figure_shown(synthetic, ratio, outside):
    """69.75 % shows 70, which is in the range; 69.25 % shows 69."""
    assert judged(synthetic, [1.0] * 3, [ratio] * 3, [0.02] * 3, [True] * 3).extrapolated == outside


@pytest.mark.parametrize(
    ("good", "interval_s"),
    [([1, 1, 0, 1, 1, 1], 1.2), ([1, 0, 1, 0, 0, 0], 0.5), ([1, 0, 0, 0, 0, 0], 0.9)],
)
def test_the_pulse_rate_is_that_of_good_neighbours(good, interval_s):
    """Mean time between good neighbours, else of good beats, else of all (worked by hand)."""
    apart_s = np.array([np.nan, 1.0, 0.5, 0.4, 1.1, 1.5])
    assert _usual_interval_s(apart_s, np.array(good, dtype=bool)) == pytest.approx(interval_s)


# Silent


def test_a_pulse_drowned_in_noise_is_withheld(synthetic):
    """Perfusion 0.1 %, noise 0.5 %: at least 99 % of recordings must be withheld.

    If a meter gave a value once in a hundred, 200 recordings would pass without one with
    probability 0.99^200 = 0.13; one allowed would prove less still. So none is allowed, and 600
    are tried: 0.99^600 = 0.0024.
    """
    for seed in range(600):
        assert_no_pulse(measure(synthetic(modulation=0.001, noise=0.005, seed=seed).recording))


def test_drowned_says_noise(synthetic):
    for seed in range(20):
        reading = measure(synthetic(modulation=0.001, noise=0.005, seed=seed).recording)
        assert_no_pulse(reading, "drowned in noise")


def test_missing_samples_are_counted(synthetic):
    recording = synthetic().recording
    red = recording.red.copy()
    red[[250, 251, 700]] = [np.nan, np.inf, np.nan]
    assert_no_pulse(measure(remade(recording, red=red)), "3 of 1000 red", "2.50 s")


@pytest.mark.parametrize(("there", "missing"), [("infrared", "red"), ("red", "infrared")])
def test_one_colour_gives_the_pulse_alone(synthetic, there, missing):
    pulse = synthetic(noise=0.0002)
    reading = measure(remade(pulse.recording, **{missing: None}))
    assert_withheld(reading, f"no {missing} light")
    assert reading.heart_rate_bpm == pytest.approx(pulse.rate_bpm, abs=1)
    assert (reading.perfusion_index_percent is None) == (there == "red")
    assert reading.beats["ratio"].isna().all()
    assert {kind.kind for kind in reading.beats.dtypes} == {"f"}
    assert reading.quality > 0.9


@pytest.mark.parametrize("colour", ["red", "infrared"])
def test_a_flat_line_is_told(synthetic, colour):
    reading = measure(remade(synthetic().recording, **{colour: np.full(1000, 0.7)}))
    assert_no_pulse(reading, f"{colour} light stays at 0.7", "flat line")


@pytest.mark.parametrize("side", ["highest", "lowest"])
def test_a_converter_at_its_limit_is_told(synthetic, side):
    recording = synthetic(noise=0.0005).recording
    limit = float(np.quantile(recording.red, 0.9 if side == "highest" else 0.1))
    cut = np.minimum if side == "highest" else np.maximum
    reading = measure(remade(recording, red=cut(recording.red, limit)))
    assert_no_pulse(reading, "10 % of the red", side, "converter")


@pytest.mark.parametrize("levels", [10_000, 1000, 400])
def test_a_coarse_converter_is_not_taken_for_a_full_one(synthetic, levels):
    recording = synthetic(noise=0.0002).recording
    coarse = {
        "red": np.round(recording.red * levels) / levels,
        "infrared": np.round(recording.infrared * levels) / levels,
    }
    assert measure(remade(recording, **coarse)).reason is None


def test_light_with_nothing_steady_is_told(synthetic):
    recording = synthetic().recording
    reading = measure(remade(recording, infrared=recording.infrared - recording.infrared.mean()))
    assert_no_pulse(reading, "zero or negative")


def test_too_short_is_told(synthetic):
    reading = measure(synthetic(duration_s=2).recording)
    assert_no_pulse(reading, "2.0 s", "ten seconds")
    assert reading.quality == 0


@pytest.mark.parametrize("noise", [0.0, 0.0001])
def test_breathing_is_no_pulse(synthetic, noise):
    for seed in range(20):
        recording = synthetic(modulation=0.0, breathing=0.01, noise=noise, seed=seed).recording
        assert_no_pulse(measure(recording))


def test_colours_that_disagree_are_told(synthetic):
    pulse = synthetic(noise=0.0002)
    noise = np.random.default_rng(1).standard_normal(1000)
    for red in (2 + 0.01 * noise, 4 - pulse.recording.red):
        reading = measure(remade(pulse.recording, red=red))
        assert_withheld(reading, "colours disagree")
        assert reading.heart_rate_bpm == pytest.approx(pulse.rate_bpm, abs=1)
        assert reading.perfusion_index_percent == pytest.approx(2, rel=0.05)


def test_an_empty_window_is_told(synthetic):
    recording = synthetic(40, duration_s=10.3).recording
    assert_withheld(measure(recording, averaging_s=0.05), "last 0.05 s", "longer")


def test_withheld_tables_keep_their_columns(synthetic):
    beats = measure(synthetic(duration_s=1).recording).beats
    assert tuple(beats.columns) == COLUMNS
    assert beats.empty


# Properties


@settings(max_examples=60, deadline=None)
@given(
    heart_rate_bpm=st.floats(25, 230),
    modulation=st.floats(0, 0.2),
    ratio=st.floats(0, 4),
    noise=st.floats(0, 0.05),
    duration_s=st.floats(0.5, 15),
    sampling_rate_hz=st.sampled_from([20.0, 30.0, 75.0, 100.0, 250.0]),
    seed=st.integers(0, 1000),
)
def test_a_value_or_a_reason(synthetic, **light):
    reading = measure(synthetic(**light).recording)
    assert (reading.spo2_percent is None) == (reading.ratio is None) == (reading.reason is not None)
    assert 0 <= reading.quality <= 1
    if reading.reason is None:
        assert 0 <= reading.spo2_percent <= 100
        assert np.isfinite(reading.ratio)
        assert np.isfinite([reading.heart_rate_bpm, reading.perfusion_index_percent]).all()


@settings(max_examples=40, deadline=None)
@given(st.floats(1e-4, 1e6), st.floats(1e-4, 1e6), st.integers(0, 99))
def test_brightness_changes_nothing(synthetic, red_scale, infrared_scale, seed):
    recording = synthetic(noise=0.0005, seed=seed).recording
    scaled = remade(
        recording, red=red_scale * recording.red, infrared=infrared_scale * recording.infrared
    )
    before, after = measure(recording), measure(scaled)
    assert after.ratio == pytest.approx(before.ratio, rel=1e-7)
    assert after.spo2_percent == pytest.approx(before.spo2_percent, rel=1e-7)
    assert after.heart_rate_bpm == pytest.approx(before.heart_rate_bpm, rel=1e-7)


@settings(max_examples=40, deadline=None)
@given(st.floats(-1e4, 1e4), st.integers(0, 99))
def test_the_clock_changes_nothing_but_the_times(synthetic, shift_s, seed):
    recording = synthetic(noise=0.0005, seed=seed).recording
    shifted = Recording(recording.time_s + shift_s, recording.red, recording.infrared)
    before, after = measure(recording, averaging_s=5), measure(shifted, averaging_s=5)
    assert after.ratio == pytest.approx(before.ratio, rel=1e-6)
    assert after.heart_rate_bpm == pytest.approx(before.heart_rate_bpm, rel=1e-6)
    np.testing.assert_allclose(after.beats["time_s"] - shift_s, before.beats["time_s"], atol=1e-6)


# Refused


def test_bad_arguments_are_named(synthetic):
    recording = synthetic().recording
    with pytest.raises(TypeError, match="is a ndarray; it must be a Recording"):
        measure(recording.red)
    with pytest.raises(TypeError, match="is a function; it must be a Curve or None"):
        measure(recording, lambda ratio: 110 - 25 * ratio)
    with pytest.raises(ValueError, match="averaging_s"):
        measure(recording, averaging_s=0)
    with pytest.raises(
        ValueError, match="method is 'guess'; it must be one of slope, peak_to_trough"
    ):
        measure(recording, method="guess")


@pytest.mark.parametrize("table", [[[0.5, 0.4], [100, 90]], [[0.5, 0.6, 0.7]], [[1], [2]]])
def test_a_bad_calibration_is_named(synthetic, table):
    recording = synthetic().recording
    bad = Recording(recording.time_s, recording.red, recording.infrared, None, np.array(table))
    with pytest.raises(ValueError, match="probe_calibration"):
        measure(bad)
    assert measure(bad, Curve.polynomial("c", [110, -25], "s")).reason is None
