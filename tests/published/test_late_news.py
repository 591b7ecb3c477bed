"""Late news against what has been measured on people; the source stands beside each check.

Abstracts and pages named here were read; only what they say is compared.
"""

import numpy as np
import pytest

from oximetry_workbook.body.breath_hold import FAST_FALL_POINTS_PER_S, BreathHold
from oximetry_workbook.body.circulation import PLACES
from oximetry_workbook.body.course import Course, simulate_course
from oximetry_workbook.meter.measure import measure
from oximetry_workbook.meter.trend import trend
from oximetry_workbook.study.alarms import (
    AVERAGINGS_S,
    SETTLING_S,
    alarm_on,
    below,
    spans,
    watched_hour,
)
from oximetry_workbook.teach.late_news import LateNews

ROW = {averaging: row for row, averaging in enumerate(AVERAGINGS_S)}


def response_s(name):
    """Time until half of a sudden fall by 10 points is shown, averaged over 4 s."""
    course, place = Course([0.0, 60.0, 60.01, 200.0], [0.97, 0.97, 0.87, 0.87]), PLACES[name]
    measurement = measure(simulate_course(place.scenario(), course, place.delay_s, seed=2))
    shown = trend(measurement, 4.0, 0.0, 199.0)
    return shown.time_s[np.argmax(shown.spo2_percent < 92.0)] - 60.0


def test_the_ear_answers_before_the_finger():
    # Young and others 1992, Anesth Analg 74:189, abstract: after a step of 10 % down, ear probes
    # responded faster than finger probes.
    assert response_s("ear") < response_s("finger") < response_s("cold finger")


@pytest.fixture(scope="module")
def held():
    """The panel's hold of 60 s, as deep as the ear showed in that study (78 %)."""
    return LateNews(hold_s=60.0, depth_points=20.0, averaging_s=4.0)


def test_the_finger_is_lowest_15_s_after_the_ear(held):
    # Lindholm, Blogg and Gennser 2007, Aviat Space Environ Med 78:770, abstract: holds of 60 s;
    # 15 s (standard deviation 3.5) between the lowest values of ear and finger; ear 78 % (3.5).
    ear, finger = held.shown_lowest("ear"), held.shown_lowest("finger")
    assert abs(ear.percent - 78.0) < 3.5
    assert abs(finger.time_s - ear.time_s - 15.0) < 3.5


def test_the_finger_is_shallower_than_the_ear_by_less_than_in_life(held):
    # The same abstract: the finger's lowest value was 6.0 points (3.7) higher. The chain gives
    # less, within their spread of two standard deviations; the notebook tells both figures.
    gap = held.shown_lowest("finger").percent - held.shown_lowest("ear").percent
    assert 1.0 < gap < 6.0
    assert abs(gap - 6.0) < 2.0 * 3.7


def test_at_the_ears_lowest_only_a_cold_finger_is_as_unaware_as_theirs(held):
    # The same abstract: with the ear at its lowest, fingers showed 94.6 % (3.5). The chain's warm
    # finger is lower than that, its cold one within it; the notebook tells both.
    at_s = held.shown_lowest("ear").time_s
    assert abs(held.shown_at("cold finger", at_s) - 94.6) < 3.5
    assert held.shown_at("finger", at_s) < 94.6 - 3.5


def test_a_brief_fall_shows_less_at_the_finger_than_a_lasting_one():
    # Normand and Mouadil 2002, European Respiratory Society, abstract: lasting hypoxia showed 84.1
    # (ear) and 85.2 % (finger), not significantly different; a brief one 83.1 and 93.2 %.
    lasting = Course([0.0, 60.0, 65.0, 300.0], [0.97, 0.97, 0.84, 0.84])
    brief = Course([0.0, 60.0, 65.0, 70.0, 75.0, 200.0], [0.97, 0.97, 0.8, 0.8, 0.97, 0.97])
    gap = {}
    for kind, course in (("lasting", lasting), ("brief", brief)):
        lowest = {}
        for name in ("ear", "finger"):
            place = PLACES[name]
            recording = simulate_course(place.scenario(), course, place.delay_s, seed=4)
            end_s = float(course.time_s[-1])
            shown = trend(measure(recording), 3.0, 100.0 if kind == "lasting" else 0.0, end_s)
            lowest[name] = np.nanmin(shown.spo2_percent)
            if kind == "lasting":
                lowest[name] = np.nanmedian(shown.spo2_percent[-100:])
        gap[kind] = lowest["finger"] - lowest["ear"]
    assert abs(gap["lasting"]) < 1.1
    assert gap["brief"] > 2.0


def test_falls_of_people_are_allowed_and_told_as_what_they_are():
    # Stewart and others 2005, Med Sci Sports Exerc 37:1871, abstract: steepest fall of untrained
    # people 0.15 (0.06) points a second. Sirian and Wills 2009: severe, close to 30 a minute.
    rested = BreathHold(hold_s=129.0, depth_points=0.15 * 0.6 * 129.0)
    assert rested.fall_points_per_s == pytest.approx(0.15)
    assert FAST_FALL_POINTS_PER_S == 30.0 / 60.0


@pytest.fixture(scope="module")
def hours():
    return [watched_hour(PLACES["finger"], seed) for seed in range(12)]


def alarms(hours, averaging_s, threshold=90.0, wait_s=0.0):
    """Number of alarms, false and true."""
    count = 0
    for hour in hours:
        on = alarm_on(hour.shown_percent[ROW[averaging_s]], threshold, wait_s)
        count += len(spans(on[round(SETTLING_S) :]))
    return count


def test_averaging_waiting_and_a_lower_limit_each_cut_alarms_by_a_good_part(hours):
    # Rheineck-Leyssius and Kalkman 1998, J Clin Monit Comput 14:151, abstract: a wait of 6 s, or
    # averaging over 10 s, cut alarms by almost 50 %; a limit of 85 instead of 90 % by 82 %. Their
    # artefacts were other than ours: what is held here is that each cuts a third at least, and the
    # notebook quotes their figures.
    plain = alarms(hours, 2.0)
    assert alarms(hours, 8.0) < 0.7 * plain
    assert alarms(hours, 2.0, wait_s=6.0) < 0.7 * plain
    assert alarms(hours, 2.0, threshold=85.0) < plain


def test_a_lower_limit_spares_fewer_false_alarms_than_a_wait(hours):
    # The same abstract: the limit of 85 % reduced false alarms less than waiting or averaging.
    def false(threshold, averaging_s, wait_s):
        found = 0
        for hour in hours:
            on = alarm_on(hour.shown_percent[ROW[averaging_s]], threshold, wait_s)
            near = np.zeros(on.size, dtype=bool)
            for start, end in spans(below(hour.true_percent, 95.0)):
                near[start : end + 90] = True
            found += sum(not near[start] for start, _ in spans(on) if start >= SETTLING_S)
        return found

    limit = false(85.0, 2.0, 0.0)
    assert limit > false(90.0, 2.0, 6.0)
    assert limit > false(90.0, 16.0, 0.0)


def test_longer_averaging_finds_far_fewer_falls(hours):
    # Vagedes, Poets and Dietz 2013, Arch Dis Child Fetal Neonatal Ed 98:F265, abstract: 1958 falls
    # below 80 % with 3 s of averaging, 339 with 16 s. Infants are not this patient: the direction
    # and a factor of two at least are held.
    short, long = (
        sum(len(spans(below(h.shown_percent[ROW[a]], 80.0))) for h in hours) for a in (2.0, 16.0)
    )
    assert 2 * long < short
