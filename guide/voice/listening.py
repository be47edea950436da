"""From the microphone to utterances: resampled, gated, cut at silences; lost sound and lost devices are noticed."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import TYPE_CHECKING, Protocol

from guide.voice.endpoint import FRAME, Cut, Detector, Endpointer, Gate, Open, Patience, Utterance
from guide.voice.resample import Resampler
from guide.voice.sound import Block
from guide.voice.wav import RATE

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

REOPEN_EVERY = 2.0
"""Seconds between tries to open a lost microphone."""


class Taken(Protocol):
    """A microphone."""

    def take(self) -> list[Block]:
        """Everything taken since the last time."""

    @property
    def lost(self) -> bool:
        """Whether the device is gone."""

    def reopen(self) -> bool:
        """Try to open it again."""


class Listening:
    """Turns what a microphone takes into utterances. Nothing here waits, nothing grows."""

    def __init__(
        self,
        microphone: Taken,
        detector: Detector,
        wants_more: Open = lambda samples: False,
        patience: Patience | None = None,
        now: Callable[[], float] = time.monotonic,
    ) -> None:
        import numpy as np

        self.gate = Gate()
        self.present = True
        """Whether the microphone works."""
        self._microphone = microphone
        self._endpointer = Endpointer(detector, wants_more, patience)
        self._now = now
        self._tried = float("-inf")
        self._resampler: Resampler | None = None
        self._rest = np.zeros(0, np.int16)
        self._was_shut = False
        self._level = 0.0

    @property
    def level(self) -> float:
        """The largest sample of the last block, 0 to 1."""
        return self._level

    def look(self) -> list[Utterance]:
        """The utterances that ended since the last look."""
        found: list[Utterance] = []
        for block in self._microphone.take():
            found += self._block(block)
        if not self._microphone.lost:
            self.present = True
        elif self._now() - self._tried >= REOPEN_EVERY:
            self._tried = self._now()
            found += self._interrupted("lost")
            self.present = self._microphone.reopen()
        return found

    def _block(self, block: Block) -> list[Utterance]:
        import numpy as np

        found: list[Utterance] = []
        if block.lost:
            found += self._interrupted("lost")
        if self._resampler is None or self._resampler.rate != block.rate:
            self._resampler = Resampler(block.rate)
            self._rest = self._rest[:0]
        made = self._resampler.take(block.samples)
        self._level = float(np.abs(made.astype(np.int32)).max()) / 32768 if len(made) else self._level
        self._rest = np.concatenate([self._rest, made])
        while len(self._rest) >= FRAME:
            behind = (len(self._rest) - FRAME) / RATE
            frame, self._rest = self._rest[:FRAME], self._rest[FRAME:]
            found += self._frame(frame, block.at - behind)
        return found

    def _frame(self, frame: NDArray[np.int16], at: float) -> list[Utterance]:
        if self.gate.closed(at - FRAME / RATE, at):
            if not self._was_shut:
                self._was_shut = True
                return self._interrupted("shut")
            return []
        self._was_shut = False
        utterance = self._endpointer.frame(frame, at)
        return [utterance] if utterance else []

    def _interrupted(self, why: Cut) -> list[Utterance]:
        utterance = self._endpointer.interrupt(why)
        return [utterance] if utterance else []
