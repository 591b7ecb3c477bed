"""Situations in which a number deserves doubt: what sets them off, what helps.

Each is a handful of changes to a scenario, so that the engine and not this list says what the
meter makes of it. What people usually do is common practice throughout; local protocols decide.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from oximetry_workbook.body.quantities import Choice
from oximetry_workbook.body.scenario import SPECS, Scenario
from oximetry_workbook.meter.display import rounded
from oximetry_workbook.teach.many_readings import shown_percent
from oximetry_workbook.teach.reading import Reading, read
from oximetry_workbook.teach.words import figure, percent

FAINT_PERCENT = 0.5
"""A perfusion index below this is called a weak pulse (common practice)."""

POOR_QUALITY = 0.9
"""A signal quality below this is worth a word. Our own choice."""

STEADY_QUALITY = 0.95
"""Below this signal quality the next ten seconds may read otherwise, and more readings are made.
Our own choice."""

MORE_READINGS = 10
"""How many those are, the one shown among them."""

RATE_OFF_BPM = 5.0
"""A pulse rate further off than this many beats per minute is worth a word. Our own choice."""

ROUGH_POINTS = 2.5
"""A number further off than this is called wrong here: at A_rms 3 points a third of a good
meter's readings lie further off than 3 (normal errors)."""


@dataclass(frozen=True)
class Situation:
    """A cause of doubt that people meet.

    Attributes:
        name: What to call it.
        changes: Fields of a scenario that make it, with their values.
        cause: Which link of the chain breaks, and how.
        usual_response: What people usually do about it (common practice).
    """

    name: str
    changes: Mapping[str, object]
    cause: str
    usual_response: str

    def __post_init__(self) -> None:
        object.__setattr__(self, "changes", MappingProxyType(dict(self.changes)))

    def applied_to(self, scenario: Scenario) -> Scenario:
        """Return the scenario with this situation on top.

        Raises:
            ValueError: When the two together cannot be.
        """
        return scenario.replace(**self.changes)

    def holds_in(self, scenario: Scenario) -> bool:
        """Whether the scenario has all of this situation's changes."""
        return all(getattr(scenario, name) == value for name, value in self.changes.items())


SITUATIONS = (
    Situation(
        "Cold hand",
        {"vasoconstriction": 1.0, "noise_percent": 0.08},
        "The vessels of the finger narrow, so that hardly any light moves with the heart.",
        "Warm the hand, or go to the ear or the forehead, where cold narrows less.",
    ),
    Situation(
        "Shivering hand",
        {"coupling_percent": 2.0},
        "The probe shifts. Light then swings alike in both colours, and R is drawn to 1.",
        "Hold the hand still, wait for a steady pulse wave, or choose a site that moves less.",
    ),
    Situation(
        "Swinging arm",
        {"motion_percent": 1.0},
        "Venous blood is shaken and swings too. It is darker, and the meter takes it for arteries.",
        "Let the arm rest; compare the pulse rate with one counted by hand.",
    ),
    Situation(
        "Probe half off",
        {"bypass_percent": 60.0},
        "Light goes past the finger and does not pulse. It draws readings to the middle: a good "
        "saturation reads too low, a poor one too high.",
        "Seat the probe anew, or use one of the right size.",
    ),
    Situation(
        "Flickering lamp",
        {"ambient_light_percent": 20.0, "mains_frequency_hz": 50.5},
        "Lamps flicker at twice the mains frequency; sampling folds that into the pulse’s band.",
        "Cover the probe with something opaque, or turn the lamp away.",
    ),
    Situation(
        "Dark varnish",
        {"varnish": "green", "varnish_coats": 4.0},
        "Varnish takes most of the red light. As a filter it divides out; but noise grows as light "
        "fades, and swells the red pulse: readings scatter and lean down.",
        "Take the varnish off, or choose another finger or site.",
    ),
    Situation(
        "Smoke",
        {"carboxyhaemoglobin": 0.3},
        "In red light haemoglobin with carbon monoxide looks like oxygenated blood.",
        "Oxygen and help at once, on suspicion alone; then a blood sample read with many "
        "wavelengths. The number on the finger cannot rule it out.",
    ),
    Situation(
        "Methaemoglobin",
        {"methaemoglobin": 0.3},
        "It absorbs red and infrared nearly alike, so R is drawn to 1 whatever the saturation.",
        "Oxygen and help on suspicion; then a blood sample read with many wavelengths.",
    ),
    Situation(
        "Anaemia",
        {"haemoglobin_g_per_l": 60.0},
        "The number tells how full haemoglobin is, not how much of it there is.",
        "Know the haemoglobin; think of oxygen content, not of saturation alone.",
    ),
    Situation(
        "Dye just given",
        {"dye": "methylene blue", "dye_mg_per_l": 10.0},
        "A blue dye absorbs red light, as blood without oxygen does.",
        "Wait until it has washed out, which takes minutes; take a blood sample if in doubt.",
    ),
    Situation(
        "Leaking heart valve",
        {"venous_pulse": 0.5},
        "Venous blood pulses in step with the heart, and is read as if it were arterial.",
        "Raise the hand above the heart; ear and forehead may be worse. Compare with a blood "
        "sample.",
    ),
    Situation(
        "Irregular heart",
        {"irregularity_percent": 25.0},
        "Beats differ in length; R of each is sound. It is the rate that wanders.",
        "Count the pulse for longer; look at a heart trace.",
    ),
    Situation(
        "Very low saturation",
        {"arterial_saturation": 0.6},
        "Nobody was measured here: the curve ends at 70 % and goes on as a guess.",
        "Take it as “very low” and act on that, not on the figure; take a blood sample.",
    ),
    Situation(
        "Wearable on the wrist",
        {"site": "wrist", "perfusion_index_percent": 0.3, "noise_percent": 0.1},
        "Light comes back instead of through; at the wrist the pulse is a tenth of a finger’s.",
        "Sit still, measure again, and check with a finger probe before drawing conclusions.",
    ),
    Situation(
        "Dark skin, weak pulse",
        {"melanin_fraction": 0.3, "perfusion_index_percent": 0.3, "noise_percent": 0.05},
        "Pigment takes light, so that noise weighs more on a faint pulse. Studies found a further "
        "error in darker skin, which this physics does not explain.",
        "Look at the person and the trend; take a blood sample when much depends on the number.",
    ),
)
"""What people meet, in the order of the chapters."""


def sight(reading: Reading) -> str:
    """Say in a few words what somebody looking at the meter sees, and what it hides.

    Args:
        reading: A reading of the situation, by the probe's own curve.
    """
    measurement = reading.measurement
    if measurement.spo2_percent is None:
        return "No number is shown."
    signs = " and ".join(signs_shown(reading))
    if abs(reading.error_points or 0.0) <= ROUGH_POINTS:
        right = f"{percent(measurement.spo2_percent)} shown, which is about right"
        return (f"{right}; {signs}." if signs else f"{right}.") + _next_ones(reading)
    return (
        f"{percent(measurement.spo2_percent)} shown while the blood carries "
        f"{percent(reading.carried_percent)}; {signs or 'nothing on the display gives it away'}."
    ) + _next_ones(reading)


def _next_ones(reading: Reading) -> str:
    """Say how far readings like it lie apart, where the signal is not steady."""
    if reading.measurement.quality >= STEADY_QUALITY:
        return ""
    shown = np.array([shown_percent(reading.scenario, seed) for seed in range(MORE_READINGS)])
    if np.isnan(shown).all():
        return ""
    withheld = int(np.isnan(shown).sum())
    none = f"; {withheld} give no number" if withheld else ""
    return (
        f" Of {MORE_READINGS} such readings the lowest is {rounded(np.nanmin(shown))}, the "
        f"highest {percent(np.nanmax(shown))}{none}."
    )


def signs_shown(reading: Reading) -> tuple[str, ...]:
    """What the display itself shows that is out of the ordinary, in words; empty for nothing."""
    return tuple(_signs(reading))


def _signs(reading: Reading) -> Iterator[str]:
    measurement, rate = reading.measurement, reading.scenario.heart_rate_bpm
    perfusion = measurement.perfusion_index_percent
    if perfusion is not None and perfusion < FAINT_PERCENT:
        yield f"a weak pulse, {figure(perfusion)} % of the light"
    if measurement.quality < POOR_QUALITY:
        yield f"an uneven signal, quality {round(100 * measurement.quality)} %"
    if measurement.heart_rate_bpm and abs(measurement.heart_rate_bpm - rate) > RATE_OFF_BPM:
        yield f"a pulse of {rounded(measurement.heart_rate_bpm)} instead of {rounded(rate)}"
    if measurement.extrapolated:
        yield "a number below 70 %"


def doubt_row(situation: Situation) -> tuple[str, str, str, str]:
    """Situation, what is seen, likely cause, what people usually do.

    What is seen is read by the engine from an otherwise healthy person at 97 %.
    """
    seen = sight(read(situation.applied_to(Scenario())))
    return situation.name, seen, situation.cause, situation.usual_response


def standing(scenario: Scenario, latest: Situation | None = None) -> str:
    """Say which situations a scenario holds, and what else in it is not as usual.

    Args:
        scenario: The scenario as it stands now.
        latest: The situation that was put on last, if it is known and still holds.
    """
    if scenario == Scenario():
        return "Everything is as usual."
    held = [each for each in SITUATIONS if each.holds_in(scenario)]
    below = [each.name for each in held if each is not latest]
    rest = _changed_besides(held, scenario)
    if latest is None:
        named = f"Set now: {' and '.join(below)}." if below else ""
    elif below:
        named = f"{latest.name}, on top of: {' and '.join(below)}."
    else:
        named = f"{latest.name}, on top of what was set." if rest else f"{latest.name}, alone."
    changed = f"{'Changed besides' if held else 'Changed'}: {', '.join(rest)}." if rest else ""
    return " ".join(filter(None, (named, changed)))


def _changed_besides(held: list[Situation], scenario: Scenario) -> list[str]:
    """Fields that are not as usual and that none of the situations held accounts for."""
    told = {name for each in held for name in each.changes}
    changed = scenario.changes()
    return [_setting(name, changed[name]) for name in SPECS if name in changed.keys() - told]


def _setting(name: str, value: object) -> str:
    """Write a field's label and value as its control shows them."""
    spec = SPECS[name]
    if isinstance(spec, Choice):
        return f"{spec.label} {value}"
    number = float(str(value)) * (100.0 if spec.fraction else 1.0)
    unit = "%" if spec.fraction else spec.unit
    return f"{spec.label} {figure(number, 4)} {unit}".rstrip()
