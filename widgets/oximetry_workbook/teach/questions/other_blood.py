"""Questions of blood that is not as the curve expects."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

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

LEAST_PERCENT = 40.0
"""Lowest functional saturation that a question goes to [%]."""


def prediction() -> ChoiceQuestion:
    """Ask what a meter shows of blood full of carbon monoxide."""
    shown, carried = _shown(POISONED), POISONED.fractional_percent
    rule = float(POISONED.counted_as_oxygen(np.asarray(40.0), RULE_WEIGHT))
    return ChoiceQuestion(
        text="Somebody is carried out of a room with a faulty heater. Carbon monoxide holds 40 % "
        "of the haemoglobin; of the rest, 97 % carries oxygen (the functional saturation). What "
        "does an ordinary oximeter, with two colours, show?",
        options=(
            f"About {carried:.0f} %, the haemoglobin that carries oxygen",
            "About 75 %, since it notices some of it",
            "About 90 % or more",
        ),
        answer=int(np.argmin([abs(shown - each) for each in (carried, 75.0, 92.0)])),
        why=f"This physics reads {percent(shown)}, a rule of thumb says {rule:.0f} %. Only "
        f"{carried:.0f} % of all haemoglobin carries oxygen (the fractional saturation).",
        link="blood",
        if_wrong=(
            "That is the fractional saturation. To show it, the meter would have to tell "
            "haemoglobin with carbon monoxide from haemoglobin with oxygen. What colour has it?",
            "Something is noticed only by what it does to the two colours. Blood with carbon "
            "monoxide is cherry red: what does it look like to red light?",
            "Ask what carbon monoxide in the blood looks like to red light.",
        ),
    )


def checkpoints() -> tuple[Question, ...]:
    """Ask about both saturations, content, monoxide, methaemoglobin, and thin blood."""
    return (
        _fractional(),
        _least_oxygen(),
        _as_little_oxygen(),
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
        why="75 % of the haemoglobin is left, and 97 % of that is "
        f"{figure(blood.fractional_percent, 3)} %: the fractional saturation. Taking 25 from 97 "
        "forgets that the 97 %, the functional saturation, is of the 75 % only.",
        link="oxygen",
        hint="The 97 % is a share of what is left, not of all. How much is left?",
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
        if_wrong=(
            "Work out, for each, how many grams of haemoglobin in a litre can carry oxygen.",
            "Carbon monoxide takes its share of ordinary blood. How many of its 150 g/L are left, "
            "and has one of the others fewer?",
            "The meter is lower here than with some others, but it does not measure oxygen. How "
            "many of the 150 g/L can still carry it?",
            "The lowest number on the display. But does a dye take the place of oxygen?",
        ),
    )


def _as_little_oxygen() -> NumberQuestion:
    levels = np.linspace(LEAST_PERCENT, THIN.functional_percent, 58)
    contents = [ORDINARY.at(level).content_ml_per_dl for level in levels]
    as_little = float(np.interp(THIN.content_ml_per_dl, contents, levels))
    return NumberQuestion(
        text=f"Somebody has {THIN.haemoglobin_g_per_l:.0f} g/L haemoglobin and a saturation of "
        f"{THIN.functional_percent:.0f} %. How low would the saturation of ordinary blood, with "
        f"{ORDINARY.haemoglobin_g_per_l:.0f} g/L, have to be for it to hold as little oxygen?",
        unit="%",
        answer=as_little,
        tolerance=2.0,
        why=f"Thin blood holds {THIN.content_ml_per_dl:.1f} mL in a decilitre, and ordinary blood "
        f"holds that at {as_little:.0f} %. There every alarm would sound; with thin blood the "
        f"meter shows {percent(_shown(THIN))}. Saturation is a share, and nobody tells the meter "
        "of what.",
        link="oxygen",
        hint="Oxygen in blood goes with haemoglobin times saturation; what is dissolved hardly "
        "counts. The two products have to be the same.",
    )


def _smoker() -> NumberQuestion:
    smoker = OtherBlood(arterial_saturation=0.98, carboxyhaemoglobin=0.08)
    shown = float(smoker.counted_as_oxygen(np.asarray(8.0), SMOKERS_WEIGHT, SMOKERS_OFFSET))
    carried = smoker.fractional_percent
    return NumberQuestion(
        text="In volunteers who smoked, the reading less HbO₂ was 1.06 × COHb − 2.49, all in "
        "percent of all haemoglobin. A smoker has 8 % COHb, and a functional saturation of 98 %. "
        "What does a meter show by that line?",
        unit="%",
        answer=shown,
        tolerance=0.5,
        why=f"HbO₂ is 98 % of the 92 % left, which is {carried:.1f} %. The line adds "
        f"{shown - carried:.1f}: {shown:.1f} %. This physics says {percent(_shown(smoker))}. "
        f"A meter that shows {shown:.0f} % of such blood hides how much carbon monoxide there is.",
        link="blood",
        hint="HbO₂ is the fractional saturation, the share of all haemoglobin. Find it first, "
        "then add what the line says.",
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
        if_wrong=(
            "Look at the spectra: where does the line of COHb go at 940 nm?",
            "Look at the spectra at 940 nm. And what would the reading do if R shrank?",
            "Blood with carbon monoxide is cherry red. Look at the spectra at 660 nm.",
        ),
    )


def _methaemoglobin_from_below() -> ChoiceQuestion:
    low = ORDINARY.at(60.0)
    with_it = replace(low, methaemoglobin=0.35)
    change = _shown(with_it) - _shown(low)
    return ChoiceQuestion(
        text="The functional saturation is 60 %: of the haemoglobin that can carry oxygen, so "
        "much does. Now 35 % of all haemoglobin turns into methaemoglobin, and the functional "
        "saturation stays. What does the reading do?",
        options=(
            "It falls with the oxygen that is carried",
            "It stays, since functional saturation is what a meter measures",
            "It rises",
        ),
        answer=1 if abs(change) < 1.0 else (2 if change > 0.0 else 0),
        why=f"It goes from {percent(_shown(low))} to {percent(_shown(with_it))}, while the "
        f"fractional saturation falls from {low.fractional_percent:.0f} % to "
        f"{with_it.fractional_percent:.0f} %. Methaemoglobin draws every reading towards one "
        "value, from above and from below.",
        link="blood",
        if_wrong=(
            "The oxygen does fall. But the meter measures R: towards which R does methaemoglobin "
            "draw it, and which number stands there on the curve?",
            "A curve is made on people with next to no methaemoglobin, so it never learnt to "
            "leave it out. What does methaemoglobin do to R?",
            "Ask towards which number methaemoglobin draws, and on which side of it 60 % lies.",
        ),
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
        if_wrong=(
            "Press Reset, lower Haemoglobin to 80 g/L, and compare the meter’s error here with "
            "that at a lower saturation.",
            "Press Reset, lower Haemoglobin to 80 g/L, and compare the meter’s error here with "
            "that at a higher saturation.",
            "The amount divides out of a saturation. The light’s way through the tissue depends "
            "on it all the same, and not alike in both colours.",
        ),
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
