"""What a desaturation study shows and what it cannot show, in sentences."""

from __future__ import annotations

from oximetry_workbook.study.accuracy import LIMITS_POINTS, gaps, statement
from oximetry_workbook.teach.own_study import (
    NEW_CURVE,
    SWING_AT_PERCENT,
    LeftOutSoFar,
    OwnStudy,
)
from oximetry_workbook.teach.skin_tone import DARK_FOUND
from oximetry_workbook.teach.words import signed

SHOWN_LIMITS = {
    "3.0, FDA guidance of 2013": LIMITS_POINTS["FDA, probes that shine through"],
    "4.0, ISO 80601-2-61 (at second hand)": LIMITS_POINTS["ISO 80601-2-61"],
}

NOT_SKIN = (
    "The invented volunteers do not reproduce the error that was found in darker skin. Here "
    "pigment is only a filter of the light; in people with dark skin meters read "
    f"{DARK_FOUND.bias_points:.1f} points too high at 60 to 70 % (Bickler and others 2005). Do "
    "not compare skin groups by this model; it tells no groups apart."
)
OPTIMISTIC = (
    "The curve is judged on the people it was fitted to. Leave each subject out to see how it "
    "does on others."
)
PRESS = "Press the button: each subject is read with a curve fitted to all others."


def numbers(study: OwnStudy) -> dict[str, str]:
    """The panel's numbers by name."""
    it = study.result.overall
    low, high = it.intervals["a_rms"]
    return {
        "Pairs, 70 to 100 %": str(it.n),
        "Subjects": str(it.n_subjects),
        "Bias, points": signed(it.bias),
        "SD, points": f"{it.sd:.2f}",
        "A_rms, points": f"{it.a_rms:.2f}",
        "95 % interval": f"{low:.1f}–{high:.1f}",
    }


def shown(study: OwnStudy) -> tuple[str, ...]:
    """What the data show, without what they cannot."""
    unseen = set(gaps(study.result))
    return tuple(each for each in statement(study.result) if each not in unseen)


def not_shown(study: OwnStudy) -> tuple[str, ...]:
    """What the data cannot show."""
    found = list(gaps(study.result))
    if study.invented:
        found.insert(0, NOT_SKIN)
    if study.judged == NEW_CURVE:
        found.append(OPTIMISTIC)
    return tuple(found)


def findings(study: OwnStudy) -> tuple[str, ...]:
    """What was noticed in the pairs and in the curve."""
    of_curve = study.calibration.findings if study.calibration else ()
    return study.pairs.findings + of_curve


def curve_sentence(study: OwnStudy) -> str:
    """Say what the plot of the curve shows."""
    found = study.calibration
    if found is None:
        return "These pairs have no R, so there is no curve to fit. The readings are judged."
    low, high = found.curve.valid_percent
    ratio = sum(found.ratio_range) / 2.0
    below, above = found.band([ratio])
    return (
        f"A {study.form} curve by {study.method} fit through {found.n} pairs of "
        f"{found.n_subjects} subjects. It counts as checked from {low:.1f} to {high:.1f} %. "
        f"At R = {ratio:.2f} the mean curve is known to ± {(above[0] - below[0]) / 2.0:.2f} "
        "points, with 95 % confidence. That is the band: of the mean curve, not of single "
        "readings."
    )


def deciles_sentence(study: OwnStudy) -> str:
    """Say where the readings do worst."""
    known = [each for each in study.result.deciles if each.agreement is not None]
    if not known:
        return "No part of the range has two subjects."
    worst = max(known, key=lambda each: each.agreement.a_rms)  # type: ignore[union-attr]
    assert worst.agreement is not None
    low, high = worst.agreement.intervals["a_rms"]
    return (
        f"Largest at {worst.name}: {worst.agreement.a_rms:.2f} points (95 % interval {low:.2f} to "
        f"{high:.2f}). The limits are meant for the whole range, 70 to 100 %; one figure for all "
        "hides where a meter does worst."
    )


def errors_sentence(study: OwnStudy) -> str:
    """Say what the plot of errors against blood shows."""
    people = study.result.subjects["bias"]
    return (
        f"Each colour is a person. Their own mean errors run from {signed(people.min())} to "
        f"{signed(people.max())} points: more pairs of the same person do not take that away."
    )


def limits_sentence(study: OwnStudy) -> str:
    """Say what the limits of agreement are."""
    it = study.result.overall
    return (
        f"Of single readings 95 % are expected from {signed(it.lower_limit)} to "
        f"{signed(it.upper_limit)} points off, if errors are normal: bias {signed(it.bias)} "
        f"and 1.96 times {it.sd:.2f}."
    )


def swings_sentence(study: OwnStudy) -> str:
    """Say which assumption moves the number most, and how to read that of pigment."""
    first = study.swings.iloc[0]
    whose = "" if study.invented else "This is the model’s, not your file’s. "
    return (
        f"{whose}From the 5th to the 95th of a hundred, “{first['label']}” moves a reading at "
        f"{SWING_AT_PERCENT:.0f} % most, by {signed(first['swing'])} points. The bar of melanin "
        "is that of a filter; it is not the error found in darker skin."
    )


def left_out_sentence(found: LeftOutSoFar | None) -> str:
    """Say what leaving subjects out has told so far."""
    if found is None:
        return PRESS
    return (
        f"{found.subjects} left out: on people it has not seen the curve’s A_rms is "
        f"{found.a_rms_points:.2f} points; on the same pairs, fitted with them, "
        f"{found.fitted_points:.2f}."
    )
