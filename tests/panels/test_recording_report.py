"""The report of a recording: what was read, what was withheld, and what its file holds."""

import base64
import re
from dataclasses import replace
from html import unescape

import numpy as np
import pandas as pd
import pytest

from oximetry_workbook.meter.files import open_content
from oximetry_workbook.panels.own_recording import OwnRecording
from oximetry_workbook.panels.recording_report import recording_report
from oximetry_workbook.teach.invented_recording import INVENTED_NAME, invented_csv
from oximetry_workbook.teach.own_recording import Readings
from oximetry_workbook.teach.page_recording import MOST_WINDOWS, recording_page, title


@pytest.fixture(scope="module")
def content():
    return invented_csv()


@pytest.fixture
def panel(wire, content):
    made = OwnRecording()
    made.open(INVENTED_NAME, content)
    made.work.begin()
    return made


def rows_of(page, caption):
    start = page.index(f"<caption>{caption}")
    body = page[page.index("<tbody>", start) : page.index("</tbody>", start)]
    rows = re.findall(r"<tr>(.*?)</tr>", body)
    return [[unescape(each) for each in re.findall(r"<t[hd][^>]*>(.*?)</t", row)] for row in rows]


def report_of(panel):
    *_, (share, page) = recording_report(panel)
    assert share == 1.0
    return page


def test_every_window_is_what_was_measured(panel):
    page, table = report_of(panel), panel.readings.windows
    rows = rows_of(page, "Windows; ")
    assert len(rows) == len(table)
    for row, (_, measured) in zip(rows, table.iterrows(), strict=True):
        starts, saturation, reference, ratio, pulse, perfusion, quality = row
        assert float(starts) == pytest.approx(measured["time_s"], abs=0.051)
        assert float(reference) == pytest.approx(measured["reference_percent"], abs=0.051)
        assert float(quality) == pytest.approx(measured["quality"], abs=0.0051)
        for cell, name, off in (
            (saturation, "spo2_percent", 0.051),
            (ratio, "ratio", 0.00051),
            (pulse, "heart_rate_bpm", 0.51),
            (perfusion, "perfusion_index_percent", 0.0051),
        ):
            assert (cell == "–") == np.isnan(measured[name])
            if cell != "–":
                assert float(cell) == pytest.approx(measured[name], abs=off)


def test_why_numbers_were_withheld_adds_up(panel):
    rows = rows_of(report_of(panel), "Why numbers were withheld")
    assert sum(int(count) for _, count in rows) == (~panel.readings.shown).sum()


def test_findings_and_columns_are_told(panel):
    page = unescape(report_of(panel)).replace("\N{NO-BREAK SPACE}", " ")
    preview = panel.opened.preview
    assert preview.findings
    for sentence in preview.findings:
        assert sentence in page
    for column in preview.chosen.values():
        assert f"“{column}”" in page


def test_pictures_are_the_panels_three(panel):
    page = report_of(panel)
    assert page.count("<figure>") == 3
    assert not re.search(r"url\((?!#)|(?:src|href)=\"(?!#)", page)


def test_a_long_recording_is_thinned_and_says_so(panel):
    readings = panel.readings
    many = pd.concat([readings.windows] * 20, ignore_index=True)
    many["time_s"] = 10.0 * np.arange(len(many))
    longer = Readings(many, readings.beats, readings.curve, readings.curve_origin, 10.0)
    page = recording_page(panel.opened.preview, longer, {}).html()
    start = page.index(" windows, one in ")
    shown, count, every = map(int, re.search(r"(\d+) of (\d+) windows, one in (\d+)",
                                             page[start - 20 :]).groups())  # fmt: skip
    rows = rows_of(page, f"{shown} of {count} windows")
    assert count == len(many)
    assert len(rows) == shown <= MOST_WINDOWS
    assert [float(row[0]) for row in rows] == many["time_s"][::every].tolist()


def test_an_invented_recording_is_called_invented(panel, content):
    assert "invented" in title(panel.opened.preview)
    renamed = open_content("mine.csv", content).preview
    assert "invented" in title(renamed)
    assert "invented" not in title(replace(renamed, comments=()))


def test_names_stay_text(panel):
    preview = replace(panel.opened.preview, name="<script>x</script>.csv")
    page = recording_page(preview, panel.readings, {}).html()
    assert "<script" not in page
    assert "&lt;script&gt;x&lt;/script&gt;.csv" in page


def test_the_button_offers_the_report(panel):
    button = panel.downloads[-1]
    button.work.button.click()
    assert panel.notice.value == ""
    (made,) = re.findall(r'base64,([^"]*)"', button.link.value)
    assert base64.b64decode(made).decode().startswith("<!DOCTYPE html>")
    button.forget()
    assert button.link.value == ""


def test_nothing_measured_is_nothing_to_report(wire):
    made = OwnRecording()
    button = made.downloads[-1]
    button.work.button.click()
    assert "press Measure" in made.notice.value
    assert button.link.value == ""


def test_pictures_of_another_measurement_are_not_mixed_in(panel):
    slices = recording_report(panel)
    next(slices)
    panel.work.begin()
    with pytest.raises(ValueError, match="press Save report again"):
        list(slices)
