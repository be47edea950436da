"""A few sentences of real people, as a folder that can be heard: python -m training.people SOURCE.tar.gz OUT.

SOURCE is pocketsphinx's source package (pip, 5.1.1; BSD, the book that is read is in the public domain). Its tests hold
a dozen recordings of people with what they say. What could be a reading is left out. Far too few for a figure; enough
to see whether an ear still hears people.
"""

from __future__ import annotations

import argparse
import io
import re
import tarfile
import wave
from dataclasses import asdict
from pathlib import Path

import numpy as np

from guide.talk.expect import Expect
from guide.talk.words import hear
from training.lines import Said, target_of
from training.render import Shard, Task, chances, clips, gather
from training.sound import RATE, Floats, at_rate

SPOKEN = {"goforward.raw": "go forward ten meters", "something.raw": "go somewhere and do something"}
CARDS, BOOK = "cards/", "librivox/"
_SAID = re.compile(r"<s>(.*)</s> \((.*)\)")


def recordings(source: Path) -> list[tuple[str, str, Floats]]:
    """Name, words and sound of each."""
    with tarfile.open(source) as archive:
        files = {
            one.name.partition("/test/data/")[2]: one
            for one in archive.getmembers()
            if "/test/data/" in one.name and one.isfile()
        }

        def read(name: str) -> bytes:
            file = archive.extractfile(files[name])
            return file.read() if file is not None else b""

        found = [(name, text, _floats(read(name), RATE)) for name, text in SPOKEN.items()]
        for folder, listed in ((CARDS, "cards.transcription"), (BOOK, "transcription")):
            for text, name in _SAID.findall(read(folder + listed).decode()):
                with wave.open(io.BytesIO(read(f"{folder}{name}.wav"))) as file:
                    sound = _floats(file.readframes(file.getnframes()), file.getframerate())
                found.append((name, " ".join(text.split()), sound))
    return found


def _floats(data: bytes, rate: int) -> Floats:
    return at_rate(np.asarray(np.frombuffer(data, "<i2") / 32768, np.float32), rate)


def main() -> None:
    """Mix them with the noise of the report split."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("source", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--seed", type=int, default=1)
    arguments = parser.parse_args()
    arguments.out.mkdir(parents=True, exist_ok=True)
    task = Task("report", 0, (), 0, arguments.seed, str(arguments.out))
    chance, rng = chances(arguments.seed, "people")
    shard = Shard(task)
    for name, text, sound in recordings(arguments.source):
        if hear(text, Expect()):
            continue
        said = Said("ordinary" if len(text.split()) > 6 else "talk", text, target_of(text), texts="report")
        whose = {
            "voice": f"people {name}",
            "speaker": f"people {name[:5]}",
            "engine": "people",
            "style": "real",
            "split": "report",
        }
        for suffix, clip, noise in clips(task, said, sound, chance, rng):
            shard.add(name + suffix, name, clip, asdict(said), whose, {"stitched": False, "cut": None}, noise)
    part = arguments.out / "lines-0000.part"
    shard.done(part)
    gather(arguments.out, "report", arguments.seed, [part], 0.0)


if __name__ == "__main__":
    main()
