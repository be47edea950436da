"""The ear's process with sound files in the place of a microphone: `play` brings one, after a second of quiet."""

from __future__ import annotations

import contextlib
import time
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
from fakes import FakeMicrophone, Ticks

from guide.voice.child import Channel, Closed
from guide.voice.ear import Ear, load_ears
from guide.voice.endpoint import load_detector
from guide.voice.wav import RATE, read_wav

BEHIND = 0.6
"""Seconds behind now that the sound of a file begins, so that a mouth that has just ended is over."""


class EarOfFiles(Ear):
    """An ear that is played files."""

    def __init__(self, channel: Channel) -> None:
        self._ticks = Ticks(time.monotonic())
        self._fake = FakeMicrophone(self._ticks)
        super().__init__(channel, self._fake, load_detector(), load_ears()[0], now=self._ticks)

    def _take(self, message: Mapping[str, Any]) -> None:
        if message["kind"] != "play":
            super()._take(message)
            return
        self._ticks.at = max(self._ticks.at, time.monotonic() + BEHIND)
        sound = (read_wav(Path(message["file"])) * 32767).astype(np.int16)
        quiet = np.zeros(RATE, np.int16)
        for part in (quiet, sound, quiet, quiet):
            self._fake.put(part.tobytes())
            self.look()


def main() -> None:
    """Run the process."""
    channel = Channel()
    with contextlib.suppress(Closed):
        ear = EarOfFiles(channel)
        channel.send("ready", ears=1, missing=[])
        ear.run()


if __name__ == "__main__":
    main()
