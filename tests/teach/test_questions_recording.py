"""Questions of one's own recording: each answer found another way, every other one refused."""

import re
from dataclasses import replace

import numpy as np
import pytest
from scipy import signal, stats

from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.body.simulate import simulate
from oximetry_workbook.meter.curve import published_curves
from oximetry_workbook.meter.files import Choices, open_content
from oximetry_workbook.meter.measure import measure
from oximetry_workbook.meter.recording import Recording
from oximetry_workbook.teach.invented_recording import (
    BEFORE_S,
    INVENTED_NAME,
    MOVES_S,
    invented_csv,
)
from oximetry_workbook.teach.questions import recording

ASKED = dict(
    zip(
        ("rate", "saturation", "gap", "swapped", "curve", "pulse only"),
        recording.checkpoints(),
        strict=True,
    )
)


@pytest.fixture(scope="module")
def light():
    """Another draw than the questions use."""
    return simulate(Scenario(arterial_saturation=0.97), duration_s=60.0, seed=7)


def chosen(question):
    return question.options[question.answer]


def as_file(light, columns="red,ir"):
    """The light as a table without times, through the very reading of files."""
    rows = "\n".join(f"{r:.9f},{i:.9f}" for r, i in zip(light.red, light.infrared, strict=True))
    return f"{columns}\n{rows}\n".encode()


def test_a_moving_hand_is_shown_far_too_low():
    opened = open_content(INVENTED_NAME, invented_csv()).recording
    moved = opened.between(BEFORE_S + MOVES_S[0], BEFORE_S + MOVES_S[1])
    assert moved.reference_percent.min() > 96.5
    assert measure(moved).spo2_percent < 85.0
    assert measure(moved).reason is None
    assert "far too low" in chosen(recording.prediction())


def test_twice_the_rate_is_twice_the_pulse(light):
    # Reference: the highest peak of the spectrum (scipy.signal.periodogram), at the wrong rate.
    frequency_hz, power = signal.periodogram(light.infrared - light.infrared.mean(), 200.0)
    beating = (frequency_hz > 1.0) & (frequency_hz < 4.0)
    peak_hz = frequency_hz[beating][np.argmax(power[beating])]
    assert ASKED["rate"].check(60.0 * peak_hz).right
    assert not ASKED["rate"].check(30.0 * peak_hz).right


def test_the_saturation_hardly_hears_of_the_rate(light):
    shown = [
        measure(
            open_content("made.csv", as_file(light), Choices(sampling_rate_hz=rate)).recording
        ).spo2_percent
        for rate in (100.0, 200.0)
    ]
    assert shown[0] == pytest.approx(shown[1], abs=1.0)
    assert chosen(ASKED["saturation"]) == "It is about the same"


def test_the_gap_touches_the_windows_that_hold_it():
    start, end = map(float, re.search(r"From (\d+) to (\d+) s the", ASKED["gap"].text).groups())
    held = {int(t // 10.0) for t in np.arange(start, end, 0.01)}
    assert ASKED["gap"].answer == len(held)


def test_swapped_columns_turn_the_ratio_over(light):
    # Reference: the slope of a plain regression (scipy.stats), either way round.
    red, infrared = (np.log(each) for each in (light.red, light.infrared))
    slow = [signal.detrend(each) for each in (red, infrared)]
    upright = stats.linregress(slow[1], slow[0]).slope
    over = stats.linregress(slow[0], slow[1]).slope
    assert upright < 0.7
    assert over > 1.4
    swapped = open_content("made.csv", as_file(light, "ir,red"), Choices(sampling_rate_hz=100.0))
    assert measure(swapped.recording).spo2_percent < 80.0
    assert chosen(ASKED["swapped"]) == "A number far too low"


def test_without_a_calibration_the_textbook_line_is_taken(light):
    bare = replace(light, probe_calibration=None)
    assert isinstance(bare, Recording)
    read = measure(bare)
    assert read.curve is published_curves["textbook line 110 − 25 R"]
    assert read.spo2_percent == pytest.approx(110.0 - 25.0 * read.ratio)
    own = measure(light)
    assert read.ratio == own.ratio
    assert read.heart_rate_bpm == own.heart_rate_bpm
    assert abs(read.spo2_percent - own.spo2_percent) > 1.0
    assert chosen(ASKED["curve"]) == "The saturation alone"


def test_light_without_its_mean_gives_no_number(light):
    columns = (light.red - light.red.mean(), light.infrared - light.infrared.mean())
    bare = replace(light, red=columns[0], infrared=columns[1])
    opened = open_content("made.csv", as_file(bare), Choices(sampling_rate_hz=100.0))
    read = measure(opened.recording)
    assert read.spo2_percent is None
    assert "zero or negative" in read.reason
    assert chosen(ASKED["pulse only"]) == "No number"
