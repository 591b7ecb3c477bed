"""A class held by the command, as a lecturer would: its process, its places, its memory."""

import asyncio
import os
import re
import signal
import socket
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import psutil
from tornado.httpclient import AsyncHTTPClient

HOST, CODE = "127.0.0.1", "K7MPQR"
WIDGETS = Path(__file__).resolve().parents[2] / "widgets"
PATIENCE_S = 120.0
QUIET_S = 12.0
"""The pool is full once no kernel has been added for so long [s]: twice a round of the server."""


class HeldClass:
    """The command `oximetry-workbook class` on loopback.

    Attributes:
        port: Where it is served.
        address: The same as an address, without a slash at its end.
    """

    def __init__(self, learners):
        with socket.socket() as probe:
            probe.bind((HOST, 0))
            self.port = probe.getsockname()[1]
        self.address = f"http://{HOST}:{self.port}"
        self.learners = learners
        self._log = Path(tempfile.mkdtemp(prefix="oximetry-load-")) / "server.log"

    async def start(self):
        """Start it, and wait until it answers and its spare kernels are ready."""
        options = ["--address", HOST, "--port", self.port, "--learners", self.learners]
        words = [sys.executable, "-m", "oximetry_workbook.app", "class", "--no-browser"]
        words += [*options, "--code", CODE]
        with self._log.open("w") as log:
            self.process = psutil.Popen(
                list(map(str, words)),
                env=os.environ | {"PYTHONPATH": str(WIDGETS)},
                cwd=self._log.parent,
                stdout=log,
                stderr=subprocess.STDOUT,
            )
        await until(self._answers, "the class answers")
        await self._pool_full()

    async def places_taken(self):
        """How many places are taken, as the projector's page tells."""
        board = re.search(r"http://\S+(/board/\S+)", self._log.read_text())[1]
        page = await AsyncHTTPClient().fetch(self.address + board)
        return int(re.search(r"(\d+) of \d+ places taken", page.body.decode())[1])

    def kernels(self):
        """The processes of all kernels, those that wait ready included."""
        return [each for each in self.process.children() if "ipykernel" in " ".join(_words(each))]

    def kernel_process(self, kernel_id):
        """The process of one kernel."""
        [process] = [each for each in self.kernels() if kernel_id in " ".join(_words(each))]
        return process

    def memory_mb(self):
        """Unique memory (PSS) of the server and of each kernel [MB]."""
        return pss_mb(self.process), [pss_mb(each) for each in self.kernels()]

    def printed(self):
        """What it told the lecturer."""
        return self._log.read_text()

    def stop(self, how=signal.SIGINT):
        """End it, by Ctrl-C if not said otherwise."""
        if self.process.is_running():
            self.process.send_signal(how)
            self.process.wait(timeout=PATIENCE_S)

    async def _answers(self):
        assert self.process.poll() is None, self._log.read_text()
        answer = await AsyncHTTPClient().fetch(f"{self.address}/class", raise_error=False)
        return answer.code == 200

    async def _pool_full(self):
        count, since = 0, time.monotonic()
        while time.monotonic() - since < QUIET_S:
            if (now := len(self.kernels())) != count:
                count, since = now, time.monotonic()
            await asyncio.sleep(1.0)


async def until(condition, what, patience_s=PATIENCE_S):
    """Wait for a condition; return how long it took [s]."""
    start = time.monotonic()
    while not await _true(condition):
        assert time.monotonic() - start < patience_s, f"waited {patience_s:g} s until {what}"
        await asyncio.sleep(0.25)
    return time.monotonic() - start


async def _true(condition):
    try:
        return await condition()
    except OSError:
        return False


def pss_mb(process):
    """Unique memory of a process: its own pages, and its share of those it shares [MB]."""
    memory = process.memory_full_info()
    return getattr(memory, "pss", memory.uss) / 1e6  # only Linux knows shares


def _words(process):
    try:
        return process.cmdline()
    except psutil.Error:
        return []
