"""A person at a height: from the air's pressure to the saturation to be expected."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from oximetry_workbook.body.quantities import check_fields, quantity
from oximetry_workbook.oxygen.altitude import (
    alveolar_po2_mmhg,
    barometric_pressure_mmhg,
    inspired_po2_mmhg,
)
from oximetry_workbook.oxygen.dissociation import saturation
from oximetry_workbook.teach.words import figure

FloatArray = NDArray[np.float64]

SHOWN_M = np.linspace(0.0, 8850.0, 178)
"""Heights of the curves on screen [m], to the top of the highest mountain."""

MEASURED_M = np.array([3350.0, 3365.0, 4250.0, 5200.0, 5200.0, 6500.0, 7000.0, 7500.0])
MEASURED_PERCENT = np.array([91.1, 92.9, 85.0, 78.4, 87.4, 72.7, 68.0, 60.5])
"""Mean saturations of healthy people at heights [m].

The first: 118 residents of Cusco, from arterial blood (Pereira-Victorio and others, Rev Peru Med
Exp Salud Publica 2014; 31:473, page from memory). The others: mountaineers, by pulse oximetry, the
second at 5200 m after a month there, that at 7500 m of four people (Botella de Maglia and others,
Med Intensiva 2008; 32:277, expedition to Gasherbrum II). Abstracts read.
"""

THIN_MMHG = 90.0
"""Alveolar oxygen pressure [mmHg] below which people who stay surely breathe more: in those who
are acclimatised it begins near 100 (Rahn and Otis, Am J Physiol 1949; 157:445)."""

ENOUGH_MMHG = 1.0
"""Less oxygen than this in the arteries [mmHg] means that nobody could live so."""


@dataclass(frozen=True)
class Ascent:
    """Someone at a height, and how they breathe.

    Attributes:
        altitude_m: Height above the sea [m].
        paco2_mmhg: Partial pressure of carbon dioxide in arterial blood [mmHg]; the less, the
            more they breathe. It is not predicted from the height.
        ph: pH of the plasma.
        difference_mmhg: Oxygen pressure in the lungs less that in the arteries [mmHg].
        oxygen_fraction: Share of oxygen in the gas breathed, FiO2, as a fraction.

    Raises:
        ValueError: The message names the field, what was given and what is allowed.
    """

    altitude_m: float = quantity(2500.0, 0.0, 8850.0, "m", "Altitude", 50.0)
    paco2_mmhg: float = quantity(40.0, 10.0, 80.0, "mmHg", "Carbon dioxide", 1.0)
    ph: float = quantity(7.4, 7.1, 7.7, "", "pH", 0.01)
    difference_mmhg: float = quantity(5.0, 0.0, 60.0, "mmHg", "Loss to artery", 1.0)
    oxygen_fraction: float = quantity(0.21, 0.21, 1.0, "", "Oxygen breathed", 0.01, fraction=True)

    def __post_init__(self) -> None:
        check_fields(self)

    @property
    def barometric_mmhg(self) -> float:
        """Air pressure of the standard atmosphere [mmHg]."""
        return barometric_pressure_mmhg(self.altitude_m)

    @property
    def inspired_mmhg(self) -> float:
        """Oxygen pressure in the windpipe [mmHg]."""
        return inspired_po2_mmhg(self.barometric_mmhg, self.oxygen_fraction)

    @property
    def alveolar_mmhg(self) -> float:
        """Oxygen pressure in the lungs [mmHg]."""
        return alveolar_po2_mmhg(self.barometric_mmhg, self.paco2_mmhg, self.oxygen_fraction)

    @property
    def arterial_mmhg(self) -> float:
        """Oxygen pressure in the arteries [mmHg]."""
        return max(self.alveolar_mmhg - self.difference_mmhg, 0.0)

    @property
    def saturation_percent(self) -> float:
        """Saturation of arterial blood to be expected [%]."""
        return float(self._saturation_percent(self.arterial_mmhg))

    @property
    def liveable(self) -> bool:
        """Whether any oxygen is left for the arteries when somebody breathes like this."""
        return self.arterial_mmhg >= ENOUGH_MMHG

    @property
    def pressure_curves_mmhg(self) -> FloatArray:
        """Inspired, alveolar and arterial oxygen pressure at `SHOWN_M` [mmHg]; shape (3, n)."""
        air = barometric_pressure_mmhg(SHOWN_M)
        alveolar = np.asarray(alveolar_po2_mmhg(air, self.paco2_mmhg, self.oxygen_fraction))
        arterial = np.maximum(alveolar - self.difference_mmhg, 0.0)
        return np.array([inspired_po2_mmhg(air, self.oxygen_fraction), alveolar, arterial])

    @property
    def curve_percent(self) -> FloatArray:
        """Saturation at `SHOWN_M` for someone who breathes like this [%]."""
        return self._saturation_percent(self.pressure_curves_mmhg[2])

    def _saturation_percent(self, po2_mmhg: ArrayLike) -> FloatArray:
        return 100.0 * np.asarray(saturation(po2_mmhg, ph=self.ph, pco2_mmhg=self.paco2_mmhg))


UNCHANGED = Ascent(altitude_m=0.0)
"""Someone who breathes air at any height as they would at sea level, to compare with."""


def main_sentence(ascent: Ascent) -> str:
    """Say what saturation to expect, and what breathing does to it."""
    where = f"At {figure(ascent.altitude_m, 4)} m" if ascent.altitude_m else "At sea level"
    if not ascent.liveable:
        return (
            f"{where} nobody could breathe like this and live: no oxygen would reach the arteries. "
            f"{_way_out(ascent)}"
        )
    return (
        f"{where} the air presses with {ascent.barometric_mmhg:.0f} mmHg, and saturation would "
        f"be about {ascent.saturation_percent:.0f} %. {_breathing(ascent)}"
    )


def _way_out(ascent: Ascent) -> str:
    if _lost_on_the_way(ascent):
        return "Less must be lost between lungs and arteries; breathing more cannot make up for it."
    words = "Carbon dioxide leaves too little room for oxygen in the lungs."
    return f"{words} Lower it, which means breathing more."


def _lost_on_the_way(ascent: Ascent) -> bool:
    """Whether healthy lungs would let some oxygen through, and these do not."""
    return ascent.alveolar_mmhg > USUAL_LOSS and not ascent.liveable


USUAL_LOSS = 20.0
"""Loss between lungs and arteries [mmHg] beyond which the lungs are ill (common practice)."""


def _breathing(ascent: Ascent) -> str:
    calm = Ascent(
        altitude_m=ascent.altitude_m,
        difference_mmhg=ascent.difference_mmhg,
        oxygen_fraction=ascent.oxygen_fraction,
    )
    if abs(ascent.paco2_mmhg - calm.paco2_mmhg) < 1.0:
        return _as_at_sea_level(ascent)
    if not calm.liveable:
        return "Without breathing more there would be no oxygen left at all."
    way = "more" if ascent.paco2_mmhg < calm.paco2_mmhg else "less"
    words = (
        f"They breathe {way} than with carbon dioxide at {calm.paco2_mmhg:.0f} mmHg, "
        f"where it would be {calm.saturation_percent:.0f} %."
    )
    hidden = way == "less" and ascent.oxygen_fraction > 0.21 and ascent.saturation_percent >= 95.0
    return f"{words} Extra oxygen hides it from the oximeter." if hidden else words


def _as_at_sea_level(ascent: Ascent) -> str:
    if ascent.alveolar_mmhg < THIN_MMHG:
        return (
            "That is breathing as at sea level. Who stays here breathes more: lower carbon dioxide."
        )
    return "That is breathing as at sea level."


def saturation_sentence(ascent: Ascent) -> str:
    """Say what the plot of saturation against altitude shows."""
    below = SHOWN_M[ascent.curve_percent < 90.0]
    if below.size == 0:
        words = "Whoever breathes like this stays above 90 % up to the highest top."
    elif below[0] == 0.0:
        words = "Whoever breathes like this is below 90 % even at the sea."
    else:
        words = f"Whoever breathes like this falls below 90 % near {figure(below[0])} m."
    return f"{words} Diamonds: means measured in healthy people, who breathe more as they climb."


def pressures_sentence(ascent: Ascent) -> str:
    """Say how oxygen pressure falls on its way from the air to the arteries."""
    if _lost_on_the_way(ascent):
        return (
            f"The windpipe has {ascent.inspired_mmhg:.0f} mmHg of oxygen, the lungs "
            f"{ascent.alveolar_mmhg:.0f}, and all of it is lost before the arteries."
        )
    if not ascent.liveable:
        return (
            f"The windpipe has {ascent.inspired_mmhg:.0f} mmHg of oxygen, and carbon dioxide at "
            f"{ascent.paco2_mmhg:.0f} mmHg leaves it too little room."
        )
    return (
        f"On the way in, oxygen pressure falls from {ascent.inspired_mmhg:.0f} mmHg in the "
        f"windpipe to {ascent.alveolar_mmhg:.0f} in the lungs and {ascent.arterial_mmhg:.0f} in "
        "the arteries. The first step is the room that carbon dioxide takes."
    )
