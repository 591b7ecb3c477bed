"""Questions of skin tone: each answer found another way, every other one refused."""

import re

import numpy as np
import pytest

from oximetry_workbook.body.probe import Probe
from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.body.simulate import simulate
from oximetry_workbook.meter.measure import measure
from oximetry_workbook.teach.questions import skin

ASKED = dict(
    zip(("passes", "noise", "weak", "found", "gap", "missed"), skin.checkpoints(), strict=True)
)


def readings(seeds=20, **changes):
    scenario = Scenario(arterial_saturation=0.65, **changes)
    return np.array([measure(simulate(scenario, seed=s)).spo2_percent for s in range(seeds)], float)


def test_a_filter_hardly_moves_the_reading():
    light, dark = (readings(melanin_fraction=m) for m in (0.03, 0.45))
    assert abs(dark.mean() - light.mean()) < 0.5
    assert skin.prediction().options[skin.prediction().answer].startswith("Within 1 point")
    assert "leaves out" in ASKED["gap"].options[ASKED["gap"].answer]


def test_light_left_from_the_printed_law_and_from_the_probe():
    shown = [float(n) for n in re.findall(r"(\d+) %", ASKED["passes"].text)]
    assert ASKED["passes"].check(100.0 * shown[1] / shown[0]).right
    light, dark = (
        np.exp(Probe(Scenario(melanin_fraction=m)).log_light_at_rest()[0]) for m in (0.03, 0.3)
    )
    assert ASKED["passes"].check(100.0 * dark / light).right
    assert not ASKED["passes"].check(shown[1]).right


def test_noise_from_the_share_printed_in_the_question():
    share = float(re.search(r"(\d+) %", ASKED["noise"].text)[1]) / 100.0
    assert ASKED["noise"].check(share**-0.5).right
    assert not ASKED["noise"].check(1.0 / share).right
    assert not ASKED["noise"].check(share**0.5).right


def test_a_weak_pulse_scatters_more_with_much_melanin():
    weak = {"perfusion_index_percent": 0.3, "noise_percent": 0.05}
    light, dark = (readings(melanin_fraction=m, **weak).std(ddof=1) for m in (0.03, 0.45))
    assert dark > 1.2 * light
    assert ASKED["weak"].options[ASKED["weak"].answer].startswith("By more")
    assert f"{dark:.1f} points instead of {light:.1f}" in ASKED["weak"].why


def test_sums_with_the_studies_figures():
    assert ASKED["found"].answer == pytest.approx(65.0 + 3.56)
    assert not ASKED["found"].check(65.0 - 3.56).right
    assert ASKED["missed"].answer == pytest.approx(196 - 156)
    assert not ASKED["missed"].check(4.0).right
