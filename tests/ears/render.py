"""Renders the evaluation set: PYTHONPATH=.:tests python -m ears.render FOLDER --count N [--seed S] [--split SPLIT].

Writes WAV files and `set.jsonl`, a line each: file, voice, split, kind, text, truth, expect, noise, ratio.
"""

from __future__ import annotations

import argparse
import json
import random
import wave
from collections.abc import Iterator
from dataclasses import asdict
from pathlib import Path

import numpy as np
from ears.noise import KINDS, Floats, mixed, room
from ears.speech import TALK, Said, commands, cuts, readings, talk
from ears.voices import VOICES, Voice

from guide.voice.wav import RATE

RATIOS = (None, 15.0, 8.0)


def write(path: Path, samples: Floats) -> None:
    """A WAV file of 16 bits, one channel."""
    with wave.open(str(path), "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(RATE)
        out.writeframes((samples * 32767).astype("<i2").tobytes())


def around(samples: Floats, chance: random.Random, cut: bool) -> Floats:
    """Silence before and behind, as an endpoint leaves it; none behind what is cut in the middle of its speech."""
    before = np.zeros(int(RATE * chance.uniform(0.15, 0.5)), np.float32)
    if cut:
        return np.concatenate([before, samples[: int(len(samples) * chance.uniform(0.35, 0.85))]])
    return np.concatenate([before, samples, np.zeros(int(RATE * chance.uniform(0.25, 0.7)), np.float32)])


def wanted(kinds: str, count: int, plain: bool, chance: random.Random) -> Iterator[Said]:
    """What one voice says: so many of each of the kinds, or of all of them with fewer of what is no reading."""
    few = not kinds
    if few or "reading" in kinds:
        yield from readings(chance, count, plain)
    if plain:
        return
    if few or "command" in kinds:
        yield from commands(chance, count // 4 if few else count)
    if few or "talk" in kinds:
        yield from talk(chance, count // 4 if few else count)
    if few or "cut" in kinds:
        yield from cuts(chance, count // 6 if few else count)
    if "noise" in kinds:
        yield from (Said("noise", "") for _ in range(count))


def render(voice: Voice, folder: Path, kinds: str, count: int, seed: int, babble: list[Floats]) -> int:
    """One voice's part of the set; returns how many files were written."""
    chance = random.Random(f"{seed} {voice.name}")
    written = 0
    with (folder / "set.jsonl").open("a") as lines:
        for number, one in enumerate(wanted(kinds, count, voice.engine == "prompts", chance)):
            speech = voice.say(one.text) if one.kind != "noise" else np.zeros(2 * RATE, np.float32)
            if speech is None or len(speech) < RATE // 10:
                continue
            speech = around(speech, chance, one.kind == "cut")
            spoken = room(speech, chance) if chance.random() < 0.7 and one.kind not in ("cut", "noise") else speech
            for ratio in RATIOS:
                kind = chance.choice(KINDS)
                name = f"{voice.name.replace(' ', '_')}-{seed}-{number}-{ratio or 'clean'}.wav"
                write(folder / name, mixed(spoken, kind, ratio, chance, babble))
                line = {"file": name, "voice": voice.name, "split": voice.split, "noise": kind, "ratio": ratio}
                print(json.dumps({**line, **asdict(one)}), file=lines)
                written += 1
    return written


def main() -> None:
    """Render the set."""
    parser = argparse.ArgumentParser()
    parser.add_argument("folder", type=Path)
    parser.add_argument("--count", type=int, default=40, help="readings a voice")
    parser.add_argument("--kinds", default="", help="reading, command, talk, cut, noise: so many of each")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--split", default="")
    arguments = parser.parse_args()
    arguments.folder.mkdir(parents=True, exist_ok=True)
    chance = random.Random(7)
    others = [voice for voice in VOICES if voice.engine in ("espeak", "flite")]
    for voice in VOICES:
        if not voice.split.startswith(arguments.split):
            continue
        apart = [one for one in others if one.split == voice.split and one.name != voice.name]
        babble = [said for text in chance.sample(TALK, 12) if (said := chance.choice(apart).say(text)) is not None]
        print(
            voice.name,
            render(voice, arguments.folder, arguments.kinds, arguments.count, arguments.seed, babble),
            flush=True,
        )


if __name__ == "__main__":
    main()
