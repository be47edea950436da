"""Records that reports are made of: jobs done by commands on a real journal, one of them full of markup."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import timedelta
from pathlib import Path
from types import MappingProxyType

from fakes import NOON, FakeClock
from records import Quick

from guide.job import commands as cmd
from guide.job import events as ev
from guide.job.commands import Command, Refusal
from guide.job.engine import decide
from guide.job.fold import apply, replay
from guide.procedure import load_text
from guide.quantity import quantity
from guide.record import Journal

NASTY = "<script>alert(1)</script><img src=x onerror=alert(2)>&amp;\"' \u202e\x1b[31m"
"""Words that a page, a drawing or paper must show and never obey."""

EVIL = """
format: 1
title: "Set <b>a shelf</b> & <script>alert(0)</script>"
states: {shelf: "the <i>shelf</i>"}
readings:
  gap: {ask: "Gap <u>here</u>", at: ["left", "right"], about: gap, likely: 0 in to 1 in, with: "a <gauge>"}
steps:
  set: {say: Set it., disturbs: [shelf]}
  gap: {after: set, take: gap, say: Look., within: 1/16 in to 1/8 in, watches: [shelf], out: {adjust: [shelf]}}
"""


def kept(folder: Path, text: str, commands: Iterable[Command], who: str = "Bo", step: float = 20) -> Path:
    """A job folder in which these commands were done, so many seconds apart, on a clock that is no pretended one."""
    procedure, clock = load_text("small.yaml", text), FakeClock(NOON)
    sources = tuple(ev.Source(source.name, source.text) for source in procedure.sources)
    first = ev.Started(ev.FORMAT, "0", procedure.name, procedure.title, procedure.sha256, sources)
    opening: list[ev.Event] = [first, ev.Spoke(ev.Person(who, "crew", "claimed"))]
    journal, entries = Journal.create(folder, clock, opening, who, Quick())
    state = replay(procedure, entries)
    for command in commands:
        clock.at += timedelta(seconds=step)
        outcome = decide(procedure, state, command, clock.at)
        assert not isinstance(outcome, Refusal), (command, outcome)
        for entry in journal.append(outcome, who):
            apply(procedure, state, entry)
    journal.close()
    return folder


def evil_job(folder: Path, instead: Mapping[str, str] = MappingProxyType({})) -> Path:
    """A job in which people said, wrote and were called what markup is made of; `instead` changes its words."""
    text = EVIL
    for word, other in instead.items():
        text = text.replace(word, other)
    heard = ev.Heard(NASTY, "voice", others=(NASTY,), confidence=NASTY, confirmed="yes")
    lead = ev.Person(NASTY, "lead", "claimed")
    commands: list[Command] = [
        cmd.Begin("set"),
        cmd.Note(NASTY, "set"),
        cmd.Note("</title></style></svg><script>"),
        cmd.Finish("set"),
        cmd.Begin("gap"),
        cmd.Take("gap", "left", quantity("1/4 in"), heard),
        cmd.Correct("gap", "left", quantity("1/2 in"), heard),
        cmd.Take("gap", "right", quantity("1/8 in"), heard),
        *([cmd.Adjust("gap"), *_both("1/4 in")] * 2),
        cmd.Decide("gap", "concede", lead, NASTY),
    ]
    return kept(folder, text, commands, NASTY)


def _both(value: str) -> list[Command]:
    return [cmd.Take("gap", "left", quantity(value)), cmd.Take("gap", "right", quantity("1/8 in"))]
