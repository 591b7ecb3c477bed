"""What Jupyter servers, hubs and Binder are told, read back by those who take it."""

import tomllib
from importlib import import_module
from pathlib import Path

import pytest
import yaml

from oximetry_workbook.app import behind_jupyter, command_line, serve

BINDER = Path(__file__).resolve().parents[2] / "binder"


def values():
    return yaml.safe_load((BINDER / "hub-values.yaml").read_text("utf-8"))


def test_jupyter_server_proxy_takes_every_setting():
    """An unknown name would be ignored; each must be a trait of the extension's own class."""
    config = pytest.importorskip("jupyter_server_proxy.config")
    process = behind_jupyter.server_process()
    assert set(process) <= set(config.ServerProcess.class_traits())
    taken = config.ServerProcess(name="oximetry", **process)
    assert taken.absolute_url


def test_the_command_takes_what_a_hub_fills_in():
    _, _, module, *arguments = behind_jupyter.server_process()["command"]
    assert module == "oximetry_workbook.app"
    # JupyterHub writes a name as an address wants it: "+" becomes %2B, "@" stays.
    place = {"port": "8931", "base_url": "/user/r%2Bb@example.org/"}
    options = command_line._parser().parse_args([part.format(**place) for part in arguments])
    assert options.base_url == "/user/r%2Bb@example.org/oximetry/"
    assert (options.port, options.browser) == (8931, False)


def test_the_hub_leads_to_where_the_entry_point_serves():
    project = tomllib.loads((BINDER.parent / "pyproject.toml").read_text("utf-8"))["project"]
    ((name, target),) = project["entry-points"]["jupyter_serverproxy_servers"].items()
    module, _, function = target.partition(":")
    assert getattr(import_module(module), function) is behind_jupyter.server_process
    config = (BINDER / "jupyterhub_config.py").read_text("utf-8")
    assert values()["singleuser"]["defaultUrl"] == f"/{name}/"
    assert f'c.Spawner.default_url = "/{name}/"' in config


def test_a_hub_ends_servers_later_than_the_workbook_ends_kernels():
    cull = values()["cull"]
    assert serve.IDLE_S + serve.CULL_INTERVAL_S < cull["timeout"] < cull["maxAge"]
