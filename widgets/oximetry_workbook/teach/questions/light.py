"""Questions of wrong light: lamps, light past the finger, varnish, and LEDs."""

from __future__ import annotations

from oximetry_workbook.teach.checkpoint import ChoiceQuestion, NumberQuestion, Question
from oximetry_workbook.teach.words import CLOSE_POINTS, figure, percent
from oximetry_workbook.teach.wrong_light import LedLight, PastTheTissue, RoomLight

MUCH_PERCENT = 50.0
"""Room light of these questions [% of the steady infrared light], as the panel starts."""

FEW_BEATS = 3.0
"""A count of the pulse this near to the heart's is called the same [1/min]."""

HALF_PAST = PastTheTissue(arterial_saturation=0.75, bypass_percent=50.0)
SLIPPED = PastTheTissue(bypass_percent=60.0)
TOO_HIGH_LOW = ("Too high", "Within 2 points of the truth", "Too low")


def prediction() -> ChoiceQuestion:
    """Ask what a lamp just off the sampling rate does to the reading."""
    lamp = _lamp(50.4)
    read = lamp.reading.measurement.spo2_percent
    return ChoiceQuestion(
        text="The arteries carry 97 %. A bright lamp flickers 100.8 times a second and shines "
        "into the probe, and some of its light is left after the meter’s own subtraction. This "
        "meter takes 100 samples a second of each colour. What does it show?",
        options=("95 % or more", "A number below 95 %", "No number"),
        answer=2 if read is None else (0 if read >= 95.0 else 1),
        why=f"It shows {percent(read)}. The flicker is seen 100 times a second and so comes out at "
        f"{figure(lamp.folded_hz)} Hz, like a heart. It moves both colours alike, so R goes to 1.",
        link="display",
        if_wrong=(
            "A steady lamp would leave the reading. This one flickers: ask what is seen of it in "
            "100 looks a second.",
            "Ask how fast the flicker seems to go in 100 looks a second, and what a swing alike "
            "in both colours does to R.",
            "A meter goes silent when it finds no pulse. Ask how fast this flicker seems to go.",
        ),
    )


def checkpoints() -> tuple[Question, ...]:
    """Ask about folding, a false count, steady lamps, light past the finger, varnish, LEDs."""
    return (
        _folding(),
        _false_count(),
        _steady_lamp(),
        _smaller_pulse(),
        _half_past(),
        _varnish(),
        _long_red(),
        _warm_leds(),
    )


def _lamp(mains_hz: float, sampling_rate_hz: float = 100.0) -> RoomLight:
    return RoomLight(
        ambient_light_percent=MUCH_PERCENT,
        mains_frequency_hz=mains_hz,
        sampling_rate_hz=sampling_rate_hz,
    )


def _folding() -> NumberQuestion:
    lamp = _lamp(60.4, 120.0)
    return NumberQuestion(
        text=f"A generator makes {lamp.mains_frequency_hz:g} Hz, and its lamps brighten twice in "
        f"each cycle. A meter takes {lamp.sampling_rate_hz:g} samples a second. How many false "
        "beats a minute does it see?",
        unit="per minute",
        answer=60.0 * lamp.folded_hz,
        tolerance=1.0,
        why=f"The flicker has {lamp.flicker_hz:g} Hz. That is {figure(lamp.folded_hz)} Hz away "
        f"from {lamp.sampling_rate_hz:g} Hz, and {figure(lamp.folded_hz)} times 60 is "
        f"{60.0 * lamp.folded_hz:.0f}.",
        link="display",
        hint="Start from the flicker, not from the mains. How far is it from a whole multiple of "
        "the sampling rate? Then from a second to a minute.",
    )


def _false_count() -> ChoiceQuestion:
    reading = _lamp(50.6).reading
    counted, beats = reading.measurement.heart_rate_bpm, reading.scenario.heart_rate_bpm
    error = reading.error_points
    if counted is None or error is None:
        raise RuntimeError("the meter withholds what this question asks about")
    same, close = abs(counted - beats) <= FEW_BEATS, abs(error) <= CLOSE_POINTS
    return ChoiceQuestion(
        text="A lamp on mains of 50.6 Hz shines into a probe; the meter takes 100 samples a "
        f"second. It counts {counted:.0f} a minute, and so does the ECG. Is its saturation then "
        "right?",
        options=(
            "Yes: where the counts agree, the light comes from the blood",
            "No: the counts can agree by chance",
        ),
        answer=0 if close or not same else 1,
        why=f"It shows {percent(reading.measurement.spo2_percent)} where the arteries carry "
        "97 %. The lamp happens to beat as often as the heart. Counts that differ are a warning; "
        "counts that agree are no proof.",
        link="display",
        if_wrong=(
            "What else could beat as often? Work out at which frequency this lamp comes out in "
            "100 looks a second.",
            "Ask what it is that swings here, and whether the lamp’s beat could be the heart’s.",
        ),
    )


def _steady_lamp() -> ChoiceQuestion:
    dark, lit = RoomLight().reading, _lamp(50.0).reading
    before, after = (each.measurement.perfusion_index_percent or 0.0 for each in (dark, lit))
    moved = abs((lit.error_points or 0.0) - (dark.error_points or 0.0)) > CLOSE_POINTS
    fell = after < 0.9 * before
    return ChoiceQuestion(
        text="At exactly 50 Hz and 100 samples a second the flicker stands still: the lamp is "
        "steady light on top of both colours. What changes against the dark room?",
        options=(
            "The saturation shown drifts towards 85 %, the perfusion index stays",
            "The perfusion index falls, the saturation shown stays",
            "Both fall",
        ),
        answer=2 if moved and fell else (0 if moved else 1),
        why=f"The perfusion index falls from {figure(before)} to {figure(after)} %, since the "
        "steady light has grown. It has grown alike in both colours, so R stays, and the meter "
        f"shows {percent(lit.measurement.spo2_percent)}.",
        link="ratio",
        if_wrong=(
            "The 85 % belong to a lamp that swings alike in both colours. Does this one swing?",
            "Ask what the light that stands still is added to: the pulse, or what it is divided "
            "by?",
            "Ask whether each colour’s division suffers alike. What does that do to R?",
        ),
    )


def _smaller_pulse() -> NumberQuestion:
    bare = PastTheTissue().reading.measurement.perfusion_index_percent
    found = SLIPPED.reading.measurement.perfusion_index_percent
    if bare is None or found is None:
        raise RuntimeError("the meter withholds what this question asks about")
    return NumberQuestion(
        text=f"A probe sits well and shows a perfusion index of {figure(bare)} %. It slips, and "
        f"now shows {figure(found)} %. The finger is as warm as before. Which share of the "
        "infrared light at the detector goes past the finger?",
        unit="%",
        answer=SLIPPED.bypass_percent,
        tolerance=3.0,
        why=f"Light that went past does not pulse. Of the light at the detector {figure(found)} "
        f"over {figure(bare)}, that is {figure(100.0 * found / bare)} %, still crosses the finger; "
        f"the rest, {figure(100.0 - 100.0 * found / bare)} %, goes past it.",
        link="pulse",
        hint="The perfusion index tells which share of the light still crosses the finger, "
        "against before. The question is about the other share.",
    )


def _half_past() -> ChoiceQuestion:
    red, infrared = HALF_PAST.shares_percent[1]
    return ChoiceQuestion(
        text="The arteries carry 75 %. The probe has slipped, and half of the infrared light goes "
        "past the finger. How does the meter read?",
        options=TOO_HIGH_LOW,
        answer=_side(HALF_PAST.reading.error_points),
        why=f"It reads {percent(HALF_PAST.reading.measurement.spo2_percent)}. The finger dims red "
        f"more than infrared, so of the red light {red:.0f} % went past, of the infrared "
        f"{infrared:.0f} %. The red pulse is diluted more, R falls, and the number rises.",
        link="light",
        if_wrong=(
            "Ask which colour’s pulse is diluted more when the blood is dark, and which way R goes "
            "then.",
            "It would divide out if both pulses were diluted alike. Which colour does dark blood "
            "let through less of?",
            "A weaker pulse is not a lower saturation. Ask which colour’s pulse is diluted more, "
            "and which way R goes then.",
        ),
    )


def _varnish() -> ChoiceQuestion:
    painted = PastTheTissue(varnish="blue", varnish_coats=2.0)
    error = painted.reading.error_points
    withheld = error is None
    red, infrared = painted.let_through_percent
    return ChoiceQuestion(
        text=f"Two coats of this panel’s blue varnish let {figure(red)} % of the red light "
        f"through and {figure(infrared)} % of the infrared. The probe sits well, and the arteries "
        "carry 97 %. What does this panel’s meter do?",
        options=(
            "It reads more than 2 points too low, since red light is missing",
            "It reads within 2 points of the truth",
            "It reads more than 2 points too high",
            "It shows no number",
        ),
        answer=3 if withheld else (2, 1, 0)[_side(error)],
        why=f"It shows {percent(painted.reading.measurement.spo2_percent)}. A filter before the "
        "finger takes its share of steady and pulsing light alike, and the division takes it out. "
        "Some studies in people did find lower readings.",
        link="ratio",
        if_wrong=(
            "Missing red light is not a larger red pulse. What does the meter divide the red "
            "pulse by?",
            "Look at which part of the red light the varnish takes: of the steady light, of the "
            "pulse, or of both?",
            "Less red light is not a smaller red pulse, if the pulse is told as a share of the "
            "light. What does the meter divide by?",
            "The light is faint, but is the pulse lost in the noise? Paint the nail on the panel "
            "and look.",
        ),
    )


def _long_red() -> ChoiceQuestion:
    sensor = LedLight(red_peak_nm=670.0, arterial_saturation=0.8)
    return ChoiceQuestion(
        text="A sensor has a red LED at 670 nm. The meter’s curve was made with one at 660 nm. The "
        "arteries carry 80 %. How does it read?",
        options=TOO_HIGH_LOW,
        answer=_side(sensor.reading.error_points),
        why=f"It reads {percent(sensor.reading.measurement.spo2_percent)}. Blood without oxygen "
        "takes less light at 670 nm than at 660 nm. So the red pulse is smaller, R is smaller, and "
        "the curve knows nothing of it.",
        link="blood",
        if_wrong=(
            "Look at HHb between 660 and 670 nm: does blood without oxygen take more there or "
            "less? Then follow the red pulse to R.",
            "Ten nanometres are little on the plot, but look how steep the line of HHb is there.",
            "Look at HHb from 660 to 670 nm. Is the red pulse then larger or smaller, and R with "
            "it?",
        ),
    )


def _warm_leds() -> ChoiceQuestion:
    warm = LedLight(led_temperature_c=50.0, arterial_saturation=0.7)
    red, infrared = warm.moved_nm
    return ChoiceQuestion(
        text=f"Both LEDs warm from 25 to 50 °C. The red peak moves by {red:.1f} nm, the infrared "
        f"one by {infrared:.1f} nm, both to longer wavelengths. The arteries carry 70 %. How does "
        "the meter read?",
        options=TOO_HIGH_LOW,
        answer=_side(warm.reading.error_points),
        why=f"It reads {percent(warm.reading.measurement.spo2_percent)}. A longer red alone would "
        "read too high, a longer infrared alone too low. Warmth moves both, and most of it "
        "cancels.",
        link="light",
        if_wrong=(
            "That is what the red LED would do alone. What does the infrared one do at the same "
            "time?",
            "Follow each LED on its own first: which way does it turn R?",
            "That is what the infrared LED would do alone. What does the red one do at the same "
            "time?",
        ),
    )


def _side(error: float | None) -> int:
    """Index in `TOO_HIGH_LOW`."""
    if error is None:
        raise RuntimeError("the meter withholds what this question asks about")
    if abs(error) <= CLOSE_POINTS:
        return 1
    return 0 if error > 0.0 else 2
