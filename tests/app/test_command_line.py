"""The command: its messages, its exit statuses, and which notebooks it opens."""

import json
import os
import socket
from pathlib import Path

import pytest

from oximetry_workbook.app import command_line, notebooks, serve


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
