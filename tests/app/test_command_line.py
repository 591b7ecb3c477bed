"""The command: its messages, its exit statuses, which notebooks it opens, and its reports."""

import json
import os
import socket
from importlib import import_module
from pathlib import Path

import pytest

from oximetry_workbook.app import command_line, notebooks, serve
from oximetry_workbook.teach.invented_recording import invented_csv
from oximetry_workbook.teach.own_study import OwnStudy


@pytest.fixture
def folder(tmp_path):
    """Two notebooks, one with a title of its own."""
    chapters = tmp_path / "chapters"
    chapters.mkdir()
    titled = {"cells": [], "metadata": {"title": "Le sang & l'oxygène"}}
    (chapters / "02_blood.ipynb").write_text(json.dumps(titled), encoding="utf-8")
    (chapters / "00_start_here.ipynb").write_text('{"cells": [], "metadata": {}}')
    return chapters


@pytest.fixture
def started(monkeypatch):
    """What would have been started, instead of starting it."""
    from oximetry_workbook.app import servers

    calls = {}
    monkeypatch.setattr(servers, "run_voila", lambda settings: calls.update(voila=settings))
    monkeypatch.setattr(servers, "run_lab", lambda arguments: calls.update(lab=arguments))
    for name in ("JUPYTER_PATH", "JUPYTER_WIDGETS_ECHO", "PYTHONPATH"):
        monkeypatch.setenv(name, os.environ.get(name, ""))
    return calls


@pytest.fixture
def free_port():
    with socket.socket() as probe:
        probe.bind((serve.HOST, 0))
        return probe.getsockname()[1]


def run(capsys, *arguments):
    """Return the exit status and what was printed on either stream."""
    try:
        status = command_line.main(arguments)
    except SystemExit as end:
        status = end.code
    out, err = capsys.readouterr()
    return status, out, err


def assert_one_line(text):
    assert text.endswith("\n")
    assert text.count("\n") == 1
    assert "Traceback" not in text


@pytest.mark.parametrize("port", ["0", "65536", "-1", "eighty", "8e3", "²"])
def test_bad_port(capsys, port):
    status, _, err = run(capsys, f"--port={port}")
    assert status == 2
    assert_one_line(err)
    assert port in err
    assert "1 to 65535" in err


@pytest.mark.parametrize(
    ("given", "told"),
    [("/", "/"), ("oximetry", "/oximetry/"), ("/user/a%20b/oximetry/", "/user/a%20b/oximetry/")],
)
def test_base_url_begins_and_ends_with_a_slash(capsys, folder, started, free_port, given, told):
    options = ("--notebooks", str(folder), "--port", str(free_port), "--no-browser")
    status, out, _ = run(capsys, *options, "--base-url", given)
    assert status == 0
    assert f"http://127.0.0.1:{free_port}{told} " in out
    assert started["voila"]["Voila"]["base_url"] == told


@pytest.mark.parametrize(
    "path", ["/a b/", "/a?b/", "/a#b", "/../", "/a/./b", "/%zz/", "/ü/", "http://a/"]
)
def test_bad_base_url(capsys, path):
    """RFC 3986, section 3.3: what a path may hold."""
    status, _, err = run(capsys, "--base-url", path)
    assert status == 2
    assert_one_line(err)
    assert "/oximetry/" in err


def test_unknown_option(capsys):
    status, _, err = run(capsys, "--colour")
    assert status == 2
    assert_one_line(err)


def test_port_taken(capsys, folder, started):
    with socket.socket() as other:
        other.bind((serve.HOST, 0))
        other.listen()
        port = other.getsockname()[1]
        status, _, err = run(capsys, "--notebooks", str(folder), "--port", str(port))
    assert status == 1
    assert_one_line(err)
    assert f"Port {port} is taken" in err
    assert "--port" in err
    assert not started


def test_notebooks_missing(capsys, tmp_path, started):
    status, _, err = run(capsys, "--notebooks", str(tmp_path / "nowhere"))
    assert status == 1
    assert_one_line(err)
    assert "nowhere" in err
    assert not started


def test_serves_the_chosen_folder(capsys, folder, started, free_port):
    arguments = ("--notebooks", str(folder), "--port", str(free_port), "--no-browser")
    status, out, err = run(capsys, *arguments)
    assert (status, err) == (0, "")
    assert f"http://127.0.0.1:{free_port}/" in out
    assert started["voila"]["Voila"]["root_dir"] == str(folder)
    assert started["voila"]["Voila"]["open_browser"] is False
    assert os.environ["JUPYTER_WIDGETS_ECHO"] == "0"


def test_lab_opens_a_folder_of_the_users_own_in_place(capsys, folder, started, free_port):
    status, _, _ = run(capsys, "--lab", "--notebooks", str(folder), "--port", str(free_port))
    assert status == 0
    assert f"--ServerApp.root_dir={folder}" in started["lab"]
    assert not list(folder.parent.glob(notebooks.COPIES))


def test_interruption_ends_quietly(capsys, folder, started, free_port, monkeypatch):
    def interrupted(_):
        raise KeyboardInterrupt

    monkeypatch.setattr("oximetry_workbook.app.servers.run_voila", interrupted)
    status, _, err = run(capsys, "--notebooks", str(folder), "--port", str(free_port))
    assert (status, err) == (0, "")


def test_version(capsys):
    status, out, _ = run(capsys, "--version")
    assert status == 0
    assert out.startswith("oximetry-workbook ")


def test_chapters_in_order_with_titles(folder):
    assert notebooks.chapters(folder) == [
        notebooks.Chapter("00_start_here.ipynb", "00", "Start here"),
        notebooks.Chapter("02_blood.ipynb", "02", "Le sang & l'oxygène"),
    ]


def test_a_broken_notebook_still_gets_its_link(folder):
    (folder / "03_half_written.ipynb").write_text("{", encoding="utf-8")
    assert notebooks.chapters(folder)[-1].title == "Half written"


def test_packaged_notebooks_come_first(folder):
    assert notebooks.find_folder(packaged=folder) == folder


def test_without_packaged_notebooks_the_repository_opens(folder, monkeypatch, tmp_path):
    monkeypatch.setattr(notebooks, "REPOSITORY", folder)
    assert notebooks.find_folder(packaged=tmp_path / "not there") == folder


def test_repository_folder_lies_beside_the_widgets():
    """Three folders up from app/: beside widgets/ in a checkout, nowhere in an installed copy."""
    assert Path(notebooks.__file__).resolve().parents[3] / "workbook" == notebooks.REPOSITORY
    checkout = Path(__file__).resolve().parents[2]
    assert (checkout / "widgets" / "oximetry_workbook" / "app" / "notebooks.py").is_file()
    assert (checkout / "workbook" / "00_start.ipynb").is_file()


def test_packaged_notebooks_are_copied_and_never_overwritten(folder, tmp_path):
    (folder / "pictures").mkdir()
    (folder / "pictures" / "cuvette.svg").write_text("<svg/>")
    (folder / ".ipynb_checkpoints").mkdir()
    mine = tmp_path / notebooks.COPIES / "02_blood.ipynb"
    mine.parent.mkdir()
    mine.write_text("what I wrote")
    copies = notebooks.learners_copy(folder, tmp_path, packaged=folder)
    assert copies == mine.parent
    assert mine.read_text() == "what I wrote"
    found = {str(path.relative_to(copies)) for path in copies.rglob("*") if path.is_file()}
    expected = {"00_start_here.ipynb", "02_blood.ipynb", os.path.join("pictures", "cuvette.svg")}
    assert found == expected


STUDY = "subject,sao2,ratio\n" + "".join(
    f"{who},{sao2},{(112 - sao2) / 25 + 0.01 * who}\n"
    for who in range(4)
    for sao2 in (98, 93, 88, 83, 78, 73)
)


@pytest.fixture
def study(tmp_path, monkeypatch):
    """The pairs of a study in a file, beside which the command is called."""
    monkeypatch.chdir(tmp_path)
    path = tmp_path / "pairs.csv"
    path.write_text(STUDY, encoding="utf-8")
    return path


def test_report_of_a_study(capsys, study):
    status, out, err = run(capsys, "report", str(study), "--form", "linear")
    assert (status, err) == (0, "")
    assert out == "Wrote pairs_report.html (study).\n"
    page = (study.parent / "pairs_report.html").read_text(encoding="utf-8")
    assert "From the file pairs.csv" in page
    assert "A linear curve by least squares" in page


def test_report_with_a_robust_curve(capsys, study):
    study.write_text(OwnStudy(subjects=5).pairs.table.to_csv(index=False), encoding="utf-8")
    status, _, err = run(capsys, "report", str(study), "--form", "rational", "--robust")
    assert (status, err) == (0, "")
    page = (study.parent / "pairs_report.html").read_text(encoding="utf-8")
    assert "A rational curve by robust" in page


def test_report_of_a_recording(capsys, tmp_path):
    path, page = tmp_path / "light.csv", tmp_path / "page.html"
    path.write_bytes(invented_csv())
    status, out, err = run(capsys, "report", str(path), "--output", str(page))
    assert (status, err) == (0, "")
    assert out.endswith("(recording).\n")
    assert "An invented recording" in page.read_text(encoding="utf-8")


def test_report_of_a_recording_without_times_takes_a_rate(capsys, study):
    lines = [line for line in invented_csv().decode().splitlines() if not line.startswith("#")]
    text = "\n".join(",".join(line.split(",")[1:3]) for line in lines)
    study.write_text(text + "\n", encoding="utf-8")
    status, _, err = run(capsys, "report", str(study))
    assert status == 1
    assert_one_line(err)
    assert not (study.parent / "pairs_report.html").exists()
    status, _, err = run(capsys, "report", str(study), "--rate", "50")
    assert (status, err) == (0, "")
    page = (study.parent / "pairs_report.html").read_text(encoding="utf-8")
    # 9000 samples at 50 per second
    assert "180\N{NO-BREAK SPACE}s of light" in page


def test_a_page_is_never_overwritten_unasked(capsys, study):
    page = study.parent / "pairs_report.html"
    page.write_text("mine")
    status, _, err = run(capsys, "report", str(study), "--form", "linear")
    assert status == 1
    assert_one_line(err)
    assert "--force" in err
    assert page.read_text() == "mine"
    status, _, _ = run(capsys, "report", str(study), "--form", "linear", "--force")
    assert status == 0
    assert page.read_text(encoding="utf-8").startswith("<!DOCTYPE html>")


def test_the_file_that_is_read_is_never_overwritten(capsys, study):
    status, _, err = run(capsys, "report", str(study), "--output", str(study), "--force")
    assert status == 1
    assert "choose another name" in err
    assert study.read_text(encoding="utf-8") == STUDY


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"", "empty"),
        (b"a,b\n1,2\n", "neither a study nor a recording"),
        (b"subject,sao2,spo2\n1,90,x\n2,80,82\n", "in row 1"),
        (b"subject,sao2,spo2\n1,90,91\n1,80,82\n", "only the label"),
        (b"subject,sao2,ratio\n1,90,0.8\n2,80,1.2\n", "too few"),
        (b"time,red,infrared\n0,1,1\n", "pairs.csv"),
        (b"time,red,infrared\n0,1,1\n1,x,1\n2,1,1\n", "pairs.csv"),
        (b"\x00\x01\x02", "NUL"),
    ],
)
def test_a_bad_file_is_told_in_one_line(capsys, study, content, told):
    study.write_bytes(content)
    status, out, err = run(capsys, "report", str(study))
    assert (status, out) == (1, "")
    assert_one_line(err)
    assert told in err
    assert not list(study.parent.glob("*.html"))


@pytest.mark.parametrize(
    ("arguments", "status", "told"),
    [
        (("nowhere.csv",), 1, "no such file"),
        ((".",), 1, "folder"),
        (("pairs.csv", "--rate", "50"), 1, "--rate does not go with a study"),
        (("pairs.csv", "--kind", "recording", "--robust"), 1, "--robust does not go"),
        (("pairs.csv", "--rate", "-3"), 2, "no rate"),
        (("pairs.csv", "--form", "cubic"), 2, "cubic"),
        (("pairs.csv", "--output", "no/such/folder/page.html"), 1, "folder"),
        ((), 2, "file"),
    ],
)
def test_arguments_that_will_not_do(capsys, study, arguments, status, told):
    given, out, err = run(capsys, "report", *arguments)
    assert (given, out) == (status, "")
    assert_one_line(err)
    assert told in err


def test_a_form_needs_r(capsys, study):
    study.write_text("subject,sao2,spo2\n1,90,91\n2,80,82\n3,85,86\n", encoding="utf-8")
    status, _, err = run(capsys, "report", str(study), "--form", "linear")
    assert status == 1
    assert "no column ratio" in err


def test_interrupted_work_leaves_nothing_behind(capsys, study, monkeypatch):
    def interrupted(*_):
        raise KeyboardInterrupt

    panel = import_module("oximetry_workbook.panels.own_study").OwnStudyPanel
    monkeypatch.setattr(panel, "report", interrupted)
    status, _, err = run(capsys, "report", str(study), "--form", "linear")
    assert (status, err) == (130, "")
    assert not list(study.parent.glob("*.html"))


def test_an_unknown_command_names_the_known(capsys):
    status, _, err = run(capsys, "repotr")
    assert status == 2
    assert_one_line(err)
    assert "report" in err
