"""The ears as the rest of the guide has them: expect this now, be shut, and what was heard."""

from __future__ import annotations

import sys
import threading
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from guide.talk.expect import Expect
from guide.voice.child import Message
from guide.voice.expecting import expect_data
from guide.voice.hearing import Heard
from guide.voice.supervise import Banner, Limits, Supervisor

EAR = (sys.executable, "-m", "guide.voice.ear")

HANG = 20.0
"""Seconds that the ear may think: its first hearing of a new question makes the grammar, slowly on a slow machine."""


@dataclass(frozen=True, slots=True)
class Utterance:
    """What the ears made of one utterance; `cut` says why it is not whole, if it is not."""

    by: tuple[Heard, ...]
    cut: str
    ended: float
    """When it ended, by the clock that never goes back."""


@dataclass(frozen=True, slots=True)
class Level:
    """The loudest sample just now, 0 to 1."""

    peak: float


@dataclass(frozen=True, slots=True)
class Plugged:
    """Whether there is a microphone."""

    there: bool


News = Utterance | Level | Plugged


class Attending:
    """Ears in their own process. `on_news` is called from another thread; nothing here raises."""

    def __init__(
        self,
        on_banner: Callable[[Banner], None],
        on_news: Callable[[News], None],
        command: Sequence[str] = EAR,
        limits: Limits | None = None,
    ) -> None:
        self._tell_banner = on_banner
        self._tell = on_news
        self._lock = threading.Lock()
        self._expect: tuple[Expect | None, Mapping[str, Sequence[str]]] = (None, {})
        self._shut_at: float | None = None
        self._meter: float | None = None
        self._supervisor = Supervisor("ear", command, self._message, on_banner, limits or Limits(hang=HANG))

    def start(self) -> None:
        """Start the process; returns at once."""
        self._supervisor.start()

    def expect(self, expect: Expect | None, lists: Mapping[str, Sequence[str]]) -> None:
        """What is asked for now, None if it is no reading; `lists` are the names that may be said."""
        with self._lock:
            if (expect, lists) == self._expect:
                return
            self._expect = (expect, lists)
            self._send_expect()

    def shut(self, at: float) -> None:
        """Hear nothing from a moment on."""
        with self._lock:
            self._shut_at = at
            self._supervisor.send("shut", at=at)

    def open(self, at: float) -> None:
        """Hear again from a moment on."""
        with self._lock:
            self._shut_at = None
            self._supervisor.send("open", at=at)

    def meter(self, seconds: float) -> None:
        """Tell the level every so often."""
        with self._lock:
            self._meter = seconds
            self._supervisor.send("meter", seconds=seconds)

    def sound(self, data: str, rate: int, at: float, lost: bool) -> bool:
        """Sound of a device somewhere else (`guide.voice.afar`); whether it was taken."""
        return self._supervisor.send("sound", data=data, rate=rate, at=at, lost=lost)

    def stop(self) -> None:
        """End the process."""
        self._supervisor.stop()

    def _send_expect(self) -> None:
        expect, lists = self._expect
        data = expect_data(expect) if expect is not None else None
        self._supervisor.send("expect", expect=data, lists={name: list(all_of) for name, all_of in lists.items()})

    def _message(self, message: Message) -> None:
        kind = message.get("kind")
        if kind == "ready":
            with self._lock:  # a process that was started anew knows nothing of what was said to the one before
                self._send_expect()
                if self._shut_at is not None:
                    self._supervisor.send("shut", at=self._shut_at)
                if self._meter is not None:
                    self._supervisor.send("meter", seconds=self._meter)
        elif kind == "heard":
            by = message["by"]
            heard = tuple(Heard.from_data(one) for one in by) if isinstance(by, list) else ()
            self._tell(Utterance(heard, str(message["cut"]), float(str(message["ended"]))))
        elif kind == "level":
            self._tell(Level(float(str(message["peak"]))))
        elif kind == "microphone":
            self._tell(Plugged(bool(message["there"])))
