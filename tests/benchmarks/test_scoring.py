"""Whether beats are counted right: cases counted by hand, and definitions of ANSI/AAMI EC57."""

import numpy as np
import pytest
from finders import FINDERS, KEPT, NOT_INSTALLED, OURS, installed, quietly
from recordings import CONDITIONS, PEAK_LAG_S, RATE_HZ, scenario_of, simulated, systolic_peaks_s
from result_table import Table
from scipy.signal import find_peaks
from scoring import Tally, pairs_of, predictivity, sensitivity, tally, usual_lag_s

from oximetry_workbook.body.pulse import BEAT_SHAPE

BEATS_S = np.arange(0.5, 60.0, 1.0)


def test_a_beat_has_one_partner_at_most():
    # one known beat, two found on it: the nearer pairs, the other is added
    known, found = pairs_of(np.array([10.0]), np.array([9.95, 10.1]))
    assert known.tolist() == [True]
    assert found.tolist() == [True, False]


@pytest.mark.parametrize(("apart_s", "paired"), [(0.149, True), (0.15, True), (0.152, False)])
def test_a_pair_lies_within_150_ms(apart_s, paired):
    known, _ = pairs_of(np.array([10.0]), np.array([10.0 + apart_s]))
    assert known[0] == paired


def test_one_missed_and_two_added_are_counted_as_such():
    found_s = np.sort(np.append(np.delete(BEATS_S, 30), [20.0, 41.1]))
    # 60 beats, of which three lie within 3 s of each end
    assert tally(BEATS_S, found_s, 60.0, PEAK_LAG_S) == Tally(found=53, missed=1, added=2)


@pytest.mark.parametrize("lag_s", [-0.15, 0.0, 0.04, 0.19])
def test_a_constant_lag_costs_nothing(lag_s):
    assert usual_lag_s(BEATS_S, BEATS_S + lag_s, PEAK_LAG_S) == pytest.approx(lag_s, abs=1e-9)
    assert tally(BEATS_S, BEATS_S + lag_s, 60.0, PEAK_LAG_S) == Tally(54, 0, 0)


@pytest.mark.parametrize("found_s", [np.empty(0), np.array([30.0])])
def test_next_to_nothing_found_is_all_missed(found_s):
    counted = tally(BEATS_S, found_s, 60.0, PEAK_LAG_S)
    assert counted.found == 0
    assert counted.missed == 54
    assert counted.added == found_s.size


def test_se_and_predictivity_by_their_definition():
    # TP 90, FN 10, FP 30: Se = 90 / 100, +P = 90 / 120
    counts = [Tally(40, 10, 0), Tally(50, 0, 30)]
    assert sensitivity(counts).value == pytest.approx(0.9)
    assert predictivity(counts).value == pytest.approx(0.75)
    assert sensitivity(counts).low <= 0.9 <= sensitivity(counts).high


def test_interval_of_one_recording_is_wilsons():
    # worked example of Newcombe 1998, Statistics in Medicine 17:857, table I: 81 of 263 gives
    # 0.2553 to 0.3662
    share = sensitivity([Tally(81, 263 - 81, 0)])
    assert (share.low, share.high) == pytest.approx((0.2553, 0.3662), abs=5e-5)


def test_interval_leaves_room_where_nothing_went_wrong():
    # Wilson 1927, all of n right: the lower end is n / (n + z^2), z = 1.96
    share = sensitivity([Tally(50, 0, 0)] * 2)
    assert share.low == pytest.approx(100 / (100 + 1.96**2), abs=1e-4)


def test_interval_is_wider_where_recordings_differ():
    alike, apart = [Tally(45, 5, 0)] * 10, [Tally(50, 0, 0), Tally(40, 10, 0)] * 5
    widths = [sensitivity(each).high - sensitivity(each).low for each in (alike, apart)]
    assert widths[0] < widths[1]


def test_nothing_found_has_no_predictivity():
    assert np.isnan(predictivity([Tally(0, 54, 0)]).value)


@pytest.mark.parametrize("condition", CONDITIONS)
def test_known_beats_come_at_the_hearts_rate(condition):
    scenario = scenario_of(condition, seed=3)
    beats_s = systolic_peaks_s(scenario, seed=3)
    # irregular hearts hold their mean over the whole recording only
    per_minute = 60.0 * (beats_s.size - 1) / (beats_s[-1] - beats_s[0])
    assert per_minute == pytest.approx(scenario.heart_rate_bpm, rel=0.05)


def test_no_known_beat_is_a_dicrotic_wave():
    highest = BEAT_SHAPE[find_peaks(BEAT_SHAPE)[0]]
    # the threshold of `systolic_peaks_s`, 0.8, lies between the two waves of a beat
    assert highest.size == 2
    assert highest[1] < 0.75
    assert highest[0] > 0.9


@pytest.mark.parametrize("finder", installed())
def test_every_finder_there_is_finds_an_easy_pulse(finder):
    known = simulated("ordinary", 0)
    found_s = quietly(installed()[finder], known.pulse, RATE_HZ)
    counted = tally(known.beats_s, found_s, known.duration_s, known.lag_s)
    assert sensitivity([counted]).value > 0.95
    assert predictivity([counted]).value > 0.95


@pytest.mark.parametrize("finder", [name for name in KEPT if name in installed()])
def test_beats_kept_are_some_of_those_found(finder):
    known = simulated("moving", 0)
    found_s, kept_s = (quietly(each[finder], known.pulse, RATE_HZ) for each in (installed(), KEPT))
    assert 0 < kept_s.size < found_s.size
    assert np.isin(np.round(kept_s, 6), np.round(found_s, 6)).all()


def test_what_is_missing_is_named_so(monkeypatch):
    import finders
    from found_beats import scored

    monkeypatch.setattr(finders, "version_of", {}.get)
    assert list(finders.installed()) == [OURS]
    rows = scored("ordinary", [simulated("ordinary", 0)])
    missing = [row[1] for row in rows if row[-1] == NOT_INSTALLED]
    assert missing == [name for name in FINDERS if name != OURS]


def test_tables_print_and_go_to_json():
    table = Table("Title", "Method.", ["name", "Se"], [["a", sensitivity([Tally(1, 1, 0)])]])
    assert "| a | 50.0 (" in table.markdown()
    assert table.plain()["rows"][0][1]["value"] == 0.5
    nothing = Table("", "", [""], [[predictivity([Tally(0, 1, 0)])]])
    assert nothing.plain()["rows"][0][0]["value"] is None
    assert "| none |" in nothing.markdown()
