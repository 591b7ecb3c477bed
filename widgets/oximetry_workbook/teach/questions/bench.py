"""Questions of the bench."""

from __future__ import annotations

from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.meter.curve import TEXTBOOK
from oximetry_workbook.teach.checkpoint import ChoiceQuestion, NumberQuestion, Question
from oximetry_workbook.teach.reading import Reading, read


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
    )


def _outgrown(red: float, infrared: float, noticeable: float = 1.05) -> int:
    grown = (red > noticeable, infrared > noticeable)
    return {(True, False): 0, (False, True): 1, (True, True): 2, (False, False): 3}[grown]


def checkpoints() -> tuple[Question, ...]:
    """Ask about weak pulses, the ratio, the curve, and light past the tissue."""
    return (_weaker_pulse(), _ratio(), _textbook(), _withheld(), _spilt_light())


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
    )


def _ratio() -> NumberQuestion:
    reading = read(Scenario(arterial_saturation=0.85))
    red, infrared = 100.0 * reading.absorbance_layers[-1]
    return NumberQuestion(
        text=f"At 85 % the magnifier shows a red pulse of {10 * red:.1f} and an infrared pulse of "
        f"{10 * infrared:.1f} thousandths. What is the ratio of the two, R?",
        unit="",
        answer=red / infrared,
        tolerance=0.03,
        why=f"{10 * red:.1f} divided by {10 * infrared:.1f} is {red / infrared:.2f}.",
        link="ratio",
    )


def _textbook() -> NumberQuestion:
    return NumberQuestion(
        text="A meter that uses the line 110 − 25 R finds R = 0.8. What does it show?",
        unit="%",
        answer=TEXTBOOK(0.8),
        tolerance=0.5,
        why=f"110 − 25 × 0.8 = {TEXTBOOK(0.8):.0f}.",
        link="curve",
    )


def _withheld() -> ChoiceQuestion:
    reading = read(Scenario(perfusion_index_percent=0.1, noise_percent=0.5))
    shown = reading.measurement.spo2_percent
    return ChoiceQuestion(
        text="The pulse is 0.1 % of the light and the noise 0.5 %. What should a careful meter do?",
        options=("Show its best guess", "Keep showing the last good number", "Show no number"),
        answer=2 if shown is None else 0,
        why=f"No number is better than a wrong one. This bench says: {reading.measurement.reason}",
        link="display",
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
