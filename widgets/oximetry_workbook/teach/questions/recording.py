"""Questions of one's own recording: movement, sampling rate, gaps, columns and curves."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np

from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.body.simulate import simulate
from oximetry_workbook.meter.curve import TEXTBOOK
from oximetry_workbook.meter.files import open_content
from oximetry_workbook.meter.measure import Measurement, measure
from oximetry_workbook.meter.recording import Recording
from oximetry_workbook.meter.windows import windows
from oximetry_workbook.teach.checkpoint import ChoiceQuestion, NumberQuestion, Question
from oximetry_workbook.teach.invented_recording import (
    BEFORE_S,
    INVENTED_NAME,
    MOVES_S,
    invented_csv,
)
from oximetry_workbook.teach.own_recording import Readings, read_in_parts
from oximetry_workbook.teach.words import percent

SATURATION = 0.97
MINUTE_S = 60.0
GAP_S = (18.0, 23.0)
"""Samples that a recorder lost [s]: across the end of a window."""
WINDOW_S = 10.0
FASTER = 2.0
"""How many times too fast the sampling rate is given."""
NEAR_POINTS = 2.0
"""Numbers that differ by less are called about the same."""


def prediction() -> ChoiceQuestion:
    """Ask what the windows show in which the hand moves."""
    shown, true, quality = _moved()
    return ChoiceQuestion(
        text="In a recording of three minutes a hand moves for a while. The blood carries "
        f"{percent(true)} all the time it moves. What does the meter show in these windows?",
        options=(
            f"About {percent(true)}: it looks at many beats and takes the middle one",
            "No number: the meter sees that the hand moves",
            "A number far too low, with nothing beside it to warn",
            "A number far too high, with nothing beside it to warn",
        ),
        answer=_kind_of(shown, true),
        why=f"It shows {percent(shown)}, and calls the signal {100.0 * quality:.0f} % good: both "
        "colours swing together, as in a pulse. But it is venous blood that moves.",
        link="pulse",
        if_wrong=(
            "The middle of many beats helps against a few odd ones. What if most swings are not "
            "of arteries?",
            "By what would it see that? Both colours swing together, as they do in a pulse.",
            "Which blood moves with a hand, and which colour does it take more of?",
            "Blood from veins is darker in red. Which way does that draw R, and the number?",
        ),
    )


def checkpoints() -> tuple[Question, ...]:
    """Ask about a wrong rate, twice, a gap, swapped columns, a curve, and a missing mean."""
    return (
        _rate_typed(),
        _rate_and_saturation(),
        _gap(),
        _swapped(),
        _other_curve(),
        _without_steady_light(),
    )


def _rate_typed() -> NumberQuestion:
    right, wrong = _measured().heart_rate_bpm, _measured_fast().heart_rate_bpm
    assert right is not None
    assert wrong is not None
    rate = _light().sampling_rate_hz
    return NumberQuestion(
        text=f"A file has no times. It was recorded at {rate:.0f} samples per second; you type "
        f"{FASTER * rate:.0f}. The heart beat {right:.0f} times a minute. What pulse rate does "
        "the meter show?",
        unit="per min",
        answer=wrong,
        tolerance=4.0,
        why=f"Each second of the file is taken for half a second. So the meter shows {wrong:.0f}.",
        link="display",
        hint="How long does the meter think that a minute of the file lasts?",
    )


def _rate_and_saturation() -> ChoiceQuestion:
    right, wrong = _saturation(_measured()), _saturation(_measured_fast())
    away = wrong - right
    return ChoiceQuestion(
        text="The same file, the same wrong sampling rate. What becomes of the saturation?",
        options=(
            "It is much too low",
            "It is about the same",
            "It is much too high",
        ),
        answer=1 if abs(away) < NEAR_POINTS else (0 if away < 0.0 else 2),
        why=f"It shows {percent(wrong)}, and {percent(right)} with the right rate. The ratio "
        "of ratios is how far red swings against infrared, not how fast.",
        link="ratio",
        if_wrong=(
            "The pulse is wrong. But is there a time anywhere in R?",
            "Try it: type twice the samples per second, and look at R and saturation.",
            "Beats come too fast. Do they also swing further in one colour than in the other?",
        ),
    )


def _gap() -> NumberQuestion:
    table = windows(_with_gap(), WINDOW_S)
    withheld = table["spo2_percent"].isna()
    starts = " and ".join(f"{start:.0f} s" for start in table["time_s"][withheld])
    return NumberQuestion(
        text=f"A recording of {MINUTE_S:.0f} s is read in windows of {WINDOW_S:.0f} s, the first "
        f"from 0 s on. From {GAP_S[0]:.0f} to {GAP_S[1]:.0f} s the recorder stored nothing. How "
        "many windows have no saturation?",
        unit="",
        answer=float(withheld.sum()),
        tolerance=0.4,
        why=f"Those that start at {starts} miss samples and are withheld. Each window is read by "
        "itself, so the others are untouched.",
        link="display",
        hint="Write down where each window begins and ends. Which of them hold a part of the gap?",
    )


def _swapped() -> ChoiceQuestion:
    light = _light()
    swapped = measure(replace(light, red=light.infrared, infrared=light.red))
    right, shown = _measured(), swapped.spo2_percent
    true = _saturation(right)
    said = "nothing" if shown is None else percent(shown)
    return ChoiceQuestion(
        text=f"The columns of red and infrared light are taken for each other. The blood carries "
        f"{percent(true)}. What does the meter show?",
        options=(
            f"About {percent(true)}: only the names have changed",
            "Nothing: the meter sees that the colours are swapped",
            "A number far too low",
            "A number far too high, held at 100 %",
        ),
        answer=_kind_of(shown, true),
        why=f"R was {right.ratio or np.nan:.2f} and becomes {swapped.ratio or np.nan:.2f}, one "
        f"over the other. The curve makes {said} of it. The pulse looks as good as before.",
        link="ratio",
        if_wrong=(
            "R is red over infrared. What is it after the swap?",
            "Is there anything in the light that says which colour it is?",
            "What becomes of R when top and bottom change places, and what does the curve say?",
            "R turns over. Is it then larger or smaller, and what does a larger R mean?",
        ),
    )


def _other_curve() -> ChoiceQuestion:
    own, borrowed = _measured(), measure(_light(), TEXTBOOK)
    same_ratio = own.ratio == borrowed.ratio
    same_rate = own.heart_rate_bpm == borrowed.heart_rate_bpm
    return ChoiceQuestion(
        text="The same file is read twice, once with its probe’s own curve and once with the "
        "textbook line, 110 − 25 R. What differs?",
        options=(
            "The saturation alone",
            "The saturation and R",
            "The saturation and the pulse rate",
            "All three",
        ),
        answer=(0 if same_rate else 2) if same_ratio else (1 if same_rate else 3),
        why=f"In the light of these questions R is {own.ratio or np.nan:.2f} with either. The "
        f"textbook line makes {_saturation(borrowed):.1f} % of it, the probe’s own curve "
        f"{_saturation(own):.1f} %. So without the right curve R, and which way it goes, is what "
        "you can report.",
        link="curve",
        if_wrong=(
            "Follow the chain from light to number. What stands before the curve?",
            "Which comes first, R or the curve?",
            "Does the curve say anything about when beats come?",
            "Choose another calibration curve in the panel, and see what stays.",
        ),
    )


def _without_steady_light() -> ChoiceQuestion:
    pulse_only = measure(_without_mean())
    true = _saturation(_measured())
    return ChoiceQuestion(
        text=f"A recorder keeps only the pulse: from each colour it takes the mean away, so that "
        f"the light swings about 0. The blood carries {percent(true)}. What does the meter show?",
        options=(
            f"About {percent(true)}, since only the pulse speaks for the arteries",
            "No number",
            "A number that is too low",
            "A number that is too high",
        ),
        answer=_kind_of(pulse_only.spo2_percent, true),
        why=f"It says: {pulse_only.reason} Without the steady light nobody can tell how bright "
        "either LED was, and so there is no R.",
        link="ratio",
        if_wrong=(
            "Only the pulse speaks, that is so. But by what is each swing divided?",
            "Which two numbers does the first division need, and which of them is left?",
            "To be too low it would have to be a number. What stands below the line of AC over DC?",
            "To be too high it would have to be a number. What stands below the line of AC over "
            "DC?",
        ),
    )


def _kind_of(shown: float | None, true: float) -> int:
    """About the same, nothing, too low or too high: index into four options."""
    if shown is None:
        return 1
    if abs(shown - true) < NEAR_POINTS:
        return 0
    return 2 if shown < true else 3


@cache
def invented_readings() -> Readings:
    """The invented recording, read in windows of ten seconds with its probe's curve."""
    recording = open_content(INVENTED_NAME, invented_csv()).recording
    assert recording is not None
    return list(read_in_parts(recording, WINDOW_S, None))[-1][1]


def _moved() -> tuple[float | None, float, float]:
    """Lowest saturation, mean reference and quality while the hand moves [%, %, 1]."""
    table = invented_readings().windows
    start_s, end_s = (BEFORE_S + each for each in MOVES_S)
    moved = table[(table["time_s"] >= start_s) & (table["time_s"] < end_s)]
    lowest = moved["spo2_percent"].min()
    shown = float(lowest) if np.isfinite(lowest) else None
    return shown, float(moved["reference_percent"].mean()), float(moved["quality"].mean())


@cache
def _light() -> Recording:
    return simulate(Scenario(arterial_saturation=SATURATION), duration_s=MINUTE_S)


def _with_gap() -> Recording:
    light = _light()
    lost = (light.time_s >= GAP_S[0]) & (light.time_s < GAP_S[1])
    both = np.array([light.red, light.infrared], dtype=np.float64)
    red, infrared = np.where(lost, np.nan, both)
    return replace(light, red=red, infrared=infrared)


def _without_mean() -> Recording:
    light = _light()
    both = np.array([light.red, light.infrared], dtype=np.float64)
    red, infrared = both - both.mean(axis=1, keepdims=True)
    return replace(light, red=red, infrared=infrared)


def _measured() -> Measurement:
    return measure(_light())


def _measured_fast() -> Measurement:
    light = _light()
    return measure(replace(light, time_s=light.time_s / FASTER))


def _saturation(measurement: Measurement) -> float:
    assert measurement.spo2_percent is not None
    return measurement.spo2_percent
