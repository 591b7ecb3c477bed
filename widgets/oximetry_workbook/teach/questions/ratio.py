"""Questions on the ratio of ratios."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from oximetry_workbook.body.calibration import diffusion_calibration
from oximetry_workbook.teach.checkpoint import ChoiceQuestion, NumberQuestion, Question
from oximetry_workbook.teach.ratio_of_ratios import SAME, START, TwoLights
from oximetry_workbook.teach.words import figure

SHIFTS: dict[str, TwoLights] = {
    "Saturation falls from 97 to 85 %": TwoLights(arterial_saturation=0.85),
    "The finger is 1.5 times as thick": TwoLights(thickness_scale=1.5),
    "Melanin rises from 3 to 45 %": TwoLights(melanin_fraction=0.45),
    "The red LED is ten times as bright": TwoLights(red_brightness=10.0),
}
"""Changes of the start, in words."""

LIT = TwoLights(arterial_saturation=0.85)
"""A finger into whose red channel steady light of a room falls."""


def prediction() -> ChoiceQuestion:
    """Ask what a brighter red LED does to R."""
    bright = TwoLights(red_brightness=10.0)
    return ChoiceQuestion(
        text="The red LED is made ten times as bright, the infrared one is left alone. "
        "What does R do?",
        options=("It rises tenfold", "It stays the same", "It falls to a tenth"),
        answer=_nearest(bright.ratio / START.ratio, (10.0, 1.0, 0.1)),
        why=f"Ten times as much red arrives, and its pulse is ten times as large too. AC over DC "
        f"is {bright.modulation_percent[0]:.2f} % as before, and so R stays {bright.ratio:.2f}.",
        link="ratio",
        if_wrong=(
            "The steady red light grows tenfold. What becomes of the pulsing red light?",
            "Follow DC and AC of red separately, and then divide.",
            "The steady red light grows. What becomes of the pulsing red light above it?",
        ),
    )


def _nearest(value: float, candidates: Sequence[float]) -> int:
    return min(range(len(candidates)), key=lambda k: abs(value - candidates[k]))


def checkpoints() -> tuple[Question, ...]:
    """Ask about both divisions, what each removes, and what is left over."""
    return (
        _aged_led(),
        _weak_pulse(),
        _both_divisions(),
        _alike(),
        _room_light(),
        _what_moves_most(),
        _few_red_cells(),
        _pigment(),
    )


def _aged_led() -> ChoiceQuestion:
    aged = TwoLights(red_brightness=0.5)
    steady, pulsing, modulation = (aged.numbers / START.numbers)[:, 0]
    halved = [abs(f - 0.5) < SAME for f in (steady, modulation, aged.ratio / START.ratio)]
    return ChoiceQuestion(
        text="With age the red LED has lost half its light. Which of these is halved?",
        options=("The steady red light, DC", "The red AC over DC", "R"),
        answer=halved.index(True),
        why=f"The steady red light is {steady:.2f} times what it was and the pulsing red light "
        f"{pulsing:.2f} times. One divided by the other stays {aged.modulation_percent[0]:.2f} %, "
        f"and R stays {aged.ratio:.2f}.",
        link="light",
        if_wrong=(
            "Which of the numbers in the table comes before any division?",
            "If steady and pulsing light both fall by the same factor, what becomes of one over "
            "the other?",
            "R is made after both divisions. At which of them does brightness drop out?",
        ),
    )


def _weak_pulse() -> ChoiceQuestion:
    weak = TwoLights(perfusion_index_percent=0.3)
    pulsing, modulation = (weak.numbers / START.numbers)[1:, 1]
    factors = (pulsing, modulation, weak.ratio / START.ratio)
    return ChoiceQuestion(
        text="A cold hand: the perfusion index falls from 3 to 0.3 %. Which of these is still "
        "within 1 % of what it was?",
        options=("The pulsing infrared light, AC", "The infrared AC over DC", "R"),
        answer=[abs(factor - 1.0) < 0.01 for factor in factors].index(True),
        why=f"AC and AC over DC fall to a tenth, in both colours. The second division takes that "
        f"out: R was {START.ratio:.3f} and is {weak.ratio:.3f}.",
        link="pulse",
        if_wrong=(
            "Less blood comes with each beat. What does that do to the pulsing light?",
            "Steady light stays, pulsing light does not. What of one over the other?",
            "What happens to both colours alike drops out somewhere. At which division?",
        ),
    )


def _both_divisions() -> NumberQuestion:
    state = TwoLights(arterial_saturation=0.85, red_brightness=2.0)
    (red_dc, infrared_dc), (red_ac, infrared_ac) = 1000.0 * state.numbers[:2]
    red, infrared = state.modulation_percent
    return NumberQuestion(
        text=f"At the detector, in thousandths: red DC {figure(red_dc, 3)}, red AC "
        f"{figure(red_ac, 3)}; infrared DC {figure(infrared_dc, 3)}, infrared AC "
        f"{figure(infrared_ac, 3)}. What is R?",
        unit="",
        answer=state.ratio,
        tolerance=0.03,
        why=f"Red: {figure(red_ac, 3)} / {figure(red_dc, 3)} = {red:.2f} %. Infrared: "
        f"{figure(infrared_ac, 3)} / {figure(infrared_dc, 3)} = {infrared:.2f} %. The one over "
        f"the other is {state.ratio:.2f}. That the red LED is twice as bright here does not "
        "matter.",
        link="ratio",
        hint="First divide AC by DC in each colour, then red by infrared.",
    )


def _alike() -> NumberQuestion:
    ratio, percents = diffusion_calibration("finger")
    alike = float(np.interp(1.0, ratio, percents))
    return NumberQuestion(
        text="At one saturation red and infrared light swing by the same share of their mean. "
        "Which one? Find it with the panel, in an ordinary finger.",
        unit="%",
        answer=alike,
        tolerance=1.0,
        why=f"Then AC over DC is the same in both, and R is 1. In this finger that is at "
        f"{alike:.0f} %. Whatever makes both colours swing alike, such as a probe that shifts, "
        "draws a reading towards it.",
        link="ratio",
        hint="What is R when both first ratios are the same? Move Arterial saturation until it is "
        "there.",
    )


def _room_light() -> ChoiceQuestion:
    red, infrared = LIT.pulsing / (LIT.steady * np.array([2.0, 1.0]))
    ratio, percents = diffusion_calibration("finger")
    shown = float(np.interp(red / infrared, ratio, percents))
    true = 100.0 * LIT.arterial_saturation
    return ChoiceQuestion(
        text="Steady light of the room falls on the detector and is counted as red: red DC "
        f"doubles, red AC stays. The blood carries {true:.0f} %. What does the meter make of it?",
        options=(
            "R falls, and it reads too high",
            "R stays, since brightness drops out",
            "R rises, and it reads too low",
        ),
        answer=1 if abs(shown - true) < 1.0 else (0 if shown > true else 2),
        why=f"R was {LIT.ratio:.2f} and is {red / infrared:.2f}; the probe’s curve reads "
        f"{shown:.0f} %. Only what multiplies DC and AC alike drops out. Light that is added to "
        "one of them does not.",
        link="light",
        if_wrong=(
            "Write down red AC over red DC before and after, and then R.",
            "A brighter LED multiplies steady and pulsing light. Does light of the room do so?",
            "Does red AC over DC grow or shrink, when the lower number grows?",
        ),
    )


def _what_moves_most() -> ChoiceQuestion:
    moves = [abs(state.ratio - START.ratio) for state in SHIFTS.values()]
    told = "; ".join(f"{words}: {state.ratio:.3f}" for words, state in SHIFTS.items())
    return ChoiceQuestion(
        text="An ordinary finger at 97 %. Which single change moves R most?",
        options=tuple(SHIFTS),
        answer=moves.index(max(moves)),
        why=f"R starts at {START.ratio:.3f}. {told}.",
        link="ratio",
        if_wrong=(
            "Try the four in the panel, with Reset in between, and compare.",
            "Much less light comes through, but in both colours. Try it in the panel.",
            "Much less red comes through, but is it the steady part alone that shrinks?",
            "The brightness of an LED multiplies peak and trough. What becomes of AC over DC?",
        ),
    )


def _few_red_cells() -> ChoiceQuestion:
    ordinary = TwoLights(arterial_saturation=0.70)
    anaemic = replace(ordinary, haemoglobin_g_per_l=80.0)
    change = anaemic.ratio / ordinary.ratio
    return ChoiceQuestion(
        text="Saturation is 70 %, and haemoglobin falls from 150 to 80 g/L, with the same "
        "perfusion index. What does this model’s R do?",
        options=("It falls by more than 5 %", "It stays within 5 %", "It rises by more than 5 %"),
        answer=1 if abs(change - 1.0) < 0.05 else (2 if change > 1.0 else 0),
        why=f"R was {ordinary.ratio:.2f} and is {anaemic.ratio:.2f}. With less haemoglobin the "
        "red light wanders further through tissue, more so than the infrared. No division takes "
        f"that out: the probe’s own curve reads {anaemic.curve_percent:.0f} % where the blood "
        "carries 70 %.",
        link="tissue",
        if_wrong=(
            "With less haemoglobin light wanders further. Which colour gains more by that?",
            "That holds near full saturation. Set the panel to this saturation and try.",
            "Set the panel to this saturation, lower Haemoglobin, and look at R.",
        ),
    )


def _pigment() -> ChoiceQuestion:
    light, dark = (TwoLights(arterial_saturation=0.70, melanin_fraction=m) for m in (0.03, 0.45))
    left, ratio = dark.steady[0] / light.steady[0], dark.ratio / light.ratio
    dimmed, moved = left < 0.5, abs(ratio - 1.0) > 0.02
    return ChoiceQuestion(
        text="In this model melanin rises from 3 to 45 % of the epidermis, at a saturation of "
        "70 %. What becomes of the red light and of R?",
        options=(
            "Less than half of the red light is left; R stays within 2 %",
            "Less than half of the red light is left; R moves by more than 2 %",
            "More than half of the red light is left; R stays within 2 %",
            "More than half of the red light is left; R moves by more than 2 %",
        ),
        answer=2 * (not dimmed) + moved,
        why=f"Red falls to {figure(left)} of what it was, and R goes from {light.ratio:.3f} to "
        f"{dark.ratio:.3f}. This is what simple optics says. It is not what volunteers show: at "
        "60 to 70 % three meters read 3.6 points too high in dark skin and 0.4 in light skin "
        "(Bickler 2005).",
        link="tissue",
        if_wrong=(
            "Set both in the panel. How much red is left, and what does the last row say?",
            "A filter takes its share of steady and pulsing light alike. What drops out then?",
            "Melanin takes far more red than infrared. Look at the red DC in the table.",
            "Look at the red DC in the table, and then ask what a filter does to AC over DC.",
        ),
    )
