"""A job that is open: what was decided is kept, folded and told as of the time it was decided at."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from fakes import NOON, FakeClock, MemoryJournal
from records import Quick, started
from talking import WORDING

from guide.job import commands as cmd
from guide.job import events as ev
from guide.job.fold import replay
from guide.procedure import load_text
from guide.record import Journal
from guide.record.verify import verify
from guide.session import Job

GLUE = """
format: 1
title: Glue a shelf
steps:
  glue: {say: Glue it., wait: {time: 30 min, for: the glue to set}}
  sand: {after: glue, say: Sand it.}
"""


@dataclass
class SetBack(FakeClock):
    """A clock that is set back by an hour as soon as somebody has looked at it."""

    def now(self) -> datetime:
        shown = self.at
        self.at -= timedelta(hours=1)
        return shown


def test_a_wait_that_was_over_stays_over_when_the_clock_is_set_back_meanwhile(tmp_path: Path) -> None:
    procedure = load_text("small.yaml", GLUE)
    clock = FakeClock()
    journal, entries = Journal.create(tmp_path / "job", clock, [started(GLUE)], "Bo", Quick())
    job = Job(procedure, replay(procedure, entries), journal, clock, WORDING)
    for command in (cmd.Begin("glue"), cmd.Finish("glue")):
        assert isinstance(job.do(command), list)
    job.clock = journal.clock = SetBack(NOON + timedelta(minutes=30))
    assert isinstance(job.do(cmd.PassTime()), list)
    assert job.wants.step == "sand"
    journal.close()
    found = verify(tmp_path / "job")
    assert found.ok, found.problems


def test_entries_carry_the_time_of_the_decision() -> None:
    procedure = load_text("small.yaml", GLUE)
    clock = SetBack(NOON)
    journal = MemoryJournal(clock)
    journal.append([started(GLUE)], "Bo", NOON)
    job = Job(procedure, replay(procedure, journal.entries), journal, clock, WORDING)
    job.do(cmd.Begin("glue"))
    assert [(entry.event, entry.at) for entry in journal.entries[1:]] == [(ev.Begun("glue"), NOON)]
