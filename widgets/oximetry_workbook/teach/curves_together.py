"""Calibration curves from three origins on one plot: calculated, simulated, published."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from oximetry_workbook.body.calibration import CALIBRATION_SATURATION, small_pulse_ratios
from oximetry_workbook.body.quantities import check_fields, choice, quantity
from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.body.sites import SITES
from oximetry_workbook.meter.curve import Curve, published_curves
from oximetry_workbook.teach.reading import beer_lambert_curve

STRAIGHT = "Beer–Lambert alone"
"""Name of the curve of two colours on the same straight path."""


@dataclass(frozen=True)
class CurvesTogether:
    """One ratio R, looked up in every curve there is.

    Attributes:
        ratio: Ratio of ratios R.
        extinction_table: Whose haemoglobin spectra the calculated curves use.

    Raises:
        ValueError: The message names the field, what was given and what is allowed.
    """

    ratio: float = quantity(1.0, 0.4, 2.0, "", "Ratio R to look up", 0.01)
    extinction_table: str = choice("Haemoglobin spectra", "Prahl", "Zijlstra")

    def __post_init__(self) -> None:
        check_fields(self)

    @property
    def curves(self) -> Mapping[str, Curve]:
        """All curves by name: Beer-Lambert, the four sites by diffusion, the published ones."""
        straight = beer_lambert_curve(Scenario(extinction_table=self.extinction_table))
        sites = {site_name(site): site_curve(site, self.extinction_table) for site in SITES}
        return {STRAIGHT: straight, **sites, **published_curves}

    @property
    def percents(self) -> Mapping[str, float]:
        """What each curve says at the ratio [%], not clipped, by name."""
        return {name: curve(self.ratio) for name, curve in self.curves.items()}


def site_name(site: str) -> str:
    """Name of the curve that diffusion gives for a site."""
    return f"{site}, by diffusion"


@lru_cache(maxsize=8)
def site_curve(site: str, extinction_table: str = "Prahl") -> Curve:
    """Curve of a reference person at a site, by photon diffusion.

    Args:
        site: A key of `SITES`.
        extinction_table: "Prahl" or "Zijlstra".
    """
    reference = Scenario(site=site, extinction_table=extinction_table)
    return Curve.table(
        name=site_name(site),
        ratio=small_pulse_ratios(reference, CALIBRATION_SATURATION),
        percent=100.0 * CALIBRATION_SATURATION,
        source=f"Photon diffusion through the {site} of a reference person",
    )


def said(percent: float) -> str:
    """Write what a curve says: whole percent, or that it has left the scale."""
    if percent > 100.5:
        return "over 100 %"
    return "below 0 %" if percent < 0.0 else f"{percent:.0f} %"


def curves_sentence(state: CurvesTogether) -> str:
    """Say how far the curves lie apart at the ratio."""
    percents = state.percents
    low, high = min(percents.values()), max(percents.values())
    return (
        f"At R = {state.ratio:.2f} the lowest of the {len(percents)} curves says {said(low)} and "
        f"the highest {said(high)}. The same light, another number: a curve belongs to its probe."
    )


def paths_sentence(state: CurvesTogether) -> str:
    """Say what scattering does to the plain law at the ratio."""
    straight, finger = (state.percents[name] for name in (STRAIGHT, site_name("finger")))
    return (
        f"Beer–Lambert alone says {said(straight)}, {finger - straight:.0f} points less than the "
        f"finger by diffusion with {said(finger)}. The plain law sends both colours along the "
        "same path. In tissue, red goes further than infrared, and so R comes out larger."
    )
