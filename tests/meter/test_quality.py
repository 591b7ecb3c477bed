"""Marks of quality: straight lines between their limits, noise as it is, shapes as numpy has it."""

import numpy as np
import pytest

from oximetry_workbook.meter.beats import BeatTimes
from oximetry_workbook.meter.filters import low_pass
from oximetry_workbook.meter.quality import beat_marks, clearness, likeness
from oximetry_workbook.meter.ratio import SMOOTHING_ORDER, BeatLight

ONE = np.ones(1)
RISE = 6 + 10 * np.array([-0.5, 0.0, 0.25, 0.5, 1.0, 2.0, np.nan])
LIKE = 0.5 + 0.4 * np.array([-0.5, 0.0, 0.25, 0.5, 1.0, 1.2, np.nan])
MARK = [0.0, 0.0, 0.25, 0.5, 1.0, 1.0, 0.0]


def test_marks_are_straight_lines_between_their_limits():
    marks = beat_marks(RISE, LIKE, LIKE)
    for mark in (marks.clearness, marks.likeness, marks.agreement):
        np.testing.assert_allclose(mark, MARK, atol=1e-12)
    np.testing.assert_array_equal(beat_marks(RISE, LIKE, None).agreement, np.ones(7))


def test_a_chain_is_as_weak_as_its_weakest_link():
    weak = beat_marks(
        np.array([8.0, 16, 16, 8]), np.array([0.9, 0.6, 0.9, 0.9]), np.array([0.9, 0.9, 0.7, 0.5])
    )
    np.testing.assert_allclose(weak.pulse, [0.2, 0.25, 1.0, 0.2])
    np.testing.assert_allclose(weak.quality, [0.2, 0.25, 0.5, 0.0])
    some = weak.within(np.array([False, True, True, False]))
    np.testing.assert_allclose(some.quality, [0.25, 0.5])


@pytest.mark.parametrize("cut_hz", [6.0, 15.0])
def test_clearness_is_height_over_the_noise_that_smoothing_leaves(cut_hz):
    """Pure noise of rms 1, then 3: smoothing itself shows how much of it is left, to 2 %."""
    count, rate_hz = 200_000, 100.0
    noise = np.random.default_rng(5).standard_normal(2 * count)
    noise[count:] *= 3.0
    smooth = low_pass(noise, rate_hz, cut_hz, SMOOTHING_ORDER)
    foot = np.array([0, count, 2 * count])
    beats = BeatLight(np.ones(2), np.array([1.0, 6.0]), np.zeros(2 * count))
    left = smooth[:count].std(), smooth[count:].std()
    found = clearness(noise - smooth, beats, foot, rate_hz, cut_hz)
    np.testing.assert_allclose(found, [1.0 / left[0], 6.0 / left[1]], rtol=0.02)


def test_without_noise_a_pulse_is_infinitely_clear():
    beats = BeatLight(ONE, ONE, np.zeros(100))
    assert clearness(np.zeros(100), beats, np.array([0, 100]), 100.0, 6.0).tolist() == [np.inf]


def shaped(shapes, feet, peaks):
    """Beats of given shapes: their light and their times, at 100 samples a second."""
    foot, peak = np.array(feet), np.array(peaks)
    rise_s = peak / 100.0 - 0.1
    beats = BeatTimes(foot, peak, foot / 100.0, peak / 100.0, rise_s)
    return BeatLight(ONE, ONE, np.concatenate(shapes)), beats


def bell(height=1.0, length=100, peak=40):
    return height * np.exp(-0.5 * ((np.arange(length) - peak) / 12.0) ** 2)


def test_likeness_is_numpys_correlation_with_the_median_shape():
    """From 0.3 of the usual interval before the peak to 0.4 after it, at 24 points."""
    noise = 0.4 * np.random.default_rng(6).standard_normal((5, 100))
    shapes = np.array([bell(height) for height in (1.0, 0.5, 2.0, 1.0, 0.0)]) + noise
    feet = 17 + 100 * np.arange(6)
    found = likeness(*shaped(shapes, feet, feet[:-1] + 40))
    part = shapes[:, 40 + np.rint(100 * np.linspace(-0.3, 0.4, 24)).astype(int)]
    part -= part.mean(axis=1, keepdims=True)
    part /= np.linalg.norm(part, axis=1, keepdims=True)
    middle = np.median(part, axis=0)
    expected = [np.corrcoef(one, middle)[0, 1] for one in part]
    np.testing.assert_allclose(found, expected, rtol=1e-9)
    assert found.min() < 0.5 < 0.8 < found.max()


def test_a_shape_is_cut_at_the_feet_of_its_beat():
    """Noise before a foot or after the next one is another beat's: place by place, in a loop."""
    wave = np.random.default_rng(7).standard_normal(495)
    feet, peaks = np.array([0, 100, 200, 265, 365, 495]), np.array([40, 112, 240, 300, 405])
    wave += np.concatenate(
        [bell(length=n, peak=p) for n, p in zip(np.diff(feet), peaks - feet[:-1], strict=True)]
    )
    found = likeness(*shaped([wave], feet, peaks))
    part = np.empty((5, 24))
    for beat, peak in enumerate(peaks):
        for point, apart in enumerate(np.rint(100 * np.linspace(-0.3, 0.4, 24)).astype(int)):
            first, last = feet[beat], feet[beat + 1] - 1
            part[beat, point] = wave[min(max(peak + apart, first), last)]
    part -= part.mean(axis=1, keepdims=True)
    part /= np.linalg.norm(part, axis=1, keepdims=True)
    expected = [np.corrcoef(one, np.median(part, axis=0))[0, 1] for one in part]
    np.testing.assert_allclose(found, expected, rtol=1e-9)


def test_size_and_an_early_end_do_not_make_a_beat_unlike():
    shapes = [bell(), bell(0.3), bell(length=75), bell(), bell()]
    feet = np.concatenate([[0], np.cumsum([len(shape) for shape in shapes])])
    found = likeness(*shaped(shapes, feet, feet[:-1] + 40))
    np.testing.assert_allclose(found, 1.0, atol=0.005)
    upside_down = likeness(*shaped([bell(), -bell(), bell()], [0, 100, 200, 300], [40, 140, 240]))
    np.testing.assert_allclose(upside_down, [1.0, -1.0, 1.0], atol=1e-9)


def test_a_beat_of_no_height_is_like_nothing():
    found = likeness(*shaped([bell(), 0 * bell(), bell()], [0, 100, 200, 300], [40, 140, 240]))
    np.testing.assert_allclose(found, [1.0, 0.0, 1.0], atol=1e-9)
