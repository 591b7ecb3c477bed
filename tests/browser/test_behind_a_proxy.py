"""The workbook behind other people's doors: nginx, a Jupyter server as on Binder, JupyterHub."""

import base64
import http.client
import json
import os
import re
import shutil
import subprocess
import sys
from contextlib import contextmanager
from importlib.metadata import entry_points
from pathlib import Path
from urllib.parse import urlsplit

import pytest

REPOSITORY = Path(__file__).resolve().parents[2]
CODE = "finger-clip"
NO_NGINX = "No nginx found: on Debian or Ubuntu run 'apt-get install nginx-light'"
NO_SERVER_PROXY = "No jupyter-server-proxy found: run 'pip install -r binder/requirements.txt .'"
NO_HUB = (
    "No JupyterHub found: run 'pip install -c binder/requirements.txt .[local-hub]', "
    "and install configurable-http-proxy (npm)"
)
NO_HUB_PROXY = (
    "No configurable-http-proxy found: install node.js and npm (on Debian or Ubuntu "
    "'apt-get install nodejs npm'), then run 'npm install -g configurable-http-proxy@4.6.3'"
)
NOT_INSTALLED = "A Jupyter server finds the workbook by its entry point: run 'pip install .' anew"
NGINX = """
daemon off;
{user}
pid nginx.pid;
error_log stderr;
events {{}}
http {{
    include /etc/nginx/mime.types;
    access_log off;
    client_body_temp_path body;
    proxy_temp_path proxy;
    fastcgi_temp_path fastcgi;
    uwsgi_temp_path uwsgi;
    scgi_temp_path scgi;
    include oximetry.conf;
}}
"""
"""What Debian's own nginx.conf has around a site, for a user without rights."""


def tool(name, how_to_get_it):
    return shutil.which(name) or pytest.skip(how_to_get_it)


@contextmanager
def running(command, folder, **environment):
    """Run a server in a folder; what it prints goes to `server.log` there."""
    log = folder / "server.log"
    with log.open("w") as stream:
        process = subprocess.Popen(
            command,
            cwd=folder,
            env=os.environ | {"PYTHONPATH": str(REPOSITORY / "widgets")} | environment,
            stdout=stream,
            stderr=subprocess.STDOUT,
        )
    process.log = log
    try:
        yield process
    finally:
        process.terminate()
        process.wait(timeout=60)


@pytest.fixture(scope="module")
def answers(wait_until, status_at):
    """Wait until a running server answers with a status; a proxy is up before what is behind."""

    def answering(process, address, status):
        assert process.poll() is None, process.log.read_text()
        return status_at(address) == status

    return lambda process, address, status=200: wait_until(
        lambda: answering(process, address, status), f"{address} answers {status}"
    )


def kernel_of(page):
    return json.loads(page.locator("#jupyter-config-data").text_content())["kernelId"]


def see_the_bench_follow(page):
    """From the start page: open the bench, move its first slider, see the number go along."""
    page.wait_for_url(re.compile(r"/oximetry/voila/render/00_start\.ipynb"))
    bench = page.url.replace("00_start", "06_bench")
    page.goto("about:blank")
    page.errors.clear()  # a page may still ask for its kernel while it is left
    page.goto(bench)
    page.get_by_text("The meter shows 97\u00a0%").first.wait_for()
    page.wait_for_selector(".ow-panel path.line", state="attached")
    page.locator(".ow-panel .noUi-handle").first.press("ArrowLeft")
    page.get_by_text("The meter shows 96\u00a0%").first.wait_for()
    assert (page.errors, page.outside) == ([], [])


# ----- nginx ------------------------------------------------------------------------------


def site(app_port, port):
    """The example as an administrator copies it, with this test's ports and password file."""
    text = (REPOSITORY / "binder" / "nginx.conf.example").read_text("utf-8")
    changes = {
        "listen 80;": f"listen 127.0.0.1:{port};",
        "http://127.0.0.1:8866;": f"http://127.0.0.1:{app_port};",
        "/etc/nginx/oximetry.htpasswd;": "oximetry.htpasswd;",
    }
    for before, after in changes.items():
        assert text.count(before) == 1
        text = text.replace(before, after)
    return text


@pytest.fixture(scope="module")
def nginx(scratch_notebooks, tmp_path_factory, serve, free_port, answers):
    """The address of the workbook's small chapters behind nginx."""
    command = tool("nginx", NO_NGINX)
    folder, app_folder = tmp_path_factory.mktemp("nginx"), tmp_path_factory.mktemp("app")
    arguments = ("--base-url", "/oximetry/", "--notebooks", str(scratch_notebooks))
    with serve(app_folder, *arguments) as server:
        port = free_port()
        (folder / "oximetry.conf").write_text(site(urlsplit(server.url).port, port))
        (folder / "oximetry.htpasswd").write_text(f"learner:{{PLAIN}}{CODE}\n")
        (folder / "nginx.conf").write_text(
            NGINX.format(user="user root;" if os.geteuid() == 0 else "")
        )
        with running(
            [command, "-p", f"{folder}/", "-e", "stderr", "-c", "nginx.conf"], folder
        ) as it:
            address = f"http://127.0.0.1:{port}/oximetry/"
            answers(it, address, status=401)
            yield address


@pytest.fixture
def signed_in(watched_page):
    with watched_page(http_credentials={"username": "learner", "password": CODE}) as page:
        yield page


def open_panel(page, nginx):
    page.goto(f"{nginx}voila/render/01_panel.ipynb")
    page.wait_for_selector(".bqplot .curve path.line")


def test_formulas_and_a_panel_behind_nginx(signed_in, nginx):
    signed_in.goto(nginx)
    signed_in.wait_for_url(re.compile(r"/oximetry/voila/render/00_start\.ipynb"))
    signed_in.wait_for_selector("mjx-container svg, mjx-container mjx-math", state="attached")
    open_panel(signed_in, nginx)
    signed_in.focus(".noUi-handle")
    signed_in.keyboard.press("ArrowRight")
    signed_in.wait_for_selector("text=The line ends at 1.5.")
    assert (signed_in.errors, signed_in.outside) == ([], [])


def answer(address, **headers):
    """Ask as a program does; return the answer, its connection closed."""
    parts = urlsplit(address)
    connection = http.client.HTTPConnection(parts.netloc, timeout=30)
    connection.request("GET", parts.path, headers=headers)
    try:
        return connection.getresponse()
    finally:
        connection.close()


PASSWORD = {"Authorization": "Basic " + base64.b64encode(f"learner:{CODE}".encode()).decode()}
HANDSHAKE = {
    "Connection": "Upgrade",
    "Upgrade": "websocket",
    "Sec-WebSocket-Version": "13",
    "Sec-WebSocket-Key": base64.b64encode(b"sixteen letters.").decode(),
    "Sec-WebSocket-Protocol": "v1.kernel.websocket.jupyter.org",
}
"""RFC 6455, section 4.1: what a browser sends to open a websocket."""


def test_nginx_lets_the_right_ones_reach_a_kernel(signed_in, nginx):
    open_panel(signed_in, nginx)
    line = f"{nginx}api/kernels/{kernel_of(signed_in)}/channels"
    name = {"Host": "oximetry.example.org"}
    ours, others = (
        HANDSHAKE | {"Origin": f"https://{host}"} for host in (*name.values(), "a.test")
    )
    assert answer(line, **name, **ours).status == 401
    assert answer(line, **name, **others, **PASSWORD).status == 403
    assert answer(line, **name, **ours, **PASSWORD).status == 101


def test_nginx_compresses(nginx):
    address = f"{nginx}voila/templates/workbook/static/workbook.js"
    headers = answer(address, **PASSWORD, **{"Accept-Encoding": "gzip"}).headers
    assert headers["Content-Encoding"] == "gzip"


# ----- Jupyter servers --------------------------------------------------------------------


@pytest.fixture(scope="module")
def workbook_installed():
    pytest.importorskip("jupyter_server_proxy", reason=NO_SERVER_PROXY)
    if not entry_points(group="jupyter_serverproxy_servers", name="oximetry"):
        pytest.skip(NOT_INSTALLED)


def test_a_jupyter_server_as_binder_starts_it(
    page, workbook_installed, tmp_path, free_port, answers
):
    """Binder opens `urlpath=oximetry/` under a prefix and with a token of the server's."""
    prefix = f"http://127.0.0.1:{(port := free_port())}/user/a-repository/"
    settings = {"port": port, "base_url": "/user/a-repository/", "token": CODE}
    options = [f"--ServerApp.{name}={value}" for name, value in settings.items()]
    command = [sys.executable, "-m", "jupyterlab", "--no-browser", "--allow-root", *options]
    with running(command, tmp_path) as server:
        answers(server, f"{prefix}api")
        page.goto(f"{prefix}oximetry/?token={CODE}")
        see_the_bench_follow(page)


@pytest.fixture(scope="module")
def hub(workbook_installed, tmp_path_factory, free_port, answers):
    """The address of a real JupyterHub with a real proxy, as binder/jupyterhub_config.py has it."""
    pytest.importorskip("jupyterhub", reason=NO_HUB)
    proxy = tool("configurable-http-proxy", NO_HUB_PROXY)
    folder = tmp_path_factory.mktemp("hub")
    address = f"http://127.0.0.1:{free_port()}/"
    settings = {
        "JupyterHub.bind_url": address,
        "JupyterHub.hub_bind_url": f"http://127.0.0.1:{free_port()}",
        "ConfigurableHTTPProxy.api_url": f"http://127.0.0.1:{free_port()}",
        "ConfigurableHTTPProxy.command": proxy,
    }
    command = [sys.executable, "-m", "jupyterhub"]
    command += ["-f", str(REPOSITORY / "binder" / "jupyterhub_config.py")]
    command += [f"--{name}={value}" for name, value in settings.items()]
    with running(command, folder, OXIMETRY_CLASS_CODE=CODE) as it:
        answers(it, f"{address}hub/login")
        yield address


def sign_in(page, hub, name, code):
    page.goto(f"{hub}hub/login")
    page.fill("#username_input", name)
    page.fill("#password_input", code)
    page.click("#login_submit")


def test_behind_a_hub(page, watched_page, hub, wait_until):
    sign_in(page, hub, "learner-1", "no such code")
    page.get_by_text("Invalid username or password").wait_for()
    page.errors.clear()  # the browser notes the refusal
    sign_in(page, hub, "learner-1", CODE)
    see_the_bench_follow(page)
    kernel = f"{hub}user/learner-1/oximetry/api/kernels/{kernel_of(page)}"
    assert page.request.get(kernel).json()["id"] == kernel_of(page)
    with watched_page() as stranger:
        stranger.goto(kernel)
        stranger.wait_for_selector("#login_submit")
    page.goto("about:blank")
    wait_until(lambda: page.request.get(kernel).status == 404, "the kernel has ended")


def test_the_hub_wants_a_class_code(tmp_path):
    pytest.importorskip("jupyterhub", reason=NO_HUB)
    config = str(REPOSITORY / "binder" / "jupyterhub_config.py")
    ended = subprocess.run(
        [sys.executable, "-m", "jupyterhub", "-f", config],
        cwd=tmp_path,
        env=os.environ | {"OXIMETRY_CLASS_CODE": "short"},
        capture_output=True,
        text=True,
        timeout=60,
    )
    assert ended.returncode != 0
    assert "Set OXIMETRY_CLASS_CODE to a class code of 8 characters or more." in ended.stderr
