"""Two lights through one finger, divided twice: what cancels at each step, and what is left."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from oximetry_workbook.body.calibration import diffusion_calibration
from oximetry_workbook.body.pulse import BEAT_SHAPE, blood_volume
from oximetry_workbook.body.quantities import check_fields, quantity
from oximetry_workbook.body.scenario import Scenario, as_in_scenario
from oximetry_workbook.body.simulate import PulseOptics, pulse_optics
from oximetry_workbook.meter.curve import VALIDATED_PERCENT
from oximetry_workbook.teach.words import figure, percent

FloatArray = NDArray[np.float64]

SAME = 0.005
"""A change by less than this share is called none: half a percent."""

SAME_WORDS = "as before"

SHOWN_BEATS = 4
SAMPLES_PER_BEAT = 64
BEAT_S = 0.8
"""A steady 75 beats per minute, so that each beat is sampled at the same places."""

TIME_S = np.arange(SHOWN_BEATS * SAMPLES_PER_BEAT + 1) * (BEAT_S / SAMPLES_PER_BEAT)
"""Times of the light on screen [s]; shape (257,)."""


def _brightness(label: str) -> Any:
    return quantity(1.0, 0.1, 10.0, "×", label, 0.02, logarithmic=True)


@dataclass(frozen=True)
class TwoLights:
    """A finger with a red and an infrared LED of any brightness, and a pulse without noise.

    Light is in parts of what an LED of brightness 1 would bring to the detector with nothing
    between them. Every pair has red first and infrared second.

    Attributes:
        arterial_saturation: Functional SaO2, as a fraction.
        red_brightness: Power of the red LED, relative.
        infrared_brightness: Power of the infrared LED, relative.
        perfusion_index_percent: Infrared peak-to-trough over mean [%].
        thickness_scale: Thickness of the finger, relative.
        melanin_fraction: Volume fraction of melanosomes in the epidermis.
        haemoglobin_g_per_l: Haemoglobin concentration of whole blood [g/L].

    Raises:
        ValueError: The message names the field, what was given and what is allowed.
    """

    arterial_saturation: float = as_in_scenario("arterial_saturation")
    red_brightness: float = _brightness("Red LED brightness")
    infrared_brightness: float = _brightness("Infrared LED brightness")
    perfusion_index_percent: float = as_in_scenario("perfusion_index_percent")
    thickness_scale: float = as_in_scenario("thickness_scale")
    melanin_fraction: float = as_in_scenario("melanin_fraction")
    haemoglobin_g_per_l: float = as_in_scenario("haemoglobin_g_per_l")

    def __post_init__(self) -> None:
        check_fields(self)

    @cached_property
    def _optics(self) -> PulseOptics:
        return pulse_optics(
            Scenario(
                arterial_saturation=self.arterial_saturation,
                perfusion_index_percent=self.perfusion_index_percent,
                thickness_scale=self.thickness_scale,
                melanin_fraction=self.melanin_fraction,
                haemoglobin_g_per_l=self.haemoglobin_g_per_l,
            )
        )

    def light(self, volume: FloatArray) -> FloatArray:
        """Light at the detector for extra arterial blood, 0 to 1 of a beat's; (n,) to (2, n)."""
        linear, quadratic = self._optics.arterial[:, :, None]
        brightness = np.array([self.red_brightness, self.infrared_brightness])
        rest = brightness * np.exp(self._optics.log_light)
        return np.asarray(rest[:, None] * np.exp(-(linear + quadratic * volume) * volume))

    @cached_property
    def shown_light(self) -> FloatArray:
        """Light at the detector at `TIME_S`; shape (2, 257)."""
        return self.light(blood_volume(TIME_S / BEAT_S))

    @cached_property
    def shown_change_percent(self) -> FloatArray:
        """The same about the mean [% of the mean]; shape (2, 257)."""
        return np.asarray(100.0 * (self.shown_light / self.steady[:, None] - 1.0))

    @cached_property
    def steady(self) -> FloatArray:
        """DC, the mean light over a beat; shape (2,)."""
        return np.asarray(self.light(BEAT_SHAPE).mean(axis=1))

    @cached_property
    def pulsing(self) -> FloatArray:
        """AC, the light from peak to trough of a beat; shape (2,)."""
        return np.asarray(-np.diff(self.light(np.array([0.0, 1.0])))[:, 0])

    @property
    def modulation_percent(self) -> FloatArray:
        """The first ratio, AC over DC [%]; shape (2,)."""
        return np.asarray(100.0 * self.pulsing / self.steady)

    @property
    def ratio(self) -> float:
        """The second ratio, R: AC over DC of red, over AC over DC of infrared."""
        red, infrared = self.modulation_percent
        return float(red / infrared)

    @property
    def curve_percent(self) -> float:
        """What the probe's own calibration curve makes of R [%]."""
        ratio, saturation = diffusion_calibration("finger")
        return float(np.interp(self.ratio, ratio, saturation))

    @property
    def numbers(self) -> FloatArray:
        """DC, AC, AC over DC [%] in this order, red and infrared; shape (3, 2)."""
        return np.array([self.steady, self.pulsing, self.modulation_percent])


START = TwoLights()
"""Where the panel starts, and what its changes are told against."""


def is_same(factor: float) -> bool:
    """Whether a number that has become `factor` times itself counts as unchanged."""
    return abs(factor - 1.0) < SAME


def change_words(factor: float) -> str:
    """Write what has become of a number that is `factor` times itself, such as "× 10"."""
    if is_same(factor):
        return SAME_WORDS
    return f"÷ {figure(1.0 / factor, 3)}" if factor < 0.5 else f"× {figure(factor, 3)}"


def digits(value: float) -> str:
    """Write three digits, keeping zeros at the end where a number has a point before them."""
    return f"{value:.2f}" if 1.0 <= value < 9.995 else figure(value, 3)


def steps_sentence(state: TwoLights, start: TwoLights = START) -> str:
    """Say at which division the change since the start dropped out, or that it came through."""
    if state == start:
        return "This is the start. Change one thing, and see at which step it drops out."
    steady, pulsing, modulation = state.numbers / start.numbers
    if not is_same(state.ratio / start.ratio):
        return _ratio_moved(state, start)
    if state.arterial_saturation != start.arterial_saturation:
        return (
            "Saturation is not what it was, yet R is: the change is too small to see, or "
            "something else hides it."
        )
    if not all(map(is_same, modulation)):
        return (
            "AC over DC has changed in both colours alike; R has not. The second division "
            "takes out how far the artery swells."
        )
    if not all(map(is_same, (*steady, *pulsing))):
        return "The light has changed; AC over DC has not. The first division takes it out."
    return "What has changed is too little to see in any of these numbers."


def _ratio_moved(state: TwoLights, start: TwoLights) -> str:
    moved = f"R was {start.ratio:.3f} and is {state.ratio:.3f}."
    if state.arterial_saturation == start.arterial_saturation:
        return (
            f"{moved} Saturation is what it was: this is what both divisions leave over, and a "
            "fixed curve takes it for oxygen."
        )
    alone = replace(start, arterial_saturation=state.arterial_saturation).ratio
    if is_same(state.ratio / alone):
        return f"{moved} Saturation came through both divisions, and nothing else did."
    return (
        f"{moved} Saturation alone would make it {alone:.3f}; the rest is what both divisions "
        "leave over."
    )


def light_sentence(state: TwoLights) -> str:
    """Say what the plot of the light at the detector shows."""
    red, infrared = 1000.0 * state.steady
    red_part, infrared_part = state.modulation_percent
    return (
        f"Red brings {digits(red)} thousandths to the detector, infrared {digits(infrared)}. "
        f"Of that, {figure(red_part)} and {figure(infrared_part)} % move with the heart."
    )


def divided_sentence(state: TwoLights) -> str:
    """Say what the plot of the light over its mean shows."""
    red, infrared = state.modulation_percent
    return (
        f"From peak to trough red moves by {digits(red)} % and infrared by {digits(infrared)} % "
        "of the mean, however bright the LEDs."
    )


def slope_sentence(state: TwoLights) -> str:
    """Say what the plot of red against infrared shows."""
    true = 100.0 * state.arterial_saturation
    sentence = (
        f"The slope is R = {state.ratio:.3f}: red moves {state.ratio:.3f} % for each 1 % of "
        f"infrared. The probe’s curve reads {percent(state.curve_percent)}; the blood carries "
        f"{percent(true)}."
    )
    if min(true, state.curve_percent) < VALIDATED_PERCENT[0]:
        sentence += f" Below {VALIDATED_PERCENT[0]:.0f} % any curve is a guess."
    return sentence


def worked_number(state: TwoLights) -> str:
    """Write out both divisions in two lines, light in thousandths."""
    steady, pulsing = 1000.0 * state.steady, 1000.0 * state.pulsing
    first = [
        f"{name} {figure(ac, 3)} / {figure(dc, 3)} = {part:.2f} %"
        for name, ac, dc, part in zip(
            ("red", "infrared"), pulsing, steady, state.modulation_percent, strict=True
        )
    ]
    red, infrared = state.modulation_percent
    return f"AC / DC: {'; '.join(first)}\nR = {red:.2f} / {infrared:.2f} = {state.ratio:.2f}"
