"""What the tests of reports share: the demo's whole job, a small one, and one full of markup."""

from __future__ import annotations

from pathlib import Path

import pytest
from fakes import FakeClock, FakePeople
from records import TINY, TINY_DONE, Quick, talked
from reports import evil_job
from talking import PHRASES, WORDING

from guide.job import events as ev
from guide.job.fold import replay
from guide.procedure import load
from guide.record import Journal
from guide.record.keys import Keys
from guide.report.found import Found, find
from guide.screen.demo import PROCEDURE, crew_lines
from guide.session import Job, Session


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The record of the demo's job, a line every twenty seconds."""
    folder = tmp_path_factory.mktemp("demo") / "job"
    clock, procedure = FakeClock(pretended=True), load(PROCEDURE)
    sources = tuple(ev.Source(source.name, source.text) for source in procedure.sources)
    first = ev.Started(ev.FORMAT, "0", procedure.name, procedure.title, procedure.sha256, sources, True, True)
    journal, entries = Journal.create(folder, clock, [first], "", Quick())
    session = Session(Job(procedure, replay(procedure, entries), journal, clock, WORDING), PHRASES, FakePeople())
    session.open()
    for line in crew_lines():
        clock.pass_time(seconds=20)
        session.hear(line)
    journal.close()
    return folder


@pytest.fixture(scope="session")
def demo_found(demo: Path, tmp_path_factory: pytest.TempPathFactory) -> Found:
    return find(demo, Keys(tmp_path_factory.mktemp("none") / "keys"))


@pytest.fixture
def keys(tmp_path: Path) -> Keys:
    return Keys(tmp_path / "data" / "keys")


@pytest.fixture
def tiny(tmp_path: Path) -> Path:
    talked(tmp_path / "tiny", TINY, TINY_DONE)
    return tmp_path / "tiny"


@pytest.fixture
def evil(tmp_path: Path) -> Path:
    return evil_job(tmp_path / "evil")
