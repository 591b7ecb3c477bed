"""A class's server as learners meet it, and as somebody meets it who means no good."""

import json
import re
import struct

import pytest

CODE = "K7MPQR"
BENCH = "voila/render/06_bench.ipynb"
KERNEL = "() => JSON.parse(document.getElementById('jupyter-config-data').textContent).kernelId"
NO_ADDRESSES = (
    "api/contents", "api/kernels", "api/sessions", "api/terminals", "api/kernelspecs", "api/config",
    "lab", "tree", "terminals/1", "edit/README.md", "voila/files/06_bench.ipynb",
    "voila/static/..%2f..%2f..%2fetc%2fpasswd", "files/..%2f..%2fetc%2fpasswd",
)  # fmt: skip
"""What a Jupyter server may offer and a class must not."""

SPEAK = """async ([address, messages]) => {
  const line = new WebSocket(address, "v1.kernel.websocket.jupyter.org");
  line.binaryType = "arraybuffer";
  const heard = [];
  const decoder = new TextDecoder();
  line.onmessage = (event) => heard.push(decoder.decode(event.data));
  const opened = await new Promise((done) => {
    line.onopen = () => done(true);
    line.onerror = () => done(false);
  });
  if (!opened) return { opened, heard, code: null };
  const closed = new Promise((done) => { line.onclose = (event) => done(event.code); });
  for (const message of messages) line.send(new Uint8Array(message));
  const late = new Promise((done) => setTimeout(done, 4000, 0));
  const code = await Promise.race([closed, late]);
  line.close();
  return { opened, heard, code };
}"""
"""Open the line to a kernel as a page's own script could; say what came back and how it ended."""


@pytest.fixture(scope="module")
def room(browser, serve, tmp_path_factory):
    folder = tmp_path_factory.mktemp("class")
    options = ("class", "--address", "127.0.0.1", "--learners", "12", "--code", CODE)
    with serve(folder, *options) as server:
        yield server


@pytest.fixture(scope="module")
def learner(watched_page, room):
    """A learner who is let in by the link of the QR code, at the bench; nobody moves him."""
    with watched_page() as page:
        enter(page, room)
        yield page
        page.close(run_before_unload=True)


def enter(page, room):
    page.goto(f"{room.url}class?code={CODE}")
    page.wait_for_selector(".ow-plot path.line", state="attached")
    page.wait_for_url(f"**/{BENCH}")


def message(kind, content):
    """A message of the protocol v1.kernel.websocket.jupyter.org, as bytes."""
    header = {"msg_id": "1", "msg_type": kind, "session": "s", "username": "", "version": "5.3"}
    parts = [b"shell", *(json.dumps(each).encode() for each in (header, {}, {}, content))]
    start = 8 * (len(parts) + 2)
    offsets = [start + sum(map(len, parts[:count])) for count in range(len(parts) + 1)]
    return list(struct.pack(f"<{len(offsets) + 1}Q", len(offsets), *offsets) + b"".join(parts))


def channels(room, kernel):
    return f"{room.url.replace('http', 'ws')}api/kernels/{kernel}/channels"


def test_the_door_asks_for_the_code_and_leads_on(page, room):
    page.goto(room.page("11_late_news.ipynb"))
    code = page.get_by_role("textbox")
    code.fill("wrong")
    code.press("Enter")
    page.get_by_text("not the class's code").wait_for()
    page.get_by_role("textbox").fill("k7m-pqr")  # as people write it
    page.get_by_role("textbox").press("Enter")
    page.wait_for_url("**/voila/render/11_late_news.ipynb")
    page.wait_for_selector(".ow-plot path.line", state="attached")
    page.close(run_before_unload=True)


def test_sliders_move_and_the_kernel_ends_with_its_page(watched_page, room, wait_until):
    with watched_page() as page:
        enter(page, room)
        address = f"{room.url}api/kernels/{page.evaluate(KERNEL)}"
        page.get_by_role("slider", name="Arterial saturation", exact=True).focus()
        page.keyboard.press("PageDown")
        page.wait_for_function(
            "() => !document.querySelector('.ow-strip').textContent.includes('carries97')"
        )
        assert page.request.get(address).status == 200
        assert (page.errors, page.outside) == ([], [])
        page.goto(room.url + "class")  # away from the chapter; the door is no page with a kernel
        wait_until(lambda: page.request.get(address).status == 404, "the kernel has ended")


def test_who_finds_no_place_is_told_kindly_and_gets_the_next(
    watched_page, serve, tmp_path, wait_until
):
    options = ("class", "--address", "127.0.0.1", "--learners", "1", "--code", CODE)
    with serve(tmp_path, *options) as small, watched_page() as first, watched_page() as second:
        enter(first, small)
        kernel = f"{small.url}api/kernels/{first.evaluate(KERNEL)}"
        second.clock.install()
        refused = second.goto(f"{small.url}class?code={CODE}")
        assert refused.status == 503
        assert "taken" in second.inner_text("body")
        first.goto("about:blank")
        wait_until(lambda: first.request.get(kernel).status == 404, "the place is free")
        with second.expect_response(lambda answer: answer.url.endswith(BENCH)) as answered:
            second.clock.fast_forward(20_000)  # it tries by itself
        assert answered.value.status == 200
        second.wait_for_selector(".ow-plot path.line", state="attached")


def test_nobody_reaches_the_kernel_of_another(learner, watched_page, room):
    kernel = learner.evaluate(KERNEL)
    address = f"{room.url}api/kernels/{kernel}"
    assert learner.request.get(address).status == 200
    with watched_page() as other:
        assert other.request.get(address).status == 403  # without the code
        enter(other, room)
        assert other.request.get(address).status == 404
        assert other.request.delete(address).status in (403, 404)
        assert not other.evaluate(SPEAK, [channels(room, kernel), []])["opened"]
        other.close(run_before_unload=True)
    assert learner.request.get(address).status == 200


def test_the_line_to_a_kernel_runs_no_code(learner, room, tmp_path):
    address = channels(room, learner.evaluate(KERNEL))
    written = tmp_path / "was_here"
    code = f"open({str(written)!r}, 'w').write('x'); print('ran')"
    asked = message("execute_request", {"code": code, "silent": False, "store_history": False})
    ended = learner.evaluate(SPEAK, [address, [asked]])
    assert ended["opened"]
    assert ended["code"] == 1008  # RFC 6455, section 7.4.1: against the server's policy
    assert not any("execute" in each and "ran" in each for each in ended["heard"])
    allowed = learner.evaluate(SPEAK, [address, [message("kernel_info_request", {})]])
    assert allowed["code"] == 0
    assert any("kernel_info_reply" in each for each in allowed["heard"])
    assert not written.exists()


@pytest.mark.parametrize("bad", [[], [1, 2, 3], [255] * 16, [0] * 64])
def test_a_malformed_message_ends_its_line_and_nothing_else(learner, room, bad):
    kernel = learner.evaluate(KERNEL)
    assert learner.evaluate(SPEAK, [channels(room, kernel), [bad]])["code"] == 1008
    assert learner.request.get(f"{room.url}api/kernels/{kernel}").status == 200


def test_a_message_too_large_ends_its_line(learner, room):
    kernel = learner.evaluate(KERNEL)
    ended = learner.evaluate(
        SPEAK.replace("new Uint8Array(message)", "new Uint8Array(message[0])"),
        [channels(room, kernel), [[5 * 1024 * 1024]]],
    )
    assert ended["code"] in (1006, 1009)
    assert learner.request.get(f"{room.url}api/kernels/{kernel}").status == 200


def test_a_foreign_page_opens_no_line(learner, room, status_at):
    """A websocket is refused to an origin that is not the server's own (RFC 6455, section 10.2)."""
    address = f"{room.url}api/kernels/{learner.evaluate(KERNEL)}/channels"
    handshake = {
        "Connection": "Upgrade",
        "Upgrade": "websocket",
        "Sec-WebSocket-Version": "13",
        "Sec-WebSocket-Key": "dGhlIHNhbXBsZSBub25jZQ==",
        "Sec-WebSocket-Protocol": "v1.kernel.websocket.jupyter.org",
    }
    for origin in ({"Origin": "http://elsewhere.example"}, {}):
        assert learner.request.get(address, headers=handshake | origin).status == 403


def test_addresses_that_a_class_does_not_need_are_not_there(learner, page, room):
    for path in NO_ADDRESSES:
        assert learner.request.get(room.url + path).status in (403, 404), path
        assert page.request.get(room.url + path).status in (403, 404), path


def test_pages_come_with_headers_that_keep_them_to_themselves(learner, room):
    headers = learner.request.get(room.url + "class/").headers
    assert headers["x-content-type-options"] == "nosniff"
    policy = headers["content-security-policy"]
    assert "frame-ancestors 'none'" in policy
    assert "unsafe-eval" not in policy
    assert re.search(r"default-src 'self'(;|$)", policy)


def test_pages_and_their_files_come_packed(learner, room):
    """Thirty learners share one wireless network (`Content-Encoding`, RFC 9110, section 8.4)."""
    for path in (BENCH, "voila/static/voila.js"):
        assert learner.request.get(room.url + path).headers.get("content-encoding") == "gzip", path


def test_a_class_that_ends_while_kernels_start_ends_quietly(serve, tmp_path, wait_until):
    psutil = pytest.importorskip("psutil")
    with serve(tmp_path, "class", "--address", "127.0.0.1") as server:
        process = psutil.Process(server.process.pid)
        wait_until(process.children, "the first spare kernel starts")
        assert server.interrupt() == 0
    assert "Traceback" not in server.log.read_text()


def test_codes_cannot_be_tried_without_end(browser, serve, tmp_path):
    with serve(tmp_path, "class", "--address", "127.0.0.1", "--code", CODE) as server:
        context = browser.new_context()
        tries = [context.request.get(f"{server.url}class?code=NO{n:04}").status for n in range(12)]
        assert tries[0] == 403
        assert tries[-1] == 429
        assert context.request.get(f"{server.url}class?code={CODE}").status == 429
        context.close()


def test_a_link_opens_its_state_also_where_kernels_wait_ready(page, room):
    state = "#show=BenchState&version=1&arterial_saturation=0.83"
    page.goto(f"{room.url}class?code={CODE}{state}")
    page.wait_for_function(
        """() => document.querySelector(".ow-strip")?.textContent
          .replaceAll("\u00a0", " ").includes("Blood carries83 %")"""
    )
