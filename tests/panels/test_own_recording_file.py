"""The panel of one's own recording, its file: good and bad ones, paths, units, columns."""

import numpy as np
import pytest
from made_recordings import INFRARED, RATE_HZ, RED, TIME_S, measure_invented, table, upload

from oximetry_workbook.panels.own_recording import OwnRecording
from oximetry_workbook.panels.own_recording_file import PATHS_SETTING
from oximetry_workbook.panels.prose import html
from oximetry_workbook.teach.invented_recording import INVENTED_NAME, invented_csv

BAD = {
    "empty": b"",
    "binary": bytes(range(256)) * 20,
    "picture": b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR",
    "header only": b"time_s,red,ir\n",
    "no words": b"\xff\xfe" + b"\x01" * 300,
    "NUL bytes": b"time_s,red,ir\n0,1,2\n\x00\x00,3,4\n" * 20,
    "UTF-16 unmarked": "time_s,red,ir\n0,1,2\n".encode("utf-16-le") * 20,
    "zip": b"PK\x03\x04rest",
}


@pytest.fixture
def panel(wire, stored):
    return OwnRecording()


@pytest.fixture
def measured(panel):
    return measure_invented(panel)


def columns_shown(panel):
    return {role: field.value for role, field in panel.file_fields.columns.items()}


def cards(panel):
    return len(panel.shown.children)


def test_before_a_file_there_is_only_the_preview(panel):
    assert cards(panel) == 1
    assert "No file yet" in panel.preview.text.value
    panel.work.button.click()
    assert "no recording to measure yet" in panel.notice.value
    panel.file_fields.rate.value = 100.0
    assert "there is no file yet" in panel.notice.value
    assert panel.file_fields.rate.value == 0.0


def test_the_invented_recording_goes_the_way_of_every_file(panel):
    panel.source.invented.click()
    shown = columns_shown(panel), panel.preview.text.value, panel.light.lines["red"].y
    other = OwnRecording()
    upload(other, invented_csv(), INVENTED_NAME)
    assert columns_shown(other) == shown[0]
    assert other.preview.text.value == shown[1]
    np.testing.assert_array_equal(other.light.lines["red"].y, shown[2])
    assert panel.notice.value == other.notice.value == ""


def test_the_preview_tells_what_was_found_and_is_noticeable(panel):
    panel.source.invented.click()
    text = panel.preview.text.value
    assert html("9000 samples, 180 s at 50 per second.") in text
    assert html("125 of 9000 red samples (1.39 %) are missing, at 164.00 s.") in text
    assert "Taken for granted" not in text
    upload(panel, table("time,red,ir", TIME_S, RED, INFRARED).encode())
    assert "Taken for granted" in panel.preview.text.value
    assert "unit of" in panel.preview.text.value


@pytest.mark.parametrize("name", BAD)
def test_bad_files_are_told_and_leave_all_as_it_was(measured, name):
    before = (measured.opened, measured.readings, columns_shown(measured), cards(measured))
    upload(measured, BAD[name], f"{name}.csv")
    assert "That does not work" in measured.notice.value
    assert f"{name}.csv" in measured.notice.value
    assert "Traceback" not in measured.notice.value
    now = (measured.opened, measured.readings, columns_shown(measured), cards(measured))
    assert now == before
    measured.source.invented.click()
    assert measured.notice.value == ""


def test_an_upload_is_kept_until_the_next_file_has_been_opened(panel, stored):
    good = table("time_s,red,ir", TIME_S, RED, INFRARED).encode()
    upload(panel, good, "../../first.csv")
    assert panel.opened.preview.name == "first.csv"
    (kept,) = stored()
    upload(panel, b"nothing to read", "bad.csv")
    assert "That does not work: bad.csv has no rows" in panel.notice.value
    assert stored() == [kept]
    panel.file_fields.rate.value = 100.0  # reads the first one anew
    assert panel.opened.recording.sampling_rate_hz == pytest.approx(100.0)
    upload(panel, good, "second.csv")
    assert len(stored()) == 1
    assert stored() != [kept]
    panel.source.invented.click()
    assert stored() == []


def test_a_file_that_waits_for_a_choice_is_kept_too(panel, stored):
    upload(panel, table("a,b,c", TIME_S, RED, INFRARED).encode())
    assert "neither red nor infrared" in panel.notice.value
    assert len(stored()) == 1


@pytest.mark.parametrize("setting", [None, "", "0", "yes"])
def test_paths_are_off_unless_asked_for(wire, monkeypatch, setting):
    monkeypatch.delenv(PATHS_SETTING, raising=False)
    if setting is not None:
        monkeypatch.setenv(PATHS_SETTING, setting)
    assert OwnRecording().source.path is None


@pytest.fixture
def with_path(wire, monkeypatch):
    monkeypatch.setenv(PATHS_SETTING, "1")
    return OwnRecording()


def enter(panel, text):
    panel.source.path.text.value = text
    data = {"method": "custom", "content": {"event": "submit"}}
    panel.source.path.text.comm.handle_msg({"content": {"data": data}, "buffers": []})


@pytest.mark.parametrize("written", ["{}", "  {} ", '"{}"', "'{}'"])
def test_a_path_is_opened(with_path, tmp_path, written):
    path = tmp_path / "my light.csv"
    path.write_text(table("time_s,red,ir", TIME_S, RED, INFRARED))
    enter(with_path, written.format(path))
    assert with_path.notice.value == ""
    assert with_path.opened.preview.name == "my light.csv"
    with_path.file_fields.rate.value = 25.0
    assert with_path.opened.recording.sampling_rate_hz == pytest.approx(25.0)
    path.write_text(table("time_s,red,ir", TIME_S[:500], RED[:500], INFRARED[:500]))
    with_path.source.path.button.click()
    assert with_path.opened.recording.red.size == 500
    assert path.exists()


def test_a_path_from_home_is_opened(with_path, tmp_path, monkeypatch):
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv("USERPROFILE", str(tmp_path))
    (tmp_path / "x.csv").write_text(table("time_s,red,ir", TIME_S, RED, INFRARED))
    enter(with_path, "~/x.csv")
    assert with_path.opened.preview.name == "x.csv"


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "there is no path yet"),
        (' "" ', "there is no path yet"),
        ("/nowhere/x.csv", "x.csv: there is no such file"),
        ("~nobody-at-all/x.csv", "x.csv: there is no such file"),
        ("/", "there is no such file"),
        (".", "there is no such file"),
        ("/dev/zero", "there is no such file"),
        ("a\0b", "there is no such file"),
        ("x" * 5000, "there is no such file"),
    ],
)
def test_a_path_without_a_file_is_told(with_path, text, says):
    with_path.source.invented.click()
    before = with_path.opened
    enter(with_path, text)
    assert says in with_path.notice.value
    assert with_path.opened is before


def unit_entries(panel):
    return [words for words, _ in panel.file_fields.unit.options]


def test_the_unit_of_the_times_starts_with_a_guess(panel):
    assert unit_entries(panel)[0] == "as found"
    upload(panel, table("time,red,ir", 1000 * TIME_S, RED, INFRARED).encode())
    assert unit_entries(panel)[0] == "as found: milliseconds"
    assert panel.file_fields.unit.value == ""
    assert "Times read as: milliseconds." in panel.preview.text.value
    panel.file_fields.unit.value = "us"
    assert panel.opened.recording.sampling_rate_hz == pytest.approx(1000 * RATE_HZ)
    assert unit_entries(panel)[0] == "as found"
    assert panel.file_fields.unit.value == "us"
    assert "Times read as: microseconds." in panel.preview.text.value
    panel.file_fields.unit.value = ""
    assert panel.opened.recording.sampling_rate_hz == pytest.approx(RATE_HZ)
    assert unit_entries(panel)[0] == "as found: milliseconds"


def test_a_unit_that_does_not_fit_is_told_and_can_be_put_right(measured):
    before = measured.opened
    measured.file_fields.unit.value = "clock"
    assert "holds plain numbers" in measured.notice.value
    assert "choose their unit" in measured.preview.text.value
    measured.file_fields.unit.value = ""
    assert measured.notice.value == ""
    np.testing.assert_array_equal(measured.opened.recording.time_s, before.recording.time_s)


def test_a_chosen_unit_does_not_outlive_the_file(panel):
    content = table("time,red,ir", 1000 * TIME_S, RED, INFRARED).encode()
    upload(panel, content)
    panel.file_fields.unit.value = "us"
    upload(panel, content)
    assert panel.file_fields.unit.value == ""
    assert panel.opened.preview.time_unit == "ms"


def test_utf_16_with_its_mark_is_read(panel):
    upload(panel, table("time_s,red,ir", TIME_S, RED, INFRARED).encode("utf-16"))
    assert panel.notice.value == ""
    np.testing.assert_allclose(panel.opened.recording.red, RED, atol=1e-6)


def test_names_from_a_file_are_no_markup(panel):
    content = table("<img src=x>,red,ir", TIME_S, RED, INFRARED).encode()
    upload(panel, content, "<b>bold<!--.csv")
    for text in (panel.preview.text.value, panel.notice.value):
        assert "<img" not in text
        assert "<b>bold" not in text


def test_one_column_waits_for_a_sampling_rate(panel):
    upload(panel, table("red", RED).encode())
    assert "no column of times" in panel.notice.value
    assert "What is wanting" in panel.preview.text.value
    assert cards(panel) == 1
    panel.file_fields.rate.value = RATE_HZ
    assert panel.notice.value == ""
    assert cards(panel) == 2
    assert not panel.light.lines["infrared"].visible
    assert "No infrared light" in panel.light.says.value
    panel.work.button.click()
    assert "There is no infrared light" in panel.saturation.says.value


def test_columns_without_telling_names_are_chosen(panel):
    upload(panel, table("a,b,c", TIME_S, RED, INFRARED).encode())
    assert "neither red nor infrared" in panel.notice.value
    for role, column in {"time": "a", "red": "b", "infrared": "c"}.items():
        assert panel.file_fields.columns[role].value == ""
        panel.file_fields.columns[role].value = column
    assert panel.notice.value == ""
    recording = panel.opened.recording
    np.testing.assert_allclose([recording.red, recording.infrared], [RED, INFRARED], atol=1e-6)
    np.testing.assert_allclose(recording.time_s, TIME_S, atol=1e-6)


def test_a_column_chosen_twice_is_taken_back(measured):
    before = columns_shown(measured)
    measured.file_fields.columns["red"].value = "infrared"
    assert "names a column twice" in measured.notice.value
    assert columns_shown(measured) == before
    assert measured.readings is not None


def test_other_columns_drop_the_readings(measured):
    measured.file_fields.columns["reference"].value = ""
    assert measured.readings is None
    assert measured.opened.recording.reference_percent is None
    assert cards(measured) == 2
    measured.work.button.click()
    assert not measured.saturation.reference.visible


def test_red_and_infrared_change_places_by_way_of_none(measured):
    ratio = np.nanmedian(measured.readings.windows["ratio"])
    lists = measured.file_fields.columns
    lists["red"].value = ""
    lists["infrared"].value = "red"
    lists["red"].value = "infrared"
    assert measured.notice.value == ""
    measured.work.button.click()
    # Swapped colours turn R over: plain arithmetic.
    over = np.nanmedian(measured.readings.windows["ratio"])
    assert over == pytest.approx(1.0 / ratio, rel=0.03)


def test_a_column_may_be_called_none(panel):
    upload(panel, table("none,red,ir", TIME_S, RED, INFRARED).encode())
    panel.file_fields.columns["time"].value = "none"
    assert panel.notice.value == ""
    assert panel.opened.preview.chosen["time"] == "none"
