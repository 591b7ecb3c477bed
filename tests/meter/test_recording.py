"""What a recording takes and refuses, and how it is cut."""

import numpy as np
import pytest
from made_files import COUNT, INFRARED, RED, TIME_S

from oximetry_workbook.meter.recording import MINIMUM_SAMPLES, TIMING_TOLERANCE, Recording


def with_time(place, seconds):
    """Times of which one is another."""
    time_s = TIME_S.copy()
    time_s[place] = seconds
    return time_s


@pytest.mark.parametrize("rate_hz", [25.0, 100.0, 128.0])
def test_rate_and_duration_count_intervals_between_samples(rate_hz):
    recording = Recording(5.0 + np.arange(COUNT) / rate_hz, RED, INFRARED)
    assert recording.sampling_rate_hz == pytest.approx(rate_hz, rel=1e-12)
    assert recording.duration_s == pytest.approx(COUNT / rate_hz, rel=1e-12)


def test_rows_of_numbers_become_arrays():
    eight = list(range(MINIMUM_SAMPLES))
    recording = Recording(eight, eight, None, reference_percent=eight)
    for values in (recording.time_s, recording.red, recording.reference_percent):
        assert values.dtype == np.float64
    assert recording.infrared is None


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"time_s": ["a"] * COUNT}, "time_s holds something that is not a number"),
        ({"time_s": [TIME_S, TIME_S]}, "time_s has 2 dimensions"),
        ({"time_s": TIME_S[:7]}, "time_s has 7 samples; at least 8"),
        ({"time_s": with_time(7, np.nan)}, "time_s has no finite value at sample 7"),
        ({"time_s": with_time(7, 0.06)}, r"increase at sample 7 \(0.06 s after 0.06 s\)"),
        ({"time_s": with_time(7, 0.05)}, r"increase at sample 7 \(0.05 s after 0.06 s\)"),
        ({"time_s": TIME_S + (TIME_S > 0.995)}, "step of 1.01 s after 0.99 s, where 0.01 s is"),
        ({"red": None, "infrared": None}, "both missing"),
        ({"red": RED[:-1]}, "red has 399 samples but time_s has 400"),
        ({"infrared": "dark"}, "infrared holds something"),
        ({"reference_percent": [97.0]}, "reference_percent has 1 samples"),
    ],
)
def test_what_is_no_recording_is_refused_by_name_and_place(fields, says):
    with pytest.raises(ValueError, match=says):
        Recording(**{"time_s": TIME_S, "red": RED, "infrared": INFRARED, **fields})


@pytest.mark.parametrize("sign", [-1.0, 1.0])
def test_a_step_may_be_uneven_by_the_tolerance_and_no_more(sign):
    for share, fits in ((0.9, True), (1.1, False)):
        late_s = np.where(np.arange(COUNT) < 200, 0.0, sign * share * TIMING_TOLERANCE * 0.01)
        if fits:
            assert Recording(TIME_S + late_s, RED, INFRARED).time_s.size == COUNT
        else:
            with pytest.raises(ValueError, match=r"after 1\.99 s"):
                Recording(TIME_S + late_s, RED, INFRARED)


def test_between_cuts_a_stretch():
    part = Recording(TIME_S, RED, INFRARED).between(1.0, 2.0)
    assert (part.time_s[0], part.time_s.size) == (1.0, 100)
    np.testing.assert_array_equal(part.red, RED[100:200])
    with pytest.raises(ValueError, match="at least"):
        part.between(50.0, 60.0)


def test_between_cuts_every_channel_there_is():
    alone = Recording(TIME_S, None, INFRARED, reference_percent=100.0 - TIME_S)
    part = alone.between(1.0, 2.0)
    assert part.red is None
    assert Recording(TIME_S, RED, None).between(1.0, 2.0).infrared is None
    np.testing.assert_array_equal(part.infrared, INFRARED[100:200])
    np.testing.assert_array_equal(part.reference_percent, 100.0 - TIME_S[100:200])
