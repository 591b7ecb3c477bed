"""The invented recording: a held breath, a moving hand, and a gap."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from oximetry_workbook.body.breath_hold import BreathHold
from oximetry_workbook.body.circulation import PLACES
from oximetry_workbook.body.course import Course, simulate_course
from oximetry_workbook.teach.reading import CAUTION

INVENTED_NAME = "invented_breath_hold.csv"
BEFORE_S, HOLD_S, AFTER_S = 30.0, 60.0, 90.0
MOVES_S = (110.0, 128.0)
"""When the hand of the invented recording moves, after the breath was held [s]."""
MOTION_PERCENT = 1.0
LOST_S = (164.0, 166.5)
"""When the invented recorder stored no light [s from its start]."""


def invented_csv() -> bytes:
    """Make three minutes with a breath-hold, a moving hand and a gap, as bytes of a CSV file."""
    place = PLACES["finger"]
    held = BreathHold(hold_s=HOLD_S, depth_points=15.0).course(BEFORE_S, AFTER_S)
    course = Course(held.time_s + BEFORE_S, held.saturation)
    moves = (held.time_s >= MOVES_S[0]) & (held.time_s < MOVES_S[1])
    scenario = place.scenario(motion_percent=MOTION_PERCENT)
    recording = simulate_course(scenario, course, place.delay_s, movement=moves.astype(float))
    lost = (recording.time_s >= LOST_S[0]) & (recording.time_s < LOST_S[1])
    light = np.array([recording.red, recording.infrared], dtype=np.float64)
    red, infrared = np.where(lost, np.nan, light)
    stored = replace(recording, red=red, infrared=infrared)
    text = stored.to_csv(comments=("Invented: simulated light, nobody’s finger", CAUTION))
    assert text is not None  # no path was given
    return text.encode()
