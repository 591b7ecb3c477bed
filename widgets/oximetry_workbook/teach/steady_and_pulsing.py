"""What stands still and what moves: layers of a finger, the light past them, and who speaks."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from oximetry_workbook.body.calibration import diffusion_calibration
from oximetry_workbook.body.probe import LAYERS, SMALL_PULSE, Probe, venous_saturation
from oximetry_workbook.body.pulse import BEAT_SHAPE, blood_volume
from oximetry_workbook.body.quantities import check_fields, choice, quantity
from oximetry_workbook.body.scenario import SPECS, Scenario, as_in_scenario
from oximetry_workbook.body.simulate import PulseOptics, pulse_optics
from oximetry_workbook.meter.curve import Curve
from oximetry_workbook.meter.display import clamped

FloatArray = NDArray[np.float64]

SHOWN_S = 5.0
TIME_S = np.arange(0.0, SHOWN_S + 0.005, 0.01)
"""Times on screen [s]."""

VENOUS_MOVEMENT = 0.5
"""Venous blood that moves, where it does, over the arterial blood of a beat: chosen to be seen,
not measured."""

MOVING_LAYERS = (*LAYERS, "venous blood, moving")
"""What takes the light, from the bottom of the stack to the top."""

SUBSTANCES = ("tissue", "pigment", "venous blood", "arterial blood")
"""What takes the light, still or moving."""

STILL, MOVES, TAKEN_OUT = "stands still", "moves too", "taken out"
BEATS = "pulses"

_GRID = np.linspace(0.0, 1.0, 17)
_ABSORBANCE = 1.0 / math.log(10.0)


class VeinlessProbe(Probe):
    """A probe on the same tissue, with all venous and capillary blood taken out."""

    @property
    def resting_venous_fraction(self) -> float:
        """Venous and capillary blood, share of tissue volume: none."""
        return 0.0


@dataclass(frozen=True)
class SteadyAndPulsing:
    """A quiet place on the body, and what in it moves.

    Beats come evenly; noise, breathing and unevenness are left out. The blood of a beat is that
    which gives the perfusion index with all layers in place; it stays the same when venous
    blood is taken out or moves.

    Attributes:
        magnification: How many times the moving part is enlarged.
        arterial_blood: Whether arterial blood pulses.
        venous_blood: Whether venous blood stands still, moves in step with the pulse, or is
            taken out.

    The other fields are those of a `Scenario`.

    Raises:
        ValueError: The message names the field, what was given and what is allowed.
    """

    magnification: float = quantity(1.0, 1.0, 200.0, "×", "Magnification", 0.01, logarithmic=True)
    arterial_blood: str = choice("Arterial blood", BEATS, STILL)
    venous_blood: str = choice("Venous blood", STILL, MOVES, TAKEN_OUT)
    arterial_saturation: float = as_in_scenario("arterial_saturation")
    perfusion_index_percent: float = as_in_scenario("perfusion_index_percent")
    heart_rate_bpm: float = as_in_scenario("heart_rate_bpm")
    blood_volume_scale: float = as_in_scenario("blood_volume_scale")
    thickness_scale: float = as_in_scenario("thickness_scale")
    melanin_fraction: float = as_in_scenario("melanin_fraction")
    site: str = as_in_scenario("site")

    def __post_init__(self) -> None:
        check_fields(self)

    @cached_property
    def scenario(self) -> Scenario:
        """The situation with all its layers in place and arterial blood pulsing."""
        return Scenario(**{name: getattr(self, name) for name in _SHARED})

    @property
    def venous_percent(self) -> float:
        """Saturation of the venous blood [%]."""
        return 100.0 * venous_saturation(self.arterial_saturation)

    @cached_property
    def probe(self) -> Probe:
        """The probe on the layers that are there."""
        kind = VeinlessProbe if self.venous_blood == TAKEN_OUT else Probe
        return kind(self.scenario)

    @cached_property
    def beat_volume(self) -> float:
        """Arterial blood that a beat adds, share of tissue volume."""
        return _beat_volume(self.scenario, pulse_optics(self.scenario))

    @property
    def moving_volumes(self) -> tuple[float, float]:
        """Arterial and venous blood that come and go, share of tissue volume."""
        arterial = self.beat_volume if self.arterial_blood == BEATS else 0.0
        venous = VENOUS_MOVEMENT * self.beat_volume if self.venous_blood == MOVES else 0.0
        return arterial, venous

    @cached_property
    def _losses(self) -> FloatArray:
        """Natural-log loss at the top of the pulse: arterial, then venous blood on top; (2, 2)."""
        arterial, venous = self.moving_volumes
        losses = self.probe.added_loss(
            np.array([0.0, arterial, arterial]), np.array([0.0, 0.0, venous])
        )
        return np.asarray(np.diff(losses).T)

    @cached_property
    def layers(self) -> FloatArray:
        """Absorbance by layer and colour, see `MOVING_LAYERS`; shape (6, 2)."""
        arterial, venous = self._losses
        return np.vstack([self.probe.absorbance_layers(arterial), _ABSORBANCE * venous])

    @cached_property
    def shares_percent(self) -> FloatArray:
        """Absorbance by substance over that of all that is lost, and of all that moves [%].

        Shape (2, 4, 2): of everything and of what moves, `SUBSTANCES`, red and infrared. Where
        nothing moves, the second half is 0.
        """
        tissue, pigment, venous, arterial, pulsing, moving = self.layers
        everything = np.array([tissue, pigment, venous + moving, arterial + pulsing])
        in_motion = np.array([0.0 * tissue, 0.0 * pigment, moving, pulsing])
        parts = np.array([everything, in_motion])
        total = parts.sum(axis=1, keepdims=True)
        return np.asarray(100.0 * parts / np.where(total > 0.0, total, 1.0))

    @cached_property
    def _light_over_beat(self) -> FloatArray:
        """Light over that between beats, at volumes `_GRID` of a beat; shape (2, 17)."""
        arterial, venous = self.moving_volumes
        return np.exp(-self.probe.added_loss(arterial * _GRID, venous * _GRID))

    def _light_at(self, volume: FloatArray) -> FloatArray:
        return np.array([np.interp(volume, _GRID, light) for light in self._light_over_beat])

    @cached_property
    def light_percent(self) -> FloatArray:
        """Red and infrared light at `TIME_S` over the light between beats [%]; shape (2, n)."""
        return 100.0 * self._light_at(blood_volume(TIME_S * self.heart_rate_bpm / 60.0))

    @cached_property
    def swing_percent(self) -> FloatArray:
        """Red and infrared peak-to-trough over mean [%]; shape (2,)."""
        fall = 1.0 - self._light_over_beat[:, -1]
        return np.asarray(100.0 * fall / self._light_at(BEAT_SHAPE).mean(axis=1))

    @property
    def ratio(self) -> float | None:
        """Red swing over infrared swing; None when nothing moves."""
        red, infrared = self.swing_percent
        return float(red / infrared) if infrared > 0.0 else None

    @property
    def read_percent(self) -> float | None:
        """Saturation [%] that the probe's own curve gives for what moves; None for nothing."""
        if self.ratio is None:
            return None
        table = diffusion_calibration(self.site)
        return clamped(Curve.table("probe", *table, "diffusion_calibration")(self.ratio))

    @property
    def lowest_shown_percent(self) -> float:
        """Foot of the magnified axis of light, whose head is at 100 [%]."""
        return 100.0 - 100.0 / self.magnification


_SHARED = [name for name in SteadyAndPulsing.__dataclass_fields__ if name in SPECS]


def _beat_volume(scenario: Scenario, optics: PulseOptics) -> float:
    # the same slope twice: of the loss over a beat, and over the tissue's volume
    small = Probe(scenario).added_loss(np.array([SMALL_PULSE]), np.zeros(1))[1, 0] / SMALL_PULSE
    return float(optics.arterial[0, 1] / small)
