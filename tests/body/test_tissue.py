"""Light through tissue: the closed forms against their own definitions."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate

from oximetry_workbook.body.sites import SITES
from oximetry_workbook.body.tissue import (
    _x_coth_x_less_1,
    boundary_coefficient,
    log_reflection,
    log_slab_transmission,
    reflection_path_length_cm,
    slab_path_length_cm,
)

GEOMETRIES = {
    "slab": (log_slab_transmission, slab_path_length_cm),
    "reflection": (log_reflection, reflection_path_length_cm),
}
DISTANCE_NAMES = {"slab": "thickness_cm", "reflection": "separation_cm"}
FUNCTIONS = [(f, DISTANCE_NAMES[name]) for name, pair in GEOMETRIES.items() for f in pair]

every_function = pytest.mark.parametrize(("function", "distance_name"), FUNCTIONS)


@st.composite
def tissues(draw, least_absorbed=1e-4):
    """A geometry, absorption, scattering and distance that diffusion theory is meant for.

    Scattering well above absorption, and three transport lengths at least to wander.
    """
    scattering = draw(st.floats(3.0, 50.0))
    absorption = scattering * draw(st.floats(least_absorbed, 0.2))
    distance = draw(st.floats(3.0, 40.0)) / scattering
    return draw(st.sampled_from(sorted(GEOMETRIES))), absorption, scattering, distance


def untimed(strategy):
    """Give examples, with no limit on time: a first call fills caches."""
    return lambda test: settings(deadline=None)(given(strategy)(test))


@untimed(tissues())
def test_path_is_the_slope_of_the_logarithm(tissue):
    """Mean path = -d ln(light) / d absorption, here by central differences."""
    geometry, absorption, scattering, distance = tissue
    log_light, path = GEOMETRIES[geometry]
    step = 1e-4 * absorption
    rise = log_light(absorption + step, scattering, distance)
    fall = log_light(absorption - step, scattering, distance)
    # truncation is about step^2 / absorption^2 = 1e-8, rounding 1e-16 * ln(light) / step
    rounding = 1e-14 * (1.0 + abs(rise)) / step
    assert path(absorption, scattering, distance) == pytest.approx(
        (fall - rise) / (2.0 * step), rel=1e-6, abs=rounding
    )


@pytest.mark.parametrize("geometry", sorted(GEOMETRIES))
def test_no_absorption_is_the_limit_of_little(geometry):
    log_light, path = GEOMETRIES[geometry]
    little = np.array([5e-324, 1e-200, 1e-14, 1e-12, 1e-10, 1e-8])
    for function in (log_light, path):
        none = function(0.0, 10.0, 1.0)
        # both run with the square root of absorption at most: 1e-4 of the path per cm
        np.testing.assert_allclose(function(little, 10.0, 1.0), none, rtol=1e-3)
        np.testing.assert_allclose(function(little[:4], 10.0, 1.0), none, rtol=1e-5)


def test_slab_without_absorption_lets_through_the_share_of_depth():
    """Diffusion without loss: T = (z0 + ze) / (d + 2 ze), a straight line from edge to edge."""
    scattering, thickness = 10.0, 1.0
    beyond = 2.0 * boundary_coefficient(1.4) / (3.0 * scattering)
    share = (1.0 / scattering + beyond) / (thickness + 2.0 * beyond)
    assert math.exp(log_slab_transmission(0.0, scattering, thickness)) == pytest.approx(share)


@untimed(tissues())
def test_path_falls_with_absorption_and_rises_with_distance(tissue):
    geometry, absorption, scattering, distance = tissue
    path = GEOMETRIES[geometry][1]
    here = path(absorption, scattering, distance)
    assert path(1.01 * absorption, scattering, distance) < here
    assert path(absorption, scattering, 1.01 * distance) > here


@untimed(tissues())
def test_scattered_light_wanders_further_than_straight_light(tissue):
    """A detour is longer than the way; the model's source lies one transport length inside."""
    geometry, absorption, scattering, distance = tissue
    path = GEOMETRIES[geometry][1](absorption, scattering, distance)
    assert path > distance - 1.0 / scattering


@untimed(tissues(least_absorbed=0.0))
def test_light_is_lost_by_absorption_and_by_distance(tissue):
    geometry, absorption, scattering, distance = tissue
    log_light = GEOMETRIES[geometry][0]
    here = log_light(absorption, scattering, distance)
    assert log_light(absorption + 0.01, scattering, distance) < here
    assert log_light(absorption, scattering, 1.01 * distance) < here
    assert math.isfinite(here)
    if geometry == "slab":
        assert here < 0.0


@every_function
def test_inputs_broadcast_and_scalars_give_floats(function, distance_name):
    absorption = np.array([0.0, 0.1, 0.5])[:, None, None]
    scattering = np.array([8.0, 13.0])[:, None]
    distance = np.array([0.5, 0.8, 1.2, 2.0])
    together = function(absorption, scattering, distance)
    assert together.shape == (3, 2, 4)
    one = function(0.1, 13.0, 0.8)
    assert type(one) is float
    assert one == together[1, 1, 1]


@every_function
@pytest.mark.parametrize("bad", [-0.1, math.nan, math.inf, "much", None, [0.1, -3.0]])
def test_bad_absorption_is_named(function, distance_name, bad):
    with pytest.raises(ValueError, match=r"^absorption_per_cm is "):
        function(bad, 10.0, 1.0)


@every_function
@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf, "much", None])
def test_bad_scattering_and_distance_are_named(function, distance_name, bad):
    with pytest.raises(ValueError, match=r"^reduced_scattering_per_cm is "):
        function(0.1, bad, 1.0)
    with pytest.raises(ValueError, match=rf"^{distance_name} is "):
        function(0.1, 10.0, bad)


@every_function
def test_the_message_tells_the_value_and_what_is_allowed(function, distance_name):
    with pytest.raises(ValueError, match=r"absorption_per_cm is -3; .* at least 0 1/cm"):
        function([0.1, -3.0], 10.0, 1.0)
    with pytest.raises(ValueError, match=rf"{distance_name} is -2; .* above 0 cm"):
        function(0.1, 10.0, -2.0)


@pytest.mark.parametrize("bad", [0.9, 0.0, -1.4, math.nan, math.inf])
def test_bad_refractive_index_is_named(bad):
    with pytest.raises(ValueError, match=r"^refractive_index is .*at least 1"):
        boundary_coefficient(bad)


def test_boundary_coefficient_without_a_step_of_index_is_one():
    assert boundary_coefficient(1.0) == pytest.approx(1.0, abs=1e-12)


@pytest.mark.parametrize("index", [1.001, 1.1, 1.33, 1.4, 1.5, 2.0])
def test_boundary_coefficient_is_that_of_adaptive_quadrature(index):
    """Fresnel's equations over the angle inside, by scipy, told where the kink lies."""

    def reflectance(cosine):
        outside = math.sqrt(max(1.0 - index**2 * (1.0 - cosine**2), 0.0))
        across = (index * cosine - outside) / (index * cosine + outside)
        along = (cosine - index * outside) / (cosine + index * outside)
        return (across**2 + along**2) / 2.0

    def integral(weight):
        kink = math.sqrt(1.0 - 1.0 / index**2)
        found, _ = integrate.quad(
            lambda cosine: weight(cosine) * reflectance(cosine), 0.0, 1.0, points=[kink], limit=500
        )
        return found

    fluence, current = integral(lambda c: 2.0 * c), integral(lambda c: 3.0 * c**2)
    effective = (fluence + current) / (2.0 - fluence + current)
    expected = (1.0 + effective) / (1.0 - effective)
    assert boundary_coefficient(index) == pytest.approx(expected, rel=1e-7)


def test_boundary_holds_more_light_back_the_higher_the_index():
    coefficients = [boundary_coefficient(n) for n in (1.0, 1.1, 1.33, 1.4, 1.5, 2.0)]
    assert np.all(np.diff(coefficients) > 0)


@pytest.mark.parametrize("name", sorted(SITES))
def test_a_site_asks_the_functions_of_its_geometry(name):
    site = SITES[name]
    log_light, path = GEOMETRIES[site.geometry]
    absorption, scattering = np.array([0.1, 0.3]), np.array([13.0, 8.4])
    distance = 1.2 * site.distance_cm
    np.testing.assert_array_equal(
        site.log_throughput(absorption, scattering, 1.2),
        log_light(absorption, scattering, distance),
    )
    np.testing.assert_array_equal(
        site.path_length_cm(absorption, scattering, 1.2), path(absorption, scattering, distance)
    )


@pytest.mark.parametrize("name", sorted(SITES))
def test_a_site_holds_no_more_than_its_volume(name):
    site = SITES[name]
    parts = (
        site.arterial_fraction,
        site.venous_fraction,
        site.water_fraction,
        site.fat_fraction,
    )
    assert all(part >= 0.0 for part in parts)
    assert sum(parts) < 1.0
    assert site.source


def test_the_series_near_zero_is_the_function():
    """x coth x - 1 by numpy, where it still has ten digits or so."""
    x = np.linspace(0.01, 0.04, 301)
    np.testing.assert_allclose(_x_coth_x_less_1(x), x / np.tanh(x) - 1.0, rtol=2e-9)


def test_the_bracket_keeps_its_digits_near_zero():
    """Against one term more of the series of coth (Abramowitz and Stegun 4.5.67, from memory)."""
    x = np.array([0.0, 1e-9, 1e-6, 1e-3, 0.0199, 0.0201])
    series = x**2 / 3.0 - x**4 / 45.0 + 2.0 * x**6 / 945.0
    with np.errstate(all="raise", under="ignore"):
        np.testing.assert_allclose(_x_coth_x_less_1(x), series, rtol=1e-9)
