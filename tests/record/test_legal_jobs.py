"""No false alarm: whatever the engine lets happen is kept, found whole, and read back as the same job."""

from __future__ import annotations

import random
from datetime import timedelta
from pathlib import Path

import pytest
from explore import key
from fakes import FakeClock
from records import Quick
from small import SHELF
from walking import odd, sensible

from guide.job import commands as cmd
from guide.job import events as ev
from guide.job.commands import Refusal
from guide.job.engine import decide
from guide.job.fold import apply, replay
from guide.job.request import request
from guide.job.state import State
from guide.procedure import load, load_text
from guide.procedure.model import Procedure
from guide.record import Journal
from guide.record.verify import verify

PROCEDURES = {"shelf": load_text("shelf.yaml", SHELF), "exterior-pair": load("exterior-pair")}


def walked(procedure: Procedure, folder: Path, seed: int, steps: int, oddness: float) -> State:
    """A job of so many commands, a share of them odd, kept in a real record; the clock goes back now and then."""
    draw, clock = random.Random(seed), FakeClock()
    sources = tuple(ev.Source(source.name, source.text) for source in procedure.sources)
    first = ev.Started(ev.FORMAT, "0", procedure.name, procedure.title, procedure.sha256, sources)
    journal, entries = Journal.create(folder, clock, [first], "Bo", Quick())
    state = replay(procedure, entries)
    for _ in range(steps):
        strange = draw.random() < oddness
        command = (
            odd(procedure, state, draw) if strange else sensible(procedure, state, request(procedure, state), draw)
        )
        clock.at += timedelta(days=40) if isinstance(command, cmd.PassTime) else timedelta(seconds=1)
        if draw.random() < 0.02 and not isinstance(command, cmd.PassTime):
            clock.at -= timedelta(minutes=10)
        outcome = decide(procedure, state, command, clock.now())
        if not isinstance(outcome, Refusal):
            for entry in journal.append(outcome, state.speaker.name):
                apply(procedure, state, entry)
    journal.close()
    return state


@pytest.mark.parametrize("oddness", [0.0, 0.05, 0.4])
@pytest.mark.parametrize("name", PROCEDURES)
def test_whatever_may_happen_is_whole(tmp_path: Path, name: str, oddness: float) -> None:
    procedure = PROCEDURES[name]
    finished = 0
    for seed in range(6):
        folder = tmp_path / str(seed)
        state = walked(procedure, folder, seed, 700, oddness)
        found = verify(folder)
        assert found.ok, (seed, found.problems)
        assert (found.status, found.concessions) == (state.status, state.concessions(procedure))
        journal, entries = Journal.open(folder, FakeClock(), Quick())
        journal.close()
        assert key(replay(procedure, entries)) == key(state)
        finished += any(isinstance(entry.event, ev.Finished) for entry in entries)
    assert finished or oddness == 0.4
