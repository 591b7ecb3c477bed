"""Accuracy of a study told in plain words, beside what guidance asks, with what it cannot show.

For teaching: figures of an example, not evidence for or against a device.
"""

from __future__ import annotations

from oximetry_workbook.study.agreement import Agreement
from oximetry_workbook.study.breakdown import Accuracy, GroupDifference, Part, accuracy
from oximetry_workbook.study.pairs import StudyPairs, read_pairs

__all__ = ["LIMITS_POINTS", "Accuracy", "StudyPairs", "accuracy", "gaps", "read_pairs", "statement"]

LIMITS_POINTS = {
    "FDA, probes that shine through": 3.0,
    "FDA, ear clips and reflection": 3.5,
    "ISO 80601-2-61": 4.0,
}
"""Largest A_rms from 70 to 100 % [points]. Source: FDA, Pulse Oximeters, guidance of 4 March 2013,
docket FDA-2007-D-0205; that of ISO 80601-2-61:2019 as a published study quotes it (JMIR Form Res
2024, e54256, abstract read), the standard itself not opened."""

LEAST_SUBJECTS = 10
LEAST_PAIRS = 200
"""Source: FDA guidance of 4 March 2013, as above."""

END_WITHIN_POINTS = 3.0
"""A study covers an end of the range with a pair this close to it (our choice)."""

LEAST_SHARE = 0.2
"""A decile with a smaller share of the pairs is called thin; an even share is a third (our
choice)."""

DOMINATES = 1.0 / 3.0
"""A subject with more than this share of the pairs or the squared error dominates (our choice)."""


def statement(result: Accuracy) -> tuple[str, ...]:
    """What a study shows and what it does not, in sentences for readers without statistics.

    Args:
        result: What `accuracy` returns.

    Returns:
        Sentences: overall, beside the limits, by saturation, by group, then `gaps`, then a
        caution.
    """
    return (
        _overall(result),
        _beside_limits(result.overall),
        _beside_numbers(result.overall),
        *(_part("Where blood held", part) for part in result.deciles),
        *(_part("In group", part) for part in result.groups),
        *(_difference(each, result.confidence) for each in result.differences),
        *gaps(result),
        "This is a calculation for teaching; it neither clears a device nor condemns it.",
    )


def gaps(result: Accuracy) -> tuple[str, ...]:
    """What the data of a study cannot show, in sentences; empty when nothing was found.

    Args:
        result: What `accuracy` returns.
    """
    return (
        *_few(result.overall),
        *_passed_over(result),
        *_range(result),
        *_uneven(result),
        *_dominating(result),
        *_about_groups(result),
    )


def _overall(result: Accuracy) -> str:
    it = result.overall
    return (
        f"Against blood the meter read {_signed(it.bias)} points on average, and its A_rms, the "
        f"size of a typical error, was {it.a_rms:.2f} points ({_percent(result.confidence)} "
        f"interval {_span(it.intervals['a_rms'])}), in {it.n} pairs of {it.n_subjects} subjects "
        f"between {result.lowest_percent:.1f} and {result.highest_percent:.1f} %."
    )


def _beside_limits(it: Agreement) -> str:
    high = it.intervals["a_rms"][1]
    beside = []
    for name, limit in LIMITS_POINTS.items():
        verdict = "above" if it.a_rms > limit else "within"
        if it.a_rms <= limit < high:
            verdict = "within, but the interval reaches beyond"
        beside.append(f"{name}, at most {limit:.1f}: {verdict}")
    return (
        "Beside the limits of A_rms over 70 to 100 % (FDA guidance of 4 March 2013; ISO "
        f"80601-2-61 at second hand): {'; '.join(beside)}."
    )


def _beside_numbers(it: Agreement) -> str:
    return (
        f"The FDA guidance asks for {LEAST_SUBJECTS} subjects or more and {LEAST_PAIRS} pairs or "
        f"more; here there are {it.n_subjects} and {it.n}."
    )


def _part(where: str, part: Part) -> str:
    size = f"{_count(part.n, 'pair')} of {_count(part.n_subjects, 'subject')}"
    if part.agreement is None:
        return f"{where} {part.name}: {size}, too few for a figure."
    return (
        f"{where} {part.name}: {_signed(part.agreement.bias)} points on average, A_rms "
        f"{part.agreement.a_rms:.2f}, from {size}."
    )


def _difference(it: GroupDifference, confidence: float) -> str:
    low, high = it.intervals["bias"]
    zero = (
        "zero lies inside, so that these data show no difference, nor that there is none"
        if low <= 0.0 <= high
        else "zero lies outside, so that chance in who took part hardly explains it"
    )
    return (
        f"The average reading error in group {it.first} less that in group {it.second} is "
        f"{_signed(it.bias)} points ({_percent(confidence)} interval {_span((low, high))}; "
        f"{zero}), of A_rms {_signed(it.a_rms)} ({_span(it.intervals['a_rms'])})."
    )


def _few(it: Agreement) -> list[str]:
    found = []
    if it.n_subjects < LEAST_SUBJECTS:
        found.append(
            f"{it.n_subjects} subjects are too few to speak for other people, and the intervals "
            "are too narrow."
        )
    if it.n < LEAST_PAIRS:
        found.append(f"{it.n} pairs are fewer than the guidance asks for.")
    return found


def _passed_over(result: Accuracy) -> list[str]:
    found = []
    if result.n_outside:
        found.append(
            f"{_count(result.n_outside, 'pair')} with blood below 70 % not counted; nothing is "
            "said about readings there."
        )
    if result.n_without_reading:
        found.append(
            f"{_count(result.n_without_reading, 'pair')} without a reading not counted; a meter "
            "that withholds its worst readings looks better than it is."
        )
    return found


def _range(result: Accuracy) -> list[str]:
    found = []
    if result.lowest_percent > 70.0 + END_WITHIN_POINTS:
        found.append(f"Nothing was measured from 70 to {result.lowest_percent:.1f} %.")
    if result.highest_percent < 100.0 - END_WITHIN_POINTS:
        found.append(f"Nothing was measured from {result.highest_percent:.1f} to 100 %.")
    return found


def _uneven(result: Accuracy) -> list[str]:
    return [
        f"Only {100.0 * part.n / result.overall.n:.0f} % of the pairs lie at {part.name}; the "
        "overall figure says little about that range."
        for part in result.deciles
        if part.n < LEAST_SHARE * result.overall.n
    ]


def _dominating(result: Accuracy) -> list[str]:
    found = []
    for column, what in (("share_of_pairs", "pairs"), ("share_of_error", "squared error")):
        share = result.subjects[column]
        if share.max() > DOMINATES:
            who = result.subjects["subject"].iloc[share.argmax()]
            found.append(
                f"Subject {who} alone brings {100.0 * share.max():.0f} % of the {what}; the "
                "figures are largely about one person."
            )
    return found


def _about_groups(result: Accuracy) -> list[str]:
    if not result.groups:
        return ["No groups were told apart; a meter may do worse for some people unseen."]
    found = [
        f"Group {part.name} holds {_count(part.n_subjects, 'subject')}; fewer than "
        f"{LEAST_SUBJECTS} may all lean to one side, and the intervals are too narrow."
        for part in result.groups
        if part.n_subjects < LEAST_SUBJECTS
    ]
    if len(result.groups) == 1:
        found.append("There is one group only; nothing can be said about others.")
    if len(result.differences) > 1:
        found.append(
            f"Of {len(result.differences)} differences one may leave zero out by chance; the "
            "intervals do not allow for that."
        )
    return found


def _count(n: int, what: str) -> str:
    return f"1 {what}" if n == 1 else f"{n} {what}s"


def _signed(value: float) -> str:
    """Write a difference with its sign, and none where it rounds to nothing."""
    shown = f"{value:+.2f}".replace("-", "−")
    return "0.00" if shown[1:] == "0.00" else shown


def _span(ends: tuple[float, float]) -> str:
    return f"{ends[0]:.2f} to {ends[1]:.2f}".replace("-", "−")


def _percent(confidence: float) -> str:
    return f"{100.0 * confidence:g} %"
