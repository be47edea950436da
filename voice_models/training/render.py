"""Renders a split: PYTHONPATH=voice_models:. python -m training.render --split train --out DIR --hours 50 --jobs 64.

Writes shards of sound and `lines.jsonl` (README.md, "Data format"). The same seed gives the same bytes, however many
jobs there are: the work is cut into tasks, and chance starts anew with each.
"""

from __future__ import annotations

import argparse
import contextlib
import json
import multiprocessing
import os
import random
import time
import zlib
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from training import noises, readings, talk
from training.engines import Spoken, say, there
from training.lines import Said
from training.sound import RATE, Floats, silence, spoken, throat, trimmed, warped, whole_numbers
from training.voices import SHARES, THROATS, WARPS, Voice, of_split

RATIOS: tuple[float | None, ...] = (None, 15.0, 8.0, 0.0)
MEAN_SECONDS = 2.6
TASK = 240
"""Utterances of a task."""
Make = Callable[[random.Random, str], Said | None]

KINDS: Mapping[str, tuple[Make, float]] = {
    "reading": (readings.reading, 0.40),
    "side": (readings.side, 0.09),
    "places": (readings.places, 0.08),
    "correction": (readings.correction, 0.04),
    "pair": (readings.pair, 0.06),
    "command": (talk.command, 0.09),
    "alarm": (talk.alarm, 0.03),
    "talk": (talk.talk, 0.13),
    "ordinary": (talk.ordinary, 0.08),
}
"""What is said in train and choose, and how often."""
REPORTED: Mapping[str, float] = {
    "reading": 0.46,
    "side": 0.07,
    "places": 0.05,
    "correction": 0.02,
    "command": 0.08,
    "alarm": 0.03,
    "talk": 0.21,
    "ordinary": 0.08,
}
NOISE_ALONE = 0.09
"""Of the utterances of choose and report, so many more are noise and nothing else, 8 to 12 s each."""
CUT = {"train": 0.18, "choose": 0.1, "report": 0.1}
STITCHED = {"train": 0.25, "choose": 0.0, "report": 0.0}


@dataclass(frozen=True)
class Task:
    """A stretch of the work."""

    split: str
    number: int
    voices: tuple[Voice, ...]
    """Each utterance is said by one of these."""
    count: int
    seed: int
    out: str
    kinds: tuple[str, ...] = ()


def chances(seed: int, *names: object) -> tuple[random.Random, np.random.Generator]:
    """Chance for a part of the work, by its name."""
    start = zlib.crc32(" ".join(map(str, (seed, *names))).encode())
    return random.Random(start), np.random.default_rng(start)


def tasks(split: str, count: int, seed: int, out: str, engines: tuple[str, ...], kinds: tuple[str, ...]) -> list[Task]:
    """The work, the slow engines first; every task has one engine and a few of its voices."""
    shares = {name: share for name, share in SHARES[split].items() if (not engines or name in engines) and there(name)}
    total = sum(shares.values())
    found: list[Task] = []
    for engine in sorted(shares, key=lambda name: ("kokoro", "piper", "flite").index(name) if name in _SLOW else 9):
        chance, _ = chances(seed, split, engine)
        voices = of_split(split, (engine,))
        left = round(count * shares[engine] / total)
        size = 24 if engine == "kokoro" else TASK
        while left > 0:
            some = tuple(chance.sample(voices, min(len(voices), 12 if engine == "espeak" else 6)))
            found.append(Task(split, len(found), some, min(size, left), seed, out, kinds))
            left -= size
    return found


_SLOW = ("kokoro", "piper", "flite")


def utterances(task: Task, chance: random.Random) -> Iterator[Said]:
    """What is said in a task."""
    shares = {name: share for name, (_, share) in KINDS.items()} if task.split != "report" else dict(REPORTED)
    if task.kinds:
        shares = {name: shares.get(name, 1.0) for name in task.kinds}
    names = list(shares)
    weights = [shares[name] for name in names]
    prompts = task.voices[0].engine == "prompts"
    for _ in range(task.count):
        name = "reading" if prompts else chance.choices(names, weights)[0]
        found = None
        while found is None:
            found = readings.recorded(chance, task.split) if prompts else KINDS[name][0](chance, task.split)
        yield found


def speak(said: Said, voice: Voice, chance: random.Random) -> tuple[Said, Floats, dict[str, Any]] | None:
    """The utterance in a voice: whole, stitched of words, or cut short; None where the voice can't."""
    by_words = chance.random() < STITCHED[voice.split] and voice.engine != "kokoro" and len(said.text.split()) < 12
    cut = (
        chance.random() < CUT[voice.split]
        and readings.cuttable(said)
        and said.kind not in ("ordinary", "alarm", "command")
    )
    speed = chance.uniform(voice.slow, voice.fast)
    warp = chance.uniform(*WARPS) if voice.split == "train" and chance.random() < 0.6 else 1.0
    longer = chance.uniform(*THROATS) if voice.split == "train" and chance.random() < 0.5 else 1.0
    setting = f"{voice.setting}:{chance.randrange(30, 71)}" if voice.engine == "espeak" else voice.setting
    seed = chance.randrange(2**31)
    found = (
        stitched(voice, setting, said.text, speed, chance)
        if by_words
        else say(voice.engine, setting, said.text, speed, seed)
    )
    if found is None or len(found.samples) < RATE // 5:
        return None
    heard: int | None = None
    samples = found.samples
    if cut and len(found.ends) > 1:
        heard, samples = cut_short(found, chance)
        said = said.cut(heard)
        samples = _from_start(samples)
    else:
        samples = trimmed(samples)
    samples = throat(warped(samples, warp), longer)
    told = {"voice": f"{voice.name} x{warp:.2f} t{longer:.2f}", "stitched": by_words, "cut": heard}
    return said, samples, told


def _from_start(samples: Floats) -> Floats:
    start, _ = spoken(samples)
    return samples[max(0, start - 320) :]


def cut_short(found: Spoken, chance: random.Random) -> tuple[int, Floats]:
    """The sound up to somewhere, how many words were wholly in it."""
    ends = found.ends
    words = chance.randrange(1, len(ends))
    start = ends[words - 1]
    into = chance.choice((0.0, 0.0, chance.uniform(0.0, 0.45)))
    return words, found.samples[: start + int(into * (ends[words] - start))]


def stitched(voice: Voice, setting: str, text: str, speed: float, chance: random.Random) -> Spoken | None:
    """Words said one by one, with gaps between them."""
    parts, ends, at = [], [], 0
    for word in text.split():
        one = say(voice.engine, setting, word.strip(","), speed, chance.randrange(2**31))
        if one is None:
            return None
        sound = trimmed(one.samples, 160)
        gap = silence(chance.choice((chance.uniform(0.0, 0.06), chance.uniform(0.05, 0.35))))
        parts += [sound, gap]
        at += len(sound) + len(gap)
        ends.append(at - len(gap))
    return Spoken(np.concatenate(parts), tuple(ends))


@cache
def _babble(split: str, seed: int) -> tuple[Floats, ...]:
    """Talk of voices of the same split, to be mixed into a crowd."""
    chance, _ = chances(seed, split, "babble")
    voices = of_split(split, ("espeak",))
    found: list[Floats] = []
    while len(found) < 16:
        said = talk.talk(chance, split)
        one = (
            say((voice := chance.choice(voices)).engine, voice.setting, said.text, chance.uniform(0.9, 1.2))
            if said
            else None
        )
        if one is not None:
            found.append(trimmed(one.samples))
    return tuple(found)


class Shard:
    """One file of sound and the lines of what lies in it."""

    def __init__(self, task: Task) -> None:
        self.name = f"sound-{task.number:04}.i16"
        self.lines: list[dict[str, Any]] = []
        self._file = (Path(task.out) / self.name).open("wb")
        self._at = 0

    def add(self, name: str, utterance: str, clip: NDArray[np.int16], *told: Mapping[str, Any]) -> None:
        """One clip more, and what its line tells."""
        line = {"id": name, "utterance": utterance, "shard": self.name, "start": self._at, "samples": len(clip)}
        for one in told:
            line |= one
        self.lines.append(line)
        self._file.write(clip.tobytes())
        self._at += len(clip)

    def done(self, path: Path) -> None:
        """Close it, and write its lines."""
        self._file.close()
        path.write_text("".join(json.dumps(line) + "\n" for line in self.lines))


def run(task: Task) -> str:
    """Do a task: write its shard and its lines; returns the name of the lines' file."""
    chance, rng = chances(task.seed, task.split, "task", task.number)
    shard = Shard(task)
    first = f"{task.split}-{task.number:04}"
    for number, said in enumerate(utterances(task, chance)):
        voice = chance.choice(task.voices)
        done = speak(said, voice, chance)
        if done is None:
            continue
        heard, samples, told = done
        whose = {"speaker": voice.speaker, "engine": voice.engine, "style": voice.style, "split": task.split}
        name = f"{first}-{number:05}"
        for suffix, clip, noise in clips(task, heard, samples, chance, rng):
            shard.add(name + suffix, name, clip, asdict(heard), told, whose, noise)
    if task.split != "train" and not task.kinds:
        nobody = {"voice": "", "stitched": False, "cut": None, "speaker": "", "engine": "", "style": ""}
        for number in range(round(task.count * NOISE_ALONE)):
            name = f"{first}-n{number:04}"
            family = chance.choice(noises.of_split(task.split))
            alone = noises.make(family, int(chance.uniform(8, 12) * RATE), rng, _babble(task.split, task.seed))
            told = {**nobody, "split": task.split, "noise": family, "ratio": None, "room": False}
            shard.add(name, name, whole_numbers(alone, chance.uniform(0.05, 0.9)), asdict(Said("noise", "", "")), told)
    path = Path(task.out) / f"lines-{task.number:04}.part"
    shard.done(path)
    return str(path)


def clips(
    task: Task, said: Said, samples: Floats, chance: random.Random, rng: np.random.Generator
) -> Iterator[tuple[str, NDArray[np.int16], dict[str, Any]]]:
    """The utterance's clips and a suffix for each: speech alone to train on, else each ratio in its noise."""
    before = silence(chance.uniform(0.1, 0.4))
    behind = silence(0.0 if said.kind == "cut" else chance.uniform(0.03, 0.4))
    speech = np.concatenate([before, samples, behind])
    if task.split == "train":
        yield "", whole_numbers(speech, chance.uniform(0.3, 0.95)), {"noise": None, "ratio": None, "room": False}
        return
    in_room = chance.random() < 0.6
    if in_room:
        speech = noises.room(speech, rng)
    for ratio in RATIOS:
        family = chance.choice(noises.of_split(task.split))
        mixed = noises.mixed(speech, family, ratio, rng, _babble(task.split, task.seed))
        suffix = "-clean" if ratio is None else f"-{ratio:.0f}"
        yield (
            suffix,
            whole_numbers(mixed, chance.uniform(0.1, 0.95)),
            {"noise": family, "ratio": ratio, "room": in_room},
        )


def through(work: Sequence[Task], jobs: int, seconds: float = 1e6) -> Iterator[str]:
    """Do the work, each task in a process of its own: engines keep something of what they said before.

    What is not done after so many seconds is left.
    """
    until = time.monotonic() + seconds
    with multiprocessing.get_context("spawn").Pool(min(jobs, len(work)), maxtasksperchild=1) as pool:
        found = pool.imap_unordered(run, work, chunksize=1)
        with contextlib.suppress(multiprocessing.TimeoutError):
            for _ in work:
                yield found.next(max(0.1, until - time.monotonic()))


def main() -> None:
    """Render a split."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--split", choices=("train", "choose", "report"), required=True)
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--hours", type=float, default=0.0)
    parser.add_argument("--count", type=int, default=0, help="utterances")
    parser.add_argument("--jobs", type=int, default=os.cpu_count() or 1)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--engines", default="", help="only these, with commas between them")
    parser.add_argument("--kinds", default="", help="only these, with commas between them")
    parser.add_argument("--seconds", type=float, default=1e6, help="stop after so long; tasks that are done count")
    given = parser.parse_args()
    for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
        os.environ.setdefault(name, "1")
    count = given.count or round(given.hours * 3600 / MEAN_SECONDS)
    given.out.mkdir(parents=True, exist_ok=True)
    engines = tuple(name for name in given.engines.split(",") if name)
    kinds = tuple(name for name in given.kinds.split(",") if name)
    work = tasks(given.split, count, given.seed, str(given.out), engines, kinds)
    started = time.time()
    parts = []
    for path in through(work, given.jobs, given.seconds):
        parts.append(Path(path))
        if not len(parts) % 20:
            print(f"{len(parts)} of {len(work)} tasks, {time.time() - started:.0f} s", flush=True)
    gather(given.out, given.split, given.seed, sorted(parts), time.time() - started)


def gather(out: Path, split: str, seed: int, parts: Sequence[Path], took: float) -> None:
    """Put the lines of the tasks that are done together, and count."""
    kinds: Counter[str] = Counter()
    engines: Counter[str] = Counter()
    seconds = clips_made = 0.0
    with (out / "lines.jsonl").open("w") as all_lines:
        for part in parts:
            for text in part.read_text().splitlines():
                line = json.loads(text)
                kinds[line["kind"]] += 1
                engines[line["engine"]] += 1
                seconds += line["samples"] / RATE
                clips_made += 1
                all_lines.write(text + "\n")
            part.unlink()
    done = {f"sound-{part.stem.removeprefix('lines-')}.i16" for part in parts}
    for shard in out.glob("*.i16"):
        if shard.name not in done:
            shard.unlink()
    made = {
        "split": split,
        "seed": seed,
        "clips": int(clips_made),
        "hours": round(seconds / 3600, 3),
        "kinds": kinds,
        "engines": engines,
    }
    (out / "made.json").write_text(json.dumps(made, indent=1) + "\n")
    print(f"{int(clips_made)} clips, {seconds / 3600:.2f} hours, in {took:.0f} s: {dict(engines)} {dict(kinds)}")


if __name__ == "__main__":
    main()
