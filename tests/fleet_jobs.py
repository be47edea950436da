"""An invented fleet: crews, jobs and readings made up by a seeded model, as real records through the real engine.

INVENTED, all of it: every record says so of itself, and nothing here was ever measured. What the model puts in is
known, so that what a review finds can be held against it: how often each check is out at first, how the level of one
crew drifts, how often the ear is wrong.

PYTHONPATH=tests python tests/fleet_jobs.py DIR [JOBS [FIRST]]      (default 100 jobs)
"""

from __future__ import annotations

import random
import sys
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from fractions import Fraction
from functools import lru_cache
from pathlib import Path

from guide.fleet.gather import Gathered, Gathering
from guide.fleet.store import Writer
from guide.job import commands as cmd
from guide.job import events as ev
from guide.job.commands import Command, Refusal
from guide.job.engine import decide
from guide.job.fold import apply
from guide.job.request import Request, request
from guide.job.state import State, fresh_state
from guide.procedure import load_text
from guide.procedure.model import Procedure
from guide.quantity import Quantity
from guide.record import journal
from guide.record.keys import Keys

ROW = """
format: 1
title: Hang a row of cabinets (invented)
about: Invented, like every job of the fleet that follows it.
states: {row: the row, fronts: the fronts}
readings:
  width: {ask: Width between the walls, at: [bottom, middle, top], keep: smallest, likely: 40 in to 140 in, with: tape}
  height: {ask: Height of the ceiling, at: [left, right], keep: smallest, likely: 80 in to 110 in, with: tape}
  level:
    ask: How far out of level
    at: [left, middle, right]
    over: 48 in
    about: level
    with: a spirit level
    sign: {plus: the right end is high, minus: the left end is high, toward: right, away: left}
  plumb:
    ask: How far out of plumb
    at: [left, right]
    over: 30 in
    about: plumb
    with: a spirit level
    sign: {plus: it leans into the room, minus: it leans to the wall, toward: room, away: wall}
  square: {ask: Gap in the corner, at: [top left, top right], about: gap, over: 2 ft, with: the two-foot square}
  reveal:
    ask: Gap beside the front
    at: [one, two, three, four, five, six, seven, eight]
    about: gap
    with: a gap gauge
  joint: {ask: Gap between the boxes, at: [a, b, c, d, e, f, g, h, i, j, k], about: gap, with: a feeler}
  held: {ask: Is it held by every screw, answer: yes-no, good: "yes"}
  swings: {ask: Do the doors swing free, at: [left, middle, right, end], answer: yes-no, good: "yes"}
cautions: {weight: The row is heavy and the saw cuts. Two hold the row until it is fixed; keep your fingers clear.}
steps:
  survey: {part: Measure, say: Measure between the walls., take: width}
  ceiling: {after: survey, say: Measure the ceiling., take: height}
  cut: {after: ceiling, say: Cut the rail., caution: weight, undo: "no"}
  hang: {part: Hang, after: cut, say: Hang the row on its rail., caution: weight, crew: 2, disturbs: [row, fronts]}
  level: {after: hang, say: Level it., take: level, within: -1/8 in to 1/8 in, watches: [row], out: {adjust: [row]}}
  plumb: {after: level, say: Plumb it., take: plumb, within: -1/16 in to 1/16 in, watches: [row], out: {adjust: [row]}}
  square: {after: plumb, say: Square it., take: square, within: 0 in to 1/16 in, watches: [row],
           out: {adjust: [fronts]}}
  joint: {after: square, say: Draw the boxes together., take: joint, within: 0 in to 1/32 in, watches: [row],
          out: {adjust: [fronts]}}
  fix: {after: joint, needs: [level, plumb, square, joint], say: Fix it., disturbs: [row],
        wait: {time: 20 min, for: the glue}}
  held: {part: Fronts, after: fix, say: See that it is held., take: held, watches: [row], safety: "yes",
         out: {adjust: [row]}}
  fronts: {after: held, say: Hang the fronts., disturbs: [fronts]}
  reveal: {after: fronts, say: Look at the gaps., take: reveal, within: 1/16 in to 3/16 in, even: 1/16 in,
           watches: [fronts], out: {adjust: [fronts]}}
  swings: {after: reveal, say: Try the doors., take: swings, watches: [fronts], out: {adjust: [fronts]}}
  look: {after: swings, say: The lead looks., hold: {by: lead, look: the whole row}}
"""
NEWER = ROW.replace("say: Level it.,", "say: Level it from the middle outward.,")
"""The same procedure, written better: its level is out half as often."""
VERSIONS = (ROW, NEWER)

CREWS = ("Ash", "Birch", "Cedar", "Dogwood", "Elm", "Fir", "Gum", "Hazel", "Ivy", "Juniper")
"""Invented; "Cedar" has a level that drifts, "Elm" fixes things badly."""
DRIFTS, DRIFT = "Cedar", 1 / 64
"""The crew whose level moves, and by how many inches in thirty days."""
CLUMSY = "Elm"
OUT = {"level": 0.30, "plumb": 0.20, "square": 0.10, "joint": 0.08, "reveal": 0.15, "held": 0.02, "swings": 0.05}
"""How often the first state of a check is out, for a crew that is not clumsy."""
MISHEARD = 0.03
BEGINS = datetime(2025, 1, 6, 8, 0, tzinfo=UTC)
A_DAY = 140
"""Jobs begun a day, over all crews."""
_LIMITS = {"level": (0.0, 8), "plumb": (0.0, 4), "square": (1 / 32, 2), "joint": (1 / 64, 1), "reveal": (1 / 8, 4)}
"""Aim in inches, and half the tolerance in sixty-fourths."""


@lru_cache(maxsize=4)
def procedure_of(text: str) -> Procedure:
    """A procedure of the fleet."""
    return load_text("row.yaml", text)


@dataclass(slots=True)
class Job:
    """One invented job as it goes on."""

    number: int
    draw: random.Random
    procedure: Procedure
    text: str
    crew: str
    at: datetime
    days: float
    state: State
    bad: dict[str, bool]
    voice: bool
    heard_wrong: tuple[str, str, Quantity] | None = None
    rounds: int = 0

    def answer(self, want: Request) -> Command:
        """What the crew says to a request."""
        lead = ev.Person("Lee", "lead", "pin" if self.number % 3 else "claimed")
        if want.want == "reading":
            return self._take(want)
        if want.want == "adjust":
            clumsy = 0.5 if self.crew == CLUMSY else 0.15
            self.bad[want.step] = self.draw.random() < clumsy
            return cmd.Adjust(want.step)
        if want.want == "lead":
            self.bad[want.step] = False
            safe = self.procedure.steps[want.step].safety
            go_on = safe or self.draw.random() < 0.5
            if go_on:
                return cmd.Decide(want.step, "go on", lead, "once more")
            return cmd.Decide(want.step, "concede", lead, self.draw.choice(("hidden by the trim", "the owner agrees")))
        simple: dict[str, Command] = {
            "begin": cmd.Begin(want.step),
            "cautions": cmd.Acknowledge(want.step),
            "crew": cmd.CrewIsThere(want.step),
            "done": cmd.Finish(want.step),
            "look": cmd.Look(want.step, lead, True),
            "wait": cmd.PassTime(),
            "close": cmd.Close(),
        }
        return simple[want.want]

    def _take(self, want: Request) -> Command:
        name, draw = want.step, self.draw
        if want.reading in ("held", "swings"):
            return cmd.Take(name, want.place, "no" if self.bad[name] and want.place in ("", "middle") else "yes")
        value = self._value(want)
        if self.voice and draw.random() < MISHEARD:
            wrong = Quantity(value.magnitude + Fraction(draw.choice((-1, 1)), 16), "in")
            if wrong.magnitude > 0 or want.reading in ("level", "plumb"):
                self.heard_wrong = (name, want.place, value)
                return cmd.Take(name, want.place, wrong, self._heard(wrong, sure=False))
        return cmd.Take(name, want.place, value, self._heard(value))

    def _value(self, want: Request) -> Quantity:
        draw = self.draw
        if want.reading == "width":
            return _inches(60 + self.number % 60 + draw.randrange(0, 8) / 16, 16)
        if want.reading == "height":
            return _inches(95 + draw.randrange(0, 16) / 16, 16)
        aim, half = _LIMITS[want.reading]
        off: float = draw.randrange(-half + 1, half) / 64 * 0.6
        out_here = self.bad[want.step] and want.place in ("left", "one", "top left", "a")
        if out_here:
            off = draw.choice((-1, 1)) * (half + draw.randrange(1, 9)) / 64
        if self.crew == DRIFTS and want.reading in ("level", "plumb"):
            off += DRIFT * self.days / 30
        value = aim + off
        return _inches(max(0.0, value) if want.reading in ("square", "joint", "reveal") else value, 64)

    def _heard(self, value: Quantity, sure: bool = True) -> ev.Heard:
        said = str(value.magnitude)
        if not self.voice:
            return ev.Heard(said)
        confidence = f"{self.draw.uniform(0.9, 1) if sure else self.draw.uniform(0.5, 0.95):.3f}"
        asked = self.draw.random() < 0.2
        others = (str(value.magnitude + Fraction(1, 16)),) if asked else ()
        return ev.Heard(said, "voice", others=others, confidence=confidence, confirmed="yes" if asked else "")


def _inches(value: float, parts: int) -> Quantity:
    return Quantity(Fraction(round(value * parts), parts), "in")


def new_job(number: int, seed: int = 1) -> Job:
    """The invented job of a number, the same each time."""
    draw = random.Random(seed * 1_000_003 + number)
    crew = CREWS[number % len(CREWS)]
    days = number / A_DAY
    text = VERSIONS[days > 250 or number % 7 == 3]
    clumsy = 1.5 if crew == CLUMSY else 1.0
    bad = {
        name: draw.random() < share * clumsy * (0.5 if name == "level" and text is NEWER else 1)
        for name, share in OUT.items()
    }
    at = BEGINS + timedelta(days=int(days), minutes=draw.randrange(0, 240), microseconds=number % 1_000_000)
    procedure = procedure_of(text)
    return Job(number, draw, procedure, text, crew, at, days, fresh_state(procedure), bad, draw.random() < 0.4)


def lines(job: Job) -> Iterator[bytes]:
    """The record of a job, line by line, by the real engine and the real codec; its clock is the model's."""
    procedure, state, draw = job.procedure, job.state, job.draw
    sources = tuple(ev.Source(source.name, source.text) for source in procedure.sources)
    started = ev.Started(ev.FORMAT, "0", procedure.name, procedure.title, procedure.sha256, sources, invented=True)
    head, seq = "0" * 64, 0
    decision: list[ev.Event] = [started, ev.Spoke(ev.Person(job.crew, "crew", "claimed"))]
    stop_at = draw.randrange(30, 60) if draw.random() < 0.05 else -1
    while True:
        for place, event in enumerate(decision):
            if isinstance(event, ev.Stopped | ev.Finished):
                event = replace(event, count=seq, hash=head)
            line, head = journal._line(seq, job.at, job.crew, event, place + 1 < len(decision), head)
            yield line
            apply(procedure, state, ev.Entry(seq, job.at, job.crew, event, head))
            seq += 1
        want = request(procedure, state)
        if want.want in ("over", "stopped"):
            return
        job.at += timedelta(seconds=draw.randrange(4, 90))
        if job.heard_wrong is not None:
            step, at, value = job.heard_wrong
            job.heard_wrong = None
            command: Command = cmd.Correct(step, at, value, ev.Heard(str(value.magnitude), "voice", confirmed="yes"))
        elif 0 <= stop_at <= seq:
            stop_at, command = -1, cmd.Stop()
        else:
            command = job.answer(want)
            if want.want == "wait" and want.until is not None:
                job.at = max(job.at, want.until)
        outcome = decide(procedure, state, command, job.at)
        assert not isinstance(outcome, Refusal), (command, outcome)
        decision = outcome


def write(folder: Path, count: int, first: int = 0, seed: int = 1) -> tuple[int, int]:
    """Write so many jobs into folders by month and number; how many entries and bytes they have."""
    entries = size = 0
    for number in range(first, first + count):
        job = new_job(number, seed)
        place = folder / f"{job.at:%Y-%m}" / f"job-{number:07}"
        place.mkdir(parents=True)
        made = list(lines(job))
        data = b"".join(made)
        (place / journal.RECORD).write_bytes(data)
        entries += len(made)
        size += len(data)
    return entries, size


def gathered(store: Path, *folders: Path, a_batch: int = 2_000, keys: Path | None = None) -> Gathered:
    """Gather the folders into a store."""
    writer = Writer.open(store, lambda: None)
    try:
        return Gathering(writer, Keys(keys or store.parent / "no-keys"), a_batch).gather(folders)
    finally:
        writer.close()


def main() -> None:
    count, first = (int(one) for one in (*sys.argv[2:4], *("100", "0")[len(sys.argv) - 2 :]))
    entries, size = write(Path(sys.argv[1]), count, first)
    print(f"{count:,} invented jobs, {entries:,} entries, {size:,} bytes")


if __name__ == "__main__":
    main()
