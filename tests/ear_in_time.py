"""The ear's process with sound files in the place of a microphone, at the pace of a microphone."""

from __future__ import annotations

import contextlib
import time
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from guide.voice.child import Channel, Closed
from guide.voice.ear import Ear, load_ears
from guide.voice.endpoint import load_detector
from guide.voice.sound import Block
from guide.voice.wav import RATE, read_wav

SIZE = 480
"""Samples of a block: 30 ms."""


class PacedMicrophone:
    """Silence, and files from the moment that they are to begin."""

    def __init__(self) -> None:
        self._at = time.monotonic()
        self._sound: NDArray[np.int16] = np.zeros(0, np.int16)
        self._begins = 0.0

    def play(self, file: Path, begins: float) -> None:
        """Bring a file from a moment of the clock that never goes back."""
        self._sound = (read_wav(file) * 32767).astype(np.int16)
        self._begins = begins

    def take(self) -> list[Block]:
        blocks = []
        while self._at + SIZE / RATE <= time.monotonic():
            first = round((self._at - self._begins) * RATE)
            part = np.zeros(SIZE, np.int16)
            held = self._sound[max(0, first) : max(0, first + SIZE)]
            part[max(0, -first) : max(0, -first) + len(held)] = held
            self._at += SIZE / RATE
            blocks.append(Block(part.tobytes(), RATE, self._at, False))
        return blocks

    @property
    def lost(self) -> bool:
        return False

    def reopen(self) -> bool:
        return True


class EarInTime(Ear):
    """An ear that is played files at their own pace."""

    def __init__(self, channel: Channel, microphone: PacedMicrophone) -> None:
        self._paced = microphone
        super().__init__(channel, microphone, load_detector(), load_ears()[0])

    def _take(self, message: Mapping[str, Any]) -> None:
        if message["kind"] == "play":
            self._paced.play(Path(message["file"]), float(message["begins"]))
        else:
            super()._take(message)


def main() -> None:
    """Run the process."""
    channel = Channel()
    with contextlib.suppress(Closed):
        ear = EarInTime(channel, PacedMicrophone())
        channel.send("ready", ears=1, missing=[])
        ear.run()


if __name__ == "__main__":
    main()
