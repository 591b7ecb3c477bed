"""Voila for a class. Importing this module costs a second: only the command does, late."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Mapping
from typing import Any

import tornado.ioloop
from jupyter_core.utils import ensure_async
from jupyter_server.base.handlers import FileFindHandler
from jupyter_server.services.kernels.handlers import KernelHandler
from jupyterlab_server.themes_handler import ThemesHandler
from traitlets.config import Config
from voila.shutdown_kernel_handler import VoilaShutdownKernelHandler
from voila.static_file_handler import (
    AllowListFileHandler,
    MultiStaticFileHandler,
    TemplateStaticFileHandler,
)
from voila.tornado.kernel_websocket_handler import VoilaKernelWebsocketHandler

from oximetry_workbook.app import class_handlers, class_messages
from oximetry_workbook.app.class_guard import DOOR, RENDER, ClassState, for_class
from oximetry_workbook.app.servers import PageHandler, WorkbookServer

SERVED = {
    PageHandler: class_handlers.ClassPageHandler,
    KernelHandler: class_handlers.OwnKernelHandler,
    VoilaKernelWebsocketHandler: class_handlers.OwnChannelsHandler,
    VoilaShutdownKernelHandler: class_handlers.OwnShutdownHandler,
    TemplateStaticFileHandler: TemplateStaticFileHandler,
    MultiStaticFileHandler: MultiStaticFileHandler,
    ThemesHandler: ThemesHandler,
    FileFindHandler: FileFindHandler,
    AllowListFileHandler: AllowListFileHandler,
}
"""What of Voila a class needs, and what stands in its place. Whatever else Voila serves, now or
in a later version, is left out."""
ROUND_S = 5
"""How often the server looks for pages that were left, and for room for spare kernels [s]."""
WARM_AT_ONCE = 2
"""So many spare kernels start together: more would make those at work wait."""


class ClassServer(WorkbookServer):
    """Voila with a door, a number of places, and kernels that end with their pages.

    Attributes:
        room: What the handlers share.
        idle_s: After so long without use a page's kernel is ended [s].
        spare: At most so many kernels wait ready for the class's first page.
    """

    room: ClassState
    idle_s: float
    spare: int

    def init_settings(self) -> dict[str, Any]:
        """Add what a class has in common."""
        settings = super().init_settings()
        self.kernel_manager.allowed_message_types = sorted(class_messages.ALLOWED_TYPES)
        # A class shares one wireless network: the bench with all its files is 6.3 MB, packed 1.8.
        return settings | {"oximetry_class": self.room, "compress_response": True}

    def init_handlers(self) -> list[Any]:
        """Return the few addresses of a class, the door apart each with the cookie asked for."""
        page = {"voila_configuration": self.voila_configuration}
        guarded = [
            (pattern, for_class(SERVED[handler]), *rest)
            for pattern, handler, *rest in super().init_handlers()
            if handler in SERVED
        ]
        return [
            (DOOR, class_handlers.DoorHandler, page),
            (r"/board/([\w-]+)", class_handlers.BoardHandler, page),
            (r"/", for_class(class_handlers.FirstHandler)),
            *guarded,
            (r"/.*", for_class(class_handlers.NothingHere)),
        ]

    @property
    def connection_url(self) -> str:
        """Where the lecturer's own browser finds the projector's page."""
        host = "127.0.0.1" if self.ip in {"0.0.0.0", "::"} else self.ip
        return f"http://{host}:{self.port}{self.room.board}"

    def listen(self) -> None:
        """Serve, and go round the class in between."""
        self._rounds = tornado.ioloop.PeriodicCallback(self._round, ROUND_S * 1000)
        self._rounds.start()
        super().listen()

    def stop(self) -> None:
        """Start no more kernels, and end those that are there."""
        self._rounds.stop()
        super().stop()

    async def _round(self) -> None:
        kernels, places = self.kernel_manager, self.room.places
        places.keep_only(kernels.list_kernel_ids())
        for kernel_id in places.left(self.idle_s):
            await ensure_async(kernels.shutdown_kernel(kernel_id))
        places.keep_only(kernels.list_kernel_ids())
        if not places.coming:
            self._warm()

    def _warm(self) -> None:
        """Start a few spare kernels for the first page, while there are places to fill."""
        kernels, places = self.kernel_manager, self.room.places
        notebook = self.room.home.removeprefix(RENDER)
        pool = kernels._pools.setdefault(notebook, [])
        pool[:] = [task for task in pool if not _failed(task)]
        if any(not task.done() for task in pool):
            return
        wanted = min(self.spare, places.limit - places.taken, len(pool) + WARM_AT_ONCE)
        kernels.kernel_pools_config = _pools(notebook, wanted)
        kernels.fill_if_needed(delay=0, notebook_name=notebook)
        # A page that takes a spare kernel must not start the next one in the middle of a rush.
        kernels.kernel_pools_config = _pools(notebook, 0)


def run_class(
    settings: Mapping[str, Mapping[str, object]], room: ClassState, idle_s: float, spare: int
) -> None:
    """Serve a class until interrupted."""
    logging.getLogger("tornado").setLevel(logging.CRITICAL)
    ClassServer.room, ClassServer.idle_s, ClassServer.spare = room, idle_s, spare
    ClassServer.launch_instance(argv=[], config=Config(settings))


def _pools(notebook: str, size: int) -> dict[str, dict[str, object]]:
    return {"default": {"pool_size": 0}, notebook: {"pool_size": size}}


def _failed(task: asyncio.Task[Any]) -> bool:
    return task.done() and (task.cancelled() or task.exception() is not None)
