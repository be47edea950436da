"""The record of one job, written so that it can be trusted: durable first, then acknowledged.

`DIR/record.jsonl` holds one JSON object a line, compact, its members in this order:

    {"seq":1,"at":"2026-05-04T12:00:00+00:00","who":"Bo","kind":"took","data":{...},"hash":"<64 hex digits>"}

`hash` is SHA-256 over the hash of the line before (64 zeros before line 0) followed by the bytes of the line up to
and without `,"hash":`. So every byte of a line is covered: those before by the hash, the rest by being fixed.
`"more":true` stands before `hash` on every line but the last of one decision: a crash in between leaves a beginning
without its end, which is dropped like a torn last line (`guide.record.reader`). Neither was ever acknowledged.

One decision is one write, then a sync, and only then is it acknowledged. If that fails, what may be on disk is cut
off again, and before anything more is taken the record is opened anew and read from its first line: after a failed
sync nobody knows what the disk holds until it was asked. If the cut or that reading fails, the journal takes
nothing more until the job is resumed.
"""

from __future__ import annotations

import contextlib
import json
import os
import stat
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Protocol

from guide.job.codec import encode
from guide.job.events import ClockBack, Entry, Event, Finished, Stopped
from guide.problems import Problem, ProblemError
from guide.record.files import Files, told, write_all
from guide.record.reader import FIRST, MARK, Contents, hash_of, longest, read

RECORD = "record.jsonl"
LOCK = "lock"
_ENCODER = json.JSONEncoder(ensure_ascii=False, separators=(",", ":"), check_circular=False)


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
        self._doubtful = False
        self._shut: Problem | None = None

    @classmethod
    def create(
        cls, directory: Path, clock: Now, events: Sequence[Event], who: str, files: Files | None = None
    ) -> tuple[Journal, list[Entry]]:
        """Start a record in a folder that holds none, with its first events; raises `ProblemError`."""
        files = files or Files()
        what = f"the record can't be started in {directory}"
        try:
            made = files.make_folder(directory)
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
            for folder in (directory, *(one.parent for one in reversed(made))):
                files.sync_folder(folder)
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
            return journal, journal._take_up(read(handle, path))
        except OSError as fault:
            journal.close()
            raise told(fault, what) from None
        except ProblemError:
            journal.close()
            raise

    def close(self) -> None:
        """Let go of the record and its lock; nothing more can be appended."""
        if self._handle >= 0:
            os.close(self._handle)
            os.close(self._lock)
        self._handle = self._lock = -1
        self._shut = self._shut or Problem("journal-closed", "the record was closed.")

    @property
    def head(self) -> tuple[int, str]:
        """How many entries there are, and the hash of the last."""
        return self._count, self._hash

    def append(self, events: Sequence[Event], who: str, at: datetime | None = None) -> list[Entry]:
        """Make the events of one decision durable and return their entries; `at` is when it was made, else now.

        Raises `ProblemError`, with nothing acknowledged and nothing kept of them.
        """
        if not events:
            return []
        self._see_that_it_is_ours()
        now = at or self.clock.now()
        if self._last is not None and now < self._last:
            events = [ClockBack(self._last), *events]
        entries, lines = self._lines(events, who, now)
        data = b"".join(lines)
        try:
            write_all(self._files, self._handle, data)
            self._files.sync(self._handle)
        except OSError as fault:
            self._take_back()
            since = f" since {self._last:%H:%M:%S}" if self._last is not None else ""
            raise self._shut_or(told(fault, f"nothing was recorded{since}")) from None
        except BaseException:
            self._take_back()
            raise
        self._size += len(data)
        self._count += len(entries)
        self._hash, self._last = entries[-1].hash, now
        return entries

    def _lines(self, events: Sequence[Event], who: str, now: datetime) -> tuple[list[Entry], list[bytes]]:
        entries: list[Entry] = []
        lines: list[bytes] = []
        head = self._hash
        for number, given in enumerate(events):
            seq = self._count + number
            event = replace(given, count=seq, hash=head) if isinstance(given, Stopped | Finished) else given
            line, head = _line(seq, now, who, event, number + 1 < len(events), head)
            if len(line) > longest(seq + 1):
                message = f"what is to be recorded is too long ({len(line):,} bytes)."
                raise ProblemError([Problem("line-long", message, hint="Say it in fewer words.")])
            entries.append(Entry(seq, now, who, event, head))
            lines.append(line)
        return entries, lines

    def _see_that_it_is_ours(self) -> None:
        """Refuse to write to a file that nobody would find again, or whose end is not where we left it."""
        if self._shut is None:
            try:
                status = os.fstat(self._handle)
                if not status.st_nlink:
                    self._shut = self._closed("record-gone", "the record was removed or replaced while the job is open")
                elif self._doubtful or status.st_size != self._size:
                    self._read_again()
            except OSError as fault:
                raise told(fault, "nothing was recorded: the record can't be read again") from None
        if self._shut is not None:
            raise ProblemError([self._shut])

    def _read_again(self) -> None:
        """Open the record anew, past what the machine remembers of it, and go on only if it is what we left."""
        path = self.directory / RECORD
        handle = self._files.open_record(path, create=False)
        try:
            self._files.forget(handle)
            found = read(handle, path)
        except ProblemError:
            found = Contents()
        except BaseException:
            os.close(handle)
            raise
        if (len(found.entries), found.head, found.size, found.torn) == (self._count, self._hash, self._size, 0):
            os.close(self._handle)
            self._handle = handle
            self._doubtful = False
        else:
            os.close(handle)
            self._shut = self._closed(
                "record-changed", "the record is not what was written; somebody or the disk changed it"
            )

    def _take_back(self) -> None:
        """Cut off what a failed append may have left."""
        self._doubtful = True
        try:
            self._files.truncate(self._handle, self._size)
            self._files.sync(self._handle)
        except OSError:
            self._shut = self._closed("journal-broken", "the record takes nothing more since a write failed")

    def _closed(self, code: str, why: str) -> Problem:
        hint = f"What was recorded before that is kept. Leave, see to it, then: guide resume {self.directory}"
        return Problem(code, f"{why}.", hint=hint)

    def _shut_or(self, fault: ProblemError) -> ProblemError:
        """The fault, with the cure that is left when nothing more can be taken."""
        if self._shut is None:
            return fault
        return ProblemError([problem._replace(hint=self._shut.hint) for problem in fault.problems])

    def _withdraw(self) -> None:
        """The job could not be started: leave no beginning of a record behind."""
        with contextlib.suppress(OSError):
            self._files.remove(self.directory / RECORD)
        self.close()

    def _take_up(self, found: Contents) -> list[Entry]:
        """Go on from what was read, its torn end cut off."""
        if not found.entries:
            problem = Problem(
                "job-never-began",
                f"the job in {self.directory} was cut off before its start was recorded; nothing was acknowledged.",
                hint="Start it again in another folder.",
            )
            raise ProblemError([problem])
        self.torn = found.torn
        self._hash, self._size = found.head, found.size
        self._count = len(found.entries)
        self._last = found.entries[-1].at
        if self.torn:
            self._keep_aside()
            self._files.truncate(self._handle, self._size)
            self._files.sync(self._handle)
        return found.entries

    def _keep_aside(self) -> None:
        """Keep the torn end for whoever wants to look; the record does not depend on it."""
        torn = os.pread(self._handle, os.fstat(self._handle).st_size - self._size, self._size)
        with contextlib.suppress(OSError):
            handle = self._files.open_record(self._free_name(), create=True)
            try:
                write_all(self._files, handle, torn)
                self._files.sync(handle)
            finally:
                os.close(handle)

    def _free_name(self) -> Path:
        """A name that says after which entry it was torn, and that is not taken yet."""
        stem = f"torn-after-{self._count - 1}"
        names = (stem if n == 1 else f"{stem}-{n}" for n in range(1, 1000))
        return next((self.directory / n for n in names if not (self.directory / n).exists()), self.directory / stem)


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
    text = _ENCODER.encode(members)
    # Half of a surrogate pair has no UTF-8; its backslash escape is also JSON's.
    payload = text.encode("utf-8", "backslashreplace")[:-1]
    digest = hash_of(before, payload)
    return payload + MARK + digest.encode("ascii") + b'"}\n', digest
