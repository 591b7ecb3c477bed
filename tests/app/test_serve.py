"""What the servers are told, read back by the servers' own configuration classes."""

import json
import os
import re
import socket
from pathlib import Path

import jinja2
import pytest
from traitlets.config import Config
from voila.app import Voila
from voila.configuration import VoilaConfiguration
from voila.paths import collect_static_paths, collect_template_paths

from oximetry_workbook.app import serve
from oximetry_workbook.app.notebooks import Chapter

CHAPTERS = [Chapter("00_start.ipynb", "00", "Start"), Chapter("02 a&b.ipynb", "02", "It's blood")]
SETTINGS = serve.voila_settings(Path("notebooks"), CHAPTERS, 8901, open_browser=False)


@pytest.fixture
def jupyter_path(monkeypatch):
    """The environment the command sets."""
    for name, value in serve.server_environment({}).items():
        monkeypatch.setenv(name, value)


def test_voila_takes_every_setting():
    """An unknown name would be ignored in silence; each must be a trait of Voila's classes."""
    server = Voila(config=Config(SETTINGS))
    page = VoilaConfiguration(config=Config(SETTINGS))
    for name in SETTINGS["Voila"]:
        assert Voila.class_traits()[name].metadata.get("config"), name
    for name, value in SETTINGS["VoilaConfiguration"].items():
        assert getattr(page, name) == value
    assert (server.ip, server.port, server.port_retries) == ("127.0.0.1", 8901, 0)


def test_kernel_settings_are_traits_of_the_kernel_managers():
    from jupyter_client.manager import KernelManager
    from jupyter_client.restarter import KernelRestarter
    from jupyter_server.services.kernels.kernelmanager import MappingKernelManager

    for owner in (KernelManager, KernelRestarter, MappingKernelManager):
        for name in SETTINGS[owner.__name__]:
            assert owner.class_traits()[name].metadata.get("config"), name


def test_a_line_to_the_kernel_outlives_its_first_ping():
    """Jupyter Server ends a line when a ping's time-out is not longer than the pings' interval."""
    from jupyter_server.base.websocket import WebSocketMixin

    line = WebSocketMixin()
    line.settings = SETTINGS["Voila"]["tornado_settings"]
    assert line.ping_timeout > line.ping_interval


def test_nobody_from_outside_changes_the_page():
    page = SETTINGS["VoilaConfiguration"]
    assert page["allow_template_override"] == page["allow_theme_override"] == "NO"
    assert SETTINGS["Voila"]["config_file_paths"] == []


def test_chapter_addresses_are_escaped():
    """RFC 3986, section 3.3: a space may not stand in a path, nor may a bare percent sign."""
    chapters = SETTINGS["VoilaConfiguration"]["resources"]["workbook"]["chapters"]
    assert [chapter["path"] for chapter in chapters] == ["00_start.ipynb", "02%20a%26b.ipynb"]


def test_idle_kernels_are_ended():
    managers = SETTINGS["MappingKernelManager"]
    assert 0 < managers["cull_interval"] < managers["cull_idle_timeout"]


def test_late_outputs_are_waited_for():
    """nbclient 0.10: four seconds by default, after which outputs are dropped silently."""
    from voila.execute import VoilaExecutor

    assert VoilaExecutor.iopub_timeout.default_value == 4
    assert SETTINGS["VoilaExecutor"]["iopub_timeout"] > 10 * 4


@pytest.mark.skipif(os.name != "posix", reason="only there are sockets in the file system")
def test_sockets_in_the_file_system_only_where_their_names_fit():
    """unix(7) on Linux: sun_path has 108 bytes; unix(4) on macOS: 104, the last one zero."""
    assert serve._transport("/tmp") == "ipc"
    assert serve._transport("/var/folders/zz/zyxvpxvq6csfxvn_n0000000000000/T") == "tcp"
    longest = "/" + "x" * (serve.LONGEST_IPC_FOLDER - 1)
    name = f"{longest}/voila_12345678/kernel-{'0' * 36}-ipc-1"
    assert serve._transport(longest) == "ipc"
    assert len(name) <= 103


def test_lab_takes_every_setting():
    from jupyter_server.serverapp import ServerApp
    from jupyterlab.labapp import LabApp

    arguments = serve.lab_arguments(Path("notebooks"), 8902, open_browser=True)
    owners = {"ServerApp": ServerApp, "LabApp": LabApp}
    for argument in arguments:
        owner, name = re.fullmatch(r"--(\w+)\.(\w+)=.*", argument).groups()
        assert owners[owner].class_traits()[name].metadata.get("config"), argument
    assert "--ServerApp.ip=127.0.0.1" in arguments
    assert "--ServerApp.port_retries=0" in arguments


def test_template_is_found_and_builds_on_voilas(jupyter_path):
    paths = [Path(path) for path in collect_template_paths(["voila", "nbconvert"], "workbook")]
    assert (paths[0].parts[-1], paths[1].parts[-1]) == ("workbook", "workbook")
    assert any(path.parts[-2:] == ("templates", "lab") and path.exists() for path in paths)
    static = collect_static_paths(["voila", "nbconvert"], "workbook")
    for name in ("workbook.css", "workbook.js"):
        assert any((Path(path) / name).is_file() for path in static)


def test_voila_keeps_its_own_data_folder(jupyter_path):
    """A voila/ folder of ours would be taken for Voila's, and its themes would be gone."""
    from voila.utils import get_data_dir

    assert (Path(get_data_dir()) / "themes").is_dir()


@pytest.mark.parametrize("page", ["404.html", "error.html", "tree.html", "index.html.j2"])
def test_pages_ask_nothing_of_other_servers(jupyter_path, page):
    paths = collect_template_paths(["voila", "nbconvert"], "workbook", prune=True)
    source, _, _ = jinja2.FileSystemLoader(paths).get_source(jinja2.Environment(), page)
    assert "//" not in re.sub(r'xmlns="[^"]*"', "", source)


def test_existing_paths_are_kept():
    given = {"JUPYTER_PATH": "mine", "PYTHONPATH": os.pathsep.join(["widgets", os.sep + "lib"])}
    variables = serve.server_environment(given)
    assert variables["JUPYTER_PATH"].split(os.pathsep)[-1] == "mine"
    assert all(os.path.isabs(entry) for entry in variables["PYTHONPATH"].split(os.pathsep))


def test_nothing_of_this_machine_in_the_sources():
    home = re.compile(r"/(home|root|Users)/|[A-Z]:\\\\")
    for path in serve.PACKAGE.joinpath("app").rglob("*"):
        if path.suffix in {".py", ".j2", ".html", ".css", ".js", ".json"}:
            assert not home.search(path.read_text(encoding="utf-8")), path


def test_a_free_port_is_usable_and_a_taken_one_is_not():
    with socket.socket() as other:
        other.bind((serve.HOST, 0))
        other.listen()
        port = other.getsockname()[1]
        assert "taken" in serve.why_port_unusable(port)
    assert serve.why_port_unusable(port) == ""


def test_template_names_its_base():
    conf = serve.TEMPLATES / "nbconvert" / "templates" / "workbook" / "conf.json"
    assert json.loads(conf.read_text())["base_template"] == "lab"
