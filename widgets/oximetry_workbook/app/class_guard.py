"""What a class's handlers share: the headers, the class's cookie, and the question for it."""

from __future__ import annotations

import secrets
from inspect import isawaitable
from urllib.parse import urlencode, urlsplit

import tornado.web

from oximetry_workbook.app.class_code import Door
from oximetry_workbook.app.class_places import Places

COOKIE = "oximetry-class"
COOKIE_DAYS = 0.25
"""A cookie opens the class for six hours: longer than any lesson, shorter than a night."""
BROWSER_BYTES = 16
DOOR = "/class"
"""Path of the page that asks for the class code."""
RENDER = "/voila/render/"
PAGE_HEADERS = {
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=()",
    # Voila's page and the widgets write scripts and styles into the page; anywidget loads its
    # modules from blob: addresses.
    "Content-Security-Policy": "; ".join(
        [
            "default-src 'self'",
            "script-src 'self' 'unsafe-inline' blob:",
            "style-src 'self' 'unsafe-inline' blob:",
            "img-src 'self' data: blob:",
            "font-src 'self' data:",
            "connect-src 'self' data: blob:",
            "worker-src 'self' blob:",
            "object-src 'none'",
            "base-uri 'self'",
            "form-action 'self'",
            "frame-ancestors 'none'",
        ]
    ),
}


class ClassState:
    """What the handlers of one class share.

    Attributes:
        door: Knows the class code.
        places: Knows who sits where.
        address: What learners type.
        home: Path of the page that the class opens first.
        first: Path of the first chapter.
        board: Path of the projector's page, which holds the code and is hard to guess.
    """

    def __init__(self, door: Door, places: Places, address: str, home: str, first: str) -> None:
        """Share these."""
        self.door = door
        self.places = places
        self.address = address
        self.home = RENDER + home
        self.first = RENDER + first
        self.board = f"/board/{secrets.token_urlsafe(BROWSER_BYTES)}"

    @property
    def link(self) -> str:
        """What the QR code holds: the address with the class code."""
        return f"{self.address.rstrip('/')}{DOOR}?{urlencode({'code': self.door.code})}"


class WithHeaders(tornado.web.RequestHandler):
    """Sends the headers that keep a page to itself."""

    def set_default_headers(self) -> None:
        """Set them on every answer, refusals included."""
        super().set_default_headers()
        for name, value in PAGE_HEADERS.items():
            self.set_header(name, value)

    @property
    def room(self) -> ClassState:
        """What is shared."""
        return self.settings["oximetry_class"]

    @property
    def browser(self) -> str | None:
        """Random name of the browser that asks; None without a valid cookie."""
        name = self.get_signed_cookie(COOKIE, max_age_days=COOKIE_DAYS)
        return name.decode() if name else None


class ForClass(WithHeaders):
    """Answers nobody without the class's cookie. To stand before another handler's class."""

    async def prepare(self) -> None:
        """Send pages to the door and refuse everything else."""
        if self.browser is None:
            if self.request.method == "GET" and is_page(self.request.path):
                self.redirect(f"{DOOR}?{urlencode({'to': self.request.path})}")
                return
            raise tornado.web.HTTPError(403)
        prepared = super().prepare()
        if isawaitable(prepared):
            await prepared


def for_class(handler: type) -> type:
    """Return the handler's class with the question for the cookie before it."""
    return type(f"ForClass{handler.__name__}", (ForClass, handler), {})


def is_page(path: str) -> bool:
    """Whether a path leads to a page of this server: no host, no way up, no second slash."""
    parts = urlsplit(path)
    outside = parts.scheme or parts.netloc or "\\" in path or ".." in path or "//" in path
    return not outside and (path == "/" or path.startswith(RENDER))
