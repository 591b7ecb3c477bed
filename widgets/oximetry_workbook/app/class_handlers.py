"""What a class's server answers to whom. Every address but the door asks for the class's cookie."""

from __future__ import annotations

import secrets
from inspect import isawaitable
from typing import Any

import tornado.web
from jupyter_core.utils import ensure_async
from jupyter_server.auth.decorator import allow_unauthenticated
from jupyter_server.base.handlers import JupyterHandler
from jupyter_server.services.kernels.handlers import KernelHandler
from voila.handler import BaseVoilaHandler
from voila.shutdown_kernel_handler import VoilaShutdownKernelHandler
from voila.tornado.kernel_websocket_handler import VoilaKernelWebsocketHandler

from oximetry_workbook.app import class_messages, servers
from oximetry_workbook.app.class_guard import (
    BROWSER_BYTES,
    COOKIE,
    COOKIE_DAYS,
    DOOR,
    RENDER,
    WithHeaders,
    is_page,
)
from oximetry_workbook.app.class_places import Visit


class DoorHandler(WithHeaders, BaseVoilaHandler):
    """Asks for the class code, and lets in whoever knows it."""

    @allow_unauthenticated
    def get(self) -> None:
        """Let in who brings the code in the link; otherwise ask for it."""
        if code := self.get_query_argument("code", ""):
            self._try(code)
        elif self.browser:
            self.redirect(self._to())
        else:
            self._ask()

    @allow_unauthenticated
    def post(self) -> None:
        """Let in who typed the code."""
        self._try(self.get_body_argument("code", ""))

    def _try(self, code: str) -> None:
        door, address = self.room.door, self.request.remote_ip or ""
        if door.opens(code, address):
            self._let_in()
        elif wait_s := door.wait_s(address):
            self.set_status(429)
            self.set_header("Retry-After", str(round(wait_s)))
            minutes = max(1, round(wait_s / 60))
            unit = "minute" if minutes == 1 else "minutes"
            self._ask(f"Too many wrong codes from here. Try again in {minutes} {unit}.")
        else:
            self.set_status(403)
            self._ask("This is not the class's code. Look at the screen and type it once more.")

    def _let_in(self) -> None:
        name = self.browser or secrets.token_urlsafe(BROWSER_BYTES)
        self.set_signed_cookie(
            COOKIE, name, expires_days=COOKIE_DAYS, httponly=True, samesite="Lax", path="/"
        )
        self.redirect(self._to())

    def _ask(self, problem: str = "") -> None:
        self.set_header("Cache-Control", "no-store")
        self.finish(
            self.render_template(
                "class_door.html", problem=problem, to=self._to(), xsrf=self.xsrf_token.decode()
            )
        )

    def _to(self) -> str:
        """Return where to go from here: a chapter of ours and nowhere else."""
        to = self.get_argument("to", "")
        return to if is_page(to) and to.startswith(RENDER) else self.room.home


class BoardHandler(WithHeaders, BaseVoilaHandler):
    """The projector's page: the address, its QR code, the class code, and how many are here."""

    @allow_unauthenticated
    def get(self, key: str) -> None:
        """Show it to who knows its address."""
        if not secrets.compare_digest(f"/board/{key}".encode(), self.room.board.encode()):
            raise tornado.web.HTTPError(404)
        import segno

        room = self.room
        self.set_header("Cache-Control", "no-store")
        picture = segno.make(room.link, error="m").svg_inline(omitsize=True, border=2)
        page = self.render_template("class_board.html", room=room, picture=picture)
        self.finish(page)


class FirstHandler(WithHeaders):
    """The bare address leads to the first chapter; there is no list of files."""

    def get(self) -> None:
        """Go there."""
        self.redirect(self.room.first)


class NothingHere(WithHeaders, JupyterHandler):
    """Every address that a class does not need."""

    def prepare(self) -> None:
        """Say so, whatever the method."""
        raise tornado.web.HTTPError(404)


class ClassPageHandler(servers.PageHandler):
    """A chapter, as long as there is a place."""

    @tornado.web.authenticated
    async def get(self, path: str = "") -> None:
        """Make the page, or say kindly that the class is full."""
        room = self.room
        room.places.keep_only(super().kernel_manager.list_kernel_ids())
        for kernel_id in room.places.surplus_of(self.browser):
            await ensure_async(super().kernel_manager.shutdown_kernel(kernel_id))
        room.places.keep_only(super().kernel_manager.list_kernel_ids())
        if room.places.taken >= room.places.limit:
            self.set_status(503)
            self.set_header("Retry-After", "20")
            self.finish(
                self.render_template("class_full.html", places=room.places.limit, door=DOOR)
            )
            return
        with room.places.visit(self.browser) as self._visit:
            await super().get(path)

    @property
    def kernel_manager(self) -> Any:
        """The server's kernels, seen by one visit."""
        return VisitKernels(super().kernel_manager, self._visit)


class VisitKernels:
    """The server's kernels; whichever is taken from it is bound to the visiting browser."""

    def __init__(self, kernels: Any, visit: Visit) -> None:
        """Take from `kernels` for `visit`."""
        self._kernels = kernels
        self._visit = visit

    def __getattr__(self, name: str) -> Any:
        """Everything else is the server's."""
        return getattr(self._kernels, name)

    async def start_kernel(self, **arguments: Any) -> str:
        """Start a kernel."""
        kernel_id = await ensure_async(self._kernels.start_kernel(**arguments))
        self._visit.claim(kernel_id)
        return kernel_id

    async def get_rendered_notebook(self, **arguments: Any) -> tuple[Any, Any, str]:
        """Take a kernel that is ready."""
        task, cells, kernel_id = await self._kernels.get_rendered_notebook(**arguments)
        self._visit.claim(kernel_id)
        return task, cells, kernel_id


class OwnKernel(tornado.web.RequestHandler):
    """Knows no kernel but those of the pages of the browser that asks."""

    async def prepare(self) -> None:
        """Refuse another's kernel as if it did not exist."""
        [kernel_id] = (*self.path_args, *self.path_kwargs.values())
        if not self.room.places.belongs(kernel_id, self.browser):
            raise tornado.web.HTTPError(404)
        prepared = super().prepare()
        if isawaitable(prepared):
            await prepared


class OwnKernelHandler(OwnKernel, KernelHandler):
    """Whether the page's kernel still lives."""


class OwnShutdownHandler(OwnKernel, VoilaShutdownKernelHandler):
    """Ends the kernel of a page that closes."""


class OwnChannelsHandler(OwnKernel, VoilaKernelWebsocketHandler):
    """The line between a page and its kernel, open to the widgets' messages only."""

    async def get(self, kernel_id: str) -> None:
        """Open the line to a page of ours, never to a page of somebody else's."""
        offered = self.request.headers.get("Sec-WebSocket-Protocol", "")
        if class_messages.PROTOCOL not in [each.strip() for each in offered.split(",")]:
            raise tornado.web.HTTPError(400)
        if self.request.headers.get("Origin") is None:
            raise tornado.web.HTTPError(403)
        await super().get(kernel_id=kernel_id)

    async def open(self, kernel_id: str) -> None:
        """Note who has come."""
        self.room.places.connect(kernel_id)
        await super().open(kernel_id)

    def on_message(self, ws_message: Any) -> None:
        """Pass on what widgets send; end a line that carries anything else."""
        try:
            kind = class_messages.message_type(ws_message)
        except ValueError as refused:
            self.close(1008, str(refused))
            return
        if kind == class_messages.USE:
            self.room.places.moved(self.kernel_id)
        super().on_message(ws_message)

    def on_close(self) -> None:
        """Note who has gone."""
        self.room.places.disconnect(self.kernel_id)
        super().on_close()
