"""Whole jobs on the simulated site: a crew that reads and moves a simulated frame, through a session or a process."""

from __future__ import annotations

import json
import subprocess
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
from running import GUIDE, environment
from site_world import Crew, Trouble, World
from talking import Talk, obliging, talk

from guide.job import events as ev
from guide.job.codec import decode
from guide.quantity import Quantity, quantity

LED_MOST = 6
"""How often the lead of a job says to go on; then it is stopped."""

MOST = 3000
"""Answers after which a job counts as one that does not end."""


KNOWN = {"unit_width": "73 1/2", "unit_height": "82 1/8", "opening_width": "74 1/2", "opening_height": "82 5/8"}
FRAME = (
    "flush",
    "square",
    "plumb",
    "plumb-across",
    "head-level",
    "twist",
    "head-reveal",
    "hinge-reveal",
    "meeting-gap",
)


@cache
def _beginning() -> tuple[str, ...]:
    """What a crew to whom everything goes right says until the frame is to be checked."""
    job, said = talk("exterior-pair", pretended=True), []
    while job.ask["step"] != "flush":
        said.append(_easy(job.ask))
        job.say(said[-1])
    return tuple(said)


def _easy(ask: Mapping[str, Any]) -> str:
    if ask["about"] == "confirm":
        return "yes"
    return KNOWN.get(str(ask["reading"])) or obliging(ask)


def at_the_frame() -> Talk:
    job = talk("exterior-pair", pretended=True)
    job.say(*_beginning())
    return job


class Site:
    """A simulated frame and a crew that reads it and moves it."""

    def __init__(
        self,
        seed: int,
        faults: Mapping[str, float] | None = None,
        noise: float = 1.0,
        trouble: Trouble = Trouble(),  # noqa: B008 - frozen
    ) -> None:
        self.world = World(np.random.default_rng(seed), trouble, faults)
        self.crew = Crew(self.world, np.random.default_rng(seed + 10**6), noise)
        self.led = 0
        self.blunder: dict[tuple[str, str], Fraction] = {}

    def answer(self, ask: Mapping[str, Any]) -> str:
        """What the crew says to what is asked, once it has done it."""
        if ask["about"] == "lead":
            self.led += 1
            return "go on trying" if self.led <= LED_MOST else "stop the job"
        if ask["about"] == "move":
            self.make(ask["move"])
            return "done"
        if ask["about"] == "reading" and ask["step"] in FRAME and ask["expects"] == "number":
            return str(Quantity(self.read(ask["reading"], ask["place"] or ""), "in"))
        return _easy(ask)

    def read(self, reading: str, place: str) -> Fraction:
        twist = reading == "string_gap"
        value = self.crew.reading(self.world.spots.index(("twist" if twist else reading, place)))
        value += self.blunder.get((reading, place), Fraction(0))
        if twist:
            return value / 2
        return max(value, Fraction(0)) if reading.endswith(("reveal", "meeting_gap")) else value

    def make(self, move: Mapping[str, Any]) -> None:
        plus = move["direction"] in ("right", "up", "toward the room")
        if move["direction"] in ("in", "out"):
            plus = (move["direction"] == "in") == move["point"].startswith("left")
        self.crew.move({move["point"]: quantity(move["by"]).base * (1 if plus else -1)})


@dataclass(frozen=True, slots=True)
class Done:
    """How a whole job went. `out` of `read` accepted readings of the frame are truly out; `worst` is over tolerance."""

    finished: bool
    answers: int
    rounds: int
    moves: int
    read: int
    out: int
    worst: float
    led: int
    slowest: float
    asked_again: int


def whole_job(seed: int, procedure: str = "exterior-pair") -> Done:
    """One job from its first question to its end, in memory."""
    job, site = talk(procedure, pretended=True), Site(seed)
    slowest, answers = 0.0, 0
    while not job.session.over and answers < MOST:
        line, start = site.answer(job.ask), time.perf_counter()
        job.say(line)
        slowest, answers = max(slowest, time.perf_counter() - start), answers + 1
    return _done(site, job.events, job.session.job.state.status == "finished", answers, slowest)


def whole_job_by_process(seed: int, folder: Path, procedure: str = "exterior-pair") -> Done:
    """The same through `guide start --json` as a process, its record read at the end."""
    site, slowest, answers, finished = Site(seed), 0.0, 0, False
    command = [*GUIDE, "start", procedure, "--job", str(folder), "--who", "Bo", "--json", "--pretend-clock"]
    with subprocess.Popen(
        command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, env=environment(folder.parent)
    ) as process:
        assert process.stdin is not None
        assert process.stdout is not None
        start = time.perf_counter()
        for line in process.stdout:
            turn = json.loads(line)
            finished = finished or turn["kind"] == "finished"
            if turn["kind"] == "ask":
                slowest, answers = max(slowest, time.perf_counter() - start), answers + 1
                said, start = site.answer(turn), time.perf_counter()
                process.stdin.write(said + "\n")
                process.stdin.flush()
    lines = (json.loads(line) for line in next(folder.glob("*.jsonl")).read_text(encoding="utf-8").splitlines())
    events = [decode(line["kind"], line["data"]) for line in lines]
    return _done(site, events, finished, answers, slowest)


def _done(site: Site, events: Sequence[ev.Event], finished: bool, answers: int, slowest: float) -> Done:
    """What the frame really is, behind what the job accepted of it."""
    accepted: dict[tuple[str, str], bool] = {}
    for event in events:
        if isinstance(event, ev.Took | ev.Corrected) and event.step in FRAME:
            accepted["twist" if event.reading == "string_gap" else event.reading, event.place] = event.verdict == "good"
    world = site.world
    over = {spot: abs(world.true[at]) / world.tolerance[at] for at, spot in enumerate(world.spots)}
    good = [spot for spot, fine in accepted.items() if fine]
    return Done(
        finished,
        answers,
        sum(1 for event in events if isinstance(event, ev.Adjusted) and event.move is not None),
        site.crew.moved,
        len(good),
        sum(1 for spot in good if over[spot] > 1),
        max(over[spot] for spot in good) if good else 0.0,
        sum(1 for event in events if isinstance(event, ev.Decided)),
        slowest,
        sum(len(event.again) for event in events if isinstance(event, ev.Planned)),
    )
