"""The panel of one's own recording: zoom, readings, words, files to keep."""

import asyncio
import base64
import re

import numpy as np
import pytest
from made_recordings import INFRARED, RATE_HZ, RED, TIME_S, measure_invented, table, upload

from oximetry_workbook.panels.own_recording import OwnRecording, own_recording
from oximetry_workbook.panels.prose import html
from oximetry_workbook.teach.invented_recording import INVENTED_NAME
from oximetry_workbook.teach.own_recording import POINTS, beats_sentence, saturation_sentence
from oximetry_workbook.teach.reading import CURVE_NAMES

MOST_BYTES = 120_000
"""For two lines of `POINTS` points and what belongs to them: a long file must not clog the line."""


@pytest.fixture
def panel(wire):
    return OwnRecording()


@pytest.fixture
def measured(panel):
    return measure_invented(panel)


def test_measure_shows_windows_beats_and_words(measured):
    readings, plot = measured.readings, measured.saturation
    assert measured.notice.value == ""
    assert len(measured.shown.children) == 5
    given = readings.shown
    np.testing.assert_allclose(plot.spots.x, readings.middle_s[given])
    np.testing.assert_allclose(plot.spots.y, readings.windows["spo2_percent"][given])
    np.testing.assert_allclose(plot.withheld.x, readings.middle_s[~given])
    assert plot.withheld.visible
    assert plot.plot.y.min < plot.spots.y.min()
    np.testing.assert_allclose(measured.ratio.good.x, readings.beats["time_s"][readings.good_beats])
    assert measured.ratio.plot.y.max > measured.ratio.good.y.max()
    assert plot.says.value == html(saturation_sentence(readings))
    assert measured.ratio.says.value == html(beats_sentence(readings))
    assert "Withheld" in measured.numbers.value


def test_zoom_narrows_every_plot(measured):
    measured.start.value = 100.0
    measured.end.value = 130.0
    plots = [*measured.light.plots.values(), measured.saturation.plot, measured.ratio.plot]
    assert {(plot.x.min, plot.x.max) for plot in plots} == {(100.0, 130.0)}
    for mark in (*measured.light.lines.values(), measured.saturation.spots, measured.ratio.good):
        assert mark.x.min() >= 100.0
        assert mark.x.max() <= 130.0
    assert not measured.saturation.withheld.visible
    red = measured.opened.recording.between(100.0, 130.01).red
    np.testing.assert_array_equal(measured.light.lines["red"].y, red)


@pytest.mark.parametrize("start", [180.0, 200.0, float("nan"), float("inf")])
def test_a_stretch_that_is_none_is_taken_back(measured, start):
    measured.start.value = start
    assert "no stretch" in measured.notice.value
    assert (measured.start.value, measured.end.value) == (0.0, 180.0)


def test_a_stretch_without_light_hides_the_marks(measured):
    measured.end.value = 166.0
    measured.start.value = 164.5
    marks = (*measured.light.lines.values(), measured.ratio.good, measured.saturation.spots)
    assert not any(mark.visible for mark in marks)
    assert "No red and no infrared light there" in measured.light.says.value


def test_another_file_is_shown_whole(measured):
    measured.start.value = 100.0
    upload(measured, table("time_s,red,ir", TIME_S + 500.0, RED, INFRARED).encode())
    assert (measured.start.value, measured.end.value) == (500.0, 530.0)
    assert measured.light.lines["red"].visible
    assert measured.readings is None


def test_curve_and_window_follow_at_once(measured):
    before = measured.readings.windows["spo2_percent"].copy()
    measured.curve.value = CURVE_NAMES[1]
    after = measured.readings.windows
    assert np.abs(after["spo2_percent"] - before).max() > 0.5
    assert measured.readings.curve.name == CURVE_NAMES[1]
    measured.window.value = 60.0
    assert len(measured.readings.windows) == 3
    assert measured.notice.value == ""


def test_before_measure_the_curve_measures_nothing(panel):
    panel.source.invented.click()
    panel.curve.value = CURVE_NAMES[1]
    assert panel.readings is None


@pytest.mark.parametrize("row", [0, 1])
def test_tables_are_offered_as_files(measured, row):
    button = measured.downloads[row]
    button.offer()
    name, content = re.search(r'download="(.*?)".*base64,(.*?)"', button.link.value).groups()
    assert name == ("windows.csv", "beats.csv")[row]
    text = base64.b64decode(content).decode()
    table_shown = (measured.readings.windows, measured.readings.beats)[row]
    rows = [line for line in text.splitlines() if not line.startswith("#")]
    assert len(rows) == len(table_shown) + 1
    assert INVENTED_NAME in text
    measured.window.value = 20.0
    assert button.link.value == ""


def test_a_long_file_sends_no_more_than_a_screen_shows(panel, wire):
    minutes = 40
    time_s = np.arange(int(60 * minutes * RATE_HZ)) / RATE_HZ
    pulse = np.sin(2 * np.pi * 1.2 * time_s)
    content = table("time_s,red,ir", time_s, 0.5 - 0.004 * pulse, 0.6 - 0.008 * pulse).encode()
    upload(panel, content)
    before = len(wire.messages)
    panel.start.value = 1.0
    sent = wire.messages[before:]
    assert sum(each.size for each in sent) < MOST_BYTES
    assert all(line.x.size <= POINTS for line in panel.light.lines.values())


def test_cancel_keeps_what_was_read(wire):
    async def run():
        panel = OwnRecording()
        panel.source.invented.click()
        panel.window.value = 4.0
        panel.work.button.click()
        while panel.readings is None:
            await asyncio.sleep(0.001)
        panel.work.stop_button.click()
        kept = len(panel.readings.windows)
        await asyncio.sleep(0.05)
        return panel, kept

    panel, kept = asyncio.run(run())
    assert 0 < len(panel.readings.windows) == kept < 45
    assert not panel.work.running


def test_another_file_on_the_way_ends_the_reading_of_the_first(wire):
    async def run():
        panel = OwnRecording()
        panel.source.invented.click()
        panel.window.value = 4.0
        panel.work.button.click()
        await asyncio.sleep(0.002)
        upload(panel, table("time_s,red,ir", TIME_S, RED, INFRARED).encode())
        await asyncio.sleep(0.1)
        return panel

    panel = asyncio.run(run())
    assert panel.readings is None
    assert not panel.work.running


def test_the_colours_differ_by_line_too(panel):
    styles = {line.line_style for line in panel.light.lines.values()}
    assert styles == {"solid", "dashed"}


def test_the_public_function_shows_the_panel(wire):
    assert "ow-panel" in own_recording()._dom_classes
