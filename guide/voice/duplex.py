"""Mouth and ear together: while the mouth speaks the ear is shut, and what comes of both is handed over in order."""

from __future__ import annotations

import contextlib
import os
import threading
import time
from collections import deque
from collections.abc import Callable, Mapping, Sequence

from guide.talk.expect import Expect
from guide.voice.attending import EAR, Attending, News
from guide.voice.child import Message
from guide.voice.settings import Settings
from guide.voice.speaking import MOUTH, Ended, Speaking
from guide.voice.supervise import Banner, Limits

TAIL = 0.35
"""Seconds that the ear stays shut behind the mouth: the sound card's buffers, and the room."""
MOST_NEWS = 500

Told = Banner | Ended | News


class Inbox:
    """What other threads tell, to be taken by one; `descriptor` is readable while something waits."""

    def __init__(self) -> None:
        self.descriptor, self._in = os.pipe()
        os.set_blocking(self.descriptor, False)
        os.set_blocking(self._in, False)
        self._told: deque[Told] = deque(maxlen=MOST_NEWS)

    def put(self, told: Told) -> None:
        """Hand over from any thread."""
        self._told.append(told)
        with contextlib.suppress(OSError):
            os.write(self._in, b"\0")

    def take(self) -> list[Told]:
        """Everything that waits."""
        with contextlib.suppress(BlockingIOError):
            os.read(self.descriptor, 65536)
        found = []
        while self._told:
            found.append(self._told.popleft())
        return found

    def close(self) -> None:
        """Give the descriptors back."""
        os.close(self.descriptor)
        os.close(self._in)
        self._in = -1


class Duplex:
    """Speaks and hears, one at a time unless a headset is worn. Nothing here raises or waits."""

    def __init__(
        self,
        settings: Settings,
        mouth: Sequence[str] = MOUTH,
        ear: Sequence[str] = EAR,
        limits: Limits | None = None,
        now: Callable[[], float] = time.monotonic,
        on_sound: Callable[[Message], None] = lambda message: None,
    ) -> None:
        self.inbox = Inbox()
        self._settings = settings
        self._now = now
        self._lock = threading.RLock()
        """Held while the ear is shut and something is said, so that the end of what was said before can't open it."""
        self._speaking = Speaking(settings, self.inbox.put, self._ended, mouth, limits, on_sound)
        self._attending = Attending(self.inbox.put, self.inbox.put, ear, limits)

    def start(self) -> None:
        """Start both processes; returns at once."""
        self._speaking.start()
        self._attending.start()

    def say(self, text: str) -> bool:
        """Say a text behind what is being said; False if it can't be said."""
        with self._lock:
            if not self._settings.headset:
                self._attending.shut(self._now())
            if self._speaking.say(text):
                return True
            self._open()
            return False

    def hush(self) -> bool:
        """Stop speaking at once; whether anything was being said."""
        was = self._speaking.speaking
        if was:
            self._speaking.hush()
        return was

    @property
    def speaking(self) -> bool:
        """Whether anything is being said."""
        return self._speaking.speaking

    def expect(self, expect: Expect | None, lists: Mapping[str, Sequence[str]]) -> None:
        """What is asked for now."""
        self._attending.expect(expect, lists)

    def stop(self) -> None:
        """End both processes."""
        self._speaking.stop()
        self._attending.stop()
        self.inbox.close()

    def _ended(self, ended: Ended) -> None:
        self._open()
        self.inbox.put(ended)

    def _open(self) -> None:
        """Open the ear behind the last word."""
        with self._lock:
            if not self._speaking.speaking and not self._settings.headset:
                self._attending.open(self._now() + TAIL)
