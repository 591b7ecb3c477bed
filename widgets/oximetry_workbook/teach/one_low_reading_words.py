"""Sentences about one low reading: no more calm and no more alarm than the figures hold."""

from __future__ import annotations

from oximetry_workbook.teach.one_low_reading import (
    BANDS,
    DAYS,
    LOW_PERCENT,
    OTHER_DAYS,
    TARGET_PERCENT,
    OneLowReading,
)
from oximetry_workbook.teach.steady_and_pulsing_words import points
from oximetry_workbook.teach.words import figure

SYMPTOMS = (
    "Whoever is short of breath, has pain in the chest, blue lips or is confused should get help, "
    "whatever the number says."
)


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
        "Seen in a month": float(state.by_day[-1]) / 100.0,
    }
    # large figures have no room for words
    return {
        name: share(chance).replace("under ", "<").replace("over ", ">")
        for name, chance in chances.items()
    }


def verdict(state: OneLowReading) -> str:
    """Say what the readings mean for people like this one, and what they do not decide."""
    return f"Of 100 people like you who saw {_seen(state)}: {_counts(state)}. {SYMPTOMS}"


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
    place = when if state.repeats_when == OTHER_DAYS else "at the same sitting"
    return f"{first} and then {times} {figure(state.repeats_show_percent, 3)} % {place}"


def belief_sentence(state: OneLowReading) -> str:
    """Say where the truth lies, before and after."""
    earlier, now = state.before, state.after
    return (
        f"Before: {earlier.mean_percent:.1f} % on average. After: "
        f"{now.mean_percent:.1f} %, "
        f"with a standard deviation of {points(now.sd_points)}. "
        f"The truth lies {_pull(state)} the first reading."
    )


def _pull(state: OneLowReading) -> str:
    gap = state.after.mean_percent - state.reading_percent
    if abs(gap) < 0.5:
        return "on average close to"
    return f"on average {points(abs(gap))} {'above' if gap > 0.0 else 'below'}"


def hundred_sentence(state: OneLowReading) -> str:
    """Say what the hundred people show, and what the repeats changed."""
    counts = f"Each mark is one person: {_counts(state)}."
    if not state.repeats:
        return counts
    was = share(state.first.below(TARGET_PERCENT))
    now = share(state.after.below(TARGET_PERCENT))
    return f"{counts} Truly under 94 %: {was} after the first reading, {now} now."


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
    error, days = state.error, state.repeats_when == OTHER_DAYS
    n = 1 + int(state.repeats)
    stays = error.shared_and_new(days)[0]
    what = "the person" if days else "the person and the sitting"
    mean = "One reading has" if n == 1 else f"The mean of {n} readings has"
    return (
        f"{mean} an error of {points(error.sd_of_mean(n, days))} (standard deviation). An error of "
        f"{points(stays)} stays with {what}: no number of such repeats takes it away."
    )
