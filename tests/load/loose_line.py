"""A line between a browser and the server that can be cut and mended, for tests on loopback."""

import asyncio
from contextlib import suppress

HOST = "127.0.0.1"
CHUNK = 1 << 16


class LooseLine:
    """Hands bytes on between its own port and another.

    Attributes:
        port: Its own.
    """

    def __init__(self, to_port):
        self.to_port, self.port = to_port, None
        self._server, self._ends, self._tasks = None, set(), set()

    async def mend(self):
        """Hand on; the first time on a free port, later on the same."""
        self._server = await asyncio.start_server(self._hand_on, HOST, self.port or 0)
        self.port = self._server.sockets[0].getsockname()[1]

    async def cut(self):
        """End all connections and refuse new ones, as a network that is gone."""
        self._server.close()
        for end in list(self._ends):
            end.transport.abort()
        await asyncio.gather(*self._tasks, return_exceptions=True)

    async def _hand_on(self, from_browser, to_browser):
        self._tasks.add(asyncio.current_task())
        self._ends.add(to_browser)
        with suppress(OSError):
            from_server, to_server = await asyncio.open_connection(HOST, self.to_port)
            self._ends.add(to_server)
            await asyncio.gather(_copy(from_browser, to_server), _copy(from_server, to_browser))
        to_browser.close()
        self._ends.discard(to_browser)
        self._tasks.discard(asyncio.current_task())


async def _copy(source, target):
    with suppress(OSError):
        while some := await source.read(CHUNK):
            target.write(some)
            await target.drain()
    with suppress(OSError):
        target.close()
