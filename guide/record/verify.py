"""Whether a record is whole: read apart from the writer, line by line, then replayed.

Checks the chain, the numbers, the times, the kinds, the procedure's own hash, every verdict against its limits, that
each entry can have happened in the state it found, and that a finish was reached with every check good. Says as well
what can't be seen from a record: lines cut off the end of a job that is still open, and a rewrite of the whole.
"""

from __future__ import annotations

import hashlib
import json
import os
import stat
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any

from guide.job import events as ev
from guide.job.fold import IllegalEvent, apply
from guide.job.state import fresh_state
from guide.problems import Place, Problem, ProblemError
from guide.procedure import load_sources
from guide.procedure.model import Procedure, SourceFile
from guide.quantity import Quantity

ZEROS = "0" * 64
LINE_MOST = 4_000_000
_MEMBERS = ["seq", "at", "who", "kind", "data", "more", "hash"]


@dataclass(slots=True)
class Verification:
    """What was found: whether it is whole, the first bad line, and what could and could not be relied on."""

    path: str
    lines: int = 0
    problems: list[Problem] = field(default_factory=list)
    torn: int = 0
    title: str = ""
    status: str = "unknown"
    last_hash: str = ""
    pretended: bool = False
    invented: bool = False
    concessions: tuple[str, ...] = ()
    relied_on: list[str] = field(default_factory=list)
    not_seen: list[str] = field(default_factory=list)

    @property
    def ok(self) -> bool:
        """Whether nothing is wrong."""
        return not self.problems

    @property
    def first_bad_line(self) -> int | None:
        """The number of the first line that is wrong, from 1."""
        lines = [p.place.line for p in self.problems if p.place is not None]
        return min(lines) if lines else None

    def as_data(self) -> dict[str, object]:
        """All of it as plain JSON data."""
        return {
            "ok": self.ok,
            "path": self.path,
            "lines": self.lines,
            "first_bad_line": self.first_bad_line,
            "problems": [problem.as_data() for problem in self.problems],
            "torn": self.torn,
            "title": self.title,
            "status": self.status,
            "last_hash": self.last_hash,
            "pretended": self.pretended,
            "invented": self.invented,
            "concessions": list(self.concessions),
            "relied_on": self.relied_on,
            "not_seen": self.not_seen,
        }


def verify(directory: Path) -> Verification:
    """Verify the record of a job folder; never raises for anything a record can hold, and writes nothing."""
    path = directory / "record.jsonl"
    found = Verification(str(path))
    try:
        entries = _entries(path, found)
        _replayed(found, entries)
    except _Bad as bad:
        found.problems.append(Problem(bad.code, bad.why, Place(str(path), bad.line) if bad.line else None))
    except OSError as fault:
        found.problems.append(Problem("record-unreadable", f"{path} can't be read: {fault.strerror or fault}."))
    _say_what_counts(found)
    return found


class _Bad(Exception):
    def __init__(self, code: str, why: str, line: int = 0) -> None:
        super().__init__(why)
        self.code = code
        self.why = why
        self.line = line


def _entries(path: Path, found: Verification) -> Iterator[ev.Entry]:
    """Entries as they are read and hold up; raises `_Bad` at the first line that does not."""
    status = os.stat(path, follow_symlinks=False)
    if not stat.S_ISREG(status.st_mode):
        raise _Bad("record-not-a-file", "the record is not an ordinary file (a link, a folder, a device).")
    before = ZEROS
    last: datetime | None = None
    waiting: list[ev.Entry] = []
    with path.open("rb") as source:
        while line := source.readline(LINE_MOST + 1):
            if not line.endswith(b"\n"):
                if len(line) > LINE_MOST:
                    raise _Bad("line-long", "the line is far too long.", found.lines + 1)
                found.torn += 1
                break
            found.lines += 1
            entry, more = _read(line, found.lines, before)
            before = entry.hash
            if last is not None and entry.at < last and not isinstance(entry.event, ev.ClockBack):
                raise _Bad(
                    "time-back", "its time is before the line above, and no clock-back is recorded.", found.lines
                )
            last = entry.at
            found.last_hash = entry.hash
            waiting.append(entry)
            if not more:
                yield from waiting
                waiting = []
    if waiting:
        found.torn += len(waiting)
        found.lines -= len(waiting)
    if not found.lines:
        raise _Bad("record-empty", "the record holds no whole line.", 1)


def _read(line: bytes, number: int, before: str) -> tuple[ev.Entry, bool]:
    """One line, with every byte of it accounted for."""
    body, mark, tail = line.rpartition(b',"hash":"')
    if not mark or len(tail) != 64 + 3 or tail[64:] != b'"}\n':
        raise _Bad("line-form", "the line does not end in its hash.", number)
    digest = hashlib.sha256()
    digest.update(before.encode())
    digest.update(body)
    if tail[:64] != digest.hexdigest().encode():
        raise _Bad("chain", "the line does not fit the one before: it was changed, moved, added or left out.", number)
    try:
        data: dict[str, Any] = json.loads(line)
        if not set(data) <= set(_MEMBERS) or data["seq"] != number - 1:
            raise _Bad("number", f"the line is numbered {data.get('seq')}, not {number - 1}.", number)
        if number == 1 and isinstance(data["data"].get("format"), int) and data["data"]["format"] > ev.FORMAT:
            raise _Bad("format-newer", "the record was written by a newer guide.", number)
        event = ev.decode(data["kind"], data["data"])
        who = data["who"]
        if not isinstance(who, str):
            raise _Bad("entry", "the line does not say who.", number)
        return ev.Entry(data["seq"], ev.moment(data["at"]), who, event, data["hash"]), data.get("more") is True
    except (ev.EventError, KeyError, TypeError, AttributeError, ValueError, RecursionError) as fault:
        raise _Bad("entry", f"the line is no entry: {fault}.", number) from None


def _replayed(found: Verification, entries: Iterator[ev.Entry]) -> None:
    """Fold every entry, and judge every verdict and seal again."""
    first = next(entries, None)
    if first is None or not isinstance(first.event, ev.Started):
        raise _Bad("no-start", "the record does not begin with a start.", 1)
    started = first.event
    found.title = started.title
    found.pretended = started.pretended
    found.invented = started.invented
    procedure = _procedure(started)
    state = fresh_state(procedure)
    before = ZEROS
    for entry in _with(first, entries):
        line = entry.seq + 1
        _judge(procedure, entry.event, line)
        if isinstance(entry.event, ev.Stopped | ev.Finished) and (entry.event.count, entry.event.hash) != (
            entry.seq,
            before,
        ):
            raise _Bad("seal", "what the line says of the record before it is not so.", line)
        try:
            apply(procedure, state, entry)
        except (IllegalEvent, LookupError, ValueError) as fault:
            raise _Bad("replay", f"the line can't have happened there: {fault}.", line) from None
        before = entry.hash
    found.status = state.status
    found.pretended = state.pretended
    found.concessions = state.concessions(procedure)


def _with(first: ev.Entry, rest: Iterator[ev.Entry]) -> Iterator[ev.Entry]:
    yield first
    yield from rest


def _procedure(started: ev.Started) -> Procedure:
    try:
        procedure = load_sources([SourceFile(source.name, source.text) for source in started.sources])
    except ProblemError as fault:
        raise _Bad("procedure", f"the procedure in the record has faults: {fault}", 1) from None
    if procedure.sha256 != started.sha256:
        raise _Bad("procedure-hash", "the procedure in the record is not the one its hash names.", 1)
    return procedure


def _judge(procedure: Procedure, event: ev.Event, line: int) -> None:
    """A verdict must follow from the value and the limits that stand beside it."""
    if not isinstance(event, ev.Took | ev.Corrected):
        return
    reading = procedure.readings.get(event.reading)
    if reading is None:
        raise _Bad("replay", f'there is no reading "{event.reading}".', line)
    value = event.value
    if isinstance(value, Quantity):
        low, high, hair = event.low, event.high, event.heard.hair
        out = (low is not None and (value < low or (value == low and hair < 0))) or (
            high is not None and (value > high or (value == high and hair > 0))
        )
        judged = low is not None or high is not None or event.verdict == "good"
    else:
        out = bool(reading.good) and value not in reading.good
        judged = bool(reading.good)
    if event.verdict != ("out" if out else "good" if judged else "noted"):
        raise _Bad("verdict", "the verdict does not follow from the value and its limits.", line)


def _say_what_counts(found: Verification) -> None:
    if found.ok:
        found.relied_on = [
            "Every line follows from the one before (SHA-256): no byte was changed after it was written.",
            "The record replays, and every verdict follows from its value and limits.",
        ]
        if found.status in ("stopped", "finished"):
            found.relied_on.append("The last line seals what stands before it: count and hash.")
    if found.status not in ("stopped", "finished"):
        found.not_seen.append("The job is open: lines cut off the end can't be seen.")
    else:
        found.not_seen.append("Lines cut off the end together with the seal can't be seen from the record alone.")
    found.not_seen.append("A rewrite of the whole record can't be seen without a copy of its last hash.")


def report_lines(found: Verification) -> list[str]:
    """The verification in words."""
    lines = [f"{found.path}: {'whole' if found.ok else 'NOT whole'}, {found.lines} lines."]
    lines += [str(p.place) + ": " + p.message if p.place else p.message for p in found.problems]
    if found.title:
        lines.append(f"Job: {found.title} ({found.status}).")
    if found.invented:
        lines.append("The job is invented (a demo).")
    if found.pretended:
        lines.append("Its times are pretended.")
    if found.torn:
        lines.append(f"{found.torn} torn at the end, never acknowledged.")
    if found.concessions:
        lines.append(f"Accepted as it is: {', '.join(found.concessions)}.")
    if found.last_hash:
        lines.append(f"Last hash: {found.last_hash}")
    return lines + [f"Relied on: {text}" for text in found.relied_on] + [f"Not seen: {text}" for text in found.not_seen]
