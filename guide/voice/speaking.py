"""The mouth as the rest of the guide has it: say this, be quiet, and is it still speaking."""

from __future__ import annotations

import sys
import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

from guide.voice.child import Message
from guide.voice.mouth_words import parts
from guide.voice.settings import Settings
from guide.voice.supervise import Banner, Limits, Supervisor

MOUTH = (sys.executable, "-m", "guide.voice.mouth")
WAITING = 20
"""Seconds that a mouth may take to get ready, or to begin a speech."""

How = Literal["done", "hushed", "silent", "lost", "failed", "gone"]
"""How a speech ended: said, cut short, no sound card, the sound card went away, not written, the mouth went away."""


@dataclass(frozen=True, slots=True)
class Ended:
    """How a speech ended, and why if it was not said."""

    number: int
    how: How
    why: str = ""


class Speaking:
    """A mouth in its own process. `on_ended` is called from another thread; nothing here raises."""

    def __init__(
        self,
        settings: Settings,
        on_banner: Callable[[Banner], None],
        on_ended: Callable[[Ended], None] = lambda ended: None,
        command: Sequence[str] = MOUTH,
        limits: Limits | None = None,
        on_sound: Callable[[Message], None] = lambda message: None,
    ) -> None:
        """`on_sound` is told what a mouth of a device somewhere else wants played there (`guide.voice.afar`)."""
        self.settings = settings
        self._tell_sound = on_sound
        self._tell_banner = on_banner
        self._tell_ended = on_ended
        self._lock = threading.Condition()
        self._open: set[int] = set()
        self._ended: dict[int, Ended] = {}
        self._number = 0
        self._settled = False
        self._waiting: list[dict[str, object]] = []
        """What was to be said before the mouth was ready."""
        self.voices: tuple[tuple[str, str], ...] = ()
        self._supervisor = Supervisor("mouth", command, self._message, self._banner, limits)

    def start(self) -> None:
        """Start the process; returns at once."""
        self._supervisor.start()

    def wait_ready(self) -> bool:
        """Wait until the mouth can speak, or can't; whether it can."""
        with self._lock:
            self._lock.wait_for(lambda: self._settled, WAITING)
        return self._supervisor.up

    def say(self, text: str, play: bool = True, to: str | None = None) -> int:
        """Say a text after what is being said, as the trade says it; returns its number, 0 if it can't be said."""
        said = parts(text)
        if not said:
            return 0
        with self._lock:
            self._number += 1
            number = self._number
            self._open.add(number)
        speech: dict[str, object] = {
            "id": number,
            "parts": [[part.words, part.figure] for part in said],
            "rate": self.settings.rate,
            "volume": self.settings.volume,
            "voice": self.settings.voice,
            "play": play,
            "to": to,
        }
        with self._lock:
            waits = not self._settled
            if waits:
                self._waiting.append(speech)
        if not waits and not self._supervisor.send("say", **speech):
            self._close(Ended(number, "gone"))
            return 0
        return number

    def hush(self) -> None:
        """Stop at once, and drop what waits to be said."""
        with self._lock:
            waiting, self._waiting = self._waiting, []
        for speech in waiting:
            self._close(Ended(int(str(speech["id"])), "hushed"))
        self._supervisor.send("hush")

    @property
    def speaking(self) -> bool:
        """Whether anything is being said or waits to be."""
        return bool(self._open)

    def wait(self, number: int) -> Ended:
        """Wait until a speech has ended."""
        with self._lock:
            self._lock.wait_for(lambda: number not in self._open)
            return self._ended.pop(number, Ended(number, "gone"))

    def played(self, number: int, how: str) -> None:
        """How sound that was handed over ended on the device it was for."""
        self._supervisor.send("played", id=number, how=how)

    def stop(self) -> None:
        """End the process."""
        self._supervisor.stop()
        self._all_gone()

    def _message(self, message: Message) -> None:
        if message.get("kind") == "ended":
            number, how = int(str(message["id"])), str(message["how"])
            self._close(Ended(number, how, str(message.get("why", ""))))  # type: ignore[arg-type]
        elif message.get("kind") in ("sound", "quiet"):
            self._tell_sound(message)
        elif message.get("kind") == "ready":
            voices = message.get("voices")
            self.voices = tuple((str(one), str(name)) for one, name in voices) if isinstance(voices, list) else ()
            self._settle()

    def _banner(self, banner: Banner) -> None:
        if banner.state != "up":
            with self._lock:
                self._waiting = []
            self._all_gone()
        self._tell_banner(banner)
        if banner.state in ("down", "missing"):
            self._settle()

    def _settle(self) -> None:
        """The mouth is ready, or will never be: what waited is said, or dropped."""
        with self._lock:
            self._settled = True
            for speech in self._waiting:
                self._supervisor.send("say", **speech)
            self._waiting = []
            self._lock.notify_all()

    def _close(self, ended: Ended) -> None:
        with self._lock:
            self._open.discard(ended.number)
            self._ended[ended.number] = ended
            while len(self._ended) > 50:
                del self._ended[next(iter(self._ended))]
            self._lock.notify_all()
        self._tell_ended(ended)

    def _all_gone(self) -> None:
        for number in sorted(self._open):
            self._close(Ended(number, "gone"))
