"""Questions of late news: each answer found another way, every other one refused."""

import re

import numpy as np
import pytest
from scipy import ndimage

from oximetry_workbook.body.breath_hold import BreathHold
from oximetry_workbook.body.circulation import PLACES
from oximetry_workbook.body.course import simulate_course
from oximetry_workbook.meter.measure import measure
from oximetry_workbook.study.alarms import trades, watched_hour
from oximetry_workbook.teach.checkpoint import NumberQuestion
from oximetry_workbook.teach.late_news import LateNews, first_hours
from oximetry_workbook.teach.questions import late
from oximetry_workbook.teach.words import figure

ASKED = dict(
    zip(
        ("half", "sum", "place", "brief", "averaging", "old"),
        late.checkpoints(),
        strict=True,
    )
)


def chosen(question):
    return question.options[question.answer]


def beat_medians(name, hold, beats):
    """Times and medians over so many beats, from the chain with another seed."""
    place = PLACES[name]
    course = hold.course(20.0, 150.0)
    recording = simulate_course(place.scenario(), course, place.delay_s, seed=23)
    table = measure(recording).beats
    middle = table["spo2_percent"].rolling(beats).median().to_numpy()
    return table["time_s"].to_numpy(), middle


def test_the_finger_is_lowest_half_a_minute_after_the_breath():
    time_s, shown = beat_medians("finger", BreathHold(hold_s=60.0, depth_points=12.0), 10)
    assert 20.0 < time_s[np.nanargmin(shown)] - 60.0 < 45.0
    assert chosen(late.prediction()) == "Half a minute or so after the first breath"


def test_the_median_of_a_step_flips_after_half_the_window():
    # Reference: scipy.ndimage.median_filter over the last 25 samples of half a second.
    step = np.where(np.arange(200) < 100, 98.0, 88.0)
    shown = ndimage.median_filter(step, size=25, origin=12, mode="nearest")
    assert ASKED["half"].answer == pytest.approx((np.argmax(shown < 93.0) - 100) / 2.0, abs=0.51)


def test_the_delays_add_up():
    question = ASKED["sum"]
    way, window, wait = map(float, re.findall(r"(\d+) s\b", question.text)[:3])
    assert question.answer == way + window / 2.0 + wait
    time_s, shown = beat_medians("finger", BreathHold(hold_s=60.0, depth_points=12.0), 10)
    falls = time_s[np.argmax(shown < 89.5)] + wait
    blood = 24.0 + 36.0 * 7.5 / 12.0  # level for 24 s, then 12 points in 36 s
    assert question.check(falls - blood).right
    assert not question.check(way).right


def test_the_ear_is_first():
    hold = BreathHold(hold_s=60.0, depth_points=12.0)
    first = {}
    for name in PLACES:
        time_s, shown = beat_medians(name, hold, 10)
        first[name] = time_s[np.argmax(shown < 89.5)]
    assert min(first, key=first.get) == "ear"
    assert chosen(ASKED["place"]) == "The one on the ear"


def test_a_long_average_flattens_a_brief_dip():
    hold = BreathHold(hold_s=30.0, depth_points=12.0)
    short, long = (np.nanmin(beat_medians("finger", hold, beats)[1]) for beats in (3, 19))
    assert long > short + 0.3
    assert chosen(ASKED["brief"]) == "The longer average shows the dip less deep"


def test_fewer_false_and_more_missed_in_other_hours_too():
    hours = [watched_hour(PLACES["ear"], seed) for seed in range(100, 116)]
    short, *_, long = trades(hours, 90.0, 0.0)
    assert long.false_per_hour.high < short.false_per_hour.low
    assert long.missed_percent.value > short.missed_percent.value
    assert chosen(ASKED["averaging"]) == "Fewer false alarms, and more true dips are missed"


def test_the_question_of_averaging_is_asked_of_what_the_panel_starts_with():
    short, *_, long = trades(first_hours(), LateNews().threshold_percent, LateNews().wait_s)
    why = ASKED["averaging"].why
    assert f"at the {LateNews().place} that the panel starts with" in why
    assert f"{figure(short.false_per_hour.value)} to {figure(long.false_per_hour.value)}" in why
    assert f"to {figure(long.missed_percent.value)} % of {long.events}" in why


def test_old_blood_still_falls_when_new_blood_rises():
    time_s, shown = beat_medians("finger", BreathHold(hold_s=60.0, depth_points=12.0), 10)
    at_breath, later = np.interp([60.0, 75.0], time_s[9:], shown[9:])
    assert later < at_breath - 1.0
    assert chosen(ASKED["old"]).startswith("Nothing yet about the breaths")


def test_every_wrong_answer_is_told_what_it_overlooks_and_not_the_answer():
    for question in (late.prediction(), *late.checkpoints()):
        if isinstance(question, NumberQuestion):
            numbers = re.findall(r"\d+(?:\.\d+)?", question.hint)
            assert question.hint
            assert not any(question.check(float(each)).right for each in numbers)
        else:
            assert len(set(question.if_wrong)) == len(question.options)
            assert not any(chosen(question) in each for each in question.if_wrong)
