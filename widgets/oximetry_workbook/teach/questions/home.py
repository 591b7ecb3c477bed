"""Questions of the wrist and of home: one low reading, repeats, and a small pulse."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from oximetry_workbook.study.chance import predictive_value
from oximetry_workbook.study.people_and_meter import MeterError
from oximetry_workbook.teach.checkpoint import ChoiceQuestion, NumberQuestion, Question
from oximetry_workbook.teach.one_low_reading import (
    OTHER_DAYS,
    TARGET_PERCENT,
    OneLowReading,
    counted_people,
)
from oximetry_workbook.teach.one_low_reading_words import share
from oximetry_workbook.teach.steady_and_pulsing_words import points
from oximetry_workbook.teach.words import figure
from oximetry_workbook.teach.wrist import FingerAndWrist, read_many

HOME = OneLowReading()
"""The reading that the panel starts with."""

STRICT = MeterError(a_rms_points=3.0)
"""The largest A_rms that FDA's guidance of 4 March 2013 allows a probe that shines through."""

RARE = replace(HOME, reading_percent=90.0, checks_a_day=1.0)
"""A number that a healthy person seldom sees, one check a day."""

COMMON = replace(HOME, prevalence=0.3)
"""The same among people of whom many are low."""

MOVED = FingerAndWrist(coupling_percent=0.1)
"""A probe that shifts on the skin by a thousandth of the light."""

CLOSE_POINTS = 1.0
"""Closer than this, two readings are called alike: the display shows whole percent."""


def prediction() -> ChoiceQuestion:
    """Ask how many of those who saw a low reading are truly low."""
    under = 100.0 * HOME.after.below(TARGET_PERCENT)
    return ChoiceQuestion(
        text=f"A hundred people feel well and check at home; among such people "
        f"{figure(100.0 * HOME.prevalence)} in 100 have a low saturation. The meter’s A_rms is "
        f"{points(HOME.a_rms_points)}. Each has just seen {HOME.reading_percent:.0f} %. About how "
        "many of them are truly under 94 %?",
        options=("Fewer than 20", "About 50", "More than 80"),
        answer=0 if under < 20.0 else (1 if under < 80.0 else 2),
        why=f"About {under:.0f} of the hundred, if the meter errs as assumed here. Healthy people "
        "are so many that even their rare low readings outnumber those of the few who are low.",
        link="display",
    )


def checkpoints() -> tuple[Question, ...]:
    """Ask about counting people, what stays, repeats, who measures, a month, and the wrist."""
    return (
        _counting(),
        _what_stays(),
        _where_to_repeat(),
        _who_measures(),
        _more_checks(),
        _twice_the_same(),
        _moving_wrist(),
    )


def _counting() -> NumberQuestion:
    low, low_seen, healthy, healthy_seen = counted_people(HOME)
    answer = 100.0 * predictive_value(low / (low + healthy), low_seen / low, healthy_seen / healthy)
    return NumberQuestion(
        text=f"Of 1000 people who check once, {low} belong to the low group, and {low_seen} of "
        f"these are shown {HOME.reading_percent:.0f} % or less. The other {healthy} are healthy, "
        f"and {healthy_seen} of these are shown that too. Of all who are shown it, what share "
        "belongs to the low group, in percent?",
        unit="%",
        answer=answer,
        tolerance=1.0,
        why=f"{low_seen} of {low_seen + healthy_seen} is {answer:.0f} %. “Or less” holds readings "
        "far lower as well, so this share is larger than after exactly "
        f"{HOME.reading_percent:.0f} %.",
        link="display",
    )


def _what_stays() -> NumberQuestion:
    error = STRICT
    return NumberQuestion(
        text=f"A meter without bias has an A_rms of {points(error.a_rms_points)}. Of its mean "
        f"squared error, {100.0 * error.person_share:.0f} % stays with the person. However often "
        "this person measures and averages: how large is the error that is left, as a standard "
        "deviation in points?",
        unit="points",
        answer=error.person_sd_points,
        tolerance=0.05,
        why=f"{figure(error.person_share)} of {figure(error.a_rms_points**2)} is "
        f"{figure(error.person_sd_points**2, 3)} points squared, and the root of it is "
        f"{figure(error.person_sd_points)}. Squares add up, errors do not.",
        link="curve",
    )


def _where_to_repeat() -> ChoiceQuestion:
    sitting, days = (HOME.error.sd_of_mean(3, other_days) for other_days in (False, True))
    return ChoiceQuestion(
        text="Somebody whose saturation stays as it is takes three readings and their mean. In "
        "this panel’s model, which mean is nearer to the truth as a rule?",
        options=(
            "That of three in a row, since nothing has changed",
            "That of three on different days, with the probe put on anew",
            "Both alike, three readings are three readings",
        ),
        answer=1 if days < sitting - 0.05 else (0 if sitting < days - 0.05 else 2),
        why=f"In a row the mean errs by {points(sitting)}, on different days by {points(days)} "
        "(standard deviation). A cold finger or a probe that sits badly spoils all three in a "
        "row. If the low saturation itself comes and goes, other days say nothing about today.",
        link="display",
    )


def _who_measures() -> ChoiceQuestion:
    few, many = (state.after.below(TARGET_PERCENT) for state in (HOME, COMMON))
    ratio = many / few
    return ChoiceQuestion(
        text=f"The same meter shows the same {HOME.reading_percent:.0f} %, but to somebody with "
        f"fever and a cough. Among such people, say {100.0 * COMMON.prevalence:.0f} in 100 are "
        f"low, not {100.0 * HOME.prevalence:.0f}. What does that do to the chance of being truly "
        "under 94 %?",
        options=(
            "Nothing: the meter and its number are the same",
            "It rises a little, by less than half of what it was",
            "It rises several times over",
        ),
        answer=2 if ratio > 2.0 else (1 if ratio > 1.01 else 0),
        why=f"It rises from {share(few)} to {share(many)}. A number means nothing without those "
        "who measure. That is why symptoms count for so much.",
        link="display",
    )


def _more_checks() -> ChoiceQuestion:
    often = replace(RARE, checks_a_day=4.0)
    seldom, frequent = (state.by_day[-1] for state in (RARE, often))
    return ChoiceQuestion(
        text="A healthy person checks once a day. Within a month they see "
        f"{RARE.reading_percent:.0f} % or less at least once with a chance of {seldom:.0f} %. Now "
        "they check four times a day. What happens to this chance?",
        options=(
            "It stays: the meter is no worse than before",
            "It grows, but less than fourfold",
            "It grows fourfold",
            "It falls, since more readings are more certain",
        ),
        answer=_growth(frequent / seldom),
        why=f"It grows to {frequent:.0f} %. Each check is another chance to err. But a part of the "
        "error stays with the person: those who were spared so far are likely to be spared again, "
        "and those who were not see it often.",
        link="display",
    )


def _growth(ratio: float) -> int:
    if ratio < 0.98:
        return 3
    if ratio < 1.02:
        return 0
    return 1 if ratio < 3.9 else 2


def _twice_the_same() -> ChoiceQuestion:
    again = replace(HOME, repeats=1, repeats_show_percent=HOME.reading_percent)
    chances = [
        each.after.below(TARGET_PERCENT)
        for each in (HOME, again, replace(again, repeats_when=OTHER_DAYS))
    ]
    once, row, days = chances
    return ChoiceQuestion(
        text=f"The first reading is {HOME.reading_percent:.0f} %, and so is a second one. When "
        "does this second one raise the chance of a truly low saturation more?",
        options=(
            "When it comes on another day",
            "When it comes right after the first, the finger still in the probe",
            "Both alike: it is the same number",
        ),
        answer=2 if abs(row - days) < 0.01 else (1 if row > days else 0),
        why=f"Truly under 94 %: {share(once)} after one reading, {share(row)} after the same again "
        f"at once, {share(days)} after the same on another day. What is shared by two readings "
        "cannot confirm itself.",
        link="display",
    )


def _moving_wrist() -> ChoiceQuestion:
    finger, wrist = (read_many(MOVED.scenario(place), 10) for place in ("finger", "wrist"))
    true = 100.0 * MOVED.arterial_saturation
    if wrist.withheld > 5:
        answer = 3
    else:
        off = float(np.mean(wrist.given)) - true
        answer = 1 if abs(off) < CLOSE_POINTS else (0 if off < 0.0 else 2)
    return ChoiceQuestion(
        text=f"The blood carries {true:.0f} %. The probe shifts on the skin, and both colours "
        f"swing with it by {figure(MOVED.coupling_percent)} % of the light. The finger still reads "
        f"{np.mean(finger.given):.0f} %. The pulse at the wrist is "
        f"{figure(MOVED.wrist_perfusion_index_percent)} % of the light. What does the meter of "
        "this workbook make of the wrist?",
        options=(
            "It reads too low",
            "It reads as the finger does, since both colours swing alike",
            "It reads too high",
            "It withholds the number, since the pulse is so small",
        ),
        answer=answer,
        why=f"At the wrist it reads {np.mean(wrist.given):.0f} % on average, over "
        f"{wrist.given.size} stretches of ten seconds. Colours that swing alike give a ratio R "
        "of 1, and a small pulse is drawn towards it. The shape of the beats is hardly spoilt, so "
        "this meter does not notice.",
        link="ratio",
    )
