"""The class code: how it is made, and how often it may be guessed."""

from __future__ import annotations

import secrets
import time
from collections import deque
from collections.abc import Callable

ALPHABET = "ABCDEFGHJKMNPQRTUVWXYZ2346789"
"""Without letters and digits that are taken for each other from the back of a room."""
CODE_LENGTH = 6
"""Of 29 signs: 600 million codes, against `TRIES` wrong ones in `WINDOW_S`."""
SHORTEST_CODE = 4
LONGEST_CODE = 32
TRIES = 10
WINDOW_S = 300.0
"""After so many wrong codes within this time [s] an address waits, even with the right one."""
MOST_ADDRESSES = 10_000
"""So many addresses are remembered; the oldest are forgotten first."""


def new_code() -> str:
    """Return a code that nobody can foresee."""
    return "".join(secrets.choice(ALPHABET) for _ in range(CODE_LENGTH))


def plain(code: str) -> str:
    """Return a code as it is compared: capitals, without what people put between its signs."""
    return "".join(sign for sign in code.upper() if sign.isalnum())


def checked_code(text: str) -> str:
    """Return a code of the lecturer's own.

    Raises:
        ValueError: It is too short, too long, or holds what no telephone's keyboard offers.
    """
    code = plain(text)
    if not code.isascii() or not SHORTEST_CODE <= len(code) <= LONGEST_CODE:
        raise ValueError(
            f"{text!r} is no class code; give {SHORTEST_CODE} to {LONGEST_CODE} letters and digits"
        )
    return code


class Door:
    """Compares codes, and makes an address wait that guesses.

    Attributes:
        code: The class code.
    """

    def __init__(self, code: str, clock: Callable[[], float] = time.monotonic) -> None:
        """Guard a class with `code`; `clock` tells the time [s]."""
        self.code = plain(code)
        self._clock = clock
        self._wrong: dict[str, deque[float]] = {}

    def opens(self, code: str, address: str) -> bool:
        """Whether this is the code; a wrong one is remembered against the address.

        An address that must wait is refused without a look at its code.
        """
        if self.wait_s(address) > 0:
            return False
        if secrets.compare_digest(plain(code).encode(), self.code.encode()):
            self._wrong.pop(address, None)
            return True
        self._remember(address)
        return False

    def wait_s(self, address: str) -> float:
        """Return how long an address must wait before its next try [s]; 0 if it need not."""
        wrong = self._wrong.get(address)
        if not wrong or len(wrong) < TRIES:
            return 0.0
        return max(0.0, wrong[0] + WINDOW_S - self._clock())

    def _remember(self, address: str) -> None:
        if address not in self._wrong and len(self._wrong) >= MOST_ADDRESSES:
            del self._wrong[next(iter(self._wrong))]
        self._wrong.setdefault(address, deque(maxlen=TRIES)).append(self._clock())
