"""The record of one job, written so that it can be trusted: durable first, then acknowledged.

`DIR/record.jsonl` holds one JSON object a line, compact, its members in this order:

    {"seq":1,"at":"2026-05-04T12:00:00+00:00","who":"Bo","kind":"took","data":{...},"hash":"<64 hex digits>"}

`hash` is SHA-256 over the hash of the line before (64 zeros before line 0) followed by the bytes of the line up to
and without `,"hash":`. So every byte of a line is covered: those before by the hash, the rest by being fixed.
`"more":true` stands before `hash` on every line but the last of one decision: a crash in between leaves a beginning
without its end, which is dropped like a torn last line. Neither was ever acknowledged.

Append, sync, and only then return. If that fails, what may be on disk is cut off again; if even that fails, the
journal takes nothing more until it is opened anew, since nobody knows what a failed sync left.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import stat
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Protocol

from guide.job.events import (
    FORMAT,
    ClockBack,
    Entry,
    Event,
    EventError,
    Finished,
    Started,
    Stopped,
    decode,
    encode,
    moment,
)
from guide.problems import Place, Problem, ProblemError
from guide.record.files import Files, told, write_all

RECORD = "record.jsonl"
LOCK = "lock"
FIRST = "0" * 64
LONGEST_LINE = 4_000_000
_HASH_AT = len(',"hash":"') + 64 + len('"}')


class Now(Protocol):
    """Tells the time."""

    def now(self) -> datetime:
        """The time now, with its offset."""


class Journal:
    """An open record, locked against every other process. Use `create` or `open`."""

    def __init__(self, directory: Path, clock: Now, files: Files, lock: int, handle: int) -> None:
        self.directory = directory
        self.clock = clock
        self.torn = 0
        """Lines at the end that were never acknowledged and were dropped when it was opened."""
        self._files = files
        self._lock = lock
        self._handle = handle
        self._count = 0
        self._hash = FIRST
        self._size = 0
        self._last: datetime | None = None
        self._broken = False

    @classmethod
    def create(
        cls, directory: Path, clock: Now, events: Sequence[Event], who: str, files: Files | None = None
    ) -> tuple[Journal, list[Entry]]:
        """Start a record in a folder that holds none, with its first events; raises `ProblemError`."""
        files = files or Files()
        what = f"the record can't be started in {directory}"
        try:
            files.make_folder(directory)
            lock = _locked(files, directory)
        except OSError as fault:
            raise told(fault, what) from None
        try:
            handle = files.open_record(directory / RECORD, create=True)
        except FileExistsError:
            os.close(lock)
            problem = Problem(
                "job-exists", f"{directory} holds a job already.", hint=f"Go on with: guide resume {directory}"
            )
            raise ProblemError([problem]) from None
        except OSError as fault:
            os.close(lock)
            raise told(fault, what) from None
        journal = cls(directory, clock, files, lock, handle)
        try:
            entries = journal.append(events, who)
            files.sync_folder(directory)
            files.sync_folder(directory.parent)
        except OSError as fault:
            journal._withdraw()
            raise told(fault, what) from None
        except ProblemError:
            journal._withdraw()
            raise
        return journal, entries

    @classmethod
    def open(cls, directory: Path, clock: Now, files: Files | None = None) -> tuple[Journal, list[Entry]]:
        """Open a record and read all of it; a torn end is dropped, any other damage refused with its line."""
        files = files or Files()
        path = directory / RECORD
        what = f"the record in {directory} can't be opened"
        try:
            if not stat.S_ISREG(os.lstat(path).st_mode):
                problem = Problem(
                    "record-not-a-file", f"{path} is not an ordinary file.", hint="Put the record itself there."
                )
                raise ProblemError([problem])
            lock = _locked(files, directory)
        except FileNotFoundError:
            raise ProblemError(
                [Problem("no-job", f"there is no job in {directory}.", hint="Name the job's folder.")]
            ) from None
        except OSError as fault:
            raise told(fault, what) from None
        try:
            handle = files.open_record(path, create=False)
        except OSError as fault:
            os.close(lock)
            raise told(fault, what) from None
        journal = cls(directory, clock, files, lock, handle)
        try:
            return journal, journal._read(path)
        except OSError as fault:
            journal.close()
            raise told(fault, what) from None
        except ProblemError:
            journal.close()
            raise

    def _withdraw(self) -> None:
        """The job could not be started: leave no beginning of a record behind."""
        with contextlib.suppress(OSError):
            os.unlink(self.directory / RECORD)
        self.close()

    def close(self) -> None:
        """Let go of the record and its lock."""
        os.close(self._handle)
        os.close(self._lock)
        self._broken = True

    @property
    def head(self) -> tuple[int, str]:
        """How many entries there are, and the hash of the last."""
        return self._count, self._hash

    def append(self, events: Sequence[Event], who: str) -> list[Entry]:
        """Make the events of one decision durable and return their entries.

        Raises `ProblemError`, with nothing acknowledged and nothing kept of them.
        """
        if self._broken:
            problem = Problem(
                "journal-broken",
                "the record takes nothing more since a write failed.",
                hint=f"What was said before is kept. Leave, see to the disk, then: guide resume {self.directory}",
            )
            raise ProblemError([problem])
        now = self.clock.now()
        if self._last is not None and now < self._last:
            events = [ClockBack(self._last), *events]
        entries, lines, head = self._lines(events, who, now)
        data = b"".join(lines)
        try:
            write_all(self._files, self._handle, data)
            self._files.sync(self._handle)
        except OSError as fault:
            self._take_back()
            raise told(fault, "nothing was recorded") from None
        except BaseException:
            self._take_back()
            raise
        self._size += len(data)
        self._count += len(entries)
        self._hash, self._last = head, now
        return entries

    def _lines(self, events: Sequence[Event], who: str, now: datetime) -> tuple[list[Entry], list[bytes], str]:
        entries: list[Entry] = []
        lines: list[bytes] = []
        head = self._hash
        for number, given in enumerate(events):
            seq = self._count + number
            event = replace(given, count=seq, hash=head) if isinstance(given, Stopped | Finished) else given
            line, head = _line(seq, now, who, event, number + 1 < len(events), head)
            entries.append(Entry(seq, now, who, event, head))
            lines.append(line)
        return entries, lines, head

    def _take_back(self) -> None:
        """Cut off what a failed append may have left."""
        try:
            self._files.truncate(self._handle, self._size)
            self._files.sync(self._handle)
        except OSError:
            self._broken = True

    def _read(self, path: Path) -> list[Entry]:
        entries: list[Entry] = []
        batch: list[Entry] = []
        whole = 0
        lines = 0
        with os.fdopen(os.dup(self._handle), "rb") as source:
            source.seek(0)
            while True:
                line = source.readline(LONGEST_LINE + 1)
                if not line:
                    break
                lines += 1
                if not line.endswith(b"\n"):
                    if len(line) > LONGEST_LINE:
                        raise _damaged(path, lines, "the line is far too long")
                    self.torn += 1
                    break
                entry, more = _parse(path, lines, line, self._hash)
                self._hash = entry.hash
                batch.append(entry)
                whole += len(line)
                if not more:
                    entries += batch
                    batch = []
                    self._size = whole
        self.torn += len(batch)
        if not entries:
            problem = Problem(
                "job-never-began",
                f"the job in {self.directory} was cut off before its start was recorded; nothing was acknowledged.",
                hint="Start it again in another folder.",
            )
            raise ProblemError([problem])
        self._hash = entries[-1].hash
        self._count = len(entries)
        self._last = entries[-1].at
        if self.torn:
            self._drop_torn()
        return entries

    def _drop_torn(self) -> None:
        """Keep the torn end aside for whoever wants to look, then cut it off."""
        torn = os.pread(self._handle, LONGEST_LINE, self._size)
        aside = self.directory / f"torn-after-{self._count - 1}"
        try:
            handle = self._files.open_record(aside, create=True)
            try:
                write_all(self._files, handle, torn)
            finally:
                os.close(handle)
        except OSError:
            pass  # a copy for the curious; the record does not depend on it
        self._files.truncate(self._handle, self._size)
        self._files.sync(self._handle)


def _locked(files: Files, directory: Path) -> int:
    try:
        return files.lock(directory / LOCK)
    except BlockingIOError:
        who = ""
        with contextlib.suppress(OSError, ValueError):
            who = f" (process {int((directory / LOCK).read_text(encoding='ascii'))})"
        message = f"{directory} is open in another process{who}."
        raise ProblemError([Problem("job-open", message, hint="Stop it there first.")]) from None


def _line(seq: int, at: datetime, who: str, event: Event, more: bool, before: str) -> tuple[bytes, str]:
    """One line with its newline, and its hash."""
    members: dict[str, object] = {
        "seq": seq,
        "at": at.isoformat(),
        "who": who,
        "kind": event.kind,
        "data": encode(event),
    }
    if more:
        members["more"] = True
    payload = json.dumps(members, ensure_ascii=False, separators=(",", ":")).encode("utf-8", "backslashreplace")[:-1]
    digest = hashlib.sha256(before.encode("ascii") + payload).hexdigest()
    return payload + b',"hash":"' + digest.encode("ascii") + b'"}\n', digest


def _parse(path: Path, number: int, line: bytes, before: str) -> tuple[Entry, bool]:
    """One line read and checked; raises `ProblemError` with its number."""
    payload, tail = line[: -_HASH_AT - 1], line[-_HASH_AT - 1 :]
    digest = hashlib.sha256(before.encode("ascii") + payload).hexdigest()
    if tail != b',"hash":"' + digest.encode("ascii") + b'"}\n':
        raise _damaged(path, number, "it was changed after it was written, or a line before it is missing")
    try:
        data = json.loads(payload + b"}")
        if number == 1:
            _readable(path, data)
        if data["seq"] != number - 1:
            raise EventError(f"it has number {data['seq']}, not {number - 1}")
        event = decode(data["kind"], data["data"])
        return Entry(data["seq"], moment(data["at"]), str(data["who"]), event, digest), bool(data.get("more", False))
    except EventError as fault:
        raise _damaged(path, number, str(fault)) from None
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError) as fault:
        raise _damaged(path, number, f"it is not an entry ({type(fault).__name__})") from None


def _readable(path: Path, data: dict[str, object]) -> None:
    started = data.get("data")
    written = started.get("format") if isinstance(started, dict) else None
    if data.get("kind") != Started.kind or not isinstance(written, int):
        raise EventError("the record does not begin with a start")
    if written > FORMAT:
        message = f"{path} was written by a newer guide (format {written}; this one reads up to {FORMAT})."
        raise ProblemError([Problem("format-newer", message, hint="Open it with that guide, or a newer one.")])


def _damaged(path: Path, number: int, why: str) -> ProblemError:
    message = f"the record is damaged at line {number}: {why}."
    hint = "Nothing was changed. Keep the folder as it is, and look at it with: guide verify"
    return ProblemError([Problem("record-damaged", message, Place(str(path), number), hint)])
