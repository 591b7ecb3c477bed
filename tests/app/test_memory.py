"""A learner's kernel with the bench takes little more memory than a bare one beside it."""

import sys
from pathlib import Path

import pytest

sys.path.append(str(Path(__file__).resolve().parents[1] / "benchmarks"))

from kernel_memory import BARE, BENCH, LIMIT, MEASURABLE, NOT_MEASURED, beside_bare


@pytest.mark.skipif(not MEASURABLE, reason=NOT_MEASURED)
def test_the_bench_takes_little_more_than_a_bare_kernel():
    """The limit is our own: 40 kernels with the bench shall fit where 48 bare ones do.

    Both numbers come from the same run; two kernels of a kind differ by less than 0.5 %.
    """
    found = beside_bare([BENCH], each=2)
    over = found[BENCH].over(found[BARE])
    assert over.pss <= LIMIT
    assert over.uss <= LIMIT
    # nothing was measured if a page with 4 plots and 40 controls took no more than a bare one
    assert over.uss > 1.0
