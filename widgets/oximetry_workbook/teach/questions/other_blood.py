"""Questions of blood that is not as the curve expects."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from oximetry_workbook.oxygen.content import HUEFNER_ML_PER_G
from oximetry_workbook.teach.checkpoint import ChoiceQuestion, NumberQuestion, Question
from oximetry_workbook.teach.other_blood import (
    ORDINARY,
    RULE_WEIGHT,
    SMOKERS_OFFSET,
    SMOKERS_WEIGHT,
    OtherBlood,
    beside_oxyhaemoglobin,
)
from oximetry_workbook.teach.words import figure, percent

POISONED = OtherBlood(carboxyhaemoglobin=0.4)
CHOCOLATE = OtherBlood(methaemoglobin=0.35)
THIN = OtherBlood(haemoglobin_g_per_l=70.0)
DYED = OtherBlood(dye="methylene blue", dye_mg_per_l=10.0)


def prediction() -> ChoiceQuestion:
    """Ask what a meter shows of blood full of carbon monoxide."""
    shown, carried = _shown(POISONED), POISONED.fractional_percent
    rule = float(POISONED.counted_as_oxygen(np.asarray(40.0), RULE_WEIGHT))
    return ChoiceQuestion(
        text="Somebody is carried out of a room with a faulty heater. Carbon monoxide holds 40 % "
        "of the haemoglobin; of the rest, 97 % carries oxygen. What does an ordinary oximeter, "
        "with two colours, show?",
        options=(
            f"About {carried:.0f} %, the haemoglobin that carries oxygen",
            "About 75 %, since it notices some of it",
            "About 90 % or more",
        ),
        answer=int(np.argmin([abs(shown - each) for each in (carried, 75.0, 92.0)])),
        why=f"This physics reads {percent(shown)}, a rule of thumb says {rule:.0f} %. Only "
        f"{carried:.0f} % of the haemoglobin carries oxygen.",
        link="blood",
    )


def checkpoints() -> tuple[Question, ...]:
    """Ask about both saturations, content, monoxide, methaemoglobin, and thin blood."""
    return (
        _fractional(),
        _least_oxygen(),
        _bound_oxygen(),
        _smoker(),
        _why_it_drifts(),
        _methaemoglobin_from_below(),
        _thin_blood(),
    )


def _fractional() -> NumberQuestion:
    blood = OtherBlood(carboxyhaemoglobin=0.2, methaemoglobin=0.05)
    return NumberQuestion(
        text="A laboratory finds 20 % COHb and 5 % MetHb. Of the haemoglobin that is left, 97 % "
        "carries oxygen. How much of all haemoglobin carries oxygen?",
        unit="%",
        answer=blood.fractional_percent,
        tolerance=0.5,
        why="75 parts of 100 are left, and 97 % of them are "
        f"{figure(blood.fractional_percent, 3)}. Taking 25 from 97 forgets that the 97 % is "
        "of the 75 only.",
        link="oxygen",
    )


def _least_oxygen() -> ChoiceQuestion:
    bloods = {
        "70 g/L haemoglobin": THIN,
        "40 % COHb": POISONED,
        "35 % MetHb": CHOCOLATE,
        "10 mg/L methylene blue": DYED,
    }
    contents = {name: blood.content_ml_per_dl for name, blood in bloods.items()}
    least = min(contents, key=lambda name: contents[name])
    told = ", ".join(f"{each:.1f}" for each in contents.values())
    return ChoiceQuestion(
        text="Four people have the same functional saturation, 97 %, and but for what is named "
        "ordinary blood. Whose blood holds the least oxygen?",
        options=tuple(f"{name}: meter {percent(_shown(b))}" for name, b in bloods.items()),
        answer=list(contents).index(least),
        why=f"In this order a decilitre holds {told} mL. The numbers on the display put them in "
        "another order.",
        link="oxygen",
    )


def _bound_oxygen() -> NumberQuestion:
    bound = HUEFNER_ML_PER_G * THIN.haemoglobin_g_per_l / 10.0 * THIN.arterial_saturation
    return NumberQuestion(
        text="Blood has 70 g/L haemoglobin, 97 % of it with oxygen. A gram binds 1.34 mL. How much "
        "oxygen is bound in a decilitre, a tenth of a litre?",
        unit="mL",
        answer=bound,
        tolerance=0.15,
        why=f"1.34 × 7 g × 0.97 is {bound:.1f} mL. The meter shows {percent(_shown(THIN))}, though "
        "this is less than half of what ordinary blood holds.",
        link="oxygen",
    )


def _smoker() -> NumberQuestion:
    smoker = OtherBlood(arterial_saturation=0.98, carboxyhaemoglobin=0.08)
    shown = float(smoker.counted_as_oxygen(np.asarray(8.0), SMOKERS_WEIGHT, SMOKERS_OFFSET))
    carried = smoker.fractional_percent
    return NumberQuestion(
        text="In volunteers who smoked, the reading less HbO₂ was 1.06 × COHb − 2.49, all in "
        "percent. A smoker has 8 % COHb, and 98 % of the rest carries oxygen. What does a meter "
        "show by that line?",
        unit="%",
        answer=shown,
        tolerance=0.5,
        why=f"HbO₂ is 98 % of 92, which is {carried:.1f} %. The line adds "
        f"{shown - carried:.1f}: {shown:.1f} %. This physics says {percent(_shown(smoker))}.",
        link="blood",
    )


def _why_it_drifts() -> ChoiceQuestion:
    red, infrared = beside_oxyhaemoglobin("COHb")
    answer = 2 if red > 1.0 else (0 if infrared < red else 1)
    ratio = _ratio(OtherBlood(carboxyhaemoglobin=0.6))
    return ChoiceQuestion(
        text="In this physics the reading does fall when half of the haemoglobin and more is "
        "COHb. Why?",
        options=(
            "COHb takes hardly any infrared light: red over infrared, R, grows",
            "COHb takes more infrared light than HbO₂: red over infrared, R, shrinks",
            "COHb takes more red light than HbO₂, as HHb does: R grows",
        ),
        answer=answer,
        why=f"Beside HbO₂ it takes {figure(red)} times as much red light, but "
        f"{figure(infrared, 1)} times as much infrared. With 60 % of it R is {ratio:.2f}, without "
        f"it {_ratio(ORDINARY):.2f}.",
        link="ratio",
    )


def _methaemoglobin_from_below() -> ChoiceQuestion:
    low = ORDINARY.at(60.0)
    with_it = replace(low, methaemoglobin=0.35)
    change = _shown(with_it) - _shown(low)
    return ChoiceQuestion(
        text="Of the haemoglobin that can carry oxygen, 60 % does. Now 35 % of all haemoglobin "
        "turns into methaemoglobin, and the functional saturation stays. What does the reading do?",
        options=(
            "It falls with the oxygen that is carried",
            "It stays, since functional saturation is what a meter measures",
            "It rises",
        ),
        answer=1 if abs(change) < 1.0 else (2 if change > 0.0 else 0),
        why=f"It goes from {percent(_shown(low))} to {percent(_shown(with_it))}, while the "
        f"haemoglobin that carries oxygen falls from {low.fractional_percent:.0f} % to "
        f"{with_it.fractional_percent:.0f} %. Methaemoglobin draws every reading towards one "
        "value, from above and from below.",
        link="blood",
    )


def _thin_blood() -> ChoiceQuestion:
    errors = [_thin_error(level) for level in (97.0, 75.0)]
    high, low = (abs(each) for each in errors)
    return ChoiceQuestion(
        text="Blood has 80 g/L haemoglobin. The meter’s curve was made for 150 g/L. Where does "
        "this move the reading further?",
        options=(
            "At a saturation of 97 %",
            "At a saturation of 75 %",
            "Nowhere: saturation is a share, and the amount divides out",
        ),
        answer=2 if max(high, low) < 0.3 else (0 if high > low else 1),
        why=f"At 97 % it reads {figure(high)} points lower than in ordinary blood, at 75 % "
        f"{figure(low)} points. A volunteer with 80 g/L showed no difference at 98 % and 2.7 "
        "points at 75 % (Severinghaus and Koh 1990).",
        link="tissue",
    )


def _thin_error(level: float) -> float:
    thin = replace(ORDINARY, haemoglobin_g_per_l=80.0)
    return _shown(thin.at(level)) - _shown(ORDINARY.at(level))


def _shown(blood: OtherBlood) -> float:
    shown = blood.shown_percent
    if shown is None:
        raise RuntimeError("the meter withholds a number in a question")
    return shown


def _ratio(blood: OtherBlood) -> float:
    ratio = blood.reading.measurement.ratio
    if ratio is None:
        raise RuntimeError("the meter finds no ratio in a question")
    return ratio
