"""Benchmarks are run by name only: `pytest tests/benchmarks --benchmark-only`."""

import comm
import ipywidgets as widgets
import pytest
from comm.base_comm import BaseComm


def pytest_ignore_collect(collection_path, config):
    """Keep timings out of ordinary runs: they pass or fail with the machine, not the code."""
    if collection_path.suffix == ".py" and not config.getoption("--benchmark-only", False):
        return True
    return None


class CountingComm(BaseComm):
    """Stands for the line to the browser: takes each message as it would be sent."""

    size = 0

    def publish_msg(self, _kind, data=None, buffers=None, **_):
        from jupyter_client.session import json_packer

        parts = [json_packer(data), *(buffers or [])]
        CountingComm.size += sum(memoryview(each).nbytes for each in parts)


@pytest.fixture
def counting_comm(monkeypatch):
    """Widgets made in this test write their messages out in full."""
    monkeypatch.setattr(comm, "create_comm", lambda *args, **keys: CountingComm(*args, **keys))
    CountingComm.size = 0
    yield CountingComm
    widgets.Widget.close_all()
