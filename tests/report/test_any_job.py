"""Whatever the engine lets happen can be reported: random jobs, at every stage, in every form."""

from __future__ import annotations

import random
from datetime import timedelta
from pathlib import Path

import html5lib
import pytest
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
from guide.procedure import load, load_text
from guide.procedure.model import Procedure
from guide.record import Journal
from guide.record.keys import Keys
from guide.report.data import document_data, job_data
from guide.report.document import Table
from guide.report.found import Found, find
from guide.report.job import job_document
from guide.report.page import page
from guide.report.paper import paper
from guide.report.sheets import care_document, order_document
from guide.report.text import first_page

PROCEDURES = {"shelf": load_text("shelf.yaml", SHELF)} | {
    one: load(one) for one in ("exterior-pair", "exterior-single")
}


def walked(procedure: Procedure, folder: Path, seed: int, steps: int) -> Found:
    """A job of so many commands, some of them odd, on a clock that goes back now and then."""
    draw, clock = random.Random(seed), FakeClock()
    sources = tuple(ev.Source(source.name, source.text) for source in procedure.sources)
    first = ev.Started(ev.FORMAT, "0", procedure.name, procedure.title, procedure.sha256, sources)
    journal, entries = Journal.create(folder, clock, [first], "Bo", Quick())
    state = replay(procedure, entries)
    for _ in range(steps):
        asked = request(procedure, state)
        command = odd(procedure, state, draw) if draw.random() < 0.1 else sensible(procedure, state, asked, draw)
        clock.at += timedelta(days=40) if isinstance(command, cmd.PassTime) else timedelta(seconds=1)
        outcome = decide(procedure, state, command, clock.now())
        if not isinstance(outcome, Refusal):
            for entry in journal.append(outcome, state.speaker.name):
                apply(procedure, state, entry)
    journal.close()
    return find(folder, Keys(folder / "keys"))


@pytest.mark.parametrize("name", PROCEDURES)
def test_any_job_can_be_reported(tmp_path: Path, name: str) -> None:
    for seed, steps in enumerate((1, 40, 150, 300)):
        found = walked(PROCEDURES[name], tmp_path / str(seed), seed, steps)
        for make in (job_document, care_document, order_document):
            document = make(found)
            html5lib.HTMLParser(strict=True).parse(page(document))
            assert first_page(document) and document_data(document)
        document = job_document(found)
        assert paper(document, found.ended, ()).startswith(b"%PDF-")
        rows = [
            row for one in document.sections for block in one.blocks if isinstance(block, Table) for row in block.rows
        ]
        assert {str(given.entry.seq) for given in found.given} <= {row[-1] for row in rows}
        assert (document.sign in ("good", "conceded")) == (found.state.status == "finished")
        assert len(job_data(found)["readings"]) == len(found.given)  # type: ignore[arg-type]
