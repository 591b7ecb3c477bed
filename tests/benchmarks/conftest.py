"""Speeds are measured by name only: `pytest tests/benchmarks --benchmark-only`."""

import sys
from pathlib import Path

import comm
import ipywidgets as widgets
import pytest

# `python tests/benchmarks` finds the modules beside it; so must their tests
sys.path.insert(0, str(Path(__file__).parent))

from counting_comm import CountingComm


def pytest_ignore_collect(collection_path, config):
    """Keep timings out of ordinary runs: they pass or fail with the machine, not the code."""
    if collection_path.match("test_*_speed.py") and not config.getoption("--benchmark-only", False):
        return True
    return None


@pytest.fixture
def counting_comm(monkeypatch):
    """Widgets made in this test write their messages out in full."""
    monkeypatch.setattr(comm, "create_comm", lambda *args, **keys: CountingComm(*args, **keys))
    CountingComm.size = 0
    yield CountingComm
    widgets.Widget.close_all()
