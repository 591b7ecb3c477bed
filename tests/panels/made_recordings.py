"""Recordings to hand to the panel of one's own recording, and the browser's way of sending one."""

import numpy as np

from oximetry_workbook.panels.upload import SLICE_BYTES

RATE_HZ, COUNT = 50.0, 1500
TIME_S = np.arange(COUNT) / RATE_HZ
RED = 0.5 - 0.004 * np.sin(2 * np.pi * 1.2 * TIME_S)
INFRARED = 0.6 - 0.008 * np.sin(2 * np.pi * 1.2 * TIME_S)


def table(header, *columns):
    rows = "\n".join(",".join(f"{v:.6f}" for v in row) for row in zip(*columns, strict=True))
    return f"{header}\n{rows}\n"


def upload(panel, content, name="mine.csv"):
    """Send a file as the browser does."""

    def say(step, slices=(), **more):
        said = {"step": step, "number": name, **more}
        data = {"method": "custom", "content": said}
        message = {"content": {"data": data}, "buffers": [memoryview(each) for each in slices]}
        panel.source.upload.comm.handle_msg(message)

    say("begin", name=name, size=len(content))
    for start in range(0, len(content), SLICE_BYTES):
        say("slice", [content[start : start + SLICE_BYTES]], start=start)


def measure_invented(panel):
    """Open the recording that comes along and measure it."""
    panel.source.invented.click()
    panel.work.button.click()
    return panel
