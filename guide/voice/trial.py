"""A try of the microphone, or of a recording: how loud, how noisy, what was heard, and what to do about it.

As a process it records from the microphone for a few seconds, tells the level meanwhile, and keeps no sound.
"""

from __future__ import annotations

import contextlib
import sys
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from guide.problems import ProblemError
from guide.talk.expect import Expect
from guide.voice.agree import agreed
from guide.voice.child import Channel, Closed
from guide.voice.ear import Recogniser, load_ears
from guide.voice.endpoint import FRAME, Detector, Endpointer, frames_of, load_detector
from guide.voice.levels import Advice, Levels, measure
from guide.voice.resample import Resampler
from guide.voice.sound import Microphone, SoundError
from guide.voice.wav import RATE, read_wav

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

METER = 0.2
"""Seconds between two tellings of the level."""


@dataclass(frozen=True, slots=True)
class Tried:
    """What came of a try."""

    levels: Levels
    advice: tuple[Advice, ...]
    heard: tuple[tuple[str, str], ...]
    """Of each utterance its words, and what would be done with it."""


def judge(samples: NDArray[np.int16], detector: Detector, ears: Sequence[Recogniser]) -> Tried:
    """Judge 16-bit mono sound at `RATE`: its levels, and what the ears make of each utterance in it."""
    import numpy as np

    levels = measure(samples, detector)
    detector.reset()
    endpointer = Endpointer(detector)
    quiet = np.zeros(2 * RATE, np.int16)
    heard: list[tuple[str, str]] = []
    for number, frame in enumerate(frames_of(iter([quiet, samples, quiet]))):
        utterance = endpointer.frame(frame, number * FRAME / RATE)
        if utterance is None:
            continue
        floats = utterance.samples.astype(np.float32) / np.float32(32768)
        expect = Expect()
        by = [ear.hear(floats, expect, None, bool(utterance.cut)) for ear in ears]
        if not by:
            continue
        decision = agreed(by, expect)
        words = decision.hearing.words if decision.hearing is not None and decision.outcome != "none" else by[0].free
        heard.append((words, decision.outcome))
    return Tried(levels, levels.advice, tuple(heard))


def judge_file(path: Path, detector: Detector, ears: Sequence[Recogniser]) -> Tried:
    """Judge a recording; raises `ProblemError` if it can't be read."""
    import numpy as np

    return judge((read_wav(path) * np.float32(32767)).astype(np.int16), detector, ears)


def as_data(tried: Tried) -> dict[str, object]:
    """As JSON values."""
    levels = tried.levels
    return {
        "seconds": round(levels.seconds, 2),
        "loudest_db": round(levels.loudest, 1),
        "voice_db": round(levels.speech, 1) if levels.speech is not None else None,
        "noise_db": round(levels.noise, 1) if levels.noise is not None else None,
        "clipped": round(levels.clipped, 5),
        "advice": list(tried.advice),
        "heard": [{"words": words, "outcome": outcome} for words, outcome in tried.heard],
    }


def main(seconds: float) -> None:
    """Try the microphone for so many seconds."""
    import numpy as np

    channel = Channel()
    with contextlib.suppress(Closed):
        try:
            detector = load_detector()
        except ImportError as fault:
            channel.missing(f"the package {fault.name} is not installed", "pip install 'guide[voice]'")
            return
        ears: list[Recogniser] = []
        with contextlib.suppress(ProblemError):
            ears = load_ears()[0]
        microphone = Microphone()
        try:
            microphone.open()
        except SoundError as fault:
            channel.missing(str(fault), "Plug one in, and see that the system's sound settings show it.")
            return
        channel.send("ready")
        parts: list[NDArray[np.int16]] = []
        resampler: Resampler | None = None
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            channel.receive(METER)
            peak = 0
            for block in microphone.take():
                if resampler is None:
                    resampler = Resampler(block.rate)
                made = resampler.take(block.samples)
                parts.append(made)
                peak = max(peak, int(np.abs(made.astype(np.int32)).max(initial=0)))
            channel.send("level", peak=peak / 32768)
        microphone.close()
        samples = np.concatenate([np.zeros(0, np.int16), *parts])
        channel.send("tried", **as_data(judge(samples, detector, ears)))
        while True:
            channel.receive()


if __name__ == "__main__":
    main(float(sys.argv[1]))
