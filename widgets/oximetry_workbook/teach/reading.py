"""One situation taken through the whole chain: what a panel draws and a sentence tells."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from oximetry_workbook.body.calibration import beer_lambert_calibration
from oximetry_workbook.body.probe import Probe
from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.body.simulate import pulse_optics, simulate
from oximetry_workbook.meter.curve import Curve, published_curves
from oximetry_workbook.meter.measure import Measurement, measure
from oximetry_workbook.meter.recording import Recording

FloatArray = NDArray[np.float64]

PROBE_CURVE = "this probe’s own"
"""Name of the choice to use the calibration that belongs to the probe."""

CURVE_NAMES = (PROBE_CURVE, *published_curves)
"""The calibration curves a meter can be given, by name."""

CAUTION = "For teaching only. Not for diagnosis or patient care."


@dataclass(frozen=True, eq=False)
class Reading:
    """A scenario, the recording it makes, what the meter reads, and what lies between.

    Attributes:
        scenario: The situation.
        recording: What the probe brings home.
        measurement: What the meter makes of it.
    """

    scenario: Scenario
    recording: Recording
    measurement: Measurement

    @property
    def carried_percent(self) -> float:
        """Share of all haemoglobin that carries oxygen, fractional oxyhaemoglobin [%].

        Without COHb and MetHb this is the arterial saturation. With them it is less, and it is
        what a learner means by “how much oxygen is there”.
        """
        scenario = self.scenario
        able = 1.0 - scenario.carboxyhaemoglobin - scenario.methaemoglobin
        return 100.0 * scenario.arterial_saturation * able

    @property
    def error_points(self) -> float | None:
        """Saturation shown less `carried_percent` [percentage points]; None when withheld."""
        shown = self.measurement.spo2_percent
        return None if shown is None else shown - self.carried_percent

    @cached_property
    def absorbance_layers(self) -> FloatArray:
        """Absorbance by layer and colour, the pulse on top; shape (5, 2), see `probe.LAYERS`."""
        return Probe(self.scenario).absorbance_layers(pulse_optics(self.scenario).depth)

    @cached_property
    def path_length_cm(self) -> FloatArray:
        """Mean path of red and infrared light through the tissue [cm]; shape (2,)."""
        return Probe(self.scenario).path_length_cm()

    @cached_property
    def light_change_percent(self) -> FloatArray:
        """Red and infrared light about their means [% of the mean]; shape (2, n)."""
        light = np.array([self.recording.red, self.recording.infrared])
        mean = light.mean(axis=1, keepdims=True)
        return np.asarray(100.0 * (light / mean - 1.0))

    @cached_property
    def beat_times_s(self) -> FloatArray:
        """Times of the systolic peaks that the meter found [s]; shape (beats,)."""
        return self.measurement.beats["time_s"].to_numpy(dtype=np.float64)


def read(scenario: Scenario, curve: str | Curve = PROBE_CURVE, seed: int = 0) -> Reading:
    """Simulate ten seconds of a scenario and read them with a calibration curve.

    Args:
        scenario: The situation.
        curve: One of `CURVE_NAMES`, or a curve of one's own.
        seed: Seed of the recording.

    Raises:
        ValueError: For a curve name that is not among them, or a seed that is none.
    """
    recording = simulate(scenario, seed=seed)
    return Reading(scenario, recording, measure(recording, curve_of(curve)))


def curve_of(chosen: str | Curve) -> Curve | None:
    """Return the curve of a choice: itself, or as `curve_named`.

    Raises:
        ValueError: For a name that is not among `CURVE_NAMES`.
    """
    return chosen if isinstance(chosen, Curve) else curve_named(chosen)


def curve_named(name: str) -> Curve | None:
    """Return the published curve of that name, or None for the probe's own calibration.

    Raises:
        ValueError: For a name that is not among `CURVE_NAMES`.
    """
    if name not in CURVE_NAMES:
        raise ValueError(f"curve is {name!r}; choose one of {', '.join(CURVE_NAMES)}")
    return None if name == PROBE_CURVE else published_curves[name]


def beer_lambert_curve(scenario: Scenario) -> Curve:
    """The curve that plain Beer-Lambert would give for the scenario's LEDs and spectra."""
    ratio, percent = beer_lambert_calibration(
        scenario.red_peak_nm, scenario.infrared_peak_nm, scenario.extinction_table
    )
    return Curve.table(
        ratio=ratio,
        percent=percent,
        name="Beer–Lambert alone",
        source="Extinction of blood at two wavelengths, both colours on the same straight path",
    )


def recording_csv(reading: Reading) -> str:
    """Write the recording as CSV text, with the scenario and the caution in comment lines."""
    text = reading.recording.to_csv(
        comments=(
            "Simulated two-wavelength recording, made with the Oximetry Workbook",
            CAUTION,
            "time_s: seconds; red, infrared: light on the converter's scale of 0 to 1;",
            "reference_percent: true arterial saturation",
            f"scenario: {reading.scenario.to_json()}",
        )
    )
    assert text is not None  # no path was given
    return text
