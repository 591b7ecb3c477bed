"""Colours that can be read and told apart, held to WCAG 2.1 and to models of colour blindness."""

import itertools
import re

import numpy as np
import pytest

from oximetry_workbook.app.serve import PACKAGE

LOOK = (PACKAGE / "panels" / "static" / "look.css").read_text(encoding="utf-8")
TEXT = ["ink", "ink-soft", "accent", "warn", "good", "red", "infrared", "arterial", "venous"]
SHAPES = ["edge", "tissue", "pulse", "ghost"]


def palette(selector):
    """Return the colours a rule sets, name to sRGB in 0..1."""
    body = re.search(re.escape(selector) + r"[^{]*\{([^}]*)\}", LOOK).group(1)
    found = re.findall(r"--ow-([a-z-]+): #([0-9a-f]{6});", body)
    return {name: np.array(list(bytes.fromhex(code))) / 255 for name, code in found}


THEMES = {"light": palette(":root"), "dark": palette('html[data-theme="dark"]')}


def luminance(colour):
    """Relative luminance, WCAG 2.1, glossary."""
    linear = np.where(colour <= 0.04045, colour / 12.92, ((colour + 0.055) / 1.055) ** 2.4)
    return linear @ [0.2126, 0.7152, 0.0722]


def contrast(one, other):
    """Contrast ratio, WCAG 2.1, glossary."""
    dark, light = sorted([luminance(one), luminance(other)])
    return (light + 0.05) / (dark + 0.05)


def test_contrast_of_known_colours():
    """WCAG 2.1: black on white is 21:1. #777777 on white is 4.48:1, the classic near miss."""
    assert contrast(np.zeros(3), np.ones(3)) == pytest.approx(21)
    assert contrast(np.full(3, 0x77 / 255), np.ones(3)) == pytest.approx(4.48, abs=0.005)


def test_both_themes_set_the_same_colours():
    assert THEMES["light"].keys() == THEMES["dark"].keys()


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize("ground", ["bg", "surface"])
def test_text_can_be_read(theme, ground):
    """WCAG 2.1, criterion 1.4.3: 4.5:1 for text."""
    colours = THEMES[theme]
    ratios = {name: contrast(colours[name], colours[ground]) for name in TEXT}
    assert min(ratios.values()) >= 4.5, ratios


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize("ground", ["bg", "surface"])
def test_lines_and_areas_can_be_seen(theme, ground):
    """WCAG 2.1, criterion 1.4.11: 3:1 for graphical objects and the edges of controls."""
    colours = THEMES[theme]
    ratios = {name: contrast(colours[name], colours[ground]) for name in SHAPES}
    assert min(ratios.values()) >= 3, ratios


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize(
    ("text", "ground"),
    [
        ("on-accent", "accent"),
        ("ink", "accent-wash"),
        ("ink", "warn-wash"),
        ("ink-soft", "accent-wash"),
    ],
)
def test_text_on_coloured_ground_can_be_read(theme, text, ground):
    assert contrast(THEMES[theme][text], THEMES[theme][ground]) >= 4.5


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize("blindness", ["Protanomaly", "Deuteranomaly", "Tritanomaly"])
def test_red_and_infrared_told_apart_by_colour_blind_eyes(theme, blindness):
    """Full dichromacy after Machado, Oliveira and Fernandes (2009), as `colour` tabulates it.

    A difference of 20 in CIE 1976 L*a*b* is far above the 2.3 of a just noticeable one
    (Mahy, Van Eycken and Oosterlinck 1994).
    """
    colour = pytest.importorskip("colour")
    matrix = colour.blindness.matrix_cvd_Machado2009(blindness, 1.0)
    seen = []
    for name in ("red", "infrared"):
        linear = matrix @ colour.cctf_decoding(THEMES[theme][name])
        xyz = colour.RGB_to_XYZ(np.clip(linear, 0, 1), "sRGB")
        seen.append(colour.XYZ_to_Lab(xyz))
    assert colour.delta_E(*seen, method="CIE 1976") > 20


def test_every_pair_of_plot_colours_differs():
    for colours in THEMES.values():
        names = [*TEXT, *SHAPES]
        for one, other in itertools.combinations(names, 2):
            assert np.abs(colours[one] - colours[other]).max() > 0.05, (one, other)
