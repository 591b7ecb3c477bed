"""How much light a place on the body lets through, and how far that light has wandered.

Two ways of reckoning stand side by side, since their contrast is the lesson: Beer-Lambert,
where both colours travel the same straight path, and photon diffusion, where scattering
lengthens the path and absorption shortens it again, differently for the two colours.

Symbols: absorption [1/cm] and reduced scattering [1/cm] of the medium; the diffusion constant
is D = 1 / (3 reduced scattering), free of absorption (Durduran, Yodh, Chance and Boas 1997,
J Opt Soc Am A 14:3358); kappa = sqrt(absorption / D).
"""

from __future__ import annotations

import math
from functools import cache

import numpy as np
from numpy.polynomial.legendre import leggauss
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]

TISSUE_REFRACTIVE_INDEX = 1.4
"""Refractive index of soft tissue against air (Jacques 2013, Phys Med Biol 58:R37)."""

NO_ABSORPTION_PER_CM = 1e-12
"""Below this, far under any tissue, a slab's limit of no absorption holds: it keeps 0/0 out."""

NODES = 32
"""Of the Gauss-Legendre rule over Fresnel's equations. Its nodes are eigenvalues: hundreds of them
would take a kernel longer to find than all the workbook's modules take to import."""


@cache
def boundary_coefficient(refractive_index: float = TISSUE_REFRACTIVE_INDEX) -> float:
    """Return A, which puts the extrapolated boundary at 2 A D outside the tissue.

    A = (1 + r) / (1 - r) with r the effective reflection of diffuse light at the inner surface,
    integrated over Fresnel's equations (Haskell and others 1994, J Opt Soc Am A 11:2727).

    Args:
        refractive_index: Of tissue over that of the outside, at least 1.

    Raises:
        ValueError: For an index below 1 or not finite.
    """
    if not 1.0 <= refractive_index < np.inf:
        raise ValueError(
            f"refractive_index is {refractive_index:g}; it must be finite and at least 1, "
            "that of air"
        )
    # below the critical angle's cosine all is reflected: those parts of the integrals are known
    critical = math.sqrt(1.0 - 1.0 / refractive_index**2)
    # over the cosine outside, the rest has no kink, and few nodes give all digits
    nodes, weights = leggauss(NODES)
    outside = (nodes + 1.0) / 2.0
    cosine = np.sqrt(1.0 - (1.0 - outside**2) / refractive_index**2)
    reflectance = _fresnel_reflectance(cosine, outside, refractive_index) * weights / 2.0
    reflectance *= outside / refractive_index**2
    fluence_part = critical**2 + float(np.sum(2.0 * reflectance))
    current_part = critical**3 + float(np.sum(3.0 * cosine * reflectance))
    effective = (fluence_part + current_part) / (2.0 - fluence_part + current_part)
    return (1.0 + effective) / (1.0 - effective)


def _fresnel_reflectance(
    cosine: FloatArray, outside: FloatArray, refractive_index: float
) -> FloatArray:
    """Reflected share of unpolarised light, from the cosines of both its angles."""
    across = (refractive_index * cosine - outside) / (refractive_index * cosine + outside)
    along = (cosine - refractive_index * outside) / (cosine + refractive_index * outside)
    return np.asarray((across**2 + along**2) / 2.0)


def log_slab_transmission(
    absorption_per_cm: ArrayLike,
    reduced_scattering_per_cm: ArrayLike,
    thickness_cm: ArrayLike,
    refractive_index: float = TISSUE_REFRACTIVE_INDEX,
) -> FloatArray | float:
    """Natural logarithm of the total transmission of a slab.

    A sheet source one transport length deep, zero fluence at the extrapolated boundaries:
    T = sinh(kappa (z0 + ze)) cosh(kappa ze) / sinh(kappa (d + 2 ze)), z0 = 1 / scattering,
    ze = 2 A D (Contini, Martelli and Zaccanti 1997, Appl Opt 36:4587, summed for a sheet).

    Args:
        absorption_per_cm: Absorption [1/cm], at least 0.
        reduced_scattering_per_cm: Reduced scattering [1/cm], above 0.
        thickness_cm: Thickness [cm], above 0; the three broadcast.
        refractive_index: Of the tissue against air.

    Returns:
        Logarithm in the broadcast shape; a float for scalars.

    Raises:
        ValueError: For a negative absorption, or a scattering or thickness not above 0.
    """
    absorption, diffusion, depth, beyond = _slab(
        absorption_per_cm, reduced_scattering_per_cm, thickness_cm, refractive_index
    )
    kappa = np.sqrt(np.maximum(absorption, NO_ABSORPTION_PER_CM) / diffusion)
    full = np.asarray(thickness_cm, dtype=np.float64) + 2.0 * beyond
    return _plain(_log_sinh(kappa * depth) + _log_cosh(kappa * beyond) - _log_sinh(kappa * full))


def slab_path_length_cm(
    absorption_per_cm: ArrayLike,
    reduced_scattering_per_cm: ArrayLike,
    thickness_cm: ArrayLike,
    refractive_index: float = TISSUE_REFRACTIVE_INDEX,
) -> FloatArray | float:
    """Mean path of the light that crosses a slab [cm], -d ln T / d absorption.

    The derivative of `log_slab_transmission` in closed form.

    Args:
        absorption_per_cm: Absorption [1/cm], at least 0.
        reduced_scattering_per_cm: Reduced scattering [1/cm], above 0.
        thickness_cm: Thickness [cm], above 0; the three broadcast.
        refractive_index: Of the tissue against air.

    Returns:
        Path in the broadcast shape; a float for scalars.

    Raises:
        ValueError: For a negative absorption, or a scattering or thickness not above 0.
    """
    absorption, diffusion, depth, beyond = _slab(
        absorption_per_cm, reduced_scattering_per_cm, thickness_cm, refractive_index
    )
    kappa = np.sqrt(absorption / diffusion)
    full = np.asarray(thickness_cm, dtype=np.float64) + 2.0 * beyond
    outer = kappa * beyond
    bracket = _x_coth_x_less_1(kappa * full) - _x_coth_x_less_1(kappa * depth)
    bracket = bracket - outer * np.tanh(outer)
    without_absorption = (full**2 / 3.0 - depth**2 / 3.0 - beyond**2) / (2.0 * diffusion)
    positive = absorption > NO_ABSORPTION_PER_CM
    path = np.where(
        positive, bracket / (2.0 * np.where(positive, absorption, 1.0)), without_absorption
    )
    return _plain(path)


def log_reflection(
    absorption_per_cm: ArrayLike,
    reduced_scattering_per_cm: ArrayLike,
    separation_cm: ArrayLike,
    refractive_index: float = TISSUE_REFRACTIVE_INDEX,
) -> FloatArray | float:
    """Natural logarithm of the light that comes back at a distance [1/cm^2].

    Diffuse reflectance of a half-space by a point source one transport length deep and its
    image about the extrapolated boundary (Farrell, Patterson and Wilson 1992, Med Phys 19:879).

    Args:
        absorption_per_cm: Absorption [1/cm], at least 0.
        reduced_scattering_per_cm: Reduced scattering [1/cm], above 0.
        separation_cm: Distance of source and detector [cm], above 0; the three broadcast.
        refractive_index: Of the tissue against air.

    Returns:
        Logarithm in the broadcast shape; a float for scalars.

    Raises:
        ValueError: For a negative absorption, or a scattering or separation not above 0.
    """
    kappa, _, terms = _half_space(
        absorption_per_cm, reduced_scattering_per_cm, separation_cm, refractive_index
    )
    near = terms[0][1]
    total = sum(
        weight * (kappa + 1.0 / radius) * np.exp(-kappa * (radius - near)) / radius**2
        for weight, radius in terms
    )
    return _plain(np.log(total / (4.0 * np.pi)) - kappa * near)


def reflection_path_length_cm(
    absorption_per_cm: ArrayLike,
    reduced_scattering_per_cm: ArrayLike,
    separation_cm: ArrayLike,
    refractive_index: float = TISSUE_REFRACTIVE_INDEX,
) -> FloatArray | float:
    """Mean path of the light that comes back at a distance [cm], -d ln R / d absorption.

    The derivative of `log_reflection` in closed form.

    Args:
        absorption_per_cm: Absorption [1/cm], at least 0.
        reduced_scattering_per_cm: Reduced scattering [1/cm], above 0.
        separation_cm: Distance of source and detector [cm], above 0; the three broadcast.
        refractive_index: Of the tissue against air.

    Returns:
        Path in the broadcast shape; a float for scalars.

    Raises:
        ValueError: For a negative absorption, or a scattering or separation not above 0.
    """
    kappa, diffusion, terms = _half_space(
        absorption_per_cm, reduced_scattering_per_cm, separation_cm, refractive_index
    )
    near = terms[0][1]
    lost = back = np.zeros(())
    for weight, radius in terms:
        decay = weight * np.exp(-kappa * (radius - near)) / radius
        lost = lost + decay
        back = back + decay * (kappa + 1.0 / radius) / radius
    return _plain(lost / (2.0 * diffusion * back))


def _half_space(
    absorption_per_cm: ArrayLike,
    reduced_scattering_per_cm: ArrayLike,
    separation_cm: ArrayLike,
    refractive_index: float,
) -> tuple[FloatArray, FloatArray, tuple[tuple[FloatArray, FloatArray], ...]]:
    """Kappa, D, and (weight, radius) of the source and its image."""
    absorption, diffusion, depth, beyond = _medium(
        absorption_per_cm, reduced_scattering_per_cm, separation_cm, "separation_cm",
        refractive_index,
    )  # fmt: skip
    separation = np.asarray(separation_cm, dtype=np.float64)
    image = depth + 2.0 * beyond
    terms = ((depth, np.hypot(separation, depth)), (image, np.hypot(separation, image)))
    return np.sqrt(absorption / diffusion), diffusion, terms


def _slab(
    absorption_per_cm: ArrayLike,
    reduced_scattering_per_cm: ArrayLike,
    thickness_cm: ArrayLike,
    refractive_index: float,
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Absorption, D, depth of the source below the extrapolated boundary, and 2 A D."""
    absorption, diffusion, depth, beyond = _medium(
        absorption_per_cm, reduced_scattering_per_cm, thickness_cm, "thickness_cm",
        refractive_index,
    )  # fmt: skip
    return absorption, diffusion, depth + beyond, beyond


def _medium(
    absorption_per_cm: ArrayLike,
    reduced_scattering_per_cm: ArrayLike,
    distance_cm: ArrayLike,
    distance_name: str,
    refractive_index: float,
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    absorption = _checked("absorption_per_cm", absorption_per_cm, "1/cm", or_zero=True)
    scattering = _checked("reduced_scattering_per_cm", reduced_scattering_per_cm, "1/cm")
    _checked(distance_name, distance_cm, "cm")
    diffusion = 1.0 / (3.0 * scattering)
    beyond = 2.0 * boundary_coefficient(refractive_index) * diffusion
    return absorption, diffusion, 1.0 / scattering, beyond


def _checked(name: str, values: ArrayLike, unit: str, *, or_zero: bool = False) -> FloatArray:
    try:
        array = np.asarray(values, dtype=np.float64)
    except (TypeError, ValueError):
        raise ValueError(f"{name} is {values!r}; give a number or an array of numbers") from None
    fits = np.isfinite(array) & ((array >= 0.0) if or_zero else (array > 0.0))
    if not np.all(fits):
        least = "at least" if or_zero else "above"
        raise ValueError(
            f"{name} is {array[~fits].flat[0]:g}; it must be finite and {least} 0 {unit}"
        )
    return array


def _log_sinh(x: FloatArray) -> FloatArray:
    return np.asarray(x + np.log(-np.expm1(-2.0 * x) / 2.0))


def _log_cosh(x: FloatArray) -> FloatArray:
    return np.asarray(x + np.log1p(np.exp(-2.0 * x)) - np.log(2.0))


def _x_coth_x_less_1(x: FloatArray) -> FloatArray:
    """Return x coth x - 1, by its series where the difference would lose digits."""
    small = x < 0.02
    safe = np.where(small, 1.0, x)
    return np.where(small, x**2 / 3.0 - x**4 / 45.0, safe / np.tanh(safe) - 1.0)


def _plain(values: FloatArray) -> FloatArray | float:
    return float(values) if values.ndim == 0 else values
