"""Who sits where in a class: which kernel belongs to which browser, and which have been left."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass

PAGES_EACH = 3
"""So many pages of one browser live at once; a further one ends the oldest. Otherwise one learner
who opens every chapter in a tab of its own would take half the places."""
LEFT_S = 180.0
"""A page that nobody has been connected to for so long is gone [s]: a telephone that slept for a
shorter time comes back to its page."""


@dataclass
class Place:
    """A page with its kernel.

    Attributes:
        browser: Random name of the browser that opened the page.
        connections: How many websockets lead to the kernel.
        connected_s: When the page was last connected, or opened [s].
        moved_s: When the page last sent anything that counts as use [s].
        met: Whether the page has ever connected.
    """

    browser: str
    connected_s: float
    moved_s: float
    connections: int = 0
    met: bool = False


class Visit:
    """A page on its way: it counts as a place before it has a kernel."""

    def __init__(self, places: Places, browser: str) -> None:
        """Come from `browser`."""
        self._places = places
        self._browser = browser
        self.open = True

    def claim(self, kernel_id: str) -> None:
        """Bind a kernel to the browser."""
        self.open = False
        self._places.bind(kernel_id, self._browser)


class Places:
    """The places of a class.

    Attributes:
        limit: How many there are.
    """

    def __init__(self, limit: int, clock: Callable[[], float] = time.monotonic) -> None:
        """Have `limit` places; `clock` tells the time [s]."""
        self.limit = limit
        self._clock = clock
        self._places: dict[str, Place] = {}
        self._coming: list[Visit] = []

    @property
    def taken(self) -> int:
        """How many places are taken, pages on their way included."""
        return len(self._places) + sum(visit.open for visit in self._coming)

    @property
    def coming(self) -> int:
        """How many pages are being made."""
        return len(self._coming)

    @contextmanager
    def visit(self, browser: str) -> Iterator[Visit]:
        """Hold a place for a page while it is being made."""
        visit = Visit(self, browser)
        self._coming.append(visit)
        try:
            yield visit
        finally:
            self._coming.remove(visit)

    def bind(self, kernel_id: str, browser: str) -> None:
        """Give a kernel to a browser."""
        now = self._clock()
        self._places[kernel_id] = Place(browser, connected_s=now, moved_s=now)

    def belongs(self, kernel_id: str, browser: str | None) -> bool:
        """Whether the kernel is this browser's."""
        place = self._places.get(kernel_id)
        return place is not None and place.browser == browser

    def connect(self, kernel_id: str) -> None:
        """Note that a page has connected."""
        if place := self._places.get(kernel_id):
            place.connections += 1
            place.met = True

    def disconnect(self, kernel_id: str) -> None:
        """Note that a connection has ended."""
        if place := self._places.get(kernel_id):
            place.connections -= 1
            place.connected_s = self._clock()

    def moved(self, kernel_id: str) -> None:
        """Note that a learner has used a page."""
        if place := self._places.get(kernel_id):
            place.moved_s = self._clock()

    def keep_only(self, kernels: Iterable[str]) -> None:
        """Forget the places whose kernels are no more."""
        alive = set(kernels)
        self._places = {each: place for each, place in self._places.items() if each in alive}

    def surplus_of(self, browser: str) -> list[str]:
        """Return a browser's kernels to end before it opens one more page.

        Those beyond `PAGES_EACH`, oldest first. In a full class also those whose page has been
        connected and is no longer, or else the oldest: a page that is turned or reloaded, and
        still has its kernel until the next has come, must not be in its own way.
        """
        own = [each for each, place in self._places.items() if place.browser == browser]
        surplus = own[: max(0, len(own) - PAGES_EACH + 1)]
        if self.taken - len(surplus) >= self.limit:
            closed = [each for each in own if each not in surplus and self._closed(each)]
            surplus += closed or own[:1]
        return surplus

    def left(self, idle_s: float) -> list[str]:
        """Return the kernels to end: their page is gone, or has not been used for `idle_s`."""
        now = self._clock()
        return [each for each, place in self._places.items() if _left(place, now, idle_s)]

    def _closed(self, kernel_id: str) -> bool:
        place = self._places[kernel_id]
        return place.met and place.connections == 0


def _left(place: Place, now: float, idle_s: float) -> bool:
    if place.connections == 0 and now - place.connected_s > LEFT_S:
        return True
    return now - place.moved_s > idle_s
