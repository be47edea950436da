"""What works where, by sound: PYTHONPATH=.:tests python -m ears.states [--count N] [--seed S] [--plain].

Sentences are made from the answers meant ("top works, middle binds"), for the places of every shipped check that has
some; what was meant is known by how they were made, not by reading them. Spoken by the voices of this folder that the
machine has, clean and in noise, heard where the check asks for it, and decided on as in a job. Talk is said there too.
"""

from __future__ import annotations

import argparse
import json
import random
from collections import Counter
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from functools import cache
from pathlib import Path

import numpy as np
from ears.noise import KINDS, mixed
from ears.speech import TALK
from ears.voices import VOICES, Voice

from guide.procedure import load, shipped
from guide.talk.expect import Expect
from guide.voice.agree import agreed
from guide.voice.embedded.ear import Ear
from guide.voice.embedded.learned import wanted_weights
from guide.voice.hearing import Heard
from guide.voice.wav import RATE

Answers = dict[str, str]
RATIOS = (None, 15.0, 8.0, 0.0)
INVENTED = (("head", "latch", "sill"), ("top", "middle", "bottom"))
GOOD = ("works", "latches", "is fine", "runs free", "swings free", "touches evenly", "closes fine", "locks")
BAD = (
    "binds",
    "sticks",
    "won't latch",
    "doesn't close",
    "won't lock",
    "bulges",
    "drags",
    "rubs",
    "is loose",
    "won't shut",
)
MANY_GOOD, MANY_BAD = ("work", "are fine", "latch"), ("bind", "stick", "don't close", "won't lock")


@dataclass(frozen=True)
class Said:
    """A sentence, the places of the check, and what it says of them; empty for talk."""

    text: str
    places: tuple[str, ...]
    meant: Answers


@cache
def checks() -> tuple[tuple[str, ...], ...]:
    """The places of every shipped check by place without a number, and two sets that are made up."""
    found = {
        reading.places
        for name in shipped()
        for reading in load(name).readings.values()
        if reading.answer == "yes-no" and reading.places
    }
    return (*sorted(found), *INVENTED)


def sentences(chance: random.Random, count: int) -> Iterator[Said]:
    """So many answers, and a fourth as much talk."""
    for number in range(count):
        places = chance.choice(checks())
        if number % 4 == 3:
            yield Said(chance.choice(TALK), places, {})
        some = [place for place in places if chance.random() < 0.7] or [chance.choice(places)]
        yield _said(chance, places, {place: chance.choice(("yes", "no")) for place in some})


def _said(chance: random.Random, places: tuple[str, ...], meant: Answers) -> Said:
    way = chance.randrange(4)
    if way == 0 and len(set(meant.values())) == 1 and len(meant) > 1:
        told = chance.choice(MANY_GOOD if "yes" in meant.values() else MANY_BAD)
        return Said(f"{' and '.join(meant)} {told}", places, meant)
    if way == 1:
        return Said(", ".join(f"{place} {answer}" for place, answer in meant.items()), places, meant)
    if way == 2:
        parts = [f"{chance.choice(GOOD if one == 'yes' else BAD)} {_at(place)}" for place, one in meant.items()]
    else:
        parts = [f"{place} {chance.choice(GOOD if one == 'yes' else BAD)}" for place, one in meant.items()]
    return Said(chance.choice((", ", " and ")).join(parts), places, meant)


def _at(place: str) -> str:
    return place if place.startswith("from") else f"{'when' if place.endswith('ing') else 'at the'} {place}"


def verdict(heard: Heard, said: Said) -> str:
    """ "right", "part" of it, "asked", "none", or "wrong": taken as something else than was meant, or a command."""
    decision = agreed([heard], Expect(states=True, places=said.places))
    if decision.outcome == "taken" and decision.hearing is not None:
        named = dict(decision.hearing.by_place)
        if not said.meant or not named or not named.items() <= said.meant.items():
            return "wrong"
        return "right" if named == said.meant else "part"
    if decision.outcome == "command":
        return "wrong"
    return "none" if decision.outcome == "none" else "asked"


def main() -> None:
    """Measure, and print what came of it."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--count", type=int, default=12, help="answers a voice")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--plain", action="store_true", help="the ear as its makers ship it")
    parser.add_argument("--keep", type=Path, help="what was heard of each clip goes here, a line each")
    arguments = parser.parse_args()
    weights = wanted_weights()
    ear = Ear(trained=False) if arguments.plain else Ear(weights.folder, trained=weights.trained)
    found: dict[tuple[str, float | None], Counter[str]] = {}
    for voice in VOICES:
        chance = random.Random(f"{arguments.seed} {voice.name}")
        for said, ratio, one in heard(ear, voice, chance, arguments.count):
            came = verdict(one, said)
            found.setdefault(("answer" if said.meant else "talk", ratio), Counter())[came] += 1
            if came == "wrong":
                print(f"wrong: {voice.name}, {ratio}: {said.text!r} as {one.hearings[0].words!r}, freely {one.free!r}")
            if arguments.keep is not None:
                with arguments.keep.open("a") as lines:
                    print(json.dumps({**asdict(said), "ratio": ratio, "heard": one.as_data()}), file=lines)
    for (kind, ratio), tally in sorted(found.items(), key=lambda one: (one[0][0], -(one[0][1] or 99))):
        counts = " ".join(f"{name} {tally[name]}" for name in ("right", "part", "asked", "none", "wrong"))
        print(f"{kind:6} {'clean' if ratio is None else f'{ratio:.0f} dB':6} clips {tally.total()} {counts}")


def heard(ear: Ear, voice: Voice, chance: random.Random, count: int) -> Iterator[tuple[Said, float | None, Heard]]:
    """What was said in each clip of one voice, the noise's ratio, and what was heard."""
    for said in sentences(chance, count):
        try:
            speech = voice.say(said.text)
        except (FileNotFoundError, ModuleNotFoundError) as missing:
            print(f"{voice.name}: left out, {missing}")
            return
        if speech is None:
            return
        quiet = np.zeros(RATE // 4, np.float32)
        speech = np.concatenate([quiet, speech, quiet, quiet])
        for ratio in RATIOS:
            sound = mixed(speech, chance.choice([kind for kind in KINDS if kind != "chatter"]), ratio, chance, [])
            yield said, ratio, ear.hear(sound, Expect(states=True, places=said.places), {})


if __name__ == "__main__":
    main()
