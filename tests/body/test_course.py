"""A recording whose saturation changes: the chain of `simulate`, late and smeared."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import ndimage, signal

from oximetry_workbook.body.circulation import PLACES
from oximetry_workbook.body.course import (
    SMEAR_STEP_S,
    SPREAD_SHARE,
    Course,
    late_course,
    simulate_course,
)
from oximetry_workbook.body.probe import Probe
from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.body.simulate import simulate
from oximetry_workbook.meter.display import rounded
from oximetry_workbook.meter.measure import measure


def constant(saturation, duration_s=30.0):
    return Course([0.0, duration_s], [saturation, saturation])


def dip(at_s=100.0, width_s=10.0, end_s=300.0):
    time_s = np.arange(0.0, end_s + 0.1, 0.25)
    return Course(time_s, 0.97 - 0.1 * np.exp(-0.5 * ((time_s - at_s) / width_s) ** 2))


@pytest.mark.parametrize(
    "changes",
    [
        {},
        {"site": "ear", "perfusion_index_percent": 1.0},
        {"bypass_percent": 30.0, "ambient_light_percent": 20.0, "melanin_fraction": 0.2},
        {"motion_percent": 0.3, "coupling_percent": 0.2, "venous_pulse": 0.2},
        {"vasoconstriction": 0.5, "thickness_scale": 1.2},
    ],
)
def test_a_constant_course_is_the_recording_of_simulate(changes):
    scenario = Scenario(arterial_saturation=0.91, **changes)
    expected = simulate(scenario, duration_s=30.0, sampling_rate_hz=50.0, seed=7)
    made = simulate_course(scenario.replace(arterial_saturation=0.5), constant(0.91), seed=7)
    for colour in ("red", "infrared", "time_s", "reference_percent"):
        one, other = getattr(made, colour), getattr(expected, colour)
        # the last step of an 18-bit converter may fall the other way
        np.testing.assert_allclose(one, other, atol=1.01 / (2**18 - 1), rtol=0)
    assert measure(made).spo2_percent == pytest.approx(measure(expected).spo2_percent, abs=0.02)


def test_a_slow_fall_is_read_as_it_goes():
    course = Course([0.0, 300.0], [0.97, 0.80])
    recording = simulate_course(Scenario(noise_percent=0.0), course)
    beats = measure(recording).beats
    true = np.interp(beats["time_s"], recording.time_s, recording.reference_percent)
    constant_errors = [
        measure(simulate(Scenario(noise_percent=0.0, arterial_saturation=s))).spo2_percent - 100 * s
        for s in (0.97, 0.885, 0.80)
    ]
    margin = max(map(abs, constant_errors)) + 0.3
    assert np.abs(beats["spo2_percent"].rolling(9, center=True).median() - true).max() < margin


def test_noise_is_sized_by_the_light_at_the_start_of_the_course():
    # only where the tissue is not the ordinary one does noise depend on the light through it
    pigmented = Scenario(melanin_fraction=0.3, noise_percent=1.0, arterial_saturation=0.97)
    fall = Course([0.0, 20.0, 40.0, 60.0], [0.95, 0.95, 0.45, 0.45])
    made = simulate_course(pigmented, fall, seed=3)
    at_start = pigmented.replace(arterial_saturation=0.95)
    expected = simulate(at_start, duration_s=60.0, sampling_rate_hz=50.0, seed=3)
    before = made.time_s < 20.0
    for colour in ("red", "infrared"):
        one, other = getattr(made, colour)[before], getattr(expected, colour)[before]
        np.testing.assert_allclose(one, other, atol=1.01 / (2**18 - 1), rtol=0)


def test_noise_goes_with_the_root_of_the_light_as_it_changes():
    """Poisson statistics: photons come by chance."""
    fall = Course([0.0, 30.0, 31.0, 60.0], [0.97, 0.97, 0.4, 0.4])
    noisy, quiet = (
        simulate_course(Scenario(noise_percent=each, converter_bits=24), fall)
        for each in (0.5, 0.0)
    )
    late = quiet.time_s > 31.0
    noise, light = noisy.red - quiet.red, quiet.red
    # the last noise is the first one's continuation: half a minute of it is as large to 5 %
    grown = np.std(noise[late]) / np.std(noise[~late])
    assert grown == pytest.approx(np.sqrt(light[late].mean() / light[~late].mean()), rel=0.05)
    assert grown < 0.8


def test_the_calibration_is_that_of_the_scenarios_spectra():
    zijlstra = Scenario(extinction_table="Zijlstra")
    made = simulate_course(zijlstra, constant(0.9)).probe_calibration
    np.testing.assert_array_equal(made, simulate(zijlstra).probe_calibration)
    assert not np.array_equal(made, simulate(Scenario()).probe_calibration)


def test_between_grid_points_the_light_is_that_of_simulate_there():
    # 0.889 lies between the points at which a course from 0.97 to 0.80 reckons its optics
    quiet = Scenario(noise_percent=0.0, converter_bits=24)
    fall = Course([0.0, 30.0, 60.0, 90.0], [0.97, 0.889, 0.889, 0.80])
    recording = simulate_course(quiet, fall)
    there = quiet.replace(arterial_saturation=0.889)
    constant_there = simulate(there, duration_s=90.0, sampling_rate_hz=50.0)
    steady = Probe(there).log_light_at_rest() - Probe(quiet).log_light_at_rest()
    plateau = (recording.time_s > 31.0) & (recording.time_s < 59.0)
    for colour, change in zip(("red", "infrared"), steady, strict=True):
        made, expected = (getattr(each, colour)[plateau] for each in (recording, constant_there))
        np.testing.assert_allclose(made / expected, np.exp(change), rtol=4e-4)


def test_red_light_falls_as_blood_darkens_and_infrared_hardly():
    recording = simulate_course(Scenario(), Course([0.0, 20.0, 40.0, 60.0], [0.97, 0.97, 0.8, 0.8]))
    first, last = slice(0, 900), slice(-900, None)
    red, infrared = (
        np.median(light[last]) / np.median(light[first])
        for light in (recording.red, recording.infrared)
    )
    assert red < 0.97
    assert abs(infrared - 1.0) < abs(red - 1.0) / 2.0


@pytest.mark.parametrize("delay_s", [5.0, 12.0, 30.0, 50.0])
def test_cross_correlation_finds_the_delay(delay_s):
    # Reference: scipy.signal.correlate of the saturation lost at the heart and in the tissue.
    course = dip()
    late = late_course(course, delay_s)
    lost, lost_later = (0.97 - each.at(course.time_s) for each in (course, late))
    lags = signal.correlation_lags(lost.size, lost.size) * 0.25
    found = lags[np.argmax(signal.correlate(lost_later, lost))]
    assert found == pytest.approx(delay_s, abs=SMEAR_STEP_S)


def test_cross_correlation_of_the_readings_finds_the_delay_between_places():
    course = dip()
    shown = {}
    for name in ("ear", "finger"):
        place = PLACES[name]
        recording = simulate_course(place.scenario(noise_percent=0.0), course, place.delay_s)
        beats = measure(recording).beats
        shown[name] = np.interp(np.arange(5.0, 295.0, 0.25), beats["time_s"], beats["spo2_percent"])
    lost = {name: np.median(values) - values for name, values in shown.items()}
    lags = signal.correlation_lags(lost["ear"].size, lost["ear"].size) * 0.25
    found = lags[np.argmax(signal.correlate(lost["finger"], lost["ear"]))]
    wanted = PLACES["finger"].delay_s - PLACES["ear"].delay_s
    assert found == pytest.approx(wanted, abs=1.0)


def test_the_smear_is_scipys_gaussian_filter():
    course, delay_s = dip(width_s=4.0), 30.0
    spread = SPREAD_SHARE * delay_s / SMEAR_STEP_S
    expected = ndimage.gaussian_filter1d(course.saturation, spread, mode="nearest", truncate=4.0)
    late = late_course(course, delay_s)
    shift = round(delay_s / SMEAR_STEP_S)
    np.testing.assert_allclose(late.saturation[shift:], expected[:-shift], atol=2e-5)


def test_the_tissue_knows_nothing_of_the_future():
    time_s = np.arange(0.0, 200.0, 0.25)
    one = Course(time_s, np.full(time_s.size, 0.97))
    other = Course(time_s, np.where(time_s >= 100.0, 0.7, 0.97))
    for delay_s in (0.0, 1.0, 30.0):
        before = time_s < 100.0
        np.testing.assert_array_equal(
            late_course(one, delay_s).saturation[before],
            late_course(other, delay_s).saturation[before],
        )


@given(
    st.lists(st.floats(0.4, 1.0), min_size=2, max_size=20), st.floats(0.0, 300.0), st.integers(0, 9)
)
@settings(max_examples=60)
def test_the_tissue_gets_nothing_that_was_not_sent(saturations, delay_s, seed):
    steps = np.random.default_rng(seed).uniform(0.5, 30.0, len(saturations))
    course = Course(np.cumsum(steps), saturations)
    late = late_course(course, delay_s)
    assert course.saturation.min() <= late.saturation.min()
    assert late.saturation.max() <= course.saturation.max()
    assert late.time_s[0] == course.time_s[0]
    assert late.time_s[-1] == pytest.approx(course.time_s[-1])


def test_movement_comes_only_when_it_is_asked_for():
    time_s = np.arange(0.0, 60.25, 0.25)
    course, moving = Course(time_s, np.full(time_s.size, 0.95)), (time_s >= 30.0).astype(float)
    shaken = Scenario(motion_percent=2.0, coupling_percent=1.0)
    some = simulate_course(shaken, course, movement=moving)
    none = simulate_course(Scenario(), course)
    entire = simulate_course(shaken, course)
    still = some.time_s < 29.5
    np.testing.assert_array_equal(some.red[still], none.red[still])
    np.testing.assert_allclose(some.red[~still][50:], entire.red[~still][50:], atol=5e-6)
    assert not np.allclose(some.red[~still], none.red[~still], atol=1e-3)


def test_the_clock_and_the_reference_are_the_courses():
    recording = simulate_course(Scenario(), Course([-20.0, 0.0, 40.0], [0.97, 0.97, 0.9]), 15.0)
    assert recording.time_s[0] == -20.0
    assert recording.sampling_rate_hz == pytest.approx(50.0)
    at_20 = recording.reference_percent[np.argmin(np.abs(recording.time_s - 20.0))]
    assert at_20 == pytest.approx(93.5, abs=0.01)
    assert rounded(measure(recording).beats["spo2_percent"].iloc[0]) == 97


def test_the_same_seed_gives_the_same_recording():
    one, same, other = (simulate_course(Scenario(), dip(), 15.0, seed=s) for s in (1, 1, 2))
    np.testing.assert_array_equal(one.red, same.red)
    assert not np.array_equal(one.red, other.red)


@pytest.mark.parametrize(
    ("time_s", "saturation", "words"),
    [
        ([0, 1], [0.9], "time_s has 2 values and saturation 1"),
        ([0], [0.9], "at least 2"),
        ([0, 0], [0.9, 0.9], "does not rise"),
        ([0, 1], [0.9, 1.2], "saturation is 1.2"),
        ([0, 1], [0.9, 97.0], "write 0.97"),
        ([0, 1], [0.9, np.nan], "saturation must be a row of finite"),
        ([0, 1], ["a", "b"], "saturation holds something"),
        ([0, 1], [[0.9, 0.9]], "saturation must be a row of finite"),
        ([], [], "^time_s must be a row of finite"),
    ],
)
def test_a_bad_course_is_refused(time_s, saturation, words):
    with pytest.raises(ValueError, match=words):
        Course(time_s, saturation)


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"delay_s": -1.0}, "delay_s is -1"),
        ({"sampling_rate_hz": 5.0}, "sampling_rate_hz"),
        ({"seed": -1}, "seed"),
        ({"movement": [0.0, 2.0]}, "movement has 2 values from 0 to 2"),
        ({"movement": [0.0]}, "movement has 1 values"),
        ({"movement": [0.0, np.nan]}, "^movement must be a row of finite"),
    ],
)
def test_bad_arguments_are_refused(given, words):
    with pytest.raises(ValueError, match=words):
        simulate_course(Scenario(), constant(0.9), **given)


def test_only_a_scenario_is_simulated():
    with pytest.raises(TypeError, match="must be a Scenario"):
        simulate_course("finger", constant(0.9))


def test_a_delay_too_short_to_smear_only_shifts():
    time_s = np.array([0.0, 1.0, 30.0])
    course = Course(time_s, np.array([0.97, 0.9, 0.9]))
    late = late_course(course, 0.25)
    np.testing.assert_allclose(late.at(late.time_s), course.at(late.time_s - 0.25))
    np.testing.assert_allclose(np.diff(late.time_s), 0.25)
    later = late_course(Course(time_s + 60.0, course.saturation), 0.25)
    np.testing.assert_allclose(later.time_s, late.time_s + 60.0)
