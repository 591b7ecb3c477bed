"""How well found beats agree with known ones: sensitivity and positive predictivity.

Se = TP / (TP + FN) and +P = TP / (TP + FP), as ANSI/AAMI EC57 defines them for beats of the
ECG; its match window of 150 ms is from memory. The pairing is `compare_annotations` of PhysioNet's
package wfdb. Finders mark different points of a wave, and filters move them: a constant lag,
found for each finder and recording, is taken out first.
"""

from dataclasses import dataclass

import numpy as np
from scipy.stats import binomtest
from wfdb.processing import compare_annotations

TOLERANCE_S = 0.15
EDGE_S = 3.0
"""Beats so near the ends are not counted: filters settle there, and beats are cut."""

LAG_STEP_S = 0.01
LEVEL = 0.95
RESAMPLES = 2000


@dataclass(frozen=True)
class Tally:
    """Beats found, missed and added in one recording."""

    found: int
    missed: int
    added: int


@dataclass(frozen=True)
class Share:
    """A share of 1 with its interval, or NaN where there is nothing to share."""

    value: float
    low: float
    high: float


def usual_lag_s(known_s, found_s, span_s):
    """Constant lag of `found_s` behind `known_s` [s] within `span_s` that pairs most beats."""
    lags = np.arange(span_s[0], span_s[1] + LAG_STEP_S / 2, LAG_STEP_S)
    pairs = [np.sum(np.abs(_nearest(known_s, found_s - lag)) <= TOLERANCE_S) for lag in lags]
    middle = float(np.median(lags[pairs == np.max(pairs)]))
    apart = _nearest(known_s, found_s - middle)
    close = apart[np.abs(apart) <= TOLERANCE_S]
    return middle + float(np.median(close)) if close.size else middle


def _nearest(known_s, found_s):
    """Found less known time for the found beat nearest to each known one."""
    after = np.clip(np.searchsorted(found_s, known_s), 1, found_s.size - 1)
    apart = found_s[np.stack((after - 1, after))] - known_s
    return np.take_along_axis(apart, np.abs(apart).argmin(axis=0)[None], axis=0)[0]


def pairs_of(known_s, found_s):
    """Which known and which found beats have a partner within `TOLERANCE_S`."""
    known, found = (np.round(1000 * each).astype(int) for each in (known_s, found_s))
    has_known, has_found = np.zeros(known.size, bool), np.zeros(found.size, bool)
    if known.size and found.size:
        # wfdb pairs what lies nearer than the window
        pairing = compare_annotations(known, found, round(1000 * TOLERANCE_S) + 1)
        has_known[pairing.matched_ref_inds] = True
        has_found[pairing.matched_test_inds] = True
    return has_known, has_found


def tally(known_s, found_s, duration_s, span_s):
    """Count beats of one recording, `EDGE_S` off its ends.

    Args:
        known_s: Known beat times, rising [s]; (n,).
        found_s: Found beat times, rising [s]; (m,).
        duration_s: Length of the recording [s].
        span_s: Least and largest lag [s] that a finder's mark may have.
    """
    if found_s.size > 1:
        found_s = found_s - usual_lag_s(known_s, found_s, span_s)
    has_known, has_found = pairs_of(known_s, found_s)
    known_in, found_in = (
        (times > EDGE_S) & (times < duration_s - EDGE_S) for times in (known_s, found_s)
    )
    return Tally(
        found=int(np.sum(has_known & known_in)),
        missed=int(np.sum(~has_known & known_in)),
        added=int(np.sum(~has_found & found_in)),
    )


def sensitivity(tallies):
    """Share of known beats that were found, over all recordings."""
    return _share(tallies, "missed")


def predictivity(tallies):
    """Share of found beats that are known ones, over all recordings."""
    return _share(tallies, "added")


def _share(tallies, lost):
    right = np.array([each.found for each in tallies])
    wrong = np.array([getattr(each, lost) for each in tallies])
    if not right.sum() + wrong.sum():
        return Share(np.nan, np.nan, np.nan)
    value = float(right.sum() / (right.sum() + wrong.sum()))
    return Share(value, *_interval(right, wrong))


def _interval(right, wrong):
    """Wilson's interval over the beats, or if it is wider that over recordings drawn anew.

    Beats of one recording are not independent; but where none is wrong, drawing anew leaves no
    room for chance at all.
    """
    low, high = _wilson(int(right.sum()), int(wrong.sum()))
    if right.size > 1:
        drawn_low, drawn_high = _resampled(right, wrong)
        low, high = min(low, drawn_low), max(high, drawn_high)
    return low, high


def _wilson(right, wrong):
    between = binomtest(right, right + wrong).proportion_ci(LEVEL, method="wilson")
    return float(between.low), float(between.high)


def _resampled(right, wrong):
    """Percentile bootstrap over recordings."""
    rng = np.random.default_rng(0)
    drawn = rng.integers(0, right.size, (RESAMPLES, right.size))
    right, wrong = right[drawn].sum(axis=1), wrong[drawn].sum(axis=1)
    share = right / np.maximum(right + wrong, 1)
    return tuple(np.quantile(share, [(1 - LEVEL) / 2, (1 + LEVEL) / 2]).tolist())
