"""Questions of the chapter on oxygen on board."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from oximetry_workbook.oxygen.altitude import alveolar_po2_mmhg, barometric_pressure_mmhg
from oximetry_workbook.teach.altitude import Ascent
from oximetry_workbook.teach.checkpoint import ChoiceQuestion, NumberQuestion, Question
from oximetry_workbook.teach.oxygen_on_board import FALL_MMHG, STANDARD, OxygenOnBoard
from oximetry_workbook.teach.words import percent

ANAEMIC = OxygenOnBoard(haemoglobin_g_per_l=75.0)
TIRED_MUSCLE = replace(STANDARD, ph=7.2, temperature_c=39.0)

POISONED = OxygenOnBoard(carboxyhaemoglobin=0.4)
BLED = OxygenOnBoard(haemoglobin_g_per_l=90.0)
"""Both have 90 g/L of haemoglobin left for oxygen: 60 % of 150."""

THIN = OxygenOnBoard(po2_mmhg=100.0, haemoglobin_g_per_l=100.0)

SILENT_CAUSES: dict[str, OxygenOnBoard] = {
    "Oxygen pressure is 45 instead of 95 mmHg": OxygenOnBoard(po2_mmhg=45.0),
    "Carbon monoxide has taken half of the haemoglobin": OxygenOnBoard(carboxyhaemoglobin=0.5),
    "The blood has turned acid, pH 7.1": OxygenOnBoard(ph=7.1),
    "The heart pumps 2.5 instead of 5 litres a minute": OxygenOnBoard(cardiac_output_l_per_min=2.5),
}
"""What may have befallen standard blood, in words."""

UNMOVED_POINTS = 2.0
"""A number that moves by less is called unchanged."""

ALIKE_ML_PER_DL = 0.1
"""Contents that differ by less are called the same."""

TISSUE_MMHG = 40.0
"""Oxygen pressure of mixed venous blood at rest (common practice)."""


def prediction() -> ChoiceQuestion:
    """Ask what the oximeter shows when half the haemoglobin is lost."""
    change = ANAEMIC.oximeter_percent - STANDARD.oximeter_percent
    return ChoiceQuestion(
        text="Someone has lost half of their haemoglobin: 75 instead of 150 grams a litre. The "
        "lungs are healthy. What does the number on the oximeter do?",
        options=("It falls to half", "It falls to about 85 %", "It hardly moves"),
        answer=_nearest(change, (-STANDARD.oximeter_percent / 2, -12.0, 0.0)),
        why=f"It goes from {STANDARD.oximeter_percent:.1f} to {ANAEMIC.oximeter_percent:.1f} %, "
        "as the meter itself reads a little less in thin blood (chapter 04 shows why), "
        f"while the oxygen in each decilitre falls from {STANDARD.content_ml_per_dl:.1f} to "
        f"{ANAEMIC.content_ml_per_dl:.1f} mL. Saturation says how full haemoglobin is, not how "
        "much of it there is.",
        link="oxygen",
        if_wrong=(
            "Half of the haemoglobin is gone, but is what is left half full?",
            "What decides how full each remaining molecule is, and has that changed?",
            "Ask how full the haemoglobin is now, not how much of it there is.",
        ),
    )


def checkpoints() -> tuple[Question, ...]:
    """Ask about the shoulder, shifts, content, carbon monoxide, silent causes and altitude."""
    return (
        _shoulder(),
        _two_falls(),
        _shift(),
        _equal_content(),
        _unloading(),
        _silent_cause(),
        _lungs(),
    )


def _shoulder() -> NumberQuestion:
    pressure = STANDARD.shoulder_mmhg
    return NumberQuestion(
        text="At which oxygen pressure is standard blood 90 % saturated? Read it from the plot.",
        unit="mmHg",
        answer=pressure,
        tolerance=3.0,
        why=f"The curve passes 90 % at {pressure:.1f} mmHg.",
        link="oxygen",
        hint="Press Reset. In the left plot go from 90 % across to the curve, and from there "
        "straight down.",
    )


def _two_falls() -> ChoiceQuestion:
    high, low = (replace(STANDARD, po2_mmhg=po2).fall_points for po2 in (95.0, 50.0))
    return ChoiceQuestion(
        text=f"Two patients each lose {FALL_MMHG:.0f} mmHg of oxygen pressure: one falls from 95 "
        "to 85, the other from 50 to 40. Whose saturation falls further?",
        options=("The first one’s", "The second one’s", "Both fall alike"),
        answer=2 if abs(high - low) < 0.5 else (0 if high > low else 1),
        why=f"The first loses {high:.1f} points on the plateau, the second {low:.1f} on the slope.",
        link="oxygen",
        if_wrong=(
            "A higher start is not a steeper one. How steep is the curve at either place?",
            "A lower start is not a steeper one. How steep is the curve at either place?",
            "The same fall of pressure costs the same only where the curve is equally steep.",
        ),
    )


def _shift() -> ChoiceQuestion:
    usual, hot = STANDARD.p50_mmhg, TIRED_MUSCLE.p50_mmhg
    return ChoiceQuestion(
        text="In a working muscle blood turns acid, pH 7.2, and warm, 39 °C. What becomes of the "
        "oxygen that haemoglobin holds at a given pressure?",
        options=("It holds less and gives off more", "It holds the same", "It holds more"),
        answer=_nearest(hot - usual, (10.0, 0.0, -10.0)),
        why=f"P50 goes from {usual:.1f} to {hot:.1f} mmHg. The curve shifts to the right: at "
        f"{TISSUE_MMHG:.0f} mmHg haemoglobin is {100 * TIRED_MUSCLE.saturation_at(TISSUE_MMHG):.0f}"
        f" % saturated, not {100 * STANDARD.saturation_at(TISSUE_MMHG):.0f} %.",
        link="oxygen",
        if_wrong=(
            "Set pH and Temperature in the panel. Which way does the curve go?",
            "Warmth and acid both move the curve. Set them in the panel and look.",
            "Which way would the curve have to shift for that? Set pH and Temperature and look.",
        ),
    )


def _equal_content() -> NumberQuestion:
    content, percents = STANDARD.content_curve_ml_per_dl, STANDARD.curve_percent
    answer = float(np.interp(THIN.content_ml_per_dl, content, percents))
    return NumberQuestion(
        text=f"One person has {THIN.haemoglobin_g_per_l:.0f} g/L of haemoglobin and a saturation "
        f"of {percent(100.0 * THIN.saturation)}. Another has "
        f"{STANDARD.haemoglobin_g_per_l:.0f} g/L. How low would the saturation of the second have "
        "to fall, until a decilitre holds no more oxygen than in the first?",
        unit="%",
        answer=answer,
        tolerance=2.0,
        why=f"Either decilitre then holds {THIN.content_ml_per_dl:.1f} mL. The one is "
        f"{percent(100.0 * THIN.saturation)} full, the other {percent(answer)}, of haemoglobin "
        "that is not the same amount.",
        link="oxygen",
        hint="Nearly all oxygen is bound, so haemoglobin times saturation has to be the same in "
        "both.",
    )


def _unloading() -> ChoiceQuestion:
    bled, poisoned = (_given_off(blood) for blood in (BLED, POISONED))
    return ChoiceQuestion(
        text="Two people have 90 grams a litre of haemoglobin left for oxygen. One has bled, the "
        "other has 40 % of 150 grams taken by carbon monoxide. Whose blood gives off less oxygen "
        f"on its way from 95 to {TISSUE_MMHG:.0f} mmHg?",
        options=("That of the one who bled", "The poisoned one’s", "Both give off the same"),
        answer=2 if abs(bled - poisoned) < ALIKE_ML_PER_DL else (0 if bled < poisoned else 1),
        why=f"After bleeding a decilitre gives off {bled:.1f} mL, after poisoning "
        f"{poisoned:.1f} mL. What carbon monoxide leaves free holds its oxygen tighter.",
        link="oxygen",
        if_wrong=(
            "Bleeding takes haemoglobin away. Does it change how what is left lets go?",
            "Both have equally much left. Which way would its curve have to shift to give off "
            "less?",
            "They have equally much left. Now raise Haemoglobin with CO, and watch the left plot.",
        ),
    )


def _given_off(blood: OxygenOnBoard) -> float:
    """Oxygen given off between artery and tissue [mL/dL]."""
    return blood.content_ml_per_dl - blood.content_at(TISSUE_MMHG)


def _silent_cause() -> ChoiceQuestion:
    usual = STANDARD.delivery_ml_per_min
    fits = [
        blood.delivery_ml_per_min < 0.6 * usual
        and abs(blood.oximeter_percent - STANDARD.oximeter_percent) < UNMOVED_POINTS
        for blood in SILENT_CAUSES.values()
    ]
    told = "; ".join(
        f"{words}: {percent(blood.oximeter_percent)} and {blood.delivery_ml_per_min:.0f} mL/min"
        for words, blood in SILENT_CAUSES.items()
    )
    return ChoiceQuestion(
        text=f"The oximeter shows {percent(STANDARD.oximeter_percent)} as before, within two "
        "points, and yet only half as much oxygen goes out to the body. What can have happened?",
        options=tuple(SILENT_CAUSES),
        answer=fits.index(True),
        why=f"It was {percent(STANDARD.oximeter_percent)} and {usual:.0f} mL/min. {told}.",
        link="oxygen",
        if_wrong=(
            "Where on the curve does that pressure lie, and what would the meter show there?",
            "A meter hardly tells the two gases apart, but hardly is not never: look at the "
            "first number of the panel.",
            "That shifts the curve. On the plateau, how much does a shift cost?",
            "The product of what three things is delivery, and which of them does a meter see?",
        ),
    )


def _lungs() -> ChoiceQuestion:
    calm, deep = (Ascent(altitude_m=5000.0, paco2_mmhg=paco2) for paco2 in (40.0, 27.0))
    air = barometric_pressure_mmhg(5000.0)
    before, after = (alveolar_po2_mmhg(air, ascent.paco2_mmhg) for ascent in (calm, deep))
    change = deep.saturation_percent - calm.saturation_percent
    return ChoiceQuestion(
        text="At 5000 m somebody breathes more, so that PaCO₂ falls from 40 to 27 mmHg. What does "
        "the saturation to be expected do?",
        options=("It falls", "It stays within two points", "It rises"),
        answer=1 if abs(change) < UNMOVED_POINTS else (2 if change > 0 else 0),
        why=f"Carbon dioxide makes room: oxygen in the lungs goes from {before:.0f} to "
        f"{after:.0f} mmHg, and saturation from {calm.saturation_percent:.0f} to "
        f"{deep.saturation_percent:.0f} %.",
        link="oxygen",
        if_wrong=(
            "Carbon dioxide is not oxygen. When one gas leaves the lungs, what fills its place?",
            "That would do near sea level, on the plateau. Where on the curve is somebody at "
            "this height?",
            "Find out first what carbon dioxide takes away from oxygen in the lungs.",
        ),
    )


def _nearest(value: float, choices: tuple[float, ...]) -> int:
    return min(range(len(choices)), key=lambda index: abs(value - choices[index]))
