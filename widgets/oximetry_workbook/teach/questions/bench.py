"""Questions of the bench."""

from __future__ import annotations

from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.meter.curve import TEXTBOOK
from oximetry_workbook.teach.checkpoint import ChoiceQuestion, NumberQuestion, Question
from oximetry_workbook.teach.reading import PROBE_CURVE, Reading, read
from oximetry_workbook.teach.situations import ROUGH_POINTS, SITUATIONS, signs_shown
from oximetry_workbook.teach.words import percent, signed

HIDDEN_AMONG = ("Cold hand", "Shivering hand", "Smoke", "Irregular heart")
"""Situations among which one is wrong without a sign."""

WEAKER_PERCENT = 0.6
"""Perfusion index of a hand that has grown cool [%]."""


def prediction() -> ChoiceQuestion:
    """Ask which colour's pulse grows when saturation falls."""
    high, low = (read(Scenario(arterial_saturation=s)) for s in (0.97, 0.85))
    growth = low.absorbance_layers[-1] / high.absorbance_layers[-1]
    return ChoiceQuestion(
        text="Saturation falls from 97 to 85 %, with the same pulse. Which of the two pulses "
        "grows, the red or the infrared one?",
        options=("The red one", "The infrared one", "Both alike", "Neither"),
        answer=_outgrown(growth[0], growth[1]),
        why=f"At 85 % the red pulse is {growth[0]:.2f} times as large as at 97 %, while the "
        f"infrared one is {growth[1]:.2f} times as large. So R rises from "
        f"{high.measurement.ratio:.2f} to {low.measurement.ratio:.2f}.",
        link="blood",
        if_wrong=(
            "Ask in which colour blood with and without oxygen differ most, and which of the two "
            "takes more there.",
            "Infrared light is taken almost alike by both kinds of blood. Ask where they differ "
            "most.",
            "If both grew alike, their ratio would stay, and a meter would have nothing to tell "
            "saturations apart by.",
            "The same blood comes, but its colour is another. Something must change, or no meter "
            "could work.",
        ),
    )


def _outgrown(red: float, infrared: float, noticeable: float = 1.05) -> int:
    grown = (red > noticeable, infrared > noticeable)
    return {(True, False): 0, (False, True): 1, (True, True): 2, (False, False): 3}[grown]


def checkpoints() -> tuple[Question, ...]:
    """Ask about weak pulses, the curve, silence, hidden errors, and light past the tissue."""
    return (
        _weaker_pulse(),
        _red_of_the_weaker(),
        _textbook(),
        _withheld(),
        _unannounced(),
        _spilt_light(),
    )


def _weaker_pulse() -> ChoiceQuestion:
    strong, weak = (read(Scenario(perfusion_index_percent=p)) for p in (3.0, 0.3))
    change = abs(_ratio_of(weak) - _ratio_of(strong)) / _ratio_of(strong)
    return ChoiceQuestion(
        text="The perfusion index falls from 3 to 0.3 %, with hardly any noise. What does R do?",
        options=("It falls tenfold", "It stays the same within a few percent", "It rises tenfold"),
        answer=1 if change < 0.05 else (0 if _ratio_of(weak) < _ratio_of(strong) else 2),
        why=f"R was {_ratio_of(strong):.2f} and is {_ratio_of(weak):.2f}. Both pulses shrink "
        "together, and R divides one by the other.",
        link="ratio",
        if_wrong=(
            "You looked at one pulse. Ask what the other one does meanwhile, and what R is made "
            "of.",
            "Ask which of the two pulses would have to change without the other.",
            "R is no measure of how strong a pulse is. Ask what stands above the line in it, and "
            "what below.",
        ),
    )


def _red_of_the_weaker() -> NumberQuestion:
    warm, cool = (
        read(Scenario(arterial_saturation=0.85, perfusion_index_percent=p))
        for p in (Scenario().perfusion_index_percent, WEAKER_PERCENT)
    )
    (red, infrared), (less_red, less_infrared) = (
        1000.0 * each.absorbance_layers[-1] for each in (warm, cool)
    )
    return NumberQuestion(
        text=f"At 85 % the magnifier shows a red pulse of {red:.1f} and an infrared one of "
        f"{infrared:.1f} thousandths. The hand grows cool, and the infrared pulse shrinks to "
        f"{less_infrared:.1f}. The saturation stays. How high is the red pulse now?",
        unit="thousandths",
        answer=less_red,
        tolerance=0.1,
        why=f"Of the same blood less comes, and both colours lose the same share. R stays at about "
        f"{red / infrared:.2f}, and {red / infrared:.2f} times {less_infrared:.1f} is "
        f"{less_red:.1f}.",
        link="ratio",
        hint="Which number stays when only the amount of blood in a beat changes? Find it from "
        "the first pair.",
    )


def _textbook() -> NumberQuestion:
    own, other = (read(Scenario(), name) for name in (PROBE_CURVE, TEXTBOOK.name))
    ratio = _ratio_of(own)
    return NumberQuestion(
        text=f"With its own curve the bench finds R = {ratio:.2f} and shows {_shown(own):.0f} %, "
        "which is right. Now its meter is given the line 110 − 25 R. By how many points is the "
        "number off? Write a minus for too low.",
        unit="points",
        answer=other.error_points or 0.0,
        tolerance=0.4,
        why=f"The light is the same, and so is R. The line makes {percent(_shown(other))} of it: "
        f"{signed(other.error_points or 0.0)} points. A curve belongs to the probe it was "
        "measured with.",
        link="curve",
        hint="The light does not know which curve will be used, so R is the same. Read the line "
        "at that R, and compare with the truth.",
    )


def _withheld() -> ChoiceQuestion:
    reading = read(Scenario(perfusion_index_percent=0.1, noise_percent=0.5))
    shown = reading.measurement.spo2_percent
    return ChoiceQuestion(
        text="The pulse is 0.1 % of the light and the noise 0.5 %. What does this bench’s meter "
        "do?",
        options=("It shows its best guess", "It keeps the last good number", "It shows no number"),
        answer=2 if shown is None else 0,
        why=f"No number is better than a wrong one. This bench says: {reading.measurement.reason}",
        link="display",
        if_wrong=(
            "Whoever sees a number cannot see that it was a guess. How far off might it be, with "
            "noise larger than the pulse?",
            "The last good number may be minutes old, and looks like one of now.",
            "Ask what is lost without a number, and whether a guess would give it.",
        ),
    )


def _unannounced() -> ChoiceQuestion:
    readings = {
        each.name: read(each.applied_to(Scenario()))
        for each in SITUATIONS
        if each.name in HIDDEN_AMONG
    }
    hidden = [
        name
        for name, reading in readings.items()
        if abs(reading.error_points or 0.0) > ROUGH_POINTS and not signs_shown(reading)
    ]
    if len(hidden) != 1:
        raise RuntimeError(f"hidden errors are {hidden}; this question needs just one")
    answer = HIDDEN_AMONG.index(hidden[0])
    return ChoiceQuestion(
        text="Four people, each at 97 % of the haemoglobin that can carry oxygen. For which of "
        "them is the number badly wrong while pulse rate, perfusion index and signal quality all "
        "look as they should?",
        options=HIDDEN_AMONG,
        answer=answer,
        why=f"The meter shows {percent(_shown(readings[hidden[0]]))} while the blood carries "
        f"{percent(readings[hidden[0]].carried_percent)}. Whatever turns R without disturbing the "
        "pulse gives no sign.",
        link="display",
        if_wrong=(
            "What does cold do to the perfusion index? That is on the display.",
            "What does the meter count when the probe shakes? Compare it with the heart’s rate.",
            "Ask whether pulse, rhythm or noise are touched, and what R is made of.",
            "Ask first whether the number is wrong at all: R compares two colours within one beat.",
        ),
    )


def _spilt_light() -> ChoiceQuestion:
    clean, spilt = (
        read(Scenario(arterial_saturation=0.7, bypass_percent=share)) for share in (0.0, 50.0)
    )
    change = _shown(spilt) - _shown(clean)
    return ChoiceQuestion(
        text="Saturation is 70 %. The probe has slipped, and half of the infrared light at the "
        "detector never met the finger. Which way is the number off?",
        options=("Too low", "About right", "Too high"),
        answer=1 if abs(change) < 2.0 else (2 if change > 0 else 0),
        why=f"It shows {_shown(spilt):.0f} %. Light past the finger waters both pulses down, and "
        "more so the colour of which less comes through the finger; the number is drawn towards "
        "the middle of the curve.",
        link="light",
        if_wrong=(
            "A smaller pulse is not a lower number. Ask which of the two pulses is watered down "
            "more when blood is dark, and which way R then goes.",
            "It would divide out if both colours were watered down alike. Which colour comes "
            "through a finger with dark blood more weakly?",
            "Ask which of the two colours is watered down more, and which way R then goes.",
        ),
    )


def _ratio_of(reading: Reading) -> float:
    ratio = reading.measurement.ratio
    if ratio is None:
        raise RuntimeError(f"the meter withheld a value: {reading.measurement.reason}")
    return ratio


def _shown(reading: Reading) -> float:
    shown = reading.measurement.spo2_percent
    if shown is None:
        raise RuntimeError(f"the meter withheld a value: {reading.measurement.reason}")
    return shown
