"""Light that is wrong: from the room, past the tissue, through varnish, or off its wavelength."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

from oximetry_workbook.body.blood import molar_extinction
from oximetry_workbook.body.light import INFRARED_PEAK_NM, RED_PEAK_NM, warm_peak_nm
from oximetry_workbook.body.probe import LONGEST_NM, led_weights
from oximetry_workbook.body.quantities import check_fields, quantity
from oximetry_workbook.body.scenario import SPECS, Scenario, as_in_scenario
from oximetry_workbook.body.sensor import bypass_share, room_light
from oximetry_workbook.body.simulate import pulse_optics, simulate
from oximetry_workbook.body.varnish import varnish_absorbance
from oximetry_workbook.meter.beats import HIGH_HZ, LOW_HZ
from oximetry_workbook.meter.measure import measure
from oximetry_workbook.teach.reading import Reading

FloatArray = NDArray[np.float64]

RECORDED_S = 10.0
"""How long the meter listens for one reading [s]."""

CLOSE_UP_S = 0.1
SHOWN_S = 4.0
"""Lengths of the two views of room light [s]."""

CLOSE_UP_TIME_S = np.linspace(0.0, CLOSE_UP_S, 401)

MAINS_HZ = np.round(np.arange(490, 611) / 10.0, 1)
"""Mains frequencies over which the folding rule is drawn [Hz]."""

TRUE_PERCENT = np.arange(100.0, 59.0, -5.0)
"""True saturations at which errors are found [%]."""

SPECTRUM_NM = np.arange(600.0, LONGEST_NM + 1.0, 2.0)
"""Wavelengths over which spectra are drawn [nm]."""


def folded_hz(frequency_hz: FloatArray | float, sampling_rate_hz: float) -> FloatArray | float:
    """Frequency at which a swing comes out when it is looked at so many times a second.

    The distance to the nearest whole multiple of the sampling rate; never above half of it.

    Args:
        frequency_hz: True frequency [Hz], a number or an array.
        sampling_rate_hz: Samples per second [Hz].

    Returns:
        Folded frequency [Hz], as `frequency_hz` came.

    Source: sampling theorem; Oppenheim and Schafer, Discrete-Time Signal Processing, chapter 4.
    """
    nearest = np.round(np.asarray(frequency_hz) / sampling_rate_hz) * sampling_rate_hz
    folded = np.abs(frequency_hz - nearest)
    return folded if np.ndim(folded) else float(folded)


@lru_cache(maxsize=8)
def error_line(scenario: Scenario) -> tuple[float | None, ...]:
    """Error of the reading at each of `TRUE_PERCENT`, simulated and measured.

    Args:
        scenario: The situation; its own saturation is not used.

    Returns:
        Reading less truth [percentage points]; None where the meter withholds a number.
    """
    return tuple(_error_at(scenario, float(true)) for true in TRUE_PERCENT)


def _error_at(scenario: Scenario, true_percent: float) -> float | None:
    recording = simulate(scenario.replace(arterial_saturation=true_percent / 100.0))
    read = measure(recording).spo2_percent
    return None if read is None else read - true_percent


@dataclass(frozen=True)
class _Situation:
    """What the three situations share: a scenario, and what a meter makes of it."""

    @cached_property
    def scenario(self) -> Scenario:
        """The situation as the simulator takes it; what is not a field stays ordinary."""
        fields = self.__dataclass_fields__
        return Scenario(**{name: getattr(self, name) for name in fields if name in SPECS})

    @cached_property
    def reading(self) -> Reading:
        """Ten seconds, simulated and measured."""
        recording = simulate(self.scenario, RECORDED_S, self._rate_hz)
        return Reading(self.scenario, recording, measure(recording))

    @property
    def _rate_hz(self) -> float:
        return 100.0

    @property
    def errors(self) -> tuple[float | None, ...]:
        """Errors over `TRUE_PERCENT` [percentage points], see `error_line`."""
        return error_line(self.scenario.replace(arterial_saturation=1.0))


@dataclass(frozen=True)
class RoomLight(_Situation):
    """A finger under a lamp, and how often the meter looks.

    Attributes:
        sampling_rate_hz: Samples of each colour per second [Hz].

    The other fields are those of a `Scenario`.

    Raises:
        ValueError: The message names the field, what was given and what is allowed.
    """

    ambient_light_percent: float = as_in_scenario("ambient_light_percent")
    mains_frequency_hz: float = as_in_scenario("mains_frequency_hz")
    sampling_rate_hz: float = quantity(100.0, 50.0, 250.0, "Hz", "Sampling rate", 1.0)
    arterial_saturation: float = as_in_scenario("arterial_saturation")
    perfusion_index_percent: float = as_in_scenario("perfusion_index_percent")

    def __post_init__(self) -> None:
        check_fields(self)

    @property
    def _rate_hz(self) -> float:
        return self.sampling_rate_hz

    @property
    def flicker_hz(self) -> float:
        """Lamps brighten twice in each cycle of the mains [Hz]."""
        return 2.0 * self.mains_frequency_hz

    @property
    def folded_hz(self) -> float:
        """Frequency at which the flicker comes out in the samples [Hz]."""
        return float(folded_hz(self.flicker_hz, self.sampling_rate_hz))

    @property
    def in_pulse_band(self) -> bool:
        """Whether the folded flicker lies where the meter looks for a pulse."""
        return LOW_HZ <= self.folded_hz <= HIGH_HZ

    @property
    def folding_rule_hz(self) -> FloatArray:
        """Folded frequency over `MAINS_HZ` [Hz]."""
        return np.asarray(folded_hz(2.0 * MAINS_HZ, self.sampling_rate_hz))

    @property
    def close_up_percent(self) -> FloatArray:
        """Room light at `CLOSE_UP_TIME_S`, over the steady infrared light [%]."""
        return 100.0 * room_light(CLOSE_UP_TIME_S, self.scenario)

    @property
    def samples(self) -> tuple[FloatArray, FloatArray]:
        """Times [s] at which the meter looks in the close-up, and the room light then [%]."""
        time_s = np.arange(0.0, CLOSE_UP_S + 1e-9, 1.0 / self.sampling_rate_hz)
        return time_s, 100.0 * room_light(time_s, self.scenario)

    @property
    def seen(self) -> tuple[FloatArray, FloatArray]:
        """Times [s], and red and infrared about their means [%], for `SHOWN_S`; (n,), (2, n)."""
        shown = self.reading.recording.time_s <= SHOWN_S
        return self.reading.recording.time_s[shown], self.reading.light_change_percent[:, shown]


@dataclass(frozen=True)
class PastTheTissue(_Situation):
    """A finger in a probe that lets light past, and varnish on its nail.

    The fields are those of a `Scenario`.

    Raises:
        ValueError: The message names the field, what was given and what is allowed.
    """

    bypass_percent: float = as_in_scenario("bypass_percent")
    varnish: str = as_in_scenario("varnish")
    varnish_coats: float = as_in_scenario("varnish_coats")
    arterial_saturation: float = as_in_scenario("arterial_saturation")
    perfusion_index_percent: float = as_in_scenario("perfusion_index_percent")

    def __post_init__(self) -> None:
        check_fields(self)

    @property
    def varnish_percent(self) -> FloatArray:
        """Light that the varnish lets through at `SPECTRUM_NM` [%]."""
        absorbance = varnish_absorbance(self.varnish, SPECTRUM_NM, self.varnish_coats)
        return np.asarray(100.0 * 10.0**-absorbance)

    @cached_property
    def led_percent(self) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Both LEDs before and behind the varnish.

        Returns:
            Wavelengths [nm], light before the varnish and behind it [% of the peak before]; each
            of shape (2, 31).
        """
        wavelength, weight = led_weights(RED_PEAK_NM, INFRARED_PEAK_NM)
        before = 100.0 * weight / weight.max(axis=1, keepdims=True)
        absorbance = varnish_absorbance(self.varnish, wavelength, self.varnish_coats)
        return wavelength, before, before * 10.0**-absorbance

    @cached_property
    def let_through_percent(self) -> FloatArray:
        """Share of each LED's light that passes the varnish and the finger, bare finger 100 [%]."""
        bare = pulse_optics(self.scenario.replace(varnish="none")).log_light
        return np.asarray(100.0 * np.exp(pulse_optics(self.scenario).log_light - bare))

    @cached_property
    def shares_percent(self) -> FloatArray:
        """Steady light at the detector: through the tissue and past it [%]; (2, 2), by colour."""
        past = bypass_share(self.bypass_percent, pulse_optics(self.scenario).log_light)
        return 100.0 * np.array([1.0 - past, past])


@dataclass(frozen=True)
class LedLight(_Situation):
    """LEDs that are not what the curve was made for.

    The fields are those of a `Scenario`.

    Raises:
        ValueError: The message names the field, what was given and what is allowed.
    """

    red_peak_nm: float = as_in_scenario("red_peak_nm")
    infrared_peak_nm: float = as_in_scenario("infrared_peak_nm")
    led_temperature_c: float = as_in_scenario("led_temperature_c")
    arterial_saturation: float = as_in_scenario("arterial_saturation")

    def __post_init__(self) -> None:
        check_fields(self)

    @cached_property
    def led_percent(self) -> tuple[FloatArray, FloatArray]:
        """Wavelengths [nm] and light of both LEDs [% of the peak]; each of shape (2, 31)."""
        wavelength, weight = led_weights(
            self.red_peak_nm, self.infrared_peak_nm, self.led_temperature_c
        )
        return wavelength, 100.0 * weight / weight.max(axis=1, keepdims=True)

    @property
    def peaks_nm(self) -> tuple[float, float]:
        """Where the peaks lie at this temperature, red and infrared [nm]."""
        red, infrared = (
            warm_peak_nm(peak, self.led_temperature_c)
            for peak in (self.red_peak_nm, self.infrared_peak_nm)
        )
        return red, infrared

    @property
    def moved_nm(self) -> tuple[float, float]:
        """How far the peaks lie from those of the curve, red and infrared [nm]."""
        red, infrared = self.peaks_nm
        return red - RED_PEAK_NM, infrared - INFRARED_PEAK_NM

    def with_only(self, name: str) -> LedLight:
        """Return the same light with one cause left and the others as the curve has them."""
        ordinary = LedLight(arterial_saturation=self.arterial_saturation)
        return replace(ordinary, **{name: getattr(self, name)})


def blood_extinction() -> tuple[FloatArray, FloatArray]:
    """Extinction of HbO2 and HHb at `SPECTRUM_NM` [cm⁻¹ per mol/L]; shape (n,) each."""
    with_oxygen, without = (
        np.asarray(molar_extinction(species, SPECTRUM_NM)) for species in ("HbO2", "HHb")
    )
    return with_oxygen, without
