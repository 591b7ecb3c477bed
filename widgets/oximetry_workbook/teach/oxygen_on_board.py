"""What arterial blood carries, beside what an oximeter tells of it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from oximetry_workbook.body.calibration import diffusion_calibration, small_pulse_ratio
from oximetry_workbook.body.quantities import check_fields, quantity
from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.meter.display import rounded
from oximetry_workbook.oxygen.carbon_monoxide import po2_beside_co_mmhg, saturation_beside_co
from oximetry_workbook.oxygen.content import (
    SOLUBILITY_ML_PER_DL_MMHG,
    oxygen_content_ml_per_dl,
    oxygen_delivery_ml_per_min,
)
from oximetry_workbook.teach.words import figure, percent

FloatArray = NDArray[np.float64]

SHOWN_MMHG = np.linspace(0.0, 150.0, 151)
"""Oxygen pressures of the curves on screen [mmHg]."""

DISSOLVED_CURVE_ML_PER_DL = SOLUBILITY_ML_PER_DL_MMHG * SHOWN_MMHG
"""Oxygen dissolved in any blood at those pressures [mL/dL]."""

SHOULDER = 0.9
"""Saturation at which the plateau turns into the slope."""

FALL_MMHG = 10.0
"""A fall of oxygen pressure that a patient might suffer [mmHg], to compare slopes with."""

SAME_SHIFT = 0.02
"""A P50 this near to the standard one, in parts of it, counts as not shifted."""

LOWEST_CHECKED_PERCENT = 70.0
"""Volunteers' data end here (FDA guidance of 4 March 2013): below it no number is checked."""


@dataclass(frozen=True)
class OxygenOnBoard:
    """Arterial blood of one person.

    Attributes:
        po2_mmhg: Partial pressure of oxygen [mmHg].
        ph: pH of the plasma.
        paco2_mmhg: Partial pressure of carbon dioxide [mmHg]; its own small effect on the curve,
            beside that of pH.
        temperature_c: Temperature of the blood [°C].
        dpg_mmol_per_l: 2,3-diphosphoglycerate in the red cells [mmol/L].
        haemoglobin_g_per_l: All haemoglobin [g/L].
        carboxyhaemoglobin: Share of haemoglobin taken by carbon monoxide, as a fraction.
        cardiac_output_l_per_min: Blood that the heart pumps [L/min].

    Raises:
        ValueError: The message names the field, what was given and what is allowed.
    """

    po2_mmhg: float = quantity(95.0, 10.0, 150.0, "mmHg", "Oxygen, PO₂", 1.0)
    haemoglobin_g_per_l: float = quantity(150.0, 40.0, 220.0, "g/L", "Haemoglobin", 1.0)
    carboxyhaemoglobin: float = quantity(
        0.0, 0.0, 0.5, "", "Haemoglobin with CO", 0.01, fraction=True
    )
    cardiac_output_l_per_min: float = quantity(5.0, 1.0, 20.0, "L/min", "Cardiac output", 0.1)
    ph: float = quantity(7.4, 6.9, 7.7, "", "pH", 0.01)
    paco2_mmhg: float = quantity(40.0, 10.0, 120.0, "mmHg", "Carbon dioxide", 1.0)
    temperature_c: float = quantity(37.0, 28.0, 41.0, "°C", "Temperature", 0.1)
    dpg_mmol_per_l: float = quantity(5.0, 1.0, 9.0, "mmol/L", "2,3-DPG", 0.1)

    def __post_init__(self) -> None:
        check_fields(self)

    @cached_property
    def saturation(self) -> float:
        """Functional saturation, HbO2 / (HbO2 + HHb), as a fraction."""
        return self.saturation_at(self.po2_mmhg)

    def saturation_at(self, po2_mmhg: float) -> float:
        """Functional saturation of this blood at another oxygen pressure [mmHg]."""
        return float(saturation_beside_co(po2_mmhg, self.carboxyhaemoglobin, *self._place))

    @property
    def carrying_percent(self) -> float:
        """Share of all haemoglobin that carries oxygen [%], fractional saturation."""
        return 100.0 * (1.0 - self.carboxyhaemoglobin) * self.saturation

    @cached_property
    def curve_percent(self) -> FloatArray:
        """Functional saturation at `SHOWN_MMHG` [%]."""
        curve = saturation_beside_co(SHOWN_MMHG, self.carboxyhaemoglobin, *self._place)
        return 100.0 * np.asarray(curve)

    @property
    def p50_mmhg(self) -> float:
        """Oxygen pressure at which half of the haemoglobin left by CO is saturated [mmHg]."""
        return self.pressure_for(0.5)

    @property
    def shoulder_mmhg(self) -> float:
        """Oxygen pressure at which this blood is 90 % saturated [mmHg]."""
        return self.pressure_for(SHOULDER)

    def pressure_for(self, saturation: float) -> float:
        """Oxygen pressure at which this blood has a functional saturation [mmHg]."""
        return float(po2_beside_co_mmhg(saturation, self.carboxyhaemoglobin, *self._place))

    @cached_property
    def fall_points(self) -> float:
        """Saturation that 10 mmHg less oxygen would cost [percentage points]."""
        return 100.0 * (self.saturation - self.saturation_at(self.po2_mmhg - FALL_MMHG))

    @cached_property
    def content_ml_per_dl(self) -> float:
        """Oxygen in the blood, bound and dissolved [mL/dL]."""
        return self.content_at(self.po2_mmhg)

    def content_at(self, po2_mmhg: float) -> float:
        """Oxygen that this blood would hold at another oxygen pressure [mmHg], in mL/dL."""
        return oxygen_content_ml_per_dl(
            self.saturation_at(po2_mmhg),
            po2_mmhg,
            self.haemoglobin_g_per_l,
            self.carboxyhaemoglobin,
        )

    @property
    def dissolved_ml_per_dl(self) -> float:
        """The dissolved part of the content [mL/dL]."""
        return SOLUBILITY_ML_PER_DL_MMHG * self.po2_mmhg

    @property
    def content_curve_ml_per_dl(self) -> FloatArray:
        """Content at `SHOWN_MMHG` [mL/dL]."""
        content = oxygen_content_ml_per_dl(
            self.curve_percent / 100.0,
            SHOWN_MMHG,
            self.haemoglobin_g_per_l,
            self.carboxyhaemoglobin,
        )
        return np.asarray(content)

    @property
    def delivery_ml_per_min(self) -> float:
        """Oxygen that the heart sends to the body [mL/min]."""
        return oxygen_delivery_ml_per_min(self.content_ml_per_dl, self.cardiac_output_l_per_min)

    @cached_property
    def oximeter_percent(self) -> float:
        """What a two-colour meter on a finger would show of this blood, without noise [%].

        The pulse's ratio R by photon diffusion, looked up on the curve of the probe model.
        """
        scenario = Scenario(
            haemoglobin_g_per_l=self.haemoglobin_g_per_l,
            carboxyhaemoglobin=self.carboxyhaemoglobin,
        )
        ratio, shown_percent = diffusion_calibration(scenario.site)
        return float(np.interp(small_pulse_ratio(scenario, self.saturation), ratio, shown_percent))

    @property
    def _place(self) -> tuple[float, float, float, float]:
        """What moves the curve to the right or left."""
        return self.ph, self.temperature_c, self.paco2_mmhg, self.dpg_mmol_per_l


STANDARD = OxygenOnBoard()
"""Blood of a healthy adult at sea level, to compare with."""


def main_sentence(blood: OxygenOnBoard) -> str:
    """Say what an oximeter shows of this blood, and what it keeps silent about."""
    content, usual = blood.content_ml_per_dl, STANDARD.content_ml_per_dl
    return (
        f"{_oximeter(blood)} The number is saturation only. Each decilitre carries "
        f"{content:.1f} mL of oxygen, {_beside(content, usual)}, and the heart sends "
        f"{figure(blood.delivery_ml_per_min, 3)} mL a minute."
    )


def _oximeter(blood: OxygenOnBoard) -> str:
    shown = blood.oximeter_percent
    if rounded(shown) < LOWEST_CHECKED_PERCENT:
        words = "An oximeter would show a number below 70 %, where no meter is validated."
    else:
        words = f"An oximeter would show about {percent(shown)}."
    if blood.carboxyhaemoglobin < 0.005:
        return words
    return (
        f"{words} It hardly tells carbon monoxide from oxygen: of all haemoglobin only "
        f"{percent(blood.carrying_percent)} carries oxygen (fractional saturation), though of what "
        f"can still carry it {100.0 * blood.saturation:.1f} % does (functional, as plotted)."
    )


def _beside(content: float, usual: float) -> str:
    share = 100.0 * content / usual
    if abs(share - 100.0) < 1.0:
        return "as much as standard blood"
    return f"{share:.0f} % of what standard blood does"


def dissociation_sentence(blood: OxygenOnBoard) -> str:
    """Say where on the dissociation curve this blood is, and where the curve lies."""
    place = "On the plateau" if blood.saturation >= SHOULDER else "On the slope"
    return (
        f"{place}: at {figure(blood.po2_mmhg, 3)} mmHg saturation is "
        f"{100.0 * blood.saturation:.1f} %, and {FALL_MMHG:.0f} mmHg less would cost "
        f"{blood.fall_points:.1f} points. {_shift(blood.p50_mmhg)}"
    )


def _shift(p50_mmhg: float) -> str:
    standard = STANDARD.p50_mmhg
    half = f"Half is reached at {p50_mmhg:.1f} mmHg"
    if abs(p50_mmhg / standard - 1.0) <= SAME_SHIFT:
        return f"{half}, as in standard blood."
    if p50_mmhg > standard:
        return f"{half}, not {standard:.1f}: shifted to the right, it lets go of oxygen sooner."
    return f"{half}, not {standard:.1f}: shifted to the left, it holds oxygen tighter."


def content_sentence(blood: OxygenOnBoard) -> str:
    """Say what the content is made of, and what healthy blood would hold at this pressure."""
    usual = STANDARD.content_at(blood.po2_mmhg)
    return (
        f"Of {blood.content_ml_per_dl:.1f} mL in a decilitre, {blood.dissolved_ml_per_dl:.2f} mL "
        f"are dissolved; haemoglobin holds the rest. Standard blood would hold {usual:.1f} mL at "
        "the same oxygen pressure."
    )
