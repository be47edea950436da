"""Gathering: records found under folders, verified, and put into a store; each job once, whole or not at all."""

from __future__ import annotations

import hashlib
import os
import stat
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from datetime import UTC
from pathlib import Path
from typing import Any, NamedTuple

from guide.fleet.columns import read_rows
from guide.fleet.follow import Following
from guide.fleet.rows import Row
from guide.fleet.store import Writer, files_of
from guide.fleet.words import say
from guide.problems import ProblemError
from guide.record.files import told
from guide.record.journal import RECORD
from guide.record.keys import Keys
from guide.record.signatures import FILE as SIGNATURES
from guide.record.signatures import Signed, examine
from guide.record.verification import Verification
from guide.record.verify import verify

MOST_BYTES = 64_000_000
"""A record beyond this is refused unread: a hundred times the longest job, some 200,000 entries."""
EVENTS_A_BATCH = 250_000
"""A batch is committed once it holds so many: what is lost at most if gathering is killed, and held at most."""
VERSION = 12
"""Digits of the hash of a procedure's text that stand for its version."""
_TAIL = 67
"""From the end of a line, where its hash begins."""


@dataclass(frozen=True, slots=True)
class Refused:
    """A record, or a folder, that is not in the store, and why."""

    place: str
    code: str
    why: str

    def as_data(self) -> dict[str, object]:
        """It as plain JSON data."""
        return {"place": self.place, "code": self.code, "why": self.why}


@dataclass(slots=True)
class Gathered:
    """What a gathering did."""

    taken: int = 0
    grown: int = 0
    """Taken again, because there is more of them than there was."""
    unchanged: int = 0
    copies: int = 0
    """The same record in another place, or an earlier end of one that is there."""
    events: int = 0
    refused: list[Refused] = field(default_factory=list)
    procedures: dict[tuple[str, str], tuple[str, int]] = field(default_factory=dict)
    """Name and hash of each procedure taken, with its title and how many jobs follow it."""

    def refuse(self, place: Path, code: str, why: str) -> None:
        """Note what was not taken."""
        self.refused.append(Refused(str(place), code, why))


class _Known(NamedTuple):
    """A job that is in the store."""

    batch: int
    lines: int
    size: int
    modified: int
    hash: bytes
    signatures: str
    vouched: int
    place: str


@dataclass(frozen=True, slots=True)
class _Glance:
    """The ends of a record, as they can be seen without reading it."""

    job: bytes
    hash: bytes
    size: int
    modified: int
    signatures: str


_INDEX = ("job", "batch", "lines", "bytes", "modified", "final_hash", "signatures", "vouched", "place")


class Gathering:
    """One run into one store."""

    def __init__(self, writer: Writer, keys: Keys | None = None, a_batch: int = EVENTS_A_BATCH) -> None:
        self.writer = writer
        self.keys = keys if keys is not None else Keys()
        self.a_batch = a_batch
        self.did = Gathered()
        self._known = _index(writer)

    def gather(self, folders: Iterable[Path], told_of: Callable[[Gathered], None] = lambda _: None) -> Gathered:
        """Gather every record under the folders; `told_of` is called after each, for whoever waits."""
        for folder in folders:
            found = False
            for job in self._jobs(folder):
                found = True
                self._take(job)
                told_of(self.did)
                if self.writer.events >= self.a_batch:
                    self.writer.commit()
            if not found:
                self.did.refuse(folder, "no-job", say("refused.no-job"))
        self.writer.commit()
        return self.did

    def _jobs(self, folder: Path) -> Iterator[Path]:
        """Every folder with a record, in the order of their names; links are not followed."""
        to_look = [folder]
        while to_look:
            here = to_look.pop()
            inside = self._inside(here)
            if any(one.name == RECORD for one in inside):
                yield here
            to_look += [Path(one.path) for one in reversed(inside) if self._goes_into(one)]

    def _inside(self, folder: Path) -> list[os.DirEntry[str]]:
        try:
            with os.scandir(folder) as found:
                return sorted(found, key=lambda one: one.name)
        except FileNotFoundError:
            self.did.refuse(folder, "no-folder", say("refused.no-folder"))
        except OSError as fault:
            self.did.refuse(folder, "unreadable", say("refused.unreadable", why=fault.strerror))
        return []

    def _goes_into(self, one: os.DirEntry[str]) -> bool:
        try:
            if one.is_symlink():
                if one.is_dir():
                    self.did.refuse(Path(one.path), "link", say("refused.link"))
                return False
            return one.is_dir() and not os.path.samefile(one.path, self.writer.store)
        except OSError as fault:
            self.did.refuse(Path(one.path), "unreadable", say("refused.unreadable", why=fault.strerror))
            return False

    def _take(self, job: Path) -> None:
        try:
            glance = _glance(job)
            known = self._known.get(glance.job)
            if known is not None and _as_it_was(known, job, glance):
                self.did.unchanged += 1
                return
            self._read(job, glance)
        except _Refusal as refusal:
            self.did.refuse(job, refusal.code, refusal.why)
        except OSError as fault:
            self.did.refuse(job, "unreadable", say("refused.unreadable", why=fault.strerror))
        except OverflowError:
            self.did.refuse(job, "beyond", say("refused.beyond"))

    def _read(self, job: Path, glance: _Glance) -> None:
        following = Following()
        found = verify(job, following)
        if not found.ok:
            first = found.problems[0]
            where = f"{say('refused.line', line=first.place.line)} " if first.place is not None else ""
            raise _Refusal(first.code, where + first.message + (f" {first.hint}" if first.hint else ""))
        signed = examine(job, found, self.keys)
        if not signed.ok:
            raise _Refusal("signatures", signed.problem or say("refused.signatures"))
        name = bytes.fromhex(following.entries[0].hash)
        replaces = self._replaced(name, job, found, following, signed, glance)
        if replaces is not None:
            self._add(name, job, found, following, signed, glance, replaces)

    def _replaced(
        self, name: bytes, job: Path, found: Verification, following: Following, signed: Signed, glance: _Glance
    ) -> int | None:
        """The batch with an earlier end of this record, 0 for none; None if the store has all of it already."""
        known = self._known.get(name)
        if known is None:
            return 0
        last = bytes.fromhex(found.last_hash)
        if last == known.hash:
            here = known.place == str(job)
            if (here and known.signatures != glance.signatures) or len(signed.vouched) > known.vouched:
                return known.batch
            self.did.unchanged += here
            self.did.copies += not here
            return None
        if found.lines > known.lines and bytes.fromhex(following.entries[known.lines - 1].hash) == known.hash:
            return known.batch
        if found.lines < known.lines:
            there = _hash_of_line(Path(known.place), found.lines)
            if there == last:
                self.did.copies += 1
                return None
            if there is None:
                raise _Refusal("job-twice", say("refused.twice-gone", other=known.place))
        raise _Refusal("job-twice", say("refused.twice", other=known.place))

    def _add(
        self,
        name: bytes,
        job: Path,
        found: Verification,
        following: Following,
        signed: Signed,
        glance: _Glance,
        replaces: int,
    ) -> None:
        started, month = following.started, following.entries[0].at.astimezone(UTC).date().isoformat()[:7]
        tables = following.tables(found)
        common: Row = (
            name.hex(),
            month,
            started.procedure,
            started.sha256[:VERSION],
            following.crew,
            started.invented,
            found.pretended,
        )
        row = _job_row(job, found, following, signed, glance, len(tables["oddities"]))
        pending = self.writer.batch
        if replaces == pending:  # the same job twice in one batch: what was put together so far is committed first
            self.writer.commit()
        self.writer.add(common, month, {"jobs": [row], **tables}, found.lines, replaces or None)
        last = bytes.fromhex(found.last_hash)
        self._known[name] = _Known(
            self.writer.batch,
            found.lines,
            glance.size,
            glance.modified,
            last,
            glance.signatures,
            len(signed.vouched),
            str(job),
        )
        self.did.events += found.lines
        self.did.grown += bool(replaces)
        self.did.taken += not replaces
        key = (started.procedure, started.sha256)
        self.did.procedures[key] = (started.title, self.did.procedures.get(key, ("", 0))[1] + 1)


def _job_row(job: Path, found: Verification, following: Following, signed: Signed, glance: _Glance, odd: int) -> Row:
    entries, started = following.entries, following.started
    began, ended = entries[0].at, entries[-1].at
    outcome = "open" if found.status != "finished" else "conceded" if found.concessions else "good"
    return (
        str(job),
        started.title,
        started.guide,
        following.lead,
        began,
        ended,
        None if found.pretended else (ended - began).total_seconds(),
        found.status,
        outcome,
        found.lines,
        glance.size,
        glance.modified,
        found.last_hash,
        bool(found.sealed),
        found.torn,
        found.clock_back,
        glance.signatures,
        len(signed.vouched),
        len(following.readings),
        odd,
    )


class _Refusal(Exception):
    """A record can't be taken."""

    def __init__(self, code: str, why: str) -> None:
        super().__init__(why)
        self.code, self.why = code, why


def _index(writer: Writer) -> dict[bytes, _Known]:
    """The jobs in the store, each as in the newest batch that has it."""
    known: dict[bytes, _Known] = {}
    for one in files_of(writer.batches, "jobs"):
        try:
            for job, batch, lines, size, modified, last, signatures, vouched, place in read_rows(
                writer.store / one.path, _INDEX
            ):
                known[bytes.fromhex(job)] = _Known(
                    batch, lines, size, modified, bytes.fromhex(last), signatures, vouched, place
                )
        except OSError as fault:
            raise told(fault, say("store.unreadable", store=writer.store)) from None
    return known


def _glance(job: Path) -> _Glance:
    path = job / RECORD
    status = os.lstat(path)
    if stat.S_ISLNK(status.st_mode):
        raise _Refusal("record-link", say("refused.record-link"))
    if not stat.S_ISREG(status.st_mode):
        raise _Refusal("record-not-a-file", say("refused.not-a-file"))
    if status.st_size > MOST_BYTES:
        raise _Refusal("record-huge", say("refused.huge", size=f"{status.st_size:,}", most=f"{MOST_BYTES:,}"))
    handle = os.open(path, os.O_RDONLY | os.O_NOFOLLOW | os.O_NONBLOCK)
    with os.fdopen(handle, "rb") as source:
        first = source.readline(MOST_BYTES)
        source.seek(max(0, status.st_size - _TAIL))
        last = source.read(_TAIL)
    return _Glance(_hash_in(first), _hash_in(last), status.st_size, status.st_mtime_ns, _signatures(job))


def _as_it_was(known: _Known, job: Path, glance: _Glance) -> bool:
    """Whether a record is, as far as a glance can tell, the file that was verified and taken."""
    seen = (str(job), glance.size, glance.modified, glance.hash, glance.signatures)
    return seen == (known.place, known.size, known.modified, known.hash, known.signatures)


def _hash_in(line: bytes) -> bytes:
    try:
        return bytes.fromhex(line[-_TAIL:-3].decode("ascii"))
    except ValueError:
        return b""


def _signatures(job: Path) -> str:
    """The hash of the file of signatures, "" where there is none; what is odd about it is for `examine` to say."""
    path = job / SIGNATURES
    try:
        if not stat.S_ISREG(os.lstat(path).st_mode):
            return "?"
        return hashlib.sha256(path.read_bytes()).hexdigest()
    except FileNotFoundError:
        return ""


def _hash_of_line(job: Path, number: int) -> bytes | None:
    """The hash that a line of another record says it has; None if it can't be read any more."""
    try:
        if not stat.S_ISREG(os.lstat(job / RECORD).st_mode):
            return None
        with (job / RECORD).open("rb") as source:
            for at, line in enumerate(source, 1):
                if at == number:
                    return _hash_in(line)
    except OSError:
        pass
    return None


def strangers(did: Gathered) -> list[tuple[str, str, str, int]]:
    """The procedures gathered that do not come with this guide, or not in this version: name, version, title, jobs."""
    from guide.procedure import load, shipped

    ours = set()
    for name in shipped():
        try:
            ours.add(load(name).sha256)
        except ProblemError:
            continue
    return [
        (name, sha[:VERSION], title, jobs) for (name, sha), (title, jobs) in did.procedures.items() if sha not in ours
    ]


def data_of(did: Gathered) -> dict[str, Any]:
    """What was done as plain JSON data."""
    return {
        "taken": did.taken,
        "grown": did.grown,
        "unchanged": did.unchanged,
        "copies": did.copies,
        "events": did.events,
        "refused": [one.as_data() for one in did.refused],
        "strangers": [
            {"procedure": name, "version": version, "title": title, "jobs": jobs}
            for name, version, title, jobs in strangers(did)
        ],
    }
