"""Questions of the weak pulse, of motion, of veins that pulse and of an irregular heart."""

from __future__ import annotations

import numpy as np

from oximetry_workbook.body.sites import SITES
from oximetry_workbook.teach.checkpoint import ChoiceQuestion, NumberQuestion, Question
from oximetry_workbook.teach.many_readings import ManyReadings, shown_percent
from oximetry_workbook.teach.moving_hand import ALIKE, MovingHand
from oximetry_workbook.teach.weak_pulse import PLACES, WeakPulse
from oximetry_workbook.teach.words import figure, percent, signed

READINGS = 40
"""How many readings of ten seconds stand behind an answer about errors."""

STRONG_PERCENT = 8.0
"""Motion that drowns the pulse."""

HALF_PULSE = 0.5
"""Swing of the veins over that of the arteries when a heart valve leaks."""

NOTICED_POINTS = 2.0
"""A change of the reading below this is called none."""

COLD = WeakPulse(vasoconstriction=1.0, noise_percent=0.1, arterial_saturation=0.80)
"""The coldest finger, a noisy meter, and a true saturation of 80 %."""


def prediction() -> ChoiceQuestion:
    """Ask where a shaking probe draws the reading of somebody who is low."""
    hand = MovingHand(arterial_saturation=0.70, coupling_percent=STRONG_PERCENT)
    read = _mean_shown(hand)
    return ChoiceQuestion(
        text="The arteries carry 70 %. The hand shakes, the probe lifts and settles, and the light "
        "swings by the same share in red and in infrared, far more than the pulse. What does a "
        "plain meter show?",
        options=(
            "A number well below 70 %, since motion reads low",
            "About 70 %, since both colours suffer alike",
            "A number well above 70 %",
            "No number",
        ),
        answer=_index_of_shown(read, 70.0),
        why=f"It shows {percent(read)} as a mean of {READINGS} readings; the panel’s ten seconds "
        f"show {percent(hand.reading.measurement.spo2_percent)}. Alike in both colours means "
        f"R = 1, and the curve reads {percent(hand.reads_percent(ALIKE))} there, whatever the "
        "arteries carry. Motion can hide a low saturation as well as feign one.",
        link="ratio",
        if_wrong=(
            "That holds for somebody at 97 %. Ask to which number a swing alike in both colours "
            "draws a reading, wherever it starts.",
            "The pulse is alike in neither colour; the swing is. What is R when the larger one "
            "rules?",
            "Ask which number the curve has for a swing alike in both colours, and on which side "
            "of 70 % that lies.",
            "A plain meter withholds what does not stand clear of noise. Do these swings?",
        ),
    )


def checkpoints() -> tuple[Question, ...]:
    """Ask about sites in the cold, errors, mixed pulses, venous blood, quality and rhythm."""
    return (
        _strongest_in_the_cold(),
        _finger_left(),
        _weak_leans(),
        _mixed(),
        _venous_lower(),
        _quality(),
        _rhythm(),
    )


def _strongest_in_the_cold() -> ChoiceQuestion:
    warm = WeakPulse().perfusion_index_percent
    cold = WeakPulse(vasoconstriction=1.0).perfusion_index_percent
    return ChoiceQuestion(
        text="Cold has narrowed the vessels of the skin as far as it can. Where is the strongest "
        "pulse in this model?",
        options=tuple(f"At the {place}" for place in PLACES),
        answer=int(np.argmax(cold)),
        why="In warmth the finger leads with "
        f"{figure(warm[0])} %. In the cold "
        + ", ".join(
            f"the {place} has {figure(left)} %" for place, left in zip(PLACES, cold, strict=True)
        )
        + ". The vessels of the finger obey the cold most; those of the forehead hardly do.",
        link="pulse",
        if_wrong=(
            "That is the strongest pulse in warmth. Which places shut their vessels to keep the "
            "body’s heat?",
            "It starts as strong as one other place. Which of the two keeps more?",
            "What does cold leave of this place’s pulse, and with how much did it start?",
            "It starts with the weakest pulse of all, and cold takes most of that.",
        ),
    )


def _finger_left() -> NumberQuestion:
    site = SITES["finger"]
    warm = site.usual_perfusion_index_percent
    half, whole = (warm * site.pulse_left(narrowing) for narrowing in (0.5, 1.0))
    return NumberQuestion(
        text="A finger’s perfusion index falls from "
        f"{figure(warm)} % in warmth to {figure(whole)} % in the "
        "coldest state. Equal steps of narrowing take equal shares of what is left. What is it "
        "halfway?",
        unit="%",
        answer=half,
        tolerance=0.05,
        why=f"Each half divides it by the same number, {figure(warm / half, 3)}: {figure(half)} %. "
        f"The middle of the two numbers, {figure((warm + whole) / 2.0, 3)} %, would be equal "
        "amounts.",
        link="pulse",
        hint="Equal shares, not equal amounts: both halves divide it by the same number. Which "
        "number, taken twice, leads from the first to the last?",
    )


def _weak_leans() -> ChoiceQuestion:
    errors = _shown(COLD) - 100.0 * COLD.arterial_saturation
    many = ManyReadings(errors)
    mean, half = float(many.mean), float(many.half_width)
    return ChoiceQuestion(
        text="A cold finger, a noisy meter; the arteries carry 80 %. Some readings are withheld. "
        "What about those that are shown, on average over many?",
        options=(
            "They are right: what is doubtful was withheld",
            "They are too low: a weak pulse looks like little oxygen",
            "They are too high",
        ),
        answer=0 if abs(mean) <= half else (1 if mean < 0.0 else 2),
        why=f"Of {errors.size} readings, {int(many.shown)} are shown, on average {signed(mean)} ± "
        f"{figure(half, 1)} points off. This meter keeps the beats whose infrared pulse stands "
        "out. Where it barely does, those are beats that noise made larger in infrared, so R comes "
        "out too small. Other meters sieve otherwise. In volunteers whose hand lost its blood "
        "pressure, readings fell before the pulse was lost (Severinghaus and Spellman 1990): the "
        "authors suggest that blood which stands gives up oxygen, and this model leaves that out.",
        link="ratio",
        if_wrong=(
            "Withholding is a choice among beats. Which beats does noise make look good enough?",
            "A small pulse is small in both colours. Ask which beats are kept, and what noise did "
            "to their infrared pulse.",
            "Ask which beats are kept, and what noise did to their infrared pulse.",
        ),
    )


def _mixed() -> NumberQuestion:
    hand = MovingHand(venous_pulse=HALF_PULSE)
    found, (arterial, venous) = hand.reading.measurement, hand.slopes
    if found.ratio is None:
        raise RuntimeError(f"the meter withheld a value: {found.reason}")
    return NumberQuestion(
        text="A heart valve leaks. In step with the heart the arteries swing infrared light by "
        f"2 %, and the veins by a further 1 %. Arteries alone have R = {arterial:.2f}, veins alone "
        f"R = {venous:.2f}. Which R does the meter find?",
        unit="",
        answer=found.ratio,
        tolerance=0.04,
        why=f"Red swings by 2 × {arterial:.2f} and 1 × {venous:.2f}, which makes "
        f"{2.0 * arterial + venous:.2f} %, and infrared by 3 %. The bench’s meter finds "
        f"{found.ratio:.2f} and shows {percent(found.spo2_percent)}. That is near R = 1, and yet "
        "nothing has moved.",
        link="ratio",
        hint="Swings in step add up, colour by colour. Find the whole swing in red and the whole "
        "swing in infrared before you divide.",
    )


def _venous_lower() -> ChoiceQuestion:
    hand = MovingHand(motion_percent=STRONG_PERCENT)
    read, veins = _mean_shown(hand), hand.venous_percent
    one = hand.reads_percent(ALIKE)
    return ChoiceQuestion(
        text=f"The arteries carry 97 %, the veins {veins:.0f} %. Now venous blood sloshes to and "
        "fro, far more than the pulse, and the probe sits tight. Where does the finger’s reading "
        "go in this simulation?",
        options=(
            f"To about {one:.0f} %, where R is 1",
            f"To about {veins:.0f} %, what the veins carry",
            f"Well below {veins:.0f} %",
            "It stays at about 97 %: the meter listens to arteries only",
        ),
        answer=2
        if read < veins - 5.0
        else int(np.argmin(np.abs(read - np.array([one, veins, 0.0, 97.0])))),
        why=f"The panel’s ten seconds read {percent(hand.reading.measurement.spo2_percent)}, "
        f"{READINGS} such readings {percent(read)} on average. Venous blood has "
        f"R = {hand.slopes[1]:.2f} here, which would read "
        f"{percent(hand.reads_percent(hand.slopes[1]))} with no arteries in the mixture. The curve "
        "was made with arterial pulses, in tissue whose other blood is darker still when the "
        "arteries carry so little. In this brighter tissue red light goes a longer way, so dark "
        "blood takes more of it.",
        link="tissue",
        if_wrong=(
            "R = 1 belongs to a swing that is the same share in both colours. Is dark blood alike "
            "in red and infrared?",
            "The curve was made with arteries that pulse. Ask whether the blood that rests around "
            "them was then as bright as it is here.",
            "Look at the slope of venous blood alone, and where the curve reads it.",
            "How is a meter to know which blood swings? It hears the larger swing.",
        ),
    )


def _quality() -> ChoiceQuestion:
    hand = MovingHand(motion_percent=STRONG_PERCENT)
    found = hand.reading.measurement
    high = found.quality >= 0.5
    return ChoiceQuestion(
        text="In the same hand, what does the plain meter’s signal quality say?",
        options=(
            "It is poor, so the number is withheld",
            "It is good: large swings, and both colours agree",
        ),
        answer=1 if high and found.spo2_percent is not None else 0,
        why=f"It is {round(100.0 * found.quality)} %. The swings stand clear of the noise, look "
        "alike, and red follows infrared. What gives motion away here is the pulse rate: "
        f"{found.heart_rate_bpm or 0.0:.0f} per minute, where the heart beats "
        f"{hand.scenario.heart_rate_bpm:.0f} times.",
        link="display",
        if_wrong=(
            "Signal quality here asks whether swings stand clear of noise, look alike, and go "
            "together in both colours. Do these?",
            "Ask what the quality is made of, and whether a moving hand offends against it.",
        ),
    )


def _rhythm() -> ChoiceQuestion:
    even, uneven = (MovingHand(irregularity_percent=share) for share in (0.0, 30.0))
    change = abs(_mean_shown(uneven) - _mean_shown(even))
    scatter = [hand.beats[1].std(ddof=1) for hand in (even, uneven)]
    return ChoiceQuestion(
        text="The heart loses its rhythm: the intervals between beats scatter by 30 % of their "
        "mean; every beat still brings as much blood. What changes on the meter?",
        options=(
            "Saturation falls by several points; the rate holds",
            "Saturation hardly moves; the rate jumps from one moment to the next",
            "Both hold",
        ),
        answer=1 if change < NOTICED_POINTS and scatter[1] > 3.0 * scatter[0] else 0,
        why=f"The reading moves by {figure(change, 1)} points: R compares two colours within each "
        f"beat. The intervals the meter finds scatter by {figure(scatter[1])} % instead of "
        f"{figure(scatter[0])} %. In people weak beats also go missing at the finger, so that the "
        "pulse rate lies below the heart rate (common practice).",
        link="ratio",
        if_wrong=(
            "A beat that comes early comes early in both colours. What does that do to R?",
            "Ask what each of the two numbers is made of: R within a beat, the rate between beats.",
            "One of the two numbers is made of the intervals themselves.",
        ),
    )


def _shown(state: WeakPulse) -> np.ndarray:
    scenario = state.scenario("finger")
    return np.array([shown_percent(scenario, seed) for seed in range(READINGS)])


def _mean_shown(hand: MovingHand) -> float:
    return float(np.nanmean([shown_percent(hand.scenario, seed) for seed in range(READINGS)]))


def _index_of_shown(read: float, true: float) -> int:
    if not np.isfinite(read):
        return 3
    return 1 if abs(read - true) < NOTICED_POINTS else (0 if read < true else 2)
