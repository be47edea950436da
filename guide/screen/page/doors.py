"""Who is let in: a code that works once, and a pass for whoever gave it. Pure: no socket, no file.

A pass has two halves. The ticket lives in a cookie that no script can read; but a browser gives cookies to every port
of a machine. So the key lives with the page, where only pages of this very address and port can read it. Talking takes
both.
"""

from __future__ import annotations

import hmac
import secrets
import time
from collections.abc import Callable
from dataclasses import dataclass

ALPHABET = "23456789ABCDEFGHJKMNPQRSTUVWXYZ"
"""Letters and digits of a code: none that look alike."""
LENGTH = 8
"""Characters of a code: 39 bits, of which at most `TRIES` can be tried."""
TRIES = 10
CODE_LASTS = 15 * 60.0
"""Seconds that a code waits to be used."""
PASS_LASTS = 12 * 3600.0
"""Seconds that a pass lasts beyond its last use."""
MOST_PASSES = 50


@dataclass(slots=True)
class Pass:
    """What a browser that was let in shows from then on."""

    ticket: str
    key: str
    until: float


class Doors:
    """Codes and passes of one server. A code is spent by its use, by too many tries, by its age, and by a new one."""

    def __init__(self, now: Callable[[], float] = time.monotonic) -> None:
        self._now = now
        self._passes: dict[str, Pass] = {}
        self._code = ""
        self._made = 0.0
        self._tries = 0

    def new_code(self) -> str:
        """Another code, in the place of the one before."""
        self._code = "".join(secrets.choice(ALPHABET) for _ in range(LENGTH))
        self._made, self._tries = self._now(), 0
        return self._code

    @property
    def open(self) -> bool:
        """Whether there is a code that would be taken."""
        return bool(self._code) and self._now() - self._made < CODE_LASTS

    def enter(self, code: str) -> Pass | None:
        """A pass for whoever gives the code, which is then spent; None for a wrong one."""
        given = "".join(code.upper().split()).replace("-", "")
        if not self.open:
            return None
        if not hmac.compare_digest(given.encode("utf-8", "replace"), self._code.encode()):
            self._tries += 1
            if self._tries >= TRIES:
                self._code = ""
            return None
        self._code = ""
        self._forget()
        made = Pass(secrets.token_urlsafe(32), secrets.token_urlsafe(32), self._now() + PASS_LASTS)
        self._passes[made.ticket] = made
        return made

    def knows(self, ticket: str) -> bool:
        """Whether a ticket is one of ours, and not too old."""
        found = self._passes.get(ticket)
        return found is not None and found.until > self._now()

    def lets(self, ticket: str, key: str) -> bool:
        """Whether both halves belong to one pass that is not too old; it lasts on from now."""
        found = self._passes.get(ticket)
        if found is None or found.until <= self._now():
            return False
        if not hmac.compare_digest(key.encode("utf-8", "replace"), found.key.encode()):
            return False
        self.used(ticket)
        return True

    def used(self, ticket: str) -> None:
        """A pass lasts on from now."""
        found = self._passes.get(ticket)
        if found is not None and found.until > self._now():
            found.until = self._now() + PASS_LASTS

    def _forget(self) -> None:
        """Forget old passes, and the oldest where there are too many."""
        now = self._now()
        kept = sorted((one for one in self._passes.values() if one.until > now), key=lambda one: one.until)
        self._passes = {one.ticket: one for one in kept[-(MOST_PASSES - 1) :]}


class Allowance:
    """So many units a second, with some saved up: what is beyond that is refused."""

    def __init__(self, rate: float, saved: float, now: Callable[[], float] = time.monotonic) -> None:
        self._rate, self._most, self._now = rate, saved, now
        self._left, self._at = saved, now()

    def take(self, amount: float = 1.0) -> bool:
        """Take some, if so much is left."""
        now = self._now()
        self._left = min(self._most, self._left + (now - self._at) * self._rate)
        self._at = now
        if amount > self._left:
            return False
        self._left -= amount
        return True
