"""Questions of late news: averaging, the way of the blood, and alarms."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from oximetry_workbook.body.circulation import PLACES
from oximetry_workbook.meter.display import trailing_median
from oximetry_workbook.study.alarms import trades
from oximetry_workbook.teach.checkpoint import ChoiceQuestion, NumberQuestion, Question
from oximetry_workbook.teach.late_news import FIRST_HOURS, TIME_S, LateNews, first_hours
from oximetry_workbook.teach.words import figure, percent

EVENT = LateNews()
"""The breath-hold that the panel starts with."""

BRIEF = LateNews(hold_s=30.0, depth_points=12.0)
"""A dip that is soon over."""

STEP_WINDOW_S = 12.0
WAIT_S = 10.0


def prediction() -> ChoiceQuestion:
    """Ask when a finger shows the lowest value of a breath-hold."""
    later = EVENT.shown_lowest("finger").time_s - EVENT.hold_s
    return ChoiceQuestion(
        text=f"Someone holds the breath for {EVENT.hold_s:.0f} s and then breathes. At the first "
        "breath the blood that leaves the heart is lowest in oxygen. When does a meter on the "
        "finger show its lowest number?",
        options=(
            "With the first breath",
            "Some ten seconds after the first breath",
            "Half a minute or so after the first breath",
            "Two minutes after the first breath",
        ),
        answer=int(np.searchsorted((5.0, 18.0, 60.0), later)),
        why=f"Here it is {later:.0f} s after the first breath. The blood needs about "
        f"{PLACES['finger'].delay_s:.0f} s to the finger (common practice), and the meter looks "
        "back over the last seconds.",
        link="display",
        if_wrong=(
            "The blood under the probe left the heart some time ago. How long is its way to a "
            "finger?",
            "That is nearer to the way to an ear. A finger is farther off, and the meter looks "
            "back over the last seconds besides.",
            "Add up the way to the finger and what averaging adds.",
            "Blood goes round the whole body in about a minute (common practice). How long does it "
            "need to a finger alone?",
        ),
    )


def checkpoints() -> tuple[Question, ...]:
    """Ask about the window, the sum of delays, the place, depth, averaging, and old news."""
    return (_half_a_window(), _sum_of_delays(), _place(), _brief_dip(), _averaging(), _old_news())


def _half_a_window() -> NumberQuestion:
    beats = np.arange(0.0, 60.0, 0.5)
    shown = trailing_median(beats, np.where(beats < 30.0, 98.0, 88.0), STEP_WINDOW_S)
    flips = float(beats[np.argmax(shown < 93.0)]) - 30.0
    return NumberQuestion(
        text=f"A meter shows the median of the last {STEP_WINDOW_S:.0f} s. In the finger itself "
        "saturation jumps from 98 % to 88 %, all at once. How many seconds later does the number "
        "jump?",
        unit="s",
        answer=flips,
        tolerance=1.5,
        why=f"The median changes sides when half of the window is new: after {flips:.0f} s of "
        f"{STEP_WINDOW_S:.0f} s.",
        link="display",
        hint="The median is the value in the middle. How much of the window has to be new before "
        "the one in the middle is new?",
    )


def _sum_of_delays() -> NumberQuestion:
    waiting = replace(EVENT, wait_s=WAIT_S)
    late, half = _late(waiting, "finger"), EVENT.averaging_s / 2.0
    way = PLACES["finger"].delay_s
    return NumberQuestion(
        text=f"Blood takes {way:.0f} s to a finger. The meter shows the median of the last "
        f"{EVENT.averaging_s:.0f} s. The alarm waits until the number has been low for "
        f"{WAIT_S:.0f} s. The saturation at the heart falls steadily below the limit. About how "
        "many seconds later does the alarm sound?",
        unit="s",
        answer=way + half + WAIT_S,
        tolerance=4.0,
        why=f"{way:.0f} + {half:.0f} + {WAIT_S:.0f} = {way + half + WAIT_S:.0f}: the way, half the "
        f"window, the wait. The whole chain, run for the panel’s breath-hold, gives {late:.0f} s.",
        link="display",
        hint="Three delays follow one another. One of them is not the whole window, since a median "
        "changes sides earlier than that.",
    )


def _place() -> ChoiceQuestion:
    late = {place: _late(EVENT, place) for place in PLACES}
    places = ("cold finger", "ear", "finger")
    said = ", ".join(f"{late[place]:.0f} s at the {place}" for place in places)
    return ChoiceQuestion(
        text="Three meters of the same kind watch the same breath-hold. Whose alarm sounds first?",
        options=("The one on a cold finger", "The one on the ear", "The one on a warm finger"),
        answer=int(np.argmin([late[place] for place in places])),
        why=f"The alarm is late by {said}. The ear is near the heart. In a cold hand blood moves "
        "slowly through narrowed vessels.",
        link="pulse",
        if_wrong=(
            "Cold narrows the vessels of a hand. Does that make the way of the blood quicker?",
            "Look at the panel’s marks on the alarm limit, from left to right.",
            "Look how far each place is from the heart, and at the marks on the alarm limit.",
        ),
    )


def _brief_dip() -> ChoiceQuestion:
    true = BRIEF.true_lowest.percent
    short, long = (
        replace(BRIEF, averaging_s=a).shown_lowest("finger").percent for a in (2.0, 16.0)
    )
    deeper = long - short
    return ChoiceQuestion(
        text="A brief dip passes the finger. A meter that averages over 16 s and one that averages "
        "over 2 s watch it. How do their lowest numbers compare?",
        options=(
            "The same, but the longer average comes later",
            "The longer average shows the dip less deep",
            "The longer average shows the dip deeper",
        ),
        answer=0 if abs(deeper) < 0.3 else (1 if deeper > 0.0 else 2),
        why=f"In a dip of {BRIEF.depth_points:.0f} points from a hold of {BRIEF.hold_s:.0f} s the "
        f"blood fell to {percent(true)}; the finger shows {short:.1f} % with 2 s and {long:.1f} % "
        "with 16 s. A window longer than the dip always holds some of the time before or after.",
        link="display",
        if_wrong=(
            "Later, yes. But what else stands in the long window while the dip passes?",
            "Set Averaging to 2 s, then to 16 s, and read off the lowest values.",
            "The display shows the middle of what is in the window. Can the middle lie below all "
            "of it?",
        ),
    )


def _averaging() -> ChoiceQuestion:
    short, *_, long = trades(first_hours(), EVENT.threshold_percent, EVENT.wait_s)
    fewer_false = long.false_per_hour.value < short.false_per_hour.value
    more_missed = long.missed_percent.value > short.missed_percent.value
    return ChoiceQuestion(
        text="A patient’s hand moves now and then, and alarms go off for nothing. Averaging is set "
        "from 2 s to 16 s. What happens?",
        options=(
            "Fewer false alarms; all true dips are still told, only later",
            "Fewer false alarms, and more true dips are missed",
            "More false alarms, since each lasts longer",
        ),
        answer=2 if not fewer_false else (1 if more_missed else 0),
        why=f"In the {FIRST_HOURS} hours at the {EVENT.place} that the panel starts with, and a "
        f"limit of {EVENT.threshold_percent:.0f} %, false alarms go from "
        f"{figure(short.false_per_hour.value)} to {figure(long.false_per_hour.value)} an hour, and "
        f"missed dips from {figure(short.missed_percent.value)} % to "
        f"{figure(long.missed_percent.value)} % of {long.events}.",
        link="display",
        if_wrong=(
            "Find 2 s and 16 s in “False or missed”. How high does each of them lie?",
            "Find 2 s and 16 s in “False or missed”: one axis is false alarms, the other missed "
            "dips.",
            "Find 2 s and 16 s in “False or missed”. Which lies farther to the left?",
        ),
    )


def _old_news() -> ChoiceQuestion:
    first = int(np.flatnonzero(EVENT.hold_s == TIME_S)[0])
    later = first + 15
    shown, true = EVENT.shown_percent["finger"], EVENT.true_percent
    old = shown[later] < shown[first] and true[later] > true[first]
    return ChoiceQuestion(
        text="Someone who held the breath has been breathing well for 15 s, and the number at "
        "the finger still falls. What does that say?",
        options=(
            "The breaths do not reach the lungs",
            "Nothing yet about the breaths: this blood left the heart before they did their work",
            "The heart has slowed, so the blood takes up less oxygen",
        ),
        answer=1 if old else 0,
        why=f"In the panel’s breath-hold the finger shows {percent(float(shown[first]))} at the "
        f"first breath and {percent(float(shown[later]))} 15 s later, while the blood at the heart "
        f"has gone from {percent(float(true[first]))} to {percent(float(true[later]))}. The number "
        "alone cannot tell; look at the person.",
        link="display",
        if_wrong=(
            "When did the blood that is under the probe now leave the lungs: before or after the "
            "first breath?",
            "Count back the time that the blood needs to the finger.",
            "The pulse rate would tell that, not the saturation. When did the blood under the "
            "probe leave the lungs?",
        ),
    )


def _late(state: LateNews, place: str) -> float:
    late = state.alarm_delay_s(place)
    if late is None:
        raise RuntimeError(f"no alarm sounds at the {place}, so none is late")
    return late
