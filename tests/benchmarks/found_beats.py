"""Found beats against known ones: ours, neurokit2's and heartpy's on the same recordings."""

from finders import FINDERS, KEPT, NOT_INSTALLED, installed, quietly
from recordings import (
    CONDITIONS,
    DURATION_S,
    PEAK_LAG_S,
    beside_an_ecg,
    simulated,
    without_reference,
)
from result_table import Table
from scoring import (
    EDGE_S,
    TOLERANCE_S,
    Tally,
    pairs_of,
    predictivity,
    sensitivity,
    tally,
    usual_lag_s,
)

FAIR = (
    "Each library with the defaults of its documentation: neurokit2 `ppg_clean` and "
    "`ppg_findpeaks`; heartpy `filter_signal` (0.75 to 3.5 Hz, order 3, the band-pass of its own "
    'example) and `process`; ours `find_beats`. "Kept" are the beats that heartpy uses for its '
    "intervals and that our quality lets through; neurokit2's finder rejects none."
)
MATCHED = (
    f"Matched within ±{1000 * TOLERANCE_S:.0f} ms after taking out each finder's own constant lag; "
    f"the first and last {EDGE_S:.0f} s are not counted. Se = TP / (TP + FN), +P = TP / (TP + FP) "
    "(ANSI/AAMI EC57), in percent with 95 % intervals"
)


COLUMNS = ["recordings", "finder", "beats known", "Se", "+P"]


def simulated_table(seeds):
    """Every kind of simulated recording, so many of each."""
    table = Table(
        "Beats: simulated recordings, the heart's own beats known",
        f"{seeds} recordings of {DURATION_S:.0f} s at 100 Hz of each kind, each with a heart rate "
        f"of its own. {MATCHED} (Wilson over beats or, if wider, bootstrap over recordings). "
        f"{FAIR} All come from our own simulator, on whose like ours was tuned, and which "
        "stretches a slow beat as a whole, dicrotic wave included: the real recordings below "
        "weigh more.",
        COLUMNS,
    )
    for condition in CONDITIONS:
        recordings = [simulated(condition, seed) for seed in range(seeds)]
        table.rows += scored(condition, recordings)
    return table


def ecg_table():
    """A real pulse wave with the ECG beside it."""
    table = Table(
        "Beats: a real recording, the R waves of the ECG beside it known",
        "Pulse at a finger, of `medical.txt.bz2` in the package pyphysio 4.10; R waves are peaks "
        "of its ECG over 0.5 mV. Matching as above; the constant lag is the pulse's arrival. "
        "Intervals: Wilson, beats taken as independent. The hand moves from about 61 to 76 s and "
        "near 114 s.",
        COLUMNS,
    )
    known = beside_an_ecg()
    missing = [[f"pyphysio {NOT_INSTALLED}", *[None] * 4]]
    table.rows += scored("two minutes", [known]) if known else missing
    return table


def scored(name, recordings):
    """Return rows: sensitivity and predictivity of each finder over all these recordings."""
    rows, finders = [], installed()
    for finder in FINDERS:
        if finder not in finders:
            rows.append([name, finder, None, NOT_INSTALLED, NOT_INSTALLED])
            continue
        rows.append([name, finder, *scores(finders[finder], recordings)])
        if finder in KEPT:
            rows.append([name, f"{finder}, kept", *scores(KEPT[finder], recordings)])
    return rows


def scores(find, recordings):
    """Known beats, sensitivity and predictivity of one finder."""
    tallies = [score(find, known) for known in recordings]
    beats = sum(each.found + each.missed for each in tallies)
    return beats, sensitivity(tallies), predictivity(tallies)


def score(find, known):
    """Tally of one finder on one recording."""
    found_s = quietly(find, known.pulse, known.sampling_rate_hz)
    return tally(known.beats_s, found_s, known.duration_s, known.lag_s)


def agreement_table():
    """Real pulse waves without a reference: each finder against the two others."""
    table = Table(
        "Beats: real recordings without a reference, each finder against the two others",
        "Finger pulses that come with heartpy 1.2.7. This is agreement, not truth: Se is the share "
        "of beats which both others found, +P the share which at least one other found. Matching "
        "and intervals as above (Wilson). In data2.csv the sensor is off the finger for the first "
        "26 s, where all find beats that are none.",
        ["recording", "finder", "beats both found", "Se", "+P"],
    )
    finders = installed()
    recordings = without_reference() if len(finders) == len(FINDERS) else {}
    for name, (pulse, rate_hz) in recordings.items():
        found = {each: quietly(find, pulse, rate_hz) for each, find in finders.items()}
        for finder in FINDERS:
            against = against_others(found, finder, len(pulse) / rate_hz)
            scored = sensitivity([against]), predictivity([against])
            table.rows.append([name, finder, against.found + against.missed, *scored])
    if not recordings:
        table.rows.append([f"needs all three; one is {NOT_INSTALLED}", *[None] * 4])
    return table


def against_others(found_s, finder, duration_s):
    """Tally of one finder against what the two others found, by name [s]."""
    mine = found_s[finder]
    first, second = (
        times - usual_lag_s(mine, times, PEAK_LAG_S)
        for name, times in found_s.items()
        if name != finder
    )
    both = first[pairs_of(first, second)[0]]
    confirmed = pairs_of(first, mine)[1] | pairs_of(second, mine)[1]
    inside = (mine > EDGE_S) & (mine < duration_s - EDGE_S)
    against = tally(both, mine, duration_s, PEAK_LAG_S)
    return Tally(against.found, against.missed, int((~confirmed & inside).sum()))
