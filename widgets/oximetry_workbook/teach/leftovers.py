"""What moves R although saturation stays: the reason why people spread round one curve."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from oximetry_workbook.body.calibration import diffusion_calibration, small_pulse_ratio
from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.teach.words import signed

CHANGES: dict[str, dict[str, float]] = {
    "thickness × 0.7": {"thickness_scale": 0.7},
    "thickness × 1.5": {"thickness_scale": 1.5},
    "scattering × 2": {"scattering_scale": 2.0},
    "blood volume × 2": {"blood_volume_scale": 2.0},
    "haemoglobin 80 g/L": {"haemoglobin_g_per_l": 80.0},
    "melanin 45 %": {"melanin_fraction": 0.45},
}
"""Changes of an ordinary finger, one at a time, by their names in print."""


@dataclass(frozen=True)
class Leftover:
    """What one change of the finger does to R at the same saturation.

    Attributes:
        name: The change, a key of `CHANGES`.
        ratio_change: R less that of the ordinary finger.
        error_points: What the probe's own curve reads, less the truth [percentage points].
    """

    name: str
    ratio_change: float
    error_points: float


def leftover(name: str, saturation: float) -> Leftover:
    """Reckon what a change of the finger does to R of a small pulse.

    Args:
        name: A key of `CHANGES`.
        saturation: Arterial saturation, as a fraction.
    """
    ordinary = small_pulse_ratio(Scenario(), saturation)
    ratio = small_pulse_ratio(Scenario(**CHANGES[name]), saturation)
    shown = float(np.interp(ratio, *diffusion_calibration("finger")))
    return Leftover(name, ratio - ordinary, shown - 100.0 * saturation)


def leftovers_list(saturations: tuple[float, ...] = (0.97, 0.70)) -> str:
    """Write what each change does to R and, in brackets, to the reading [points], one line each.

    Args:
        saturations: Arterial saturations, as fractions.
    """
    lines = []
    for name in CHANGES:
        parts = (_words(leftover(name, saturation), saturation) for saturation in saturations)
        lines.append(f"{name}: {', '.join(parts)}")
    return "\n".join(lines)


def _words(each: Leftover, saturation: float) -> str:
    ratio = f"{each.ratio_change:+.3f}".replace("-", "−")
    ratio = "0.000" if ratio[1:] == "0.000" else ratio
    return f"{ratio} ({signed(each.error_points)}) at {100.0 * saturation:.0f} %"
