"""From scenario to recording: sizes, seeds, noise, and what each disturbance does."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.signal import find_peaks

from oximetry_workbook.body.calibration import (
    beer_lambert_calibration,
    diffusion_calibration,
    small_pulse_ratio,
)
from oximetry_workbook.body.probe import Probe
from oximetry_workbook.body.pulse import depth_for_perfusion
from oximetry_workbook.body.scenario import SPECS, Scenario
from oximetry_workbook.body.sensor import noise_scale
from oximetry_workbook.body.simulate import at_converter, pulse_optics, simulate
from oximetry_workbook.body.sites import SITES
from oximetry_workbook.body.timeline import unit_noise

STILL = {"noise_percent": 0.0, "converter_bits": 24, "heart_rate_variability_percent": 0.0}
"""No noise, the finest converter, a heart like a clock."""

every_site = pytest.mark.parametrize("site", SPECS["site"].options)


def both(recording):
    return np.array([recording.red, recording.infrared])


def perfusion_percent(light, sampling_rate_hz, heart_rate_bpm):
    """Mean over whole beats of depth under the line from foot to foot, over the mean."""
    least = round(0.6 * 60.0 / heart_rate_bpm * sampling_rate_hz)
    feet, _ = find_peaks(light, distance=least)
    found = []
    for first, last in pairwise(feet):
        beat = light[first : last + 1]
        line = np.linspace(beat[0], beat[-1], beat.size)
        found.append(np.max(line - beat) / beat.mean())
    return 100.0 * np.mean(found)


@given(st.data(), st.integers(0, 2**63))
def test_any_scenario_gives_numbers_on_the_converters_scale(any_scenario, data, seed):
    scenario = data.draw(any_scenario)
    recording = simulate(scenario, duration_s=1.0, sampling_rate_hz=50.0, seed=seed)
    light = both(recording)
    assert light.shape == (2, 50)
    assert np.all(np.isfinite(light))
    assert light.min() >= 0.0
    assert light.max() <= 1.0
    np.testing.assert_allclose(recording.reference_percent, 100.0 * scenario.arterial_saturation)


@every_site
@pytest.mark.parametrize("perfusion", [0.1, 2.0, 20.0])
def test_light_has_the_perfusion_index_asked_for(site, perfusion):
    """Averaged over 12 breaths of 5 beats each."""
    scenario = Scenario(
        site=site, perfusion_index_percent=perfusion, heart_rate_bpm=75, breathing_rate_bpm=15,
        **STILL,
    )  # fmt: skip
    recording = simulate(scenario, duration_s=50.0, sampling_rate_hz=500.0)
    found = perfusion_percent(recording.infrared, 500.0, 75.0)
    assert found == pytest.approx(perfusion, rel=0.01)


@every_site
@pytest.mark.parametrize("perfusion", [0.05, 3.0, 20.0])
@pytest.mark.parametrize("blood_volume", [0.3, 1.0, 3.0])
def test_depth_of_a_beat_is_the_one_asked_for(site, perfusion, blood_volume):
    scenario = Scenario(
        site=site, perfusion_index_percent=perfusion, blood_volume_scale=blood_volume
    )
    depth = pulse_optics(scenario).depth
    assert depth[1] == pytest.approx(depth_for_perfusion(perfusion), rel=0.001)


@every_site
def test_a_small_pulse_has_the_ratio_of_the_calibration(site):
    scenario = Scenario(site=site, perfusion_index_percent=0.05)
    red, infrared = pulse_optics(scenario).depth
    assert red / infrared == pytest.approx(small_pulse_ratio(scenario, 0.97), rel=1e-3)


def test_a_large_pulse_strays_from_the_small_one_but_little():
    """Light paths shorten as the finger fills, more in infrared: at a perfusion index of 20 %
    R is 1.3 % higher than for a vanishing pulse."""
    red, infrared = pulse_optics(Scenario(perfusion_index_percent=20.0)).depth
    assert 1.005 < red / infrared / small_pulse_ratio(Scenario(), 0.97) < 1.02


@pytest.mark.parametrize("rate_bpm", [40.0, 72.0, 180.0])
def test_beats_come_at_the_heart_rate(rate_bpm):
    scenario = Scenario(heart_rate_bpm=rate_bpm, **STILL)
    recording = simulate(scenario, duration_s=60.0, sampling_rate_hz=500.0)
    feet, _ = find_peaks(recording.infrared, distance=round(0.6 * 60.0 / rate_bpm * 500.0))
    found = 60.0 * (feet.size - 1) / (recording.time_s[feet[-1]] - recording.time_s[feet[0]])
    assert found == pytest.approx(rate_bpm, rel=0.003)


def test_the_light_falls_when_the_blood_comes():
    """Systole is shorter than diastole: from brightest to darkest in under 0.4 of a beat."""
    light = simulate(Scenario(heart_rate_bpm=60, **STILL), 20.0, 500.0).infrared
    bright, dark = (find_peaks(sign * light, distance=300)[0] for sign in (1.0, -1.0))
    fall = [dark[dark > foot][0] - foot for foot in bright[:-1]]
    assert len(fall) >= 18
    assert np.all((np.array(fall) > 0.1 * 500) & (np.array(fall) < 0.4 * 500))


def test_the_same_seed_gives_the_same_recording():
    first, again = (both(simulate(Scenario(motion_percent=1.0), seed=5)) for _ in range(2))
    np.testing.assert_array_equal(first, again)
    assert not np.array_equal(first, both(simulate(Scenario(motion_percent=1.0), seed=6)))


def test_a_recording_cannot_spoil_the_next_one():
    recording = simulate(Scenario(), seed=7)
    for shared in (recording.time_s, recording.probe_calibration):
        with pytest.raises(ValueError, match="read-only"):
            shared[0] = 99.0
    recording.infrared[:] = 0.0
    assert simulate(Scenario(), seed=7).infrared.min() > 0.0


def test_noise_has_the_rms_asked_for_and_moves_nothing_else():
    fine = Scenario(converter_bits=24)
    clean = both(simulate(fine.replace(noise_percent=0.0), 100.0, 100.0))
    little = both(simulate(fine.replace(noise_percent=0.1), 100.0, 100.0)) - clean
    much = both(simulate(fine.replace(noise_percent=0.4), 100.0, 100.0)) - clean
    # 10 000 samples: random error of an rms 0.7 %; the steady level is half the scale
    np.testing.assert_allclose(little.std(axis=1), 0.5 * 0.001, rtol=0.03)
    np.testing.assert_allclose(much, 4.0 * little, atol=1e-6)
    assert abs(np.corrcoef(little)[0, 1]) < 0.04
    assert np.all(np.abs(little.mean(axis=1)) < 4.0 * 0.0005 / 100.0)


def test_noise_is_the_share_of_the_steady_light_exactly():
    scenario, dark = Scenario(converter_bits=24), np.full(2, -3.0)
    time_s, light = np.arange(500) / 100.0, np.ones((2, 500))
    still = at_converter(scenario.replace(noise_percent=0.0), dark, light, time_s, 5)
    noisy = at_converter(scenario.replace(noise_percent=0.5), dark, light, time_s, 5)
    rms = 0.5 * 0.005 * noise_scale(scenario, dark)
    expected = rms[:, None] * unit_noise(500, 5)
    np.testing.assert_allclose(noisy - still, expected, atol=2.0 / 2**24)


def test_movement_moves_neither_beats_nor_noise():
    rest, moved, moved_more = (
        np.log(2.0 * both(simulate(Scenario(motion_percent=m, **STILL)))) for m in (0.0, 2.0, 4.0)
    )
    np.testing.assert_allclose(moved_more - rest, 2.0 * (moved - rest), atol=1e-6)
    assert (moved - rest)[1].std() == pytest.approx(0.02, rel=0.2)


def test_each_cause_draws_from_its_own_stream():
    """Movement with the noise, beats and start of another seed must be another movement."""
    swings = []
    for seed in range(6):
        rest, moved = (
            np.log(2.0 * simulate(Scenario(motion_percent=m, **STILL), 30.0, seed=seed).infrared)
            for m in (0.0, 2.0)
        )
        swings.append(moved - rest)
    likeness = np.abs(np.corrcoef(swings) - np.eye(6))
    assert likeness.max() < 0.6


def test_a_coarse_converter_hides_a_small_pulse():
    weak = {"perfusion_index_percent": 0.2, "noise_percent": 0.0}
    assert np.unique(simulate(Scenario(converter_bits=6, **weak)).infrared).size <= 2
    assert np.unique(simulate(Scenario(converter_bits=18, **weak)).infrared).size > 50


def test_bright_room_light_drives_the_converter_to_its_end():
    recording = simulate(Scenario(ambient_light_percent=200.0))
    np.testing.assert_array_equal(both(recording), 1.0)


def test_flicker_appears_folded_in_the_recording():
    """100 Hz sampled at 90 Hz appears at 10 Hz (the folding rule of any textbook)."""
    scenario = Scenario(ambient_light_percent=40.0, perfusion_index_percent=0.1, **STILL)
    light = simulate(scenario, 20.0, 90.0).infrared
    spectrum = np.abs(np.fft.rfft(light - light.mean()))
    assert np.fft.rfftfreq(light.size, 1.0 / 90.0)[np.argmax(spectrum)] == pytest.approx(10.0)
    amplitude = 2.0 * spectrum.max() / light.size
    assert amplitude == pytest.approx(0.5 * 0.4 * 0.3, rel=0.01)


@pytest.mark.parametrize("percent", [20.0, 50.0, 90.0])
def test_light_past_the_tissue_lowers_the_perfusion_index(percent):
    scenario = Scenario(perfusion_index_percent=2.0, heart_rate_bpm=75, **STILL)
    there, less = (
        perfusion_percent(simulate(s, 50.0, 500.0).infrared, 500.0, 75.0)
        for s in (scenario, scenario.replace(bypass_percent=percent))
    )
    # the mean differs by the mean of the pulse, under one part in fifty
    assert less / there == pytest.approx(1.0 - percent / 100.0, rel=0.02)


@pytest.mark.parametrize(("saturation", "sign"), [(0.97, 1.0), (0.70, -1.0)])
def test_light_past_the_tissue_draws_the_ratio_towards_the_middle(saturation, sign):
    """Both LEDs spill alike, so that the colour the tissue weakens more is diluted more: at high
    saturation infrared (R rises), at low saturation red (R falls)."""
    scenario = Scenario(arterial_saturation=saturation, **STILL)

    def ratio(**changes):
        recording = simulate(scenario.replace(**changes), 20.0, 200.0)
        light = np.array([recording.red, recording.infrared])
        red, infrared = np.ptp(light, axis=1) / light.mean(axis=1)
        return red / infrared

    changes = [ratio(bypass_percent=percent) - ratio() for percent in (10.0, 30.0, 60.0)]
    assert np.all(np.diff(sign * np.array([0.0, *changes])) > 0.01)


def test_room_light_lowers_the_perfusion_index():
    scenario = Scenario(perfusion_index_percent=2.0, heart_rate_bpm=75, **STILL)
    there, less = (
        perfusion_percent(simulate(s, 50.0, 100.0).infrared, 100.0, 75.0)
        for s in (scenario, scenario.replace(ambient_light_percent=50.0))
    )
    level = 1.0 + 0.5 * (1.0 + 0.3 * np.cos(1.0))  # 100 Hz sampled at 100 Hz stands still
    assert less / there == pytest.approx(1.0 / level, rel=0.02)


@pytest.mark.parametrize("site", ["finger", "forehead"])
def test_movement_pulls_the_apparent_ratio_to_that_of_venous_blood(site):
    scenario = Scenario(site=site, perfusion_index_percent=1.0, **STILL)
    optics = pulse_optics(scenario)
    arterial = optics.depth[0] / optics.depth[1]
    venous = optics.venous[0, 0] / optics.venous[0, 1]
    apparent = []
    for motion in (0.0, 0.3, 1.0, 5.0):
        log_light = np.log(both(simulate(scenario.replace(motion_percent=motion), 60.0)))
        red, infrared = np.diff(log_light).std(axis=1)  # differences leave out slow breathing
        apparent.append(red / infrared)
    assert venous > 1.3 * arterial
    assert np.all(np.diff(apparent) > 0.0)
    assert apparent[0] == pytest.approx(arterial, rel=0.01)
    assert apparent[-1] == pytest.approx(venous, rel=0.01)


@every_site
def test_both_ratios_are_extinctions_times_paths(site):
    """A little more blood loses absorption times path: so R is the straight-path ratio of that
    blood's own saturation times the ratio of the paths in the tissue as it is. LEDs of some
    width blur this by up to 5 %. Venous blood therefore reads lower than its own 72 %."""
    optics = pulse_optics(Scenario(site=site, perfusion_index_percent=0.05))
    path_red, path_infrared = Probe(Scenario(site=site)).path_length_cm()
    straight, percent = beer_lambert_calibration()
    pairs = ((97.0, optics.depth), (72.0, optics.venous[0]))
    for saturation, (red, infrared) in pairs:
        expected = np.interp(-saturation, -percent, straight) * path_red / path_infrared
        assert red / infrared == pytest.approx(expected, rel=0.05)


@every_site
def test_a_recording_carries_truth_and_calibration(site):
    recording = simulate(Scenario(site=site, arterial_saturation=0.83), 12.0, 40.0)
    assert recording.time_s.size == 480
    assert recording.sampling_rate_hz == pytest.approx(40.0)
    np.testing.assert_allclose(recording.reference_percent, 83.0)
    ratio, saturation = recording.probe_calibration
    assert recording.probe_calibration.shape == (2, 101)
    assert np.all(np.diff(ratio) > 0.0)
    assert np.all(np.diff(saturation) < 0.0)
    assert (saturation[0], saturation[-1]) == (100.0, 0.0)
    np.testing.assert_array_equal(recording.probe_calibration, diffusion_calibration(site))


@pytest.mark.parametrize("table", SPECS["extinction_table"].options)
def test_the_probes_curve_is_made_with_the_scenarios_spectra(table):
    recording = simulate(Scenario(extinction_table=table))
    np.testing.assert_array_equal(
        recording.probe_calibration, diffusion_calibration("finger", table)
    )


@pytest.mark.parametrize(
    ("name", "bad", "allowed"),
    [
        *(("duration_s", bad, "to 172800 s") for bad in (0, -1, 0.07, 172_801, np.nan, np.inf)),
        *(("duration_s", bad, "to 172800 s") for bad in ("10", None, True)),
        *(("sampling_rate_hz", bad, "20 to 10000 Hz") for bad in (0, 19.9, 10_001, np.nan)),
        *(("sampling_rate_hz", bad, "20 to 10000 Hz") for bad in ("100", None, True)),
        *(("seed", bad, "whole number of at least 0") for bad in (-1, 1.5, "1", None, True)),
    ],
)
def test_bad_arguments_are_named_with_what_is_allowed(name, bad, allowed):
    with pytest.raises(ValueError, match=f"^{name} is ") as caught:
        simulate(Scenario(), **{name: bad})
    assert allowed in str(caught.value)
    if name == "duration_s" and type(bad) in (int, float):
        assert "; the least is 8 samples, and a reading needs some ten seconds" in str(caught.value)


@pytest.mark.parametrize("bad", [None, "finger", {"site": "finger"}])
def test_what_is_no_scenario_is_refused(bad):
    with pytest.raises(TypeError, match=f"is a {type(bad).__name__}; it must be a Scenario"):
        simulate(bad)


def test_ten_seconds_a_hundred_samples_each_unless_told_otherwise():
    recording = simulate(Scenario())
    assert (recording.time_s.size, recording.sampling_rate_hz) == (1000, pytest.approx(100.0))


def test_the_shortest_recording_has_eight_samples():
    assert simulate(Scenario(), duration_s=0.08).time_s.size == 8


def test_a_seed_may_be_a_number_of_numpy():
    np.testing.assert_array_equal(
        simulate(Scenario(), seed=np.int64(3)).red, simulate(Scenario(), seed=3).red
    )


def drawn_away(**moved):
    """Ratio of the swings of red and infrared light that a disturbance makes."""
    rest = np.log(both(simulate(Scenario(**STILL), 30.0)))
    swing = np.log(both(simulate(Scenario(**STILL, **moved), 30.0))) - rest
    return swing[0].std() / swing[1].std()


def test_a_probe_that_shifts_moves_both_colours_alike():
    """Light lost at the contact is lost whatever its colour, so that R is drawn to 1."""
    assert drawn_away(coupling_percent=3.0) == pytest.approx(1.0, rel=1e-5)


def test_a_venous_pulse_swings_by_the_ratio_of_venous_blood():
    optics = pulse_optics(Scenario(**STILL))
    venous = optics.venous[0, 0] / optics.venous[0, 1]
    assert drawn_away(venous_pulse=0.5) == pytest.approx(venous, rel=1e-3)
    fully_arterial = pulse_optics(Scenario(venous_difference=0.0))
    np.testing.assert_allclose(fully_arterial.venous, fully_arterial.arterial, rtol=1e-9)


@every_site
def test_narrowed_vessels_leave_the_sites_own_share_of_the_pulse(site):
    scenario = Scenario(site=site, perfusion_index_percent=2.0)
    left = SITES[site].constricted_share
    for narrow, share in ((0.0, 1.0), (0.5, np.sqrt(left)), (1.0, left)):
        weak = scenario.replace(perfusion_index_percent=2.0 * share)
        found = pulse_optics(scenario.replace(vasoconstriction=narrow)).depth
        np.testing.assert_allclose(found, pulse_optics(weak).depth, rtol=1e-9)


def test_dark_skin_leaves_less_light_and_so_more_noise():
    """A quarter of the photons: twice the noise over the light (Poisson)."""
    dark = Scenario(melanin_fraction=0.3, converter_bits=24)
    lost = Probe(Scenario()).log_light_at_rest() - Probe(dark).log_light_at_rest()
    clean, noisy = (both(simulate(dark.replace(noise_percent=n), 100.0)) for n in (0.0, 0.1))
    wanted = 0.5 * 0.001 * np.sqrt(np.exp(lost))
    np.testing.assert_allclose((noisy - clean).std(axis=1), wanted, rtol=0.03)
    assert lost[0] > lost[1] > 0.0


@every_site
def test_varnish_darkens_the_finger_alone(site):
    bare, painted = (
        Probe(Scenario(site=site, varnish=colour)).log_light_at_rest()
        for colour in ("none", "black")
    )
    # two coats of 0.5 at 660 nm, and as one over the wavelength at 940 nm, in powers of ten
    wanted = np.log(10.0) * (2 * 0.03 + 2 * 0.5 * np.array([1.0, 660.0 / 940.0]))
    lost = wanted if site == "finger" else np.zeros(2)
    np.testing.assert_allclose(bare - painted, lost, atol=0.03)


def test_a_dye_that_takes_red_raises_the_ratio():
    """Methylene blue absorbs near 660 nm and not at 940 nm; without dye its amount is nothing."""
    none, some, more = (
        small_pulse_ratio(Scenario(dye=dye, dye_mg_per_l=amount), 0.97)
        for dye, amount in (("none", 20.0), ("methylene blue", 5.0), ("methylene blue", 20.0))
    )
    assert none == small_pulse_ratio(Scenario(), 0.97)
    assert none < some < more
