"""Sentences about late news, good enough to read out."""

from __future__ import annotations

from collections.abc import Sequence

from oximetry_workbook.body.breath_hold import FAST_FALL_POINTS_PER_S
from oximetry_workbook.body.circulation import PLACES
from oximetry_workbook.meter.curve import VALIDATED_PERCENT
from oximetry_workbook.meter.display import rounded
from oximetry_workbook.study.alarms import Estimate, Trade
from oximetry_workbook.teach.late_news import Dips, LateNews
from oximetry_workbook.teach.words import figure, percent

FEWEST_HOURS = 4
"""An interval from fewer hours is not told."""

MANY_MISSED_PERCENT = 50.0
"""From here on the sentence says why dips are missed [%] (our own choice)."""


def numbers(state: LateNews) -> dict[str, str]:
    """Write the lowest values by whose and when, and how late the alarms are."""
    lowest = {"blood": state.true_lowest} | {p: state.shown_lowest(p) for p in PLACES}
    values = {
        f"{_capital(p)}, {low.time_s:.0f} s": percent(low.percent) for p, low in lowest.items()
    }
    return values | {f"Alarm late, {place}": _late(state, place) for place in PLACES}


def _late(state: LateNews, place: str) -> str:
    if state.danger_s is None:
        return "–" if state.alarm_s(place) is None else "false"
    delay = state.alarm_delay_s(place)
    return "none" if delay is None else f"{delay:.0f} s"


def event_sentence(state: LateNews) -> str:
    """Say what the plot of the breath-hold shows."""
    true, ear, cold = (
        state.true_lowest,
        state.shown_lowest("ear"),
        state.shown_lowest("cold finger"),
    )
    rate = state.breath_hold.fall_points_per_s
    sentence = (
        f"The blood is lowest at {true.time_s:.0f} s, the number at the ear at "
        f"{ear.time_s:.0f} s, at the cold finger at {cold.time_s:.0f} s. The blood falls by "
        f"{figure(rate)} points a second."
    )
    if rate > FAST_FALL_POINTS_PER_S:
        sentence += (
            f" That is fast: {figure(60.0 * FAST_FALL_POINTS_PER_S)} points a minute are given "
            "for adults who are severely short of oxygen."
        )
    return sentence


def verdict(state: LateNews) -> str:
    """Say how late and how shallow the news is, and what the alarm makes of it."""
    true, shown = state.true_lowest, state.shown_lowest("finger")
    sentence = (
        f"The first breath comes at {state.hold_s:.0f} s. The finger shows its lowest value "
        f"{_seconds(shown.time_s - state.hold_s)} later, and shows "
        f"{percent(shown.percent)} where the blood had {percent(true.percent)}. {_alarms(state)}"
    )
    if true.percent < VALIDATED_PERCENT[0] or shown.percent < VALIDATED_PERCENT[0]:
        sentence += " Below 70 % any curve is a guess: volunteers are not taken there."
    return sentence


def _alarms(state: LateNews) -> str:
    if state.danger_s is None:
        return f"The blood stays at {figure(state.threshold_percent)} % or more: no alarm is due."
    silent = [place for place in PLACES if state.alarm_delay_s(place) is None]
    if len(silent) == len(PLACES):
        return f"No alarm sounds anywhere: {_why_silent(state, silent)}."
    heard = [
        f"{state.alarm_delay_s(place):.0f} s at the {place}"
        for place in PLACES
        if place not in silent
    ]
    sentence = f"The alarm is late by {_listed(heard)}."
    if silent:
        sentence += f" It stays silent at the {_listed(silent)}: {_why_silent(state, silent)}."
    return sentence


def _why_silent(state: LateNews, silent: Sequence[str]) -> str:
    lowest = min(rounded(state.shown_lowest(place).percent) for place in silent)
    if lowest >= state.threshold_percent:
        return f"way and averaging flatten the dip, and the lowest number is {lowest} %"
    return "the number is not low for longer than the alarm waits"


def trade_sentence(state: LateNews, trades: Sequence[Trade], dips: Dips | None = None) -> str:
    """Say what averaging trades for what, over the hours watched so far.

    Args:
        state: The panel's.
        trades: One for each averaging time, none before any hour was watched.
        dips: The dips of those hours, None for none.
    """
    if not trades:
        return (
            f"Nothing has been watched at the {state.place} yet. The button runs hours of an "
            "invented patient, with breath-holds and movement at random, through the whole chain."
        )
    short, long = trades[0], trades[-1]
    sentence = (
        f"{short.hours} hours at the {state.place}, {short.events} dips below "
        f"{figure(state.threshold_percent)} %. Averaging over {figure(short.averaging_s)} s: "
        f"{_cost(short)}. Over {figure(long.averaging_s)} s: {_cost(long)}."
    )
    if short.hours >= FEWEST_HOURS:
        sentence += f" In brackets: 95 % intervals over the hours.{_bargain(short, long)}"
    return sentence + (_why_missed(state, short, long, dips) if dips else "")


def _bargain(short: Trade, long: Trade) -> str:
    if short.events == 0 or long.false_per_hour.high >= short.false_per_hour.low:
        return ""
    if long.missed_percent.low > short.missed_percent.high:
        return " The long window buys fewer false alarms with more missed dips."
    return " Fewer false alarms are sure; for missed dips the intervals meet."


def _why_missed(state: LateNews, short: Trade, long: Trade, dips: Dips) -> str:
    if long.missed_percent.value < MANY_MISSED_PERCENT:
        return ""
    limit = f"{figure(state.threshold_percent)} %"
    sentence = (
        f" Why so many are missed: half of these dips go at most {figure(dips.below_points)} "
        f"points below {limit}, and half last at most {dips.lasts_s:.0f} s there."
    )
    if state.wait_s:
        return f"{sentence} The alarm waits {figure(state.wait_s)} s, and few are low for so long."
    way_alone = short.missed_percent.value >= MANY_MISSED_PERCENT
    what = f"way to the {state.place}" if way_alone else f"window of {figure(long.averaging_s)} s"
    return f"{sentence} The {what} flattens so slight a dip until no number below {limit} is left."


def _cost(trade: Trade) -> str:
    false, missed = trade.false_per_hour, trade.missed_percent
    # where all hours are alike, resampling them gives no interval
    alarms = f"{_told(false, trade.hours)} false alarms an hour"
    if false.value == 0.0:
        alarms = "no false alarm"
    if trade.events == 0:
        return f"{alarms}, no dip to miss"
    if missed.value == 0.0:
        return f"{alarms}, no dip missed"
    if missed.value == 100.0:
        return f"{alarms}, every dip missed"
    return f"{alarms}, {_told(missed, trade.hours)} % of the dips missed"


def _told(estimate: Estimate, hours: int) -> str:
    if hours < FEWEST_HOURS:
        return figure(estimate.value)
    return f"{figure(estimate.value)} ({figure(estimate.low)} to {figure(estimate.high)})"


def _seconds(value: float) -> str:
    return f"{value:.0f} s"


def _listed(parts: Sequence[str]) -> str:
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"


def _capital(words: str) -> str:
    return words[0].upper() + words[1:]
