"""A learner without a browser: opens the bench and moves a slider as its page would."""

import asyncio
import re
import time
import uuid

from tornado.httpclient import AsyncHTTPClient, HTTPRequest
from tornado.websocket import websocket_connect
from wire import CONTROL, CONTROL_VERSION, PROTOCOL, Heard, packed

PATIENCE_S = 120.0
FILES_AT_ONCE = 6
"""As many connections as browsers open to one server (common practice)."""
BEAT_S = 5.0
"""How often a page asks whether its kernel is still there (`workbook.js`)."""
SLIDER = "Arterial saturation"
KERNEL = re.compile(r'"kernelId":\s*"([0-9a-f-]{36})"')


class NoPlaceError(Exception):
    """The class is full."""


class LineLostError(Exception):
    """The line to the kernel has ended."""


class ErrorPageError(Exception):
    """The server answered with an error; the message says to what, and with which status."""


class Learner:
    """One learner with one page.

    Attributes:
        opened_s: From the link to the states of the plots' marks [s].
        value: Where the slider was moved last [%]; None before that.
        latencies_s: From each move of the slider until the kernel had sent all it led to [s].
    """

    def __init__(self, address, code, files):
        self.address, self.code, self.files = address, code, files
        self.opened_s, self.value, self.latencies_s = None, None, []
        self._http = AsyncHTTPClient(force_instance=True, max_clients=50)
        self._cookies, self._line, self._slider = {}, None, None
        self.kernel = None

    async def come(self):
        """Open the bench by the link that the QR code holds.

        Raises:
            NoPlaceError: All places are taken.
            ErrorPageError: Something that the page needs did not come.
        """
        start = time.perf_counter()
        met = await self._get(f"/class?code={self.code}")
        page = await self._get(met.headers["Location"], unless=503)
        if page.code == 503:
            raise NoPlaceError
        self.kernel = KERNEL.search(page.body.decode())[1]
        await self._get_files()
        await self._connect()
        await self._find_slider()
        self.opened_s = time.perf_counter() - start

    async def move(self, value):
        """Move the slider to a value [%] and wait until the kernel has answered in full.

        Raises:
            LineLostError: The line has ended.
        """
        start = time.perf_counter()
        asked = await self._update(self._slider, value=value)
        while not (await self._hear()).is_idle_after(asked):
            pass
        self.value = value
        self.latencies_s.append(time.perf_counter() - start)

    async def leave(self):
        """Close the page as a browser does: it tells the server."""
        path = f"/voila/api/shutdown/{self.kernel}"
        await self._get(path, method="POST", body=f"_xsrf={self._cookies.get('_xsrf', '')}")
        self.vanish()

    def vanish(self):
        """Be gone without a word, as a telephone that loses its network."""
        if self._line:
            self._line.close()
        self._http.close()

    async def beat(self):
        """Ask for the kernel every few seconds, as the page does, until cancelled.

        Raises:
            ErrorPageError: The kernel is gone.
        """
        while True:
            await asyncio.sleep(BEAT_S)
            await self._get(f"/api/kernels/{self.kernel}")

    async def _get(self, path, unless=None, **options):
        request = HTTPRequest(
            self.address + path,
            headers={"Cookie": self._cookie_header()},
            follow_redirects=False,
            request_timeout=PATIENCE_S,
            connect_timeout=PATIENCE_S,
            decompress_response=True,
            **options,
        )
        answer = await self._http.fetch(request, raise_error=False)
        if answer.code >= 400 and answer.code != unless:
            raise ErrorPageError(f"{answer.code} for {path}")
        for each in answer.headers.get_list("Set-Cookie"):
            name, _, value = each.split(";", 1)[0].partition("=")
            self._cookies[name] = value
        return answer

    def _cookie_header(self):
        return "; ".join(f"{name}={value}" for name, value in self._cookies.items())

    async def _get_files(self):
        turn = asyncio.Semaphore(FILES_AT_ONCE)

        async def one(path):
            async with turn:
                await self._get(path)

        await asyncio.gather(*map(one, self.files))

    async def _connect(self):
        address = f"{self.address.replace('http', 'ws', 1)}/api/kernels/{self.kernel}/channels"
        headers = {"Cookie": self._cookie_header(), "Origin": self.address}
        request = HTTPRequest(f"{address}?session_id={uuid.uuid4()}", headers=headers)
        self._line = await websocket_connect(request, subprotocols=[PROTOCOL])

    async def come_back(self):
        """Take up the line again as the widgets do, to the same kernel.

        Raises:
            OSError: There is no way to the server.
        """
        await self._connect()

    async def hear_the_end(self):
        """Listen until the line ends.

        Raises:
            LineLostError: It has ended.
        """
        while True:
            await self._hear()

    async def shown(self):
        """Where the slider stands for the kernel [%]."""
        states = (await self._states())["states"]
        return states[self._slider]["state"]["value"]

    async def _find_slider(self):
        data = await self._states()
        assert marks_with_data(data), "the bench came without its plots"
        self._slider = slider_named(data["states"], SLIDER)
        await self._update(carrier(data["states"]), ready=True)

    async def _states(self):
        """Ask for the states of all widgets, with their data."""
        comm = uuid.uuid4().hex
        opening = {"comm_id": comm, "target_name": CONTROL, "data": {}}
        await self._send("comm_open", opening, CONTROL_VERSION)
        asked = {"comm_id": comm, "data": {"method": "request_states"}}
        await self._send("comm_msg", asked)
        while True:
            heard = await self._hear()
            if heard.kind == "comm_msg" and heard.content["comm_id"] == comm:
                return heard.content["data"]

    async def _update(self, widget, **state):
        """Change a widget's state as its page does; return the message's id."""
        data = {"method": "update", "state": state, "buffer_paths": []}
        return await self._send("comm_msg", {"comm_id": widget, "data": data})

    async def _send(self, kind, content, metadata=None):
        message, asked = packed(kind, content, metadata)
        try:
            await self._line.write_message(message, binary=True)
        except Exception as closed:
            raise LineLostError from closed
        return asked

    async def _hear(self):
        message = await asyncio.wait_for(self._line.read_message(), PATIENCE_S)
        if message is None:
            raise LineLostError
        return Heard(message)


def marks_with_data(data):
    """Return the ids of the lines whose data came with the states."""
    lines = {each for each, one in data["states"].items() if one["model_name"] == "LinesModel"}
    return {path[0] for path in data["buffer_paths"]} & lines


def carrier(states):
    """Return the id of the widget that brings the changes of many (`panels/together.py`)."""
    [found] = [each for each, one in states.items() if "ready" in one["state"]]
    return found


def slider_named(states, label):
    """Return the id of the slider that stands in the same control as a label."""
    [within] = [each for each, one in states.items() if one["state"].get("value") == label]
    while not (sliders := [each for each in _below(states, within) if _is_slider(states[each])]):
        [within] = [each for each, one in states.items() if within in _children(one)]
    return sliders[0]


def _is_slider(one):
    return one["model_name"] == "FloatSliderModel"


def _children(one):
    return [each.removeprefix("IPY_MODEL_") for each in one["state"].get("children") or []]


def _below(states, widget):
    for child in _children(states[widget]):
        yield child
        yield from _below(states, child)
