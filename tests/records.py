"""Real records for tests: a small job talked through on a real journal, and what somebody could do to its file."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

from fakes import FakeClock, FakePeople
from talking import PHRASES, WORDING

from guide.job import events as ev
from guide.job.fold import replay
from guide.procedure import load_text
from guide.record import Journal
from guide.record.files import Files
from guide.session import Job, Session

TINY = """
format: 1
title: Set a shelf
states: {shelf: the shelf}
readings: {gap: {ask: Gap, about: gap, likely: 0 in to 1 in}}
steps:
  set: {say: Set it., disturbs: [shelf]}
  gap: {after: set, take: gap, say: Look., within: 0 in to 1/8 in, watches: [shelf], out: {adjust: [shelf]}}
"""
TINY_DONE = ["done", "1/4", "done", "1/16"]
"""Lines that take the tiny job to its end: out once, corrected, good."""


class Quick(Files):
    """File primitives that don't wait for the disk."""

    def sync(self, handle: int) -> None:
        pass

    def sync_folder(self, folder: Path) -> None:
        pass


def started(text: str) -> ev.Started:
    """The first event of a job on a procedure."""
    procedure = load_text("small.yaml", text)
    sources = tuple(ev.Source(source.name, source.text) for source in procedure.sources)
    return ev.Started(ev.FORMAT, "0", procedure.name, procedure.title, procedure.sha256, sources, pretended=True)


def talked(folder: Path, text: str, lines: Iterable[str], who: str = "Bo") -> bytes:
    """The bytes of the record of a job in which these lines were said; the clock moves on a second a line."""
    clock = FakeClock(pretended=True)
    procedure = load_text("small.yaml", text)
    first: list[ev.Event] = [started(text), ev.Spoke(ev.Person(who, "crew", "claimed"))]
    journal, entries = Journal.create(folder, clock, first, who, Quick())
    job = Job(procedure, replay(procedure, entries), journal, clock, WORDING)
    session = Session(job, PHRASES, FakePeople())
    session.open()
    for line in lines:
        clock.pass_time(seconds=1)
        session.hear(line)
    journal.close()
    return (folder / "record.jsonl").read_bytes()


def put(folder: Path, data: bytes) -> Path:
    """A job folder with this record."""
    folder.mkdir(exist_ok=True)
    (folder / "record.jsonl").write_bytes(data)
    return folder


def rehashed(lines: Iterable[bytes]) -> bytes:
    """The lines with their chain made good again, as somebody who rewrites the whole could."""
    before, out = "0" * 64, b""
    for line in lines:
        body = line.rpartition(b',"hash":"')[0]
        before = hashlib.sha256(before.encode() + body).hexdigest()
        out += body + b',"hash":"' + before.encode() + b'"}\n'
    return out


def edited(lines: list[bytes], at: int, edit: Callable[[dict[str, Any]], object]) -> bytes:
    """A line edited and the chain made good again."""
    data = json.loads(lines[at])
    del data["hash"]
    edit(data)
    body = json.dumps(data, ensure_ascii=False, separators=(",", ":")).encode("utf-8", "backslashreplace")[:-1]
    return rehashed([*lines[:at], body + b',"hash":"', *lines[at + 1 :]])
