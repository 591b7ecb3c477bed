"""Questions on the ratio of ratios."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

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
    )


def _nearest(value: float, candidates: Sequence[float]) -> int:
    return min(range(len(candidates)), key=lambda k: abs(value - candidates[k]))


def checkpoints() -> tuple[Question, ...]:
    """Ask about both divisions, what each removes, and what is left over."""
    return (
        _aged_led(),
        _weak_pulse(),
        _both_divisions(),
        _red_pulse(),
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
    )


def _red_pulse() -> NumberQuestion:
    state = TwoLights(arterial_saturation=0.90, perfusion_index_percent=2.0)
    red, infrared = state.modulation_percent
    return NumberQuestion(
        text=f"R is {state.ratio:.3f}, and the infrared AC over DC is {infrared:.1f} %. How large "
        "is the red AC over DC?",
        unit="%",
        answer=red,
        tolerance=0.05,
        why=f"R is red over infrared, so red is R times infrared: {state.ratio:.3f} × "
        f"{infrared:.1f} % = {red:.2f} %.",
        link="ratio",
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
    )
