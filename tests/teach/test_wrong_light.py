"""Wrong light: what is drawn is what is simulated and measured, in plain sentences."""

import re
from dataclasses import fields, replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from oximetry_workbook.body.light import warm_peak_nm
from oximetry_workbook.body.quantities import Choice, specs_of
from oximetry_workbook.body.scenario import SPECS, Scenario
from oximetry_workbook.body.simulate import simulate
from oximetry_workbook.meter.measure import measure
from oximetry_workbook.teach.words import main_sentence, reading_numbers
from oximetry_workbook.teach.wrong_light import (
    MAINS_HZ,
    SPECTRUM_NM,
    TRUE_PERCENT,
    LedLight,
    PastTheTissue,
    RoomLight,
    folded_hz,
)
from oximetry_workbook.teach.wrong_light_words import (
    close_up_sentence,
    errors_sentence,
    filter_sentence,
    folding_sentence,
    room_verdict,
    seen_sentence,
    shares_sentence,
    spectra_sentence,
)

LAMP = RoomLight(ambient_light_percent=50.0, mains_frequency_hz=50.4)


def states_of(kind):
    specs = specs_of(kind).items()
    values = {
        name: st.sampled_from(s.options)
        if isinstance(s, Choice)
        else (st.integers(int(s.low), int(s.high)) if s.whole else st.floats(s.low, s.high))
        for name, s in specs
    }
    return st.fixed_dictionaries(values).map(lambda fields: kind(**fields))


def check_plain(sentence):
    assert re.fullmatch(r"[A-Z\d][^<>{}&\n]*\.", sentence), sentence
    assert "  " not in sentence
    assert not re.search(r"\b(None|nan|inf|array|True|False)\b", sentence), sentence
    assert not re.search(r"\de[+-]?\d|(?<!\w)-\d", sentence), sentence


def check_numbers(reading):
    for value in reading_numbers(reading).values():
        assert re.fullmatch(r"[+−]?\d+(\.\d+)?( %)?|–", value), value


@given(states_of(RoomLight))
@settings(max_examples=60, deadline=None)
def test_every_lamp_has_finite_figures_and_plain_sentences(state):
    time_s, seen = state.seen
    times, sampled = state.samples
    assert time_s.size == seen.shape[1]
    assert times.size == sampled.size > 0
    for values in (seen, sampled, state.close_up_percent, state.folding_rule_hz):
        assert np.all(np.isfinite(values))
    for sentence in (close_up_sentence, folding_sentence, seen_sentence, room_verdict):
        check_plain(sentence(state))
    check_numbers(state.reading)


@given(states_of(PastTheTissue))
@settings(max_examples=60, deadline=None)
def test_every_painted_loose_probe_has_finite_figures_and_plain_sentences(state):
    for values in (*state.led_percent, state.varnish_percent, state.let_through_percent):
        assert np.all(np.isfinite(values))
    np.testing.assert_allclose(state.shares_percent.sum(axis=0), 100.0)
    assert np.all(state.shares_percent >= 0.0)
    for sentence in (filter_sentence, shares_sentence):
        check_plain(sentence(state))
    for sentence in (errors_sentence(state.errors), main_sentence(state.reading)):
        check_plain(sentence)
    check_numbers(state.reading)


@given(states_of(LedLight))
@settings(max_examples=60, deadline=None)
def test_every_pair_of_leds_has_finite_figures_and_plain_sentences(state):
    for values in state.led_percent:
        assert np.all(np.isfinite(values))
    for sentence in (
        spectra_sentence(state),
        errors_sentence(state.errors),
        main_sentence(state.reading),
    ):
        check_plain(sentence)
    check_numbers(state.reading)


@given(st.floats(0.0, 500.0), st.integers(20, 300))
def test_a_folded_frequency_gives_the_same_samples(frequency, rate):
    time_s = np.arange(40) / rate
    true, folded = (
        np.cos(2.0 * np.pi * f * time_s) for f in (frequency, folded_hz(frequency, rate))
    )
    np.testing.assert_allclose(true, folded, atol=1e-7)
    assert 0.0 <= folded_hz(frequency, rate) <= rate / 2.0 + 1e-9


@pytest.mark.parametrize("rate", [50.0, 77.0, 100.0, 250.0])
def test_the_largest_tone_the_meter_sees_lies_at_the_folded_frequency(rate):
    lamp = replace(LAMP, sampling_rate_hz=rate, mains_frequency_hz=51.3, ambient_light_percent=60.0)
    light = lamp.reading.recording.infrared
    power = np.abs(np.fft.rfft((light - light.mean()) * np.hanning(light.size))) ** 2
    found_hz = np.fft.rfftfreq(light.size, 1.0 / rate)[np.argmax(power)]
    assert found_hz == pytest.approx(lamp.folded_hz, abs=0.11)


def test_the_rule_drawn_passes_through_the_spot():
    here = np.interp(LAMP.mains_frequency_hz, MAINS_HZ, LAMP.folding_rule_hz)
    assert here == pytest.approx(LAMP.folded_hz)


def test_samples_lie_on_the_flicker():
    time_s, sampled = LAMP.samples
    np.testing.assert_allclose(
        sampled, np.interp(time_s, np.linspace(0.0, 0.1, 401), LAMP.close_up_percent), atol=0.05
    )


@pytest.mark.parametrize(
    "state",
    [
        LAMP,
        PastTheTissue(bypass_percent=30.0, varnish="red"),
        LedLight(red_peak_nm=650.0, led_temperature_c=40.0),
    ],
    ids=["lamp", "past", "led"],
)
def test_the_reading_is_that_of_the_meter_on_the_simulated_recording(state):
    shared = {f.name: getattr(state, f.name) for f in fields(state) if f.name in SPECS}
    expected = measure(simulate(Scenario(**shared))).spo2_percent
    assert state.reading.measurement.spo2_percent == expected


@pytest.mark.parametrize(
    "state", [PastTheTissue(bypass_percent=40.0), LedLight(infrared_peak_nm=925.0)]
)
@pytest.mark.parametrize("index", [0, 4, 8])
def test_the_error_line_passes_through_the_reading(state, index):
    here = replace(state, arterial_saturation=TRUE_PERCENT[index] / 100.0)
    assert here.errors[index] == pytest.approx(here.reading.error_points, abs=1e-9)
    assert here.errors == state.errors


def test_a_withheld_number_is_no_error():
    painted = PastTheTissue(varnish="green", varnish_coats=4.0, bypass_percent=10.0)
    assert painted.errors == (None,) * TRUE_PERCENT.size
    assert errors_sentence(painted.errors) == "The meter withholds its number at every saturation."
    some = (0.0, None, *(1.0,) * 7)
    assert errors_sentence(some).endswith("At 1 of 9 saturations the number is withheld.")


def test_a_lamp_in_the_band_of_a_pulse_moves_both_colours_alike():
    assert LAMP.in_pulse_band
    assert LAMP.reading.measurement.ratio == pytest.approx(1.0, abs=0.03)
    assert "the count gives the lamp away" in room_verdict(LAMP)
    assert "gives the lamp away" not in room_verdict(replace(LAMP, mains_frequency_hz=50.6))
    assert "outside the band" in folding_sentence(replace(LAMP, mains_frequency_hz=60.0))
    assert "as it is" in folding_sentence(replace(LAMP, sampling_rate_hz=250.0))
    assert "2 times 50 Hz" in folding_sentence(replace(LAMP, sampling_rate_hz=50.0))


def test_sentences_of_nothing_at_all():
    dark = RoomLight()
    assert close_up_sentence(dark).startswith("The room is dark")
    assert seen_sentence(dark).startswith("Without a lamp")
    assert filter_sentence(PastTheTissue()).startswith("The nail is bare")
    assert filter_sentence(PastTheTissue(varnish="red", varnish_coats=0.0)).startswith("The nail")
    assert shares_sentence(PastTheTissue()).startswith("All light")
    assert "seems to stand still" in seen_sentence(replace(LAMP, mains_frequency_hz=50.0))


def test_varnish_on_screen_is_what_the_leds_pass():
    painted = PastTheTissue(varnish="blue")
    wavelength, before, behind = painted.led_percent
    drawn = np.interp(wavelength[0], SPECTRUM_NM, painted.varnish_percent)
    np.testing.assert_allclose(100.0 * behind[0] / before[0], drawn, rtol=0.01)
    assert painted.let_through_percent[0] < 15.0 < 80.0 < painted.let_through_percent[1]


def test_peaks_are_those_of_the_spectra_drawn():
    warm = LedLight(red_peak_nm=650.0, infrared_peak_nm=900.0, led_temperature_c=60.0)
    wavelength, light = warm.led_percent
    for nm, power, peak in zip(wavelength, light, warm.peaks_nm, strict=True):
        assert nm[np.argmax(power)] == pytest.approx(peak, abs=4.0)
    assert warm.peaks_nm[0] == warm_peak_nm(650.0, 60.0)
    np.testing.assert_allclose(np.add(warm.moved_nm, (660.0, 940.0)), warm.peaks_nm)


@pytest.mark.parametrize("kind", [RoomLight, PastTheTissue, LedLight])
def test_every_field_refuses_what_is_out_of_range(kind):
    for name, spec in specs_of(kind).items():
        bad = "elsewhere" if isinstance(spec, Choice) else 1e9
        with pytest.raises(ValueError, match=name):
            kind(**{name: bad})
