"""Questions of the colour of blood."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from oximetry_workbook.body.blood import absorption_per_cm, isosbestic_wavelengths_nm
from oximetry_workbook.body.light import INFRARED_PEAK_NM, RED_PEAK_NM
from oximetry_workbook.teach.checkpoint import ChoiceQuestion, NumberQuestion, Question
from oximetry_workbook.teach.colours import (
    PAIR_SATURATION,
    contrast,
    pair_ratio,
    pair_swing,
    red_light_passed,
)

ARTERIAL, VENOUS = 0.97, 0.72
"""Saturations of the two samples that the panel starts with."""

NOTICED = 0.005
"""Change of light, as a share of it, from which on it counts as one."""


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
        if_wrong=(
            "In the spectra, how far apart are the two lines above the red LED?",
            "In the spectra, how far apart are the two lines above the infrared LED?",
            "The distance of the two lines in the spectra is not the same at both LEDs.",
        ),
    )


def checkpoints() -> tuple[Question, ...]:
    """Ask about both lights, mixtures, the crossing, one light alone, another pair, and depth."""
    return (
        _both_lights(),
        _mixtures(),
        _crossing(),
        _at_the_crossing(),
        _one_light(),
        _other_pair(),
        _passed(),
    )


def _both_lights() -> ChoiceQuestion:
    full, low = (_passed_percent(saturation) for saturation in (1.0, 0.7))
    red, infrared = (np.sign(np.where(abs(low / full - 1.0) < NOTICED, 0.0, low - full))).astype(
        int
    )
    ways = {(-1, -1): 0, (-1, 1): 1, (1, -1): 2, (-1, 0): 3}
    return ChoiceQuestion(
        text="A layer of blood of 0.2 mm goes from 100 to 70 % saturation. What becomes of the "
        "light that passes it at 660 and at 940 nm?",
        options=(
            "Less red and less infrared",
            "Less red, a little more infrared",
            "More red, a little less infrared",
            "Less red, the same infrared",
        ),
        answer=ways[red, infrared],
        why=f"Of red light {full[0]:.0f} % passed and now {low[0]:.0f} %, of infrared light "
        f"{full[1]:.1f} % and now {low[1]:.1f} %. The two kinds of haemoglobin change places at "
        "the crossing, and that is why two lights tell more than one.",
        link="blood",
        if_wrong=(
            "Darker to the eye is not darker in every light. Which line is on top at the "
            "infrared LED?",
            "Which line of the spectra is on top at the red LED, and which at the infrared one?",
            "Which haemoglobin takes more red light: the one with oxygen, or the one without?",
            "Only at the crossing do both kinds absorb alike. Is the infrared LED there?",
        ),
    )


def _passed_percent(saturation: float) -> NDArray[np.float64]:
    """Red and infrared light that passes 0.2 mm of blood [%]; shape (2,)."""
    pair = np.array([RED_PEAK_NM, INFRARED_PEAK_NM])
    return np.asarray(100.0 * np.exp(-0.02 * absorption_per_cm(pair, saturation)))


def _mixtures() -> ChoiceQuestion:
    red = contrast(RED_PEAK_NM)
    arterial, venous = (s * red.oxygenated + (1.0 - s) * red.reduced for s in (ARTERIAL, VENOUS))
    options = (round(red.times), round(venous / arterial), 1)
    true = min(range(3), key=lambda k: abs(options[k] - venous / arterial))
    return ChoiceQuestion(
        text=f"Somebody says: “At 660 nm haemoglobin without oxygen absorbs {options[0]} times as "
        "much as haemoglobin with it. So venous blood absorbs "
        f"{options[0]} times as much red light as arterial blood.” Take 72 and 97 %. How many "
        "times as much is it?",
        options=(
            f"About {options[0]} times, as said",
            f"About {options[1]} times",
            "About as much",
        ),
        answer=true,
        why=f"Both are mixtures. Venous blood: 0.72 × {red.oxygenated:.0f} + 0.28 × "
        f"{red.reduced:.0f} = {venous:.0f}. Arterial blood: 0.97 and 0.03 of them, "
        f"{arterial:.0f}. One over the other is {venous / arterial:.1f}.",
        link="blood",
        if_wrong=(
            "Is venous blood nothing but haemoglobin without oxygen?",
            "Mix the two extinctions in either blood in the shares that its saturation tells.",
            "Look at the two swatches, and mix the two extinctions as the saturations tell.",
        ),
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
        hint="Look where the two lines of the spectra change places.",
    )


def _at_the_crossing() -> NumberQuestion:
    crossing = float(isosbestic_wavelengths_nm(low_nm=700.0, high_nm=900.0)[0])
    arterial, venous = (absorption_per_cm(crossing, s) for s in (ARTERIAL, VENOUS))
    return NumberQuestion(
        text="An LED sits exactly at the crossing. How many times as much of its light does blood "
        f"at {100 * VENOUS:.0f} % absorb as the same blood at {100 * ARTERIAL:.0f} %?",
        unit="times",
        answer=float(venous / arterial),
        tolerance=0.03,
        why="There both kinds absorb alike, so it does not matter how much there is of each. Such "
        "a light counts haemoglobin, and is blind to oxygen.",
        link="blood",
        hint="How do the two kinds of haemoglobin compare at that wavelength? Then mix them.",
    )


def _one_light() -> ChoiceQuestion:
    saturation = np.linspace(ARTERIAL, 0.0, 971)
    grown = absorption_per_cm(RED_PEAK_NM, saturation) / absorption_per_cm(RED_PEAK_NM, ARTERIAL)
    fallen = float(np.interp(2.0, grown, saturation))
    ratio = pair_ratio(RED_PEAK_NM, INFRARED_PEAK_NM)
    before, after = np.interp((ARTERIAL, fallen), PAIR_SATURATION, ratio)
    either = grown.max() > 2.0
    return ChoiceQuestion(
        text=f"In red light alone, a layer of blood at {100 * ARTERIAL:.0f} % suddenly has twice "
        "the absorbance: it takes twice as many powers of ten from the light. What has "
        "happened?",
        options=(
            "Its saturation has fallen",
            "The layer has become twice as deep",
            "Red light alone cannot tell the one from the other",
        ),
        answer=2 if either else 1,
        why=f"Blood at {100 * fallen:.0f} % would do it, and so would twice the depth. Red over "
        f"infrared tells: it goes from {before:.2f} to {after:.2f} in the first case and stays in "
        "the second.",
        link="blood",
        if_wrong=(
            "It may have. Is there another way to take more light?",
            "It may have. Is there another way to take more light?",
            "Try both in the panel, and watch the red light that passes.",
        ),
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
        if_wrong=(
            "Set this pair in the panel, and look how steep its curve is.",
            "How far from the crossing are these two, and how far from each other?",
            "On which side of the crossing are these two? Set them, and look how steep the curve "
            "is.",
        ),
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
        if_wrong=(
            "The second layer takes a share of what reaches it, not of what was sent.",
            "Think of two thin layers, one behind the other. What reaches the second?",
            "The second layer is of blood too. Does it let everything through?",
        ),
    )
