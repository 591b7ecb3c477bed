"""Memory of a learner's kernel that has run a chapter, beside a bare one, in the same run.

Kernels are started alike, over sockets in the file system as the workbook's server does, and all
live at once while their memory is read. Linux alone tells what a process shares with others.
"""

import os
import sys
import tempfile
from contextlib import ExitStack, contextmanager
from dataclasses import astuple, dataclass
from pathlib import Path
from statistics import median

import nbformat
from budgets import Budget
from jupyter_client import KernelManager
from result_table import Table
from served_pages import BARE_PAGE, BENCH, WIDGETS

from oximetry_workbook.app.notebooks import chapters, find_folder

BARE = "bare: numpy, bqplot, a line and a slider"
LIMIT = 1.2
"""A kernel with the bench may take so many times the memory of a bare one."""
PATIENCE_S = 120
MEGABYTE = 1e6
MEASURABLE = Path("/proc/self/smaps_rollup").exists()
NOT_MEASURED = "not measured: it takes Linux, and its /proc/PID/smaps_rollup"


@dataclass(frozen=True)
class Memory:
    """What a process holds [MB].

    Attributes:
        pss: Its own, and of each shared page as much as there are processes to share it
            (proportional set size).
        uss: Its own alone: what would be free if it ended (unique set size).
        rss: Everything, shared or not (resident set size).
    """

    pss: float
    uss: float
    rss: float

    def over(self, other):
        """Each divided by that of another."""
        return Memory(*(a / b for a, b in zip(astuple(self), astuple(other), strict=True)))


def memory_of(pid):
    """Memory of a process, as the system tells it: proc(5)."""
    lines = Path(f"/proc/{pid}/smaps_rollup").read_text().splitlines()[1:]
    told = {name: int(rest.split()[0]) for name, rest in (line.split(":") for line in lines)}
    kilobytes = told["Pss"], told["Private_Clean"] + told["Private_Dirty"], told["Rss"]
    return Memory(*(1024 * each / MEGABYTE for each in kilobytes))


def middle(found):
    """Medians over several kernels, each kind of memory by itself."""
    return Memory(*map(median, zip(*map(astuple, found), strict=True)))


def cells_of(notebook):
    """The code of a chapter, cell by cell."""
    read = nbformat.read(find_folder() / notebook, as_version=4)
    return [cell.source for cell in read.cells if cell.cell_type == "code"]


@contextmanager
def kernel():
    """A kernel of Python in the notebooks' folder: its manager, and a client to it."""
    environment = os.environ | {"PYTHONPATH": str(WIDGETS), "JUPYTER_WIDGETS_ECHO": "0"}
    with tempfile.TemporaryDirectory() as folder:
        manager = KernelManager(transport="ipc", ip=str(Path(folder) / "k"))
        manager.start_kernel(cwd=str(find_folder()), env=environment)
        client = manager.client()
        client.start_channels()
        try:
            client.wait_for_ready(timeout=PATIENCE_S)
            yield manager, client
        finally:
            client.stop_channels()
            manager.shutdown_kernel(now=True)


def run(client, cells):
    """Run cells one after another; the first that fails raises RuntimeError."""
    for cell in cells:
        reply = client.execute(cell, reply=True, timeout=PATIENCE_S)["content"]
        if reply["status"] != "ok":
            raise RuntimeError("\n".join(reply["traceback"]))


def in_kernels(sources, each):
    """Median memory of so many kernels with each source (cells by name), all alive at once."""
    started = {name: [] for name in sources}
    with ExitStack() as stack:
        for _ in range(each):
            for name, cells in sources.items():
                manager, client = stack.enter_context(kernel())
                run(client, cells)
                started[name].append(manager.provisioner.pid)
        return {name: middle([*map(memory_of, pids)]) for name, pids in started.items()}


def beside_bare(notebooks, each):
    """Median memory of kernels with each of some chapters, and of as many bare ones."""
    return in_kernels({BARE: [BARE_PAGE]} | {name: cells_of(name) for name in notebooks}, each)


def memory_table(each):
    """The bench beside bare kernels, so many of each; then every chapter once, beside one."""
    table = Table(
        "Memory of a learner's kernel",
        f"{each} kernels with the bench and as many bare ones, medians; below them every chapter "
        "in one kernel, beside one bare. PSS counts a page shared by n kernels as an nth, USS only "
        f"what is a kernel's own. The budget for the bench is {LIMIT:g} times bare.",
        ["what", "PSS, MB", "USS, MB", "RSS, MB", "PSS over bare", "USS over bare"],
    )
    if not MEASURABLE:
        table.rows.append([NOT_MEASURED, *[None] * 5])
        return table
    found = beside_bare([BENCH], each)
    table.rows += _rows(found)
    over, floor = found[BENCH].over(found[BARE]), f"bare: {found[BARE].pss:.3g} MB"
    table.budgets.append(
        Budget("a learner's kernel, PSS over bare", LIMIT, "times", over.pss, floor)
    )
    if each > 1:
        names = [chapter.notebook for chapter in chapters(find_folder())]
        table.rows += _rows(beside_bare(names, 1))
    return table


def _rows(found):
    for name, memory in found.items():
        over = memory.over(found[BARE])
        yield [name, *astuple(memory), f"{over.pss:.2f}", f"{over.uss:.2f}"]


if __name__ == "__main__":
    print(memory_table(int(sys.argv[1]) if sys.argv[1:] else 4).markdown())
