"""Questions of what stands still and what pulses."""

from __future__ import annotations

from dataclasses import replace

from oximetry_workbook.teach.checkpoint import ChoiceQuestion, NumberQuestion, Question
from oximetry_workbook.teach.steady_and_pulsing import (
    MOVES,
    STILL,
    TAKEN_OUT,
    VENOUS_MOVEMENT,
    SteadyAndPulsing,
)
from oximetry_workbook.teach.steady_and_pulsing_words import points
from oximetry_workbook.teach.words import figure

FINGER = SteadyAndPulsing()
"""The finger that the panel starts with."""

FEW_PERCENT = 6.0

WEAKENED: dict[str, SteadyAndPulsing] = {
    "Ten times as much pigment": replace(FINGER, melanin_fraction=0.3),
    "A faster heart": replace(FINGER, heart_rate_bpm=140.0),
    "Less blood comes with each beat": replace(FINGER, perfusion_index_percent=1.0),
    "Venous blood that moves too": replace(FINGER, venous_blood=MOVES),
}
"""What may have befallen the finger, in words."""


def prediction() -> ChoiceQuestion:
    """Ask how much of the light moves with the heart."""
    red, infrared = FINGER.swing_percent
    return ChoiceQuestion(
        text="Light shines through a healthy finger at rest. The heart beats. By how much does "
        "the infrared light at the detector fall at each beat?",
        options=("By about half", "By about a fifth", "By a few parts in 100, or less"),
        answer=2 if infrared < FEW_PERCENT else (1 if infrared < 35.0 else 0),
        why=f"In this finger infrared light swings by {figure(infrared)} % of its mean and red "
        f"light by {figure(red)} %. All the rest stands still.",
        link="pulse",
        if_wrong=(
            "Of all that takes light in a finger, how much comes and goes with the heart?",
            "Skin, bone, veins and resting arteries take light too. How much is left for a beat?",
            "A beat adds a little blood to what is there. Compare the two stacks of layers.",
        ),
    )


def checkpoints() -> tuple[Question, ...]:
    """Ask about the perfusion index and what lowers it, pigment, silence, and venous blood."""
    return (
        _perfusion_index(),
        _weakened(),
        _pigment(),
        _nothing_moves(),
        _venous_pulse(),
        _still_or_moving(),
    )


def _perfusion_index() -> NumberQuestion:
    strong = replace(FINGER, perfusion_index_percent=6.0)
    high, low = strong.light_percent[1].max(), strong.light_percent[1].min()
    mean = 100.0 * (high - low) / strong.swing_percent[1]
    return NumberQuestion(
        text=f"In a warmer finger infrared light is {high:.1f} between beats, {low:.1f} at the "
        f"height of the beat, and {mean:.1f} on average, in the detector’s own units. What is the "
        "perfusion index, the whole swing over the mean, in percent?",
        unit="%",
        answer=float(strong.swing_percent[1]),
        tolerance=0.15,
        why=f"{high:.1f} − {low:.1f} = {high - low:.1f}, and {high - low:.1f} divided by "
        f"{mean:.1f} is {strong.swing_percent[1]:.1f} %.",
        link="pulse",
        hint="Take the swing from the highest to the lowest light, and divide by the mean.",
    )


def _weakened() -> ChoiceQuestion:
    swings = {words: finger.swing_percent[1] for words, finger in WEAKENED.items()}
    fits = [
        swing < 0.5 * FINGER.swing_percent[1] and abs(_read(finger) - _read(FINGER)) < 1.0
        for swing, finger in zip(swings.values(), WEAKENED.values(), strict=True)
    ]
    told = "; ".join(f"{words}: {figure(swing)} %" for words, swing in swings.items())
    return ChoiceQuestion(
        text=f"The perfusion index was {figure(FINGER.swing_percent[1])} % and is now a third of "
        "that. The saturation shown is as before, within a point. What has happened to the finger?",
        options=tuple(WEAKENED),
        answer=fits.index(True),
        why=f"The infrared swing over its mean: {told}. Of these only less arterial "
        "blood in a beat makes it smaller. It does so by the same factor in both colours, and so "
        "the reading stays.",
        link="pulse",
        if_wrong=(
            "Does a filter take more of the ripple than of the steady light?",
            "Beats come more often then. Do they grow deeper or shallower?",
            "Set the perfusion index in the panel, and look at both swings and the reading.",
            "Let veins move in the panel, and look at the swing and at the reading.",
        ),
    )


def _pigment() -> ChoiceQuestion:
    light, dark = (replace(FINGER, melanin_fraction=share) for share in (0.03, 0.3))
    passed = 100.0 * 10.0 ** -float(dark.layers[1, 0] - light.layers[1, 0])
    before, after = light.swing_percent[0], dark.swing_percent[0]
    change = after / before
    return ChoiceQuestion(
        text="Ten times as much pigment sits in the skin, as a filter before the same finger. What "
        "does this panel’s physics say about the share of the red light that pulses?",
        options=("It falls as the light falls", "It stays the same", "It rises"),
        answer=1 if abs(change - 1.0) < 0.02 else (0 if change < 1.0 else 2),
        why=f"Only {figure(passed)} % of the former red light is left, yet {figure(after)} % of it "
        f"pulses, where it was {figure(before)} %. A filter takes its share of steady and pulsing "
        "light alike. Studies in people do find errors with dark skin, which this physics does "
        "not reproduce.",
        link="tissue",
        if_wrong=(
            "The light falls, and the part of it that pulses falls too. What of their ratio?",
            "What does a filter do to the light between beats, and what at the height of a beat?",
            "Less light is left, but is a larger part of it moving?",
        ),
    )


def _nothing_moves() -> ChoiceQuestion:
    silent = replace(FINGER, arterial_blood=STILL)
    return ChoiceQuestion(
        text="A tight cuff stops the pulse in a finger, and the light at the detector stands "
        "still. What can a pulse oximeter say about the arteries?",
        options=(
            "The same as before, since the blood is still there",
            "The mean of arteries and veins",
            "Nothing",
        ),
        answer=2 if silent.read_percent is None else 0,
        why="It reads what moves, and nothing moves. Steady light is the sum of tissue, pigment, "
        "veins and arteries, and does not say which took how much.",
        link="display",
        if_wrong=(
            "The blood is there. But by what does a meter know it from skin, bone and veins?",
            "To form a mean it would have to know how much each of them takes. Does steady light "
            "tell?",
            "Set Arterial blood to Stands still in the panel, and look what is read.",
        ),
    )


def _venous_pulse() -> ChoiceQuestion:
    moved = replace(FINGER, venous_blood=MOVES)
    read, true = _read(moved), 100.0 * moved.arterial_saturation
    return ChoiceQuestion(
        text=f"The arteries carry {true:.0f} %, the veins {moved.venous_percent:.0f} %. Venous "
        "blood begins to move in step with the pulse. What does a meter make of it?",
        options=("It reads too high", "It reads the arteries as before", "It reads too low"),
        answer=1 if abs(read - true) < 2.0 else (0 if read > true else 2),
        why=f"It reads {read:.0f} %. Whatever moves with the pulse is taken for arterial blood, "
        "and venous blood is darker in red light.",
        link="pulse",
        if_wrong=(
            "Which colour does venous blood take more of, and what does that do to its swing?",
            "How would the meter know which of the blood that moves comes from the arteries?",
            "Set Venous blood to Moves too in the panel, and look at both swings.",
        ),
    )


def _still_or_moving() -> ChoiceQuestion:
    before = _read(FINGER)
    gone, moved = (
        abs(_read(replace(FINGER, venous_blood=venous)) - before) for venous in (TAKEN_OUT, MOVES)
    )
    little = 100.0 * VENOUS_MOVEMENT * FINGER.beat_volume / FINGER.probe.resting_venous_fraction
    return ChoiceQuestion(
        text=f"Which moves the reading more: taking away all the venous blood of a finger while it "
        f"stands still, or letting {figure(little)} % of it move with the pulse? That is "
        f"{figure(VENOUS_MOVEMENT)} times the arterial blood of a beat, as in the panel.",
        options=(
            "Taking away all that stands still",
            "Letting a little of it move",
        ),
        answer=0 if gone > moved else 1,
        why=f"Taking it all away moves the reading by {points(gone)}, letting a little move "
        f"by {figure(moved)}. What stands still only shapes the way of the light; what moves "
        "speaks.",
        link="pulse",
        if_wrong=(
            "How much blood it is does not matter most. What does the first division throw out?",
            "How little it is does not matter most. Try both in the panel and compare.",
        ),
    )


def _read(state: SteadyAndPulsing) -> float:
    read = state.read_percent
    if read is None:
        raise RuntimeError("nothing moves, so there is nothing to read")
    return read
