"""Hours of a site through the real attending path, as fast as it goes: python -m ears.hours --hours 8 [--clips FOLDER].

PYTHONPATH=.:tests. Sound goes in as from a microphone, block by block: noises made by computation, with quiet between
them, and, with --clips, what a set holds for nobody (talk, ordinary speech) every few seconds in half of the stretches,
and chatter made of it. The ear's own loop finds where utterances end, hears them and tells them. What is expected
changes every minute: readings, choices and states of the procedures that come with the guide, or nothing, each with a
grammar of its own. Told are what was taken and asked in each hour of sound, the process's own memory in each half
hour, and whether it grew once the first quarter had gone. Several processes (--jobs) have other noises each.
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
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
from ears.clips import FOR_NOBODY, Line, Sounds, lines_of
from ears.noise import make
from fakes import FakeMicrophone, Ticks
from numpy.typing import NDArray

from guide.procedure import load, shipped
from guide.procedure.model import Procedure
from guide.quantity import Quantity
from guide.session.sayable import choice_answers
from guide.session.turns import Ask
from guide.talk.expect import Expect
from guide.voice.agree import agreed
from guide.voice.child import Channel
from guide.voice.ear import Ear, load_ears
from guide.voice.endpoint import load_detector
from guide.voice.expecting import expect_data
from guide.voice.hearing import Heard
from guide.voice.wav import RATE

KINDS = ("saw", "hammer", "compressor", "drill", "wind")
MINUTE = 60.0
TALKED = 0.5
"""Stretches of sound in which somebody talks."""
FLAT = 0.02
"""Memory is flat if its highest in the later half is at most this much above that of the earlier half."""
Floats = NDArray[np.float32]


class Told(Channel):
    """What the ear tells, decided upon."""

    def __init__(self) -> None:
        self.expect: Expect | None = None
        self.hours: list[Counter[str]] = [Counter()]
        self.falsely: list[str] = []

    def send(self, kind: str, **data: object) -> None:
        if kind != "heard":
            return
        by = [Heard.from_data(one) for one in data["by"]]  # type: ignore[attr-defined]
        decision = agreed(by, self.expect)
        outcome = decision.outcome if not data["cut"] else "cut"
        self.hours[-1][outcome] += 1
        if outcome in ("taken", "command", "asked") and decision.hearing is not None:
            self.falsely.append(f"{outcome}: {decision.hearing.words!r}, freely {by[0].free!r}")


@cache
def procedures() -> tuple[Procedure, ...]:
    """Those that come with the guide."""
    return tuple(load(name) for name in shipped())


def expectations(chance: random.Random) -> tuple[str, Expect | None, dict[str, tuple[str, ...]]]:
    """What some step asks for: what kind of thing, what the ears are told of it, and the names in its job."""
    procedure = chance.choice(procedures())
    lists = {
        "name": ("Ana", "Ben"),
        "state": tuple(procedure.watchers),
        "step": tuple(name.replace("-", " ") for name in procedure.steps),
    }
    kind = chance.choices(("reading", "choice", "works", "nothing"), (60, 15, 15, 10))[0]
    if kind == "nothing":
        return kind, None, lists
    if kind == "works":
        return kind, Expect(states=True), lists
    if kind == "choice":
        options = chance.choice(list(procedure.choices.values())).options
        ask = Ask("", "choice", choices=tuple(options), labels=tuple(options.values()))
        return kind, Expect(answers=choice_answers(ask)), lists
    one = chance.choice([reading for reading in procedure.readings.values() if reading.answer == "number"])
    start = Fraction(chance.randrange(0, 97 * 8) if one.about == "length" else 0, 8)
    low, high = Quantity(start, one.unit), Quantity(start + 3, one.unit)
    return kind, Expect(one.unit, one.about, one.sign, one.places, likely_low=low, likely_high=high), lists


def site(chance: random.Random, clips: list[Line], sounds: Sounds | None) -> Iterator[Floats]:
    """Stretches of sound without end: noise, then quiet, with clips over half of either."""
    kinds = (*KINDS, "chatter") if clips else KINDS
    while True:
        long = round(RATE * chance.uniform(8, 40))
        quiet = chance.random() < 0.4
        babble = [sounds.of(one) for one in chance.sample(clips, 4)] if clips and sounds is not None else []
        found = make("wind" if quiet else chance.choice(kinds), long, chance, babble)
        found = found / (np.abs(found).max() + 1e-9) * chance.uniform(0.005, 0.02 if quiet else 0.25)
        at = round(RATE * chance.uniform(0.5, 4))
        talked = chance.random() < TALKED
        while talked and clips and sounds is not None:
            clip = sounds.of(chance.choice(clips))
            if at + len(clip) >= long:
                break
            found[at : at + len(clip)] += clip
            at += len(clip) + round(RATE * chance.uniform(1, 6))
        yield np.clip(found, -1, 1).astype(np.float32)


def memory() -> float:
    """MB of its own that this process holds now: mapped files (libraries, the set's sound) are not its own."""
    with Path("/proc/self/status").open() as file:
        return next(int(line.split()[1]) / 1024 for line in file if line.startswith("RssAnon"))


def verdict(minutes: list[float]) -> str:
    """Whether memory grew: the later half of the run against the earlier, the first quarter left out as warming up."""
    warm = minutes[len(minutes) // 4 :]
    early, late = warm[: len(warm) // 2], warm[len(warm) // 2 :]
    if not early:
        return "too short to tell"
    told = "flat" if max(late) <= max(early) * (1 + FLAT) else "growing"
    means = [sum(half) / len(half) for half in (early, late)]
    return f"{told}: highest {max(early):.1f}, then {max(late):.1f} MB; mean {means[0]:.1f}, then {means[1]:.1f} MB"


def heard(job: tuple[int, float, str, float]) -> dict[str, Any]:
    """Some hours in one process; it ends earlier when `most` seconds by the clock have gone."""
    seed, hours, folder, most = job
    chance, started = random.Random(seed), time.monotonic()
    clips = [line for line in lines_of(Path(folder)) if line["kind"] in FOR_NOBODY - {"noise"}] if folder else []
    ticks, told = Ticks(), Told()
    microphone = FakeMicrophone(ticks)
    ear = Ear(told, microphone, load_detector(), load_ears()[0], now=ticks)
    begun = ticks.at
    minutes: list[float] = []
    asked: Counter[str] = Counter()
    unlike = set()
    for sound in site(chance, clips, Sounds(Path(folder)) if folder else None):
        if ticks.at - begun >= hours * 3600 or time.monotonic() - started > most:
            break
        if (ticks.at - begun) // MINUTE >= len(minutes):
            kind, told.expect, lists = expectations(chance)
            asked[kind] += 1
            expect = told.expect
            unlike.add(expect and (expect.about, expect.sign, expect.places, expect.answers, expect.states))
            ear._take({"kind": "expect", "expect": expect_data(expect) if expect else None, "lists": lists})
            minutes.append(round(memory(), 1))
            if len(minutes) % 30 == 0:
                outcomes = dict(sum(told.hours, Counter()))
                print(
                    f"{len(minutes)} minutes, {time.monotonic() - started:.0f} s: {minutes[-1]} MB, {outcomes}",
                    flush=True,
                )
            if (ticks.at - begun) // 3600 >= len(told.hours):
                told.hours.append(Counter())
        for block in np.array_split((sound * 32767).astype("<i2"), max(1, len(sound) // RATE)):
            microphone.put(block.tobytes())
            ear.look()
    minutes.append(round(memory(), 1))
    return {
        "hours": round((ticks.at - begun) / 3600, 3),
        "took": round(time.monotonic() - started, 1),
        "cpu": round(time.process_time(), 1),
        "asked": dict(asked),
        "unlike": len(unlike),
        "outcomes": [dict(one) for one in told.hours],
        "memory": minutes,
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
        for at, hour in enumerate(one["outcomes"], 1):
            print(f"hour {at}: {hour}")
            outcomes.update(hour)
    taken = outcomes["taken"] + outcomes["command"]
    print(f"{hours:.2f} hours of sound: {outcomes.total()} utterances, {dict(outcomes)}")
    print(f"an hour: taken {taken / hours:.2f}, asked {outcomes['asked'] / hours:.2f}")
    for one in found:
        highest = [max(one["memory"][at : at + 30]) for at in range(0, len(one["memory"]), 30)]
        print(f"{one['asked']} asked for, {one['unlike']} unlike; highest memory of each half hour, MB: {highest}")
        print(f"memory {verdict(one['memory'])}")


if __name__ == "__main__":
    main()
