"""Sentences about one low reading: no more calm and no more alarm than the figures hold."""

from __future__ import annotations

from dataclasses import replace

from oximetry_workbook.teach.one_low_reading import (
    BANDS,
    DAYS,
    HELP_PERCENT,
    LOW_PERCENT,
    TARGET_PERCENT,
    OneLowReading,
)
from oximetry_workbook.teach.ratio_to_number import FDA_A_RMS_POINTS
from oximetry_workbook.teach.steady_and_pulsing_words import points
from oximetry_workbook.teach.words import figure

SYMPTOMS = (
    "Whoever is short of breath, has pain in the chest, blue lips or is confused should get help, "
    "whatever the number says."
)

HELP = (
    f"A number of {HELP_PERCENT:.0f} % or less is by itself a reason to seek help, whatever is "
    "felt and whatever the counts say (common practice; local protocols set the level, and some "
    "act earlier)."
)

ASK = (
    "A number that stays low is a reason to ask for advice, however well somebody feels (common "
    "practice; local advice decides)."
)

AGAIN = (
    f"Warm the hand, sit still and measure again; if it stays under {TARGET_PERCENT:.0f} %, ask "
    "for advice (common practice; local advice decides)."
)

FEW = 0.1
"""Where fewer than this share are within a point of the mean, it stands for nobody."""

USUAL = OneLowReading()
"""The panel's first state: its meter is the one that others are held against."""


def share(probability: float) -> str:
    """Write a probability in percent, and at its ends without false exactness."""
    if probability < 0.001:
        return "under 0.1 %"
    if probability > 0.999:
        return "over 99.9 %"
    number = 100.0 * probability
    return f"{number:.1f} %" if number < 10.0 or number > 90.0 else f"{number:.0f} %"


def numbers(state: OneLowReading) -> dict[str, str]:
    """Write the panel's numbers, by what they are."""
    belief = state.after
    chances = {
        "Truly under 90 %": belief.below(LOW_PERCENT),
        "Truly under 94 %": belief.below(TARGET_PERCENT),
        "Under 94, before": state.before.below(TARGET_PERCENT),
        "Low, but missed": state.missed,
        "Seen in a month": float(state.by_day[-1]) / 100.0,
    }
    return {name: _short(chance) for name, chance in chances.items()}


def _short(probability: float) -> str:
    """Write a probability in whole percent: large figures have no room for more."""
    if probability < 0.01:
        return "<1 %"
    return ">99 %" if probability > 0.99 else f"{100.0 * probability:.0f} %"


def verdict(state: OneLowReading) -> str:
    """Say what the readings mean in such a group, what they do not decide, and what to do."""
    low = figure(100.0 * state.prevalence)
    counts = (
        f"Take people of whom {low} in 100 are low. Of 100 who saw {_seen(state)}: "
        f"{_counts(state)}. Which of them somebody is, no figure says."
    )
    if min(state.readings) <= HELP_PERCENT:
        return f"{HELP} {counts} {SYMPTOMS}"
    return " ".join(filter(None, (counts, _next_step(state), SYMPTOMS)))


def _next_step(state: OneLowReading) -> str:
    if state.stays_low:
        return ASK
    return AGAIN if max(state.readings) < TARGET_PERCENT else ""


def _counts(state: OneLowReading) -> str:
    parts = zip(state.of_hundred, state.bands, BANDS, strict=True)
    return "; ".join(f"{_people(n, probability)} {band}" for n, probability, band in parts)


def _people(n: int, probability: float) -> str:
    # none of a hundred is not none at all
    if n == 0 and probability > 0.0:
        return "fewer than one"
    return "nearly all" if n == 100 else f"about {n}"


def _seen(state: OneLowReading) -> str:
    first = f"{figure(state.reading_percent, 3)} %"
    n = int(state.repeats)
    if n == 0:
        return first
    times = ("once", "twice")[n - 1] if n < 3 else f"{n} times"
    when = "on another day" if n == 1 else "on other days"
    place = when if state.days else "at the same sitting"
    return f"{first} and then {times} {figure(state.repeats_show_percent, 3)} % {place}"


def belief_sentence(state: OneLowReading) -> str:
    """Say where the truth lies, before and after."""
    earlier, now = state.before, state.after
    return (
        f"Before: {earlier.mean_percent:.1f} % on average. After: "
        f"{now.mean_percent:.1f} %, "
        f"with a standard deviation of {points(now.sd_points)}. {_pull(state)}"
    )


def _pull(state: OneLowReading) -> str:
    mean = state.after.mean_percent
    if state.after.below(mean + 1.0) - state.after.below(mean - 1.0) < FEW:
        return "Hardly anybody is at this mean: the low lie below it, the healthy above."
    gap = mean - state.reading_percent
    if abs(gap) < 0.5:
        return "The mean is close to the first reading."
    return f"The mean is {points(abs(gap))} {'above' if gap > 0.0 else 'below'} the first reading."


def hundred_sentence(state: OneLowReading) -> str:
    """Say what the marks are, what the repeats changed, and what no repeat changes."""
    said = ["Each mark is one person.", stays_low_sentence(state), repeat_sentence(state)]
    if state.repeats:
        was, now = (share(each.below(TARGET_PERCENT)) for each in (state.first, state.after))
        said.insert(1, f"Truly under 94 %: {was} after the first reading, {now} now.")
    return " ".join(filter(None, said))


def month_sentence(state: OneLowReading) -> str:
    """Say how often a healthy person sees such a reading, and what a steady error changes."""
    seen, naive = (chance[-1] / 100.0 for chance in (state.by_day, state.by_day_all_new))
    checks = int(state.checks_a_day) * DAYS
    return (
        f"In {checks} checks, {share(seen)} of healthy people see "
        f"{figure(state.reading_percent, 3)} % or less at least once. If all of the error "
        f"were new each time, {share(naive)} would. {_luck(state)}"
    )


def _luck(state: OneLowReading) -> str:
    if state.by_day_all_new[-1] < 0.1:
        return "With this meter, such a number comes from healthy people hardly ever."
    if state.person_share == 0.0:
        return "Healthy people differ a little in what they truly carry, and that stays."
    return "But a part stays with the person: some are spared each time, others see it often."


def repeat_sentence(state: OneLowReading) -> str:
    """Say how far the mean of these readings may be off, and how far any mean of them."""
    error, days = state.error, state.days
    n = 1 + int(state.repeats)
    stays = error.shared_and_new(days)[0]
    what = "the person" if days else "the person and the sitting"
    mean = "One reading has" if n == 1 else f"The mean of {n} readings has"
    return (
        f"{mean} an error of {points(error.sd_of_mean(n, days))} (standard deviation). An error of "
        f"{points(stays)} stays with {what}: no number of such repeats takes it away."
    )


def stays_low_sentence(state: OneLowReading) -> str:
    """Say why a number that stays low is not explained by chance; nothing where it does not."""
    if not state.stays_low:
        return ""
    low, healthy = (share(chance) for chance in state.every_time)
    highest = figure(max(state.readings), 3)
    where = "on this person each time" if state.days else "on this finger as it is now"
    return (
        f"The number stays low: {highest} % or less, {len(state.readings)} times. Of healthy "
        f"people {healthy} see that, of the low group {low}. Either the saturation is low, or the "
        f"meter reads low {where}. Chance does not explain it, and more readings of the same kind "
        "cannot tell which it is."
    )


def meter_sentence(state: OneLowReading) -> str:
    """Say whom the meter misses, and that a worse one is no comfort."""
    words = (
        f"Of the low group, {share(state.missed)} are shown {TARGET_PERCENT:.0f} % or more at a "
        "check: low, but missed."
    )
    usual = replace(state, a_rms_points=USUAL.a_rms_points)
    if state.a_rms_points > usual.a_rms_points:
        words += f" {_worse_meter(state, usual)}"
    if state.a_rms_points > FDA_A_RMS_POINTS:
        words += (
            f" An A_rms above {points(FDA_A_RMS_POINTS)} is more than FDA’s guidance allows where "
            "light shines through (2013)."
        )
    return words


def _worse_meter(state: OneLowReading, usual: OneLowReading) -> str:
    here, there, before = (
        share(belief.below(TARGET_PERCENT)) for belief in (state.after, usual.after, state.before)
    )
    return (
        f"On a meter with {points(usual.a_rms_points)} the same readings mean {there} truly under "
        f"{TARGET_PERCENT:.0f} %; on this one, {here}. That is no news of the person, good or bad. "
        "The meter cannot tell: the larger its error, the less its low number says, and its "
        f"normal number too. Without any meter the chance is {before}."
    )
