"""Questions of the chapter on oxygen on board."""

from __future__ import annotations

from dataclasses import replace

from oximetry_workbook.oxygen.altitude import alveolar_po2_mmhg, barometric_pressure_mmhg
from oximetry_workbook.oxygen.content import (
    HUEFNER_ML_PER_G,
    SOLUBILITY_ML_PER_DL_MMHG,
    oxygen_content_ml_per_dl,
    oxygen_delivery_ml_per_min,
)
from oximetry_workbook.teach.altitude import Ascent
from oximetry_workbook.teach.checkpoint import ChoiceQuestion, NumberQuestion, Question
from oximetry_workbook.teach.oxygen_on_board import FALL_MMHG, STANDARD, OxygenOnBoard

ANAEMIC = OxygenOnBoard(haemoglobin_g_per_l=75.0)
TIRED_MUSCLE = replace(STANDARD, ph=7.2, temperature_c=39.0)

POISONED = OxygenOnBoard(carboxyhaemoglobin=0.4)
BLED = OxygenOnBoard(haemoglobin_g_per_l=90.0)
"""Both have 90 g/L of haemoglobin left for oxygen: 60 % of 150."""

THEORETICAL_ML_PER_G = 1.39
"""Hüfner's number by chemistry alone, see `oxygen.content`."""

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
    )


def checkpoints() -> tuple[Question, ...]:
    """Ask about the shoulder, shifts, content, carbon monoxide, delivery and altitude."""
    return (_shoulder(), _two_falls(), _shift(), _content(), _unloading(), _delivery(), _lungs())


def _shoulder() -> NumberQuestion:
    pressure = STANDARD.shoulder_mmhg
    return NumberQuestion(
        text="At which oxygen pressure is standard blood 90 % saturated? Read it from the plot.",
        unit="mmHg",
        answer=pressure,
        tolerance=3.0,
        why=f"The curve passes 90 % at {pressure:.1f} mmHg.",
        link="oxygen",
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
    )


def _content() -> NumberQuestion:
    content = oxygen_content_ml_per_dl(0.98, 100.0, 100.0)
    more = (THEORETICAL_ML_PER_G - HUEFNER_ML_PER_G) * 10.0 * 0.98
    return NumberQuestion(
        text="Haemoglobin is 10 g/dL, saturation 98 % and PO₂ 100 mmHg. How much oxygen is in a "
        "decilitre?",
        unit="mL",
        answer=content,
        tolerance=0.6,
        why=f"{HUEFNER_ML_PER_G} × 10 × 0.98 + {SOLUBILITY_ML_PER_DL_MMHG} × 100 = {content:.1f} "
        f"mL. With {THEORETICAL_ML_PER_G} for Hüfner’s number it would be {more:.1f} mL more.",
        link="oxygen",
    )


def _unloading() -> ChoiceQuestion:
    bled, poisoned = (_given_off(blood) for blood in (BLED, POISONED))
    return ChoiceQuestion(
        text="Two people have 90 grams a litre of haemoglobin left for oxygen. One has bled, the "
        "other has 40 % of 150 grams taken by carbon monoxide. Whose blood gives off less oxygen "
        f"on its way from 95 to {TISSUE_MMHG:.0f} mmHg?",
        options=("That of the one who bled", "The poisoned one’s", "Both give off the same"),
        answer=2 if abs(bled - poisoned) < 0.1 else (0 if bled < poisoned else 1),
        why=f"After bleeding a decilitre gives off {bled:.1f} mL, after poisoning "
        f"{poisoned:.1f} mL. What carbon monoxide leaves free holds its oxygen tighter.",
        link="oxygen",
    )


def _given_off(blood: OxygenOnBoard) -> float:
    """Oxygen given off between artery and tissue [mL/dL]."""
    return blood.content_ml_per_dl - blood.content_at(TISSUE_MMHG)


def _delivery() -> NumberQuestion:
    delivery = oxygen_delivery_ml_per_min(16.0, 6.0)
    return NumberQuestion(
        text="A decilitre of arterial blood carries 16 mL of oxygen, and the heart pumps 6 litres "
        "a minute. How much oxygen goes out to the body?",
        unit="mL/min",
        answer=delivery,
        tolerance=10.0,
        why=f"A litre is ten decilitres: 16 × 10 × 6 = {delivery:.0f}.",
        link="oxygen",
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
        answer=1 if abs(change) < 2.0 else (2 if change > 0 else 0),
        why=f"Carbon dioxide makes room: oxygen in the lungs goes from {before:.0f} to "
        f"{after:.0f} mmHg, and saturation from {calm.saturation_percent:.0f} to "
        f"{deep.saturation_percent:.0f} %.",
        link="oxygen",
    )


def _nearest(value: float, choices: tuple[float, ...]) -> int:
    return min(range(len(choices)), key=lambda index: abs(value - choices[index]))
