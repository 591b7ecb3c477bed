"""Questions of the wrist and of home: one low reading, repeats, and a small pulse."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from oximetry_workbook.study.chance import predictive_value
from oximetry_workbook.teach.checkpoint import ChoiceQuestion, NumberQuestion, Question
from oximetry_workbook.teach.one_low_reading import (
    OTHER_DAYS,
    TARGET_PERCENT,
    OneLowReading,
)
from oximetry_workbook.teach.one_low_reading_words import share
from oximetry_workbook.teach.steady_and_pulsing_words import points
from oximetry_workbook.teach.words import figure
from oximetry_workbook.teach.wrist import FingerAndWrist, read_many

HOME = OneLowReading()
"""The reading that the panel starts with."""

RARE = replace(HOME, reading_percent=90.0, checks_a_day=1.0)
"""A number that a healthy person seldom sees, one check a day."""

COMMON = replace(HOME, prevalence=0.3)
"""The same among people of whom many are low."""

CLINIC = 0.05
"""Share of the low where the question of counting plays."""

FIVE_DAYS = replace(
    HOME, repeats=4, repeats_show_percent=HOME.reading_percent, repeats_when=OTHER_DAYS
)
"""The same number on five days."""

GOOD = replace(HOME, reading_percent=90.0)
WORSE = replace(GOOD, a_rms_points=4.0)
"""One number on two meters, the second beyond what FDA's guidance allows."""

MOVED = FingerAndWrist(coupling_percent=0.1)
"""A probe that shifts on the skin by a thousandth of the light."""

CLOSE_POINTS = 1.0
"""Closer than this, two readings are called alike: the display shows whole percent."""


def prediction() -> ChoiceQuestion:
    """Ask how many of those who saw a low reading are truly low."""
    earlier, under = (100.0 * belief.below(TARGET_PERCENT) for belief in (HOME.before, HOME.after))
    return ChoiceQuestion(
        text=f"A hundred people feel well and check at home; among such people "
        f"{figure(100.0 * HOME.prevalence)} in 100 have a low saturation. The meter’s A_rms is "
        f"{points(HOME.a_rms_points)}. Each has just seen {HOME.reading_percent:.0f} %. About how "
        "many of them are truly under 94 %?",
        options=("Fewer than 20", "About 50", "More than 80"),
        answer=0 if under < 20.0 else (1 if under < 80.0 else 2),
        why=f"About {under:.0f} of the hundred, if the meter errs as assumed here. Healthy people "
        "are so many that even their rare low readings outnumber those of the few who are low. "
        f"Before the reading it was {figure(earlier)} of the hundred, so the number is a reason to "
        "measure again, and to ask if it stays.",
        link="chance",
        if_wrong=(
            "Few are low before anybody measures, but a reading this low is rarer still in the "
            "healthy. Weigh one against the other.",
            "That would be so if as many were low as were healthy before anybody measured.",
            "That asks how often the meter is right on those who are low. Ask instead how many of "
            "all who see the number are healthy.",
        ),
    )


def checkpoints() -> tuple[Question, ...]:
    """Ask about counting, repeats, who measures, a month, five days, a worse meter, the wrist."""
    return (
        _counting(),
        _where_to_repeat(),
        _who_measures(),
        _more_checks(),
        _five_days(),
        _worse_meter(),
        _moving_wrist(),
    )


def _counting() -> NumberQuestion:
    of_low, of_healthy = (round(1000.0 * chance) for chance in HOME.once)
    answer = 100.0 * predictive_value(CLINIC, of_low / 1000.0, of_healthy / 1000.0)
    low, healthy = CLINIC * of_low, (1.0 - CLINIC) * of_healthy
    return NumberQuestion(
        text=f"At one check, a meter shows {HOME.reading_percent:.0f} % or less to {of_low} of "
        f"1000 people who are low and to {of_healthy} of 1000 who are healthy. In a clinic, "
        f"{100.0 * CLINIC:.0f} in 100 visitors are low. Of the visitors who are shown "
        f"{HOME.reading_percent:.0f} % or less, what share is low, in percent?",
        unit="%",
        answer=answer,
        tolerance=1.0,
        why=f"Of 1000 visitors, {1000.0 * CLINIC:.0f} are low and {low:.0f} of these are shown it; "
        f"{1000.0 * (1.0 - CLINIC):.0f} are healthy and {healthy:.0f} of these are shown it. "
        f"{low:.0f} of {low + healthy:.0f} is {answer:.0f} %.",
        link="chance",
        hint="Count people: of 1000 visitors, how many are low, how many healthy, and how many of "
        "each are shown it? Then look only at those who are shown it.",
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
        link="chance",
        if_wrong=(
            "That nothing has changed holds for what spoils the reading as well.",
            "Ask which parts of the error are drawn anew each time, and which are not.",
            "Three readings help only against what is new in each of them. Is that the same in "
            "both cases?",
        ),
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
        link="chance",
        if_wrong=(
            "The meter is the same, but those who see the number are others. Move Low among those "
            "who measure in the panel.",
            "Work it out with a hundred people of each kind: how many low ones see the number for "
            "each healthy one?",
            "Look at how many of the healthy are left to see the number by chance.",
        ),
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
        link="chance",
        if_wrong=(
            "The chance at a single check stays. The question is about at least one of many.",
            "Part of the error is new at each check, another part never is. Think of what each "
            "does.",
            "That would be so if each check were new and such numbers rare. Ask what comes back "
            "at every check of one person.",
            "The mean of many readings is more certain. At least one low one among many is "
            "another matter.",
        ),
    )


def _growth(ratio: float) -> int:
    if ratio < 0.98:
        return 3
    if ratio < 1.02:
        return 0
    return 1 if ratio < 3.9 else 2


def _five_days() -> ChoiceQuestion:
    """Ask what a number that stays low on repeats may come from."""
    state, n = FIVE_DAYS, len(FIVE_DAYS.readings)
    chance = state.once[1] ** n
    under = state.after.below(TARGET_PERCENT)
    explained, settled = chance > 0.01, under > 0.95
    return ChoiceQuestion(
        text=f"Somebody feels well and sees {state.reading_percent:.0f} % on {n} days, once each "
        "day, with a warm hand. Which is the best account of it?",
        options=(
            "Chance: any meter shows such a number now and then",
            "Low saturation is now certain",
            "Either a low saturation or a meter that reads low on this person; ask for advice",
        ),
        answer=0 if explained else (1 if settled else 2),
        why=f"If each error were new, {n} numbers as low as this would come to "
        f"{share(chance)} of healthy people. Truly under 94 %, in the panel’s group: "
        f"{share(HOME.after.below(TARGET_PERCENT))} after one such reading, {share(under)} after "
        f"{n}. The rest are people on whom the meter reads low each time. Repeats with the same "
        "meter cannot tell the two apart; local advice decides what can.",
        link="chance",
        if_wrong=(
            "Now and then is not day after day. What is new at each reading cannot go the same "
            "way every time.",
            "One part of the error comes back at each reading of the same person.",
            "Ask what can be the same on all these days: the blood, or something else.",
        ),
    )


def _worse_meter() -> ChoiceQuestion:
    """Ask what a lower chance on a worse meter is worth."""
    good, worse = (state.after.below(TARGET_PERCENT) for state in (GOOD, WORSE))
    before = GOOD.before.below(TARGET_PERCENT)
    tells_less = abs(worse - before) < abs(good - before) and WORSE.missed > GOOD.missed
    return ChoiceQuestion(
        text=f"{GOOD.reading_percent:.0f} % on a meter with an A_rms of "
        f"{points(GOOD.a_rms_points)} means truly under 94 % for {share(good)} of the panel’s "
        f"group. On one with {points(WORSE.a_rms_points)} it means that for {share(worse)} only. "
        "What has the owner of the second meter gained?",
        options=(
            "Comfort: with this meter, one is more likely to be well",
            "A meter that gives fewer false alarms",
            "Nothing: the meter can tell less, and its normal numbers say less too",
        ),
        answer=2 if tells_less else 0,
        why=f"Without any meter it is {share(before)}: the worse meter leaves the owner nearer to "
        f"knowing nothing. To somebody of the low group it shows 94 % or more with a chance of "
        f"{share(WORSE.missed)}, the better one with {share(GOOD.missed)}. And healthy people "
        f"see {GOOD.reading_percent:.0f} % or less at {share(WORSE.once[1])} of checks, not "
        f"{share(GOOD.once[1])}. On either meter such a number is a reason to seek help (common "
        "practice).",
        link="chance",
        if_wrong=(
            "The owner is the same person, whichever meter they bought. Only what they know has "
            "changed.",
            "Raise Error of the meter in the panel and watch Seen in a month.",
            "Ask what the meter does to those who are low, and to those who are healthy.",
        ),
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
        if_wrong=(
            "Ask what ratio R two colours have that swing alike, and what the curve says to it.",
            "That both colours swing alike does not make the swing harmless. Ask which R it has.",
            "Ask what ratio R two colours have that swing alike, and what the curve says to it.",
            "It judges by the shape of the beats. Look at the pulse in the panel: is it spoilt?",
        ),
    )
