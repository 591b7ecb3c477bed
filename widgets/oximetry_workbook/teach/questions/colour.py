"""Questions of the colour of blood."""

from __future__ import annotations

import numpy as np

from oximetry_workbook.body.blood import isosbestic_wavelengths_nm
from oximetry_workbook.body.light import INFRARED_PEAK_NM, RED_PEAK_NM
from oximetry_workbook.teach.checkpoint import ChoiceQuestion, NumberQuestion, Question
from oximetry_workbook.teach.colours import contrast, pair_swing, red_light_passed


def prediction() -> ChoiceQuestion:
    """Ask which light tells arterial from venous blood."""
    red, infrared = contrast(RED_PEAK_NM), contrast(INFRARED_PEAK_NM)
    return ChoiceQuestion(
        text="Two thin layers of blood are held against a window, one from an artery, one from a "
        "vein. Which light differs more between them, red or infrared?",
        options=("Red", "Infrared", "Both alike"),
        answer=0 if red.times > infrared.times else 1,
        why=f"At 660 nm haemoglobin {red.stronger} absorbs {red.times:.1f} times as much as the "
        f"other kind; at 940 nm haemoglobin {infrared.stronger} absorbs only "
        f"{infrared.times:.2f} times as much.",
        link="blood",
    )


def checkpoints() -> tuple[Question, ...]:
    """Ask about red light, infrared light, the crossing, another pair, and depth."""
    return (_darker(), _red_factor(), _crossing(), _other_pair(), _passed())


def _darker() -> ChoiceQuestion:
    red = contrast(RED_PEAK_NM)
    return ChoiceQuestion(
        text="Why does venous blood look darker than arterial blood?",
        options=(
            "Haemoglobin without oxygen absorbs more red light",
            "Haemoglobin without oxygen absorbs less red light",
            "Venous blood has more haemoglobin",
        ),
        answer=0 if red.reduced > red.oxygenated else 1,
        why=f"At 660 nm it absorbs {red.times:.1f} times as much, so less red comes through.",
        link="blood",
    )


def _red_factor() -> NumberQuestion:
    red = contrast(RED_PEAK_NM)
    arterial, venous = (s * red.oxygenated + (1.0 - s) * red.reduced for s in (0.97, 0.72))
    return NumberQuestion(
        text=f"At 660 nm, haemoglobin without oxygen has an extinction of {red.reduced:.0f} and "
        f"haemoglobin with oxygen one of {red.oxygenated:.0f} cm⁻¹ per mol/L. How many times as "
        "much does venous blood at 72 % absorb as arterial blood at 97 %?",
        unit="times",
        answer=venous / arterial,
        tolerance=0.1,
        why=f"Venous blood: 0.72 × {red.oxygenated:.0f} + 0.28 × {red.reduced:.0f} = {venous:.0f}. "
        f"Arterial blood: 0.97 and 0.03 of them, {arterial:.0f}. One over the other is "
        f"{venous / arterial:.1f}: far less than the {red.times:.0f} times of the pure forms.",
        link="blood",
    )


def _crossing() -> NumberQuestion:
    crossing = isosbestic_wavelengths_nm(low_nm=700.0, high_nm=900.0)
    return NumberQuestion(
        text="Read off the spectra: at which wavelength between 700 and 900 nm do both kinds of "
        "haemoglobin absorb alike?",
        unit="nm",
        answer=float(crossing[0]),
        tolerance=15.0,
        why=f"They cross at {crossing[0]:.0f} nm in this table. That is the isosbestic point.",
        link="blood",
    )


def _other_pair() -> ChoiceQuestion:
    pairs = ((660.0, 940.0), (800.0, 810.0), (880.0, 940.0))
    worth = [abs(np.log(pair_swing(*pair))) for pair in pairs]
    best = int(np.argmax(worth))
    return ChoiceQuestion(
        text="Which pair of wavelengths lets the ratio move most between 100 and 70 %?",
        options=tuple(f"{first:.0f} and {second:.0f} nm" for first, second in pairs),
        answer=best,
        why=f"With it the ratio at 70 % is {pair_swing(*pairs[best]):.1f} times that at 100 %. "
        "Two wavelengths on the same side of the crossing, or close to it, hardly differ.",
        link="light",
    )


def _passed() -> ChoiceQuestion:
    thin, deep = (red_light_passed(0.72, depth) for depth in (0.2, 0.4))
    return ChoiceQuestion(
        text=f"{100 * thin:.0f} % of red light passes 0.2 mm of venous blood. How much passes "
        "twice that depth?",
        options=("Half as much", f"{100 * thin:.0f} % of {100 * thin:.0f} %", "The same"),
        answer=1 if np.isclose(deep, thin**2) else 0,
        why=f"Each further layer takes the same share of what is left: {100 * deep:.0f} % passes. "
        "This is the law of Beer and Lambert, for light that goes straight.",
        link="tissue",
    )
