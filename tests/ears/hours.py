"""Hours of a site through the real attending path, as fast as it goes: python -m ears.hours --hours 8 [--clips FOLDER].

PYTHONPATH=.:tests. Sound goes in as from a microphone, block by block: noises made by computation, with quiet between
them, and, with --clips, what a set holds for nobody (talk, ordinary speech) every few seconds. The ear's own loop finds
where utterances end, hears them and tells them; what is expected changes every minute. Told are, for an hour of sound,
what was taken and asked, and the memory at every half hour. Several processes (--jobs) have other noises each.
"""

from __future__ import annotations

import argparse
import json
import multiprocessing
import random
import time
from collections import Counter
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
from ears.clips import FOR_NOBODY, Line, Sounds, lines_of
from ears.noise import make
from fakes import FakeMicrophone, Ticks
from numpy.typing import NDArray

from guide.quantity import Quantity
from guide.talk.expect import Expect
from guide.voice.agree import agreed
from guide.voice.child import Channel
from guide.voice.ear import Ear, load_ears
from guide.voice.endpoint import load_detector
from guide.voice.expecting import expect_data
from guide.voice.hearing import Heard
from guide.voice.wav import RATE

KINDS = ("saw", "hammer", "compressor", "drill", "wind")
MINUTE, HALF_HOUR = 60.0, 1800.0
Floats = NDArray[np.float32]


class Told(Channel):
    """What the ear tells, decided upon."""

    def __init__(self) -> None:
        self.expect = Expect()
        self.outcomes: Counter[str] = Counter()
        self.falsely: list[str] = []

    def send(self, kind: str, **data: object) -> None:
        if kind != "heard":
            return
        by = [Heard.from_data(one) for one in data["by"]]  # type: ignore[attr-defined]
        decision = agreed(by, self.expect)
        whole = not data["cut"]
        outcome = decision.outcome if whole else "cut"
        self.outcomes[outcome] += 1
        if outcome in ("taken", "command", "asked") and decision.hearing is not None:
            self.falsely.append(f"{outcome}: {decision.hearing.words!r}, freely {by[0].free!r}")


def expectations(chance: random.Random) -> Expect:
    """What some step asks for."""
    if chance.random() < 0.25:
        return Expect(answers=(("one", "1"), ("the first one", "1"), ("two", "2"), ("the second one", "2")))
    if chance.random() < 0.25:
        return Expect(states=True)
    low = Fraction(chance.randrange(0, 97 * 8), 8)
    return Expect(likely_low=Quantity(low, "in"), likely_high=Quantity(low + 3, "in"))


def site(chance: random.Random, clips: list[Line], sounds: Sounds | None) -> Iterator[Floats]:
    """Stretches of sound without end: noise, then quiet, with clips over either."""
    while True:
        long = round(RATE * chance.uniform(8, 40))
        quiet = chance.random() < 0.4
        found = make("wind" if quiet else chance.choice(KINDS), long, chance, [])
        found = found / (np.abs(found).max() + 1e-9) * chance.uniform(0.005, 0.02 if quiet else 0.25)
        at = round(RATE * chance.uniform(0.5, 4))
        while clips and sounds is not None:
            clip = sounds.of(chance.choice(clips))
            if at + len(clip) >= long:
                break
            found[at : at + len(clip)] += clip
            at += len(clip) + round(RATE * chance.uniform(1, 6))
        yield np.clip(found, -1, 1).astype(np.float32)


def memory() -> float:
    """MB that this process holds now."""
    with Path("/proc/self/status").open() as file:
        return next(int(line.split()[1]) / 1024 for line in file if line.startswith("VmRSS"))


def heard(job: tuple[int, float, str, float]) -> dict[str, Any]:
    """Some hours in one process; it ends earlier when `most` seconds by the clock have gone."""
    seed, hours, folder, most = job
    chance, started = random.Random(seed), time.monotonic()
    clips = [line for line in lines_of(Path(folder)) if line["kind"] in FOR_NOBODY - {"noise"}] if folder else []
    ticks, told = Ticks(), Told()
    microphone = FakeMicrophone(ticks)
    ear = Ear(told, microphone, load_detector(), load_ears()[0], now=ticks)
    begun, minute = ticks.at, -1
    kept: list[float] = []
    for sound in site(chance, clips, Sounds(Path(folder)) if folder else None):
        if ticks.at - begun >= hours * 3600 or time.monotonic() - started > most:
            break
        if (ticks.at - begun) // MINUTE > minute:
            minute = int((ticks.at - begun) // MINUTE)
            told.expect = expectations(chance)
            ear._take({"kind": "expect", "expect": expect_data(told.expect), "lists": {}})
        if (ticks.at - begun) // HALF_HOUR >= len(kept):
            kept.append(round(memory(), 1))
        for block in np.array_split((sound * 32767).astype("<i2"), max(1, len(sound) // RATE)):
            microphone.put(block.tobytes())
            ear.look()
    kept.append(round(memory(), 1))
    return {
        "hours": round((ticks.at - begun) / 3600, 3),
        "took": round(time.monotonic() - started, 1),
        "cpu": round(time.process_time(), 1),
        "outcomes": dict(told.outcomes),
        "memory": kept,
        "falsely": told.falsely,
    }


def main() -> None:
    """Hear the hours, and tell."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--hours", type=float, default=1.0, help="in each process")
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("--clips", default="", help="a set's folder; without it there is noise alone")
    parser.add_argument("--most", type=float, default=1e9, help="seconds by the clock")
    parser.add_argument("--seed", type=int, default=1)
    arguments = parser.parse_args()
    jobs = [(arguments.seed + at, arguments.hours, arguments.clips, arguments.most) for at in range(arguments.jobs)]
    with multiprocessing.get_context("spawn").Pool(arguments.jobs) as pool:
        found = pool.map(heard, jobs, 1)
    for one in found:
        print(json.dumps(one))
    hours, outcomes = sum(one["hours"] for one in found), Counter[str]()
    for one in found:
        outcomes.update(one["outcomes"])
    taken = outcomes["taken"] + outcomes["command"]
    print(f"{hours:.2f} hours of sound: {outcomes.total()} utterances, {dict(outcomes)}")
    print(f"an hour: taken {taken / hours:.2f}, asked {outcomes['asked'] / hours:.2f}")
    for one in found:
        print(f"memory, MB, at each half hour and at the end: {one['memory']}")


if __name__ == "__main__":
    main()
