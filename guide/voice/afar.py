"""Mouth and ear of a device somewhere else: its sound comes in and goes out as messages, the work stays the same.

    in the ear's process     `Fed` is the microphone       sound  data (base64), rate, at, lost     from outside
    in the mouth's process   `Sent` is the loudspeaker     sound  id, rate, data (base64), last     to outside
                                                           quiet                                    to outside
                                                           played  id, how                          from outside

When a sound was taken can't be known here: it counts from its arrival. Sound and the word that the mouth has ended come
over one connection in the order in which they happened, so what the device heard of its own mouth is never let in.
"""

from __future__ import annotations

import base64
import sys
import time
from collections import deque
from collections.abc import Callable

from guide.voice.child import Channel, Message
from guide.voice.duplex import Duplex
from guide.voice.settings import Settings
from guide.voice.sound import LOST_AFTER, MOST_BLOCKS, Block

AFAR = "afar"
"""The argument that makes an ear's or a mouth's process one of a device somewhere else."""
EAR = (sys.executable, "-m", "guide.voice.ear", AFAR)
MOUTH = (sys.executable, "-m", "guide.voice.mouth", AFAR)
PIECE = 200_000
"""Bytes of sound in one message."""
PATIENCE = 8.0
"""Seconds beyond its length after which a speech that nobody reports as played is given up."""
RATES = (8_000, 192_000)


class Fed:
    """A microphone whose sound comes in messages."""

    def __init__(self, now: Callable[[], float] = time.monotonic) -> None:
        self._now = now
        self._waiting: deque[Block] = deque()
        self._called = self._looked = now()
        self._gap = False

    def put(self, message: Message) -> None:
        """Take what a message brings."""
        gap = bool(message.get("lost")) or self._gap or self.lost
        self._called = self._now()
        self._gap = len(self._waiting) >= MOST_BLOCKS
        if not self._gap:
            samples = base64.b64decode(str(message["data"]))
            self._waiting.append(Block(samples, int(str(message["rate"])), float(str(message["at"])), gap))

    def take(self) -> list[Block]:
        """Everything that came since the last time, oldest first."""
        blocks, self._waiting = list(self._waiting), deque()
        self._looked = self._now()
        return blocks

    @property
    def lost(self) -> bool:
        """Whether no sound had come for a while when it was last taken; what came since was not looked at yet."""
        return self._looked - self._called > LOST_AFTER

    def reopen(self) -> bool:
        """Only the other end can begin again."""
        return False

    def close(self) -> None:
        """There is nothing to give back."""


class Sent:
    """A loudspeaker somewhere else: sound goes out in messages, and how it ended comes back."""

    def __init__(self, channel: Channel, now: Callable[[], float] = time.monotonic) -> None:
        self._channel = channel
        self._now = now
        self._number = 0
        self._until: float | None = None
        self._how: str | None = None

    def play(self, samples: bytes, rate: int) -> None:
        """Begin to play 16-bit mono samples."""
        self._number += 1
        self._how, self._until = None, self._now() + len(samples) / 2 / rate + PATIENCE
        for at in range(0, len(samples), PIECE):
            data = base64.b64encode(samples[at : at + PIECE]).decode("ascii")
            self._channel.send("sound", id=self._number, rate=rate, data=data, last=at + PIECE >= len(samples))

    def played(self, message: Message) -> None:
        """The other end says how a speech ended."""
        if message.get("id") == self._number and self._until is not None:
            self._how = "done" if message.get("how") == "done" else "hushed"

    def look(self) -> str | None:
        """How the playing ended, if it did since the last look: done, or hushed if nobody is there any more."""
        if self._until is not None and self._how is None and self._now() > self._until:
            self._how = "hushed"
        if self._how is not None:
            self._until = None
        how, self._how = self._how, None
        return how

    def stop(self) -> None:
        """Stop at once."""
        if self._until is not None:
            self._until = None
            self._channel.send("quiet")

    def close(self) -> None:
        """There is nothing to give back."""


class Afar(Duplex):
    """Speaks and hears through a device somewhere else, while there is one."""

    def __init__(self, settings: Settings, on_sound: Callable[[Message], None]) -> None:
        """`on_sound` is told sound to play, and to be quiet, from another thread."""
        super().__init__(settings, MOUTH, EAR, on_sound=on_sound)
        self.loud = False
        """Whether there is a loudspeaker; without one nothing is said."""
        self._begun = False
        self._gap = False

    def begin(self) -> None:
        """Start both processes, the first time."""
        if not self._begun:
            self._begun = True
            self.start()

    def say(self, text: str) -> bool:
        """Say a text behind what is being said; False if nobody is there to hear it."""
        return self.loud and super().say(text)

    def sound(self, samples: bytes, rate: int) -> None:
        """Sound that the device took just now, 16-bit mono; raises `ValueError` for a rate that no device has."""
        if not RATES[0] <= rate <= RATES[1] or len(samples) % 2:
            raise ValueError(f"{len(samples)} bytes at {rate} a second are no sound")
        data = base64.b64encode(samples).decode("ascii")
        self._gap = not self._attending.sound(data, rate, self._now(), self._gap)

    def missed(self) -> None:
        """Sound was lost before the next that comes."""
        self._gap = True

    def played(self, number: int, how: str) -> None:
        """How a speech ended on the device."""
        self._speaking.played(number, how)
