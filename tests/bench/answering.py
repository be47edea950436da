"""From the end of speech to the first sound of the answer, over the real processes. Run by hand, no time is asserted.

PYTHONPATH=.:tests python tests/bench/answering.py [UTTERANCES]      (default 40)

Files are brought to the ear at the pace of a microphone; the mouth plays to the null device. Told are the middle and
what 95 of 100 keep within, in seconds by the clock: until what was heard is told (with the silence that ends it), and
until the answer's first sound is handed to the loudspeaker.
"""

from __future__ import annotations

import os
import sys
import tempfile
import time
from collections.abc import Mapping
from pathlib import Path

import ear_in_time
import numpy as np
from fakes import FakePeople
from small import SHELF, START
from talking import PHRASES, talk

from guide.screen.draw import Drawing
from guide.screen.voiced import VoicedScreen
from guide.session.conversation import Conversation
from guide.session.spoken import SpokenSession
from guide.voice.attending import Attending
from guide.voice.duplex import Duplex
from guide.voice.mouth import Speech, Voice
from guide.voice.settings import Settings
from guide.voice.speaking import Speaking
from guide.voice.wav import RATE, read_wav

PATIENCE = 60.0
SAID = (
    "twenty and three eighths",
    "no make that twenty and a half",
    "why",
    "what did we get",
    "what's the tolerance",
    "say that again",
)


def ends(file: Path) -> float:
    """Seconds from the beginning of a file to the last of its speech."""
    loud = np.flatnonzero(np.abs(read_wav(file)) > 0.01)
    return float(loud[-1]) / RATE


class Stamps:
    """When things were told, by the clock that never goes back."""

    def __init__(self) -> None:
        self.heard = self.began = 0.0
        listened, spoke = Attending._message, Speaking._message

        def hears(attending: Attending, message: Mapping[str, object]) -> None:
            if message.get("kind") == "heard":
                self.heard = time.monotonic()
            listened(attending, message)

        def speaks(speaking: Speaking, message: Mapping[str, object]) -> None:
            if message.get("kind") == "began" and not self.began:
                self.began = time.monotonic()
            spoke(speaking, message)

        setattr(Attending, "_message", hears)  # noqa: B010
        setattr(Speaking, "_message", speaks)  # noqa: B010


def measured(utterances: int, folder: Path) -> list[tuple[float, float]]:
    """Seconds until heard and until the first sound, for each utterance that was answered."""
    voice = Voice()
    files = []
    for number, words in enumerate(SAID):
        files.append(folder / f"{number}.wav")
        files[-1].write_bytes(voice.make(Speech(((words, False),), 150, 1.0, "gmw/en-gb-x-rp")))
    stamps = Stamps()
    duplex = Duplex(Settings(), ear=(sys.executable, ear_in_time.__file__))
    duplex.start()
    found = []
    try:
        session = SpokenSession(talk(SHELF).session.job, PHRASES, FakePeople())
        with (folder / "screen.txt").open("w") as out:
            screen = VoicedScreen(session, Drawing(Conversation(session), out), duplex)
            screen.turns(session.open())
            screen.turns(session.hear(START[0]))
            for number in range(utterances):
                told = _one(duplex, screen, stamps, files[number % len(files)])
                if told is not None:
                    found.append(told)
    finally:
        duplex.stop()
    return found


def _one(duplex: Duplex, screen: VoicedScreen, stamps: Stamps, file: Path) -> tuple[float, float] | None:
    """One utterance, once the mouth is quiet."""
    duplex.hush()
    end = time.monotonic() + PATIENCE
    while (duplex.speaking or not duplex._attending._supervisor.up) and time.monotonic() < end:
        screen.news()
        time.sleep(0.01)
    begins = time.monotonic() + 1.0
    stamps.heard = stamps.began = 0.0
    duplex._attending._supervisor.send("play", file=str(file), begins=begins)
    while not stamps.began and time.monotonic() < end:
        screen.news()
        time.sleep(0.002)
    ended = begins + ends(file)
    return (stamps.heard - ended, stamps.began - ended) if stamps.began and stamps.heard else None


def main() -> None:
    """Print the figures."""
    utterances = int(sys.argv[1]) if len(sys.argv) > 1 else 40
    with tempfile.TemporaryDirectory() as folder:
        os.environ.update(GUIDE_SOUND="null", GUIDE_CACHE=folder, PYTHONPATH=os.pathsep.join(sys.path))
        found = np.array(measured(utterances, Path(folder)))
    print(f"{len(found)} of {utterances} utterances answered; load of the machine {os.getloadavg()[0]:.1f}")
    for name, row in zip(("heard", "first sound"), found.T, strict=True):
        print(f"{name}: middle {np.percentile(row, 50):.2f} s, 95 of 100 within {np.percentile(row, 95):.2f} s")


if __name__ == "__main__":
    main()
