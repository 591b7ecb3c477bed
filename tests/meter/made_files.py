"""Texts of tables whose samples are known, and what reading them is held to."""

import numpy as np
import pytest

from oximetry_workbook.meter.files import Choices, UnreadableRecordingError, open_content
from oximetry_workbook.meter.recording import Recording

COUNT = 400
STEP_S = 0.01
TIME_S = np.arange(COUNT) * STEP_S
RED = 0.5 + 0.01 * np.sin(8 * TIME_S)
INFRARED = 0.6 + 0.02 * np.sin(8 * TIME_S)


def table(
    header="time_s,red,ir", delimiter=",", decimal=".", time_s=TIME_S, columns=None, row="{:.15g}"
):
    """Text of a table, its cells written with the delimiter and the decimal sign."""
    columns = [time_s, RED, INFRARED] if columns is None else columns
    rows = [
        delimiter.join(row.format(value).replace(".", decimal) for value in values)
        for values in zip(*columns, strict=True)
    ]
    head = [] if header is None else [header.replace(",", delimiter)]
    return "\n".join(head + rows) + "\n"


def opened(text, encoding="utf-8", **choices):
    return open_content("made.csv", text.encode(encoding), Choices(**choices))


def problem(text, **choices):
    """Why a file is no recording, whether that is found at once or on reading it."""
    with pytest.raises(UnreadableRecordingError) as caught:
        Recording.read_bytes("made.csv", text.encode(), **choices)
    assert "made.csv" in str(caught.value)
    return str(caught.value)


def assert_same(recording, time_s=TIME_S):
    np.testing.assert_allclose(recording.time_s, time_s, rtol=1e-12, atol=1e-12)
    np.testing.assert_allclose(recording.red, RED, rtol=1e-12)
    np.testing.assert_allclose(recording.infrared, INFRARED, rtol=1e-12)
