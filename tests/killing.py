"""Real processes doing a real job, killed at random moments: what was said aloud must be in the record, and no more."""

from __future__ import annotations

import os
import random
import signal
import time
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from fakes import FakePeople
from talking import PHRASES, WORDING, obliging

from guide.job import events as ev
from guide.job.fold import replay
from guide.procedure.model import Procedure
from guide.record import Journal
from guide.record.verify import verify
from guide.screen.clocks import PretendedClock
from guide.session import Job, Session, Turn


@dataclass
class Killed:
    """What came of the kills."""

    kills: int = 0
    torn: int = 0
    entries: int = 0
    ahead: int = 0
    """Kills that hit between durable and said."""


def _session(procedure: Procedure, folder: Path) -> tuple[Session, list[Turn], Journal]:
    clock = PretendedClock()
    if (folder / "record.jsonl").exists():
        journal, entries = Journal.open(folder, clock)
        new = False
    else:
        sources = tuple(ev.Source(source.name, source.text) for source in procedure.sources)
        started = ev.Started(ev.FORMAT, "0", procedure.name, procedure.title, procedure.sha256, sources, True)
        speaker = ev.Spoke(ev.Person("Bo", "crew", "claimed"))
        journal, entries = Journal.create(folder, clock, [started, speaker], "Bo")
        new = True
    session = Session(Job(procedure, replay(procedure, entries), journal, clock, WORDING), PHRASES, FakePeople())
    return session, session.open() if new else session.reopen(bool(journal.torn)), journal


def _child(procedure: Procedure, folder: Path, said: int) -> None:
    """Do the job obligingly, and say after every answer how many entries were acknowledged."""
    session, turns, journal = _session(procedure, folder)
    os.write(said, f"{journal.head[0]}\n".encode())
    while not session.over:
        ask = next(turn for turn in reversed(turns) if turn.kind == "ask").as_data()
        turns = session.hear(obliging(ask)) or turns
        os.write(said, f"{journal.head[0]}\n".encode())
    time.sleep(30)


def kill_once(procedure: Procedure, folder: Path, wait: float, report: Killed) -> bool:
    """One process killed after `wait` seconds; whether the job has come to its end."""
    before = verify(folder).lines if (folder / "record.jsonl").exists() else 0
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(reading)
        with suppress(BaseException):
            _child(procedure, folder, writing)
        os._exit(1)
    os.close(writing)
    time.sleep(wait)
    os.kill(child, signal.SIGKILL)
    with os.fdopen(reading) as heard:
        said = heard.read().splitlines()
    assert os.WIFSIGNALED(os.waitpid(child, 0)[1]), "the process ended by itself"
    report.kills += 1
    if not (folder / "record.jsonl").exists():
        assert not said
        return False
    found = verify(folder)
    if not found.lines:
        assert not said, "something was said, and nothing is there"
        (folder / "record.jsonl").unlink()
        return False
    assert found.ok, found.problems
    journal, entries = Journal.open(folder, PretendedClock())
    journal.close()
    acknowledged = int(said[-1]) if said else before
    assert len(entries) >= acknowledged, "what was acknowledged is missing"
    assert len(entries) - acknowledged <= 8, "more than one answer's decisions are there unsaid"
    report.torn += bool(journal.torn)
    report.entries += len(entries)
    report.ahead += len(entries) > acknowledged
    state = replay(procedure, entries)
    return state.status == "finished"


def kills(procedure: Procedure, folder: Path, count: int, seed: int) -> Killed:
    """So many kills, each job killed and taken up again until it is finished, then a new one."""
    draw = random.Random(seed)
    report, job = Killed(), 0
    while report.kills < count:
        if kill_once(procedure, folder / f"job{job}", draw.expovariate(1 / 0.03), report):
            job += 1
    return report
