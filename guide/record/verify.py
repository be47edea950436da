"""Whether a record is whole: read apart from the writer, line by line, then replayed.

A line is `{"seq":…,"at":…,"who":…,"kind":…,"data":…}`, compact, with `"more":true` if its decision goes on in the
next line, and last its hash: SHA-256 over the hash of the line before (64 zeros before the first) and the line's
bytes up to `,"hash":`. Checked are, of every line, to the end of the record: chain, number, time, form and kind;
then, up to the first line that is wrong, what the lines tell (`guide.record.replay`). Said as well is what can't be
seen from a record: lines cut off the end of a job that is still open, and a rewrite of the whole. Nothing is
written, and one line at a time is held.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import stat
from collections.abc import Iterator
from datetime import datetime
from functools import lru_cache
from pathlib import Path
from typing import Any, BinaryIO

from guide.job import events as ev
from guide.job.codec import EventError, decode, moment
from guide.record.replay import replay
from guide.record.verification import Kept, Verification, Wrong, report_lines, say_what_counts

__all__ = ["Kept", "Verification", "report_lines", "verify"]

MOST_PROBLEMS = 20
_LINE_MOST = 1_000_000
_FIRST_LINE_MOST = 16_000_000
_SECTOR = 512
_TAIL = len(',"hash":"') + 64 + len('"}\n')
_BEFORE_FIRST = b"0" * 64
_MEMBERS = ["seq", "at", "who", "kind", "data"]
_RFC_3339 = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(?:\.\d{6})?[+-]\d\d:\d\d")
_HEAD = re.compile(
    rb'\{"seq":(0|[1-9]\d{0,11}),"at":"(' + _RFC_3339.pattern.encode() + rb')","who":("(?:[^"\\\x00-\x1f]|\\.)*"),'
)
"""The members of a line that differ from entry to entry; behind them stand kind, data and more."""
_SAID_FORMAT = re.compile(rb'"kind":"started","data":\{"format":(\d{1,9})[,}]')


def verify(directory: Path, kept: Kept | None = None) -> Verification:
    """Verify the record of a job folder; never raises for anything a record can hold, and writes nothing.

    With `kept`, the entries are put there; else one line at a time is held.
    """
    path = directory / "record.jsonl"
    found = Verification(str(path))
    try:
        with _opened(path) as source:
            entries = _Lines(source, found).entries()
            try:
                replay(entries, found, kept)
            except Wrong as bad:
                found.wrong(bad)
            for _ in entries:
                pass  # an entry that can't have happened there says nothing of the lines behind it
    except Wrong as bad:
        found.wrong(bad)
    except FileNotFoundError:
        found.wrong(Wrong("no-job", f"there is no record {path}.", cure="Name the job's folder."))
    except OSError as fault:
        found.wrong(Wrong("record-unreadable", f"{path} can't be read: {fault.strerror or fault}."))
    found.problems.sort(key=lambda problem: problem.place.line if problem.place is not None else 0)
    say_what_counts(found)
    return found


def _opened(path: Path) -> BinaryIO:
    not_a_file = Wrong("record-not-a-file", "the record is not an ordinary file (a link, a folder, a device).")
    if not stat.S_ISREG(os.stat(path, follow_symlinks=False).st_mode):
        raise not_a_file
    return path.open("rb")


class _Lines:
    """The lines of a record: each checked against the one before, whatever was wrong with that one."""

    def __init__(self, source: BinaryIO, found: Verification) -> None:
        self.source = source
        self.found = found
        self.number = 0
        """The line looked at, from 1."""
        self._seq = 0
        self._before = {_BEFORE_FIRST}
        """What may be the hash of the line before: several only behind a line that is wrong."""
        self._at: datetime | None = None
        self._read_to = self._decided = 0
        """Where in the file the line looked at, and the last whole decision, end."""

    def entries(self) -> Iterator[ev.Entry]:
        """Entries of whole decisions while every line holds up; after that lines are still checked, none given."""
        found = self.found
        decision: list[ev.Entry] = []
        for line in self._whole_lines():
            try:
                entry, more = self._entry(line)
            except Wrong as bad:
                found.wrong(bad)
                decision, self._at = [], None
                if len(found.problems) >= MOST_PROBLEMS:
                    return
                continue
            decision.append(entry)
            if more:
                continue
            found.lines += len(decision)
            found.last_hash = entry.hash
            if found.ok:
                yield from decision
            decision = []
        found.torn += len(decision)
        if not self.number:
            raise Wrong("record-empty", "the record holds no whole line.", 1, "The job never began: start it again.")

    def _whole_lines(self) -> Iterator[bytes]:
        """Lines with their newline; an end that was torn off is counted, any other end is wrong."""
        longest = _FIRST_LINE_MOST
        while line := self.source.readline(longest + 1):
            if len(line) > longest:
                self.found.wrong(Wrong("line-long", "the line is far too long.", self.number + 1))
                return
            if b"\0" in line and self._lost_sectors():
                self.found.torn += 1
                return
            if not line.endswith(b"\n"):
                self._unfinished(line)
                return
            longest = _LINE_MOST
            self.number += 1
            self._read_to += len(line)
            yield line
            if b',"more":true,"hash":"' not in line:
                self._decided = self._read_to

    def _lost_sectors(self) -> bool:
        """Whether what stands behind the last decision is one more, with sectors of zeros that never were written."""
        behind = os.pread(self.source.fileno(), _FIRST_LINE_MOST, self._decided)
        place = self._decided
        for part in re.split(rb"(\0+)", behind):
            ends = place + len(part)
            if part.startswith(b"\0") and (
                (place % _SECTOR and place != self._decided) or (ends % _SECTOR and ends != self._decided + len(behind))
            ):
                return False
            place = ends
        but_last = behind.removesuffix(b"\n").split(b"\n")[:-1]
        return all(b"\0" in line or b',"more":true,"hash":"' in line for line in but_last)

    def _unfinished(self, line: bytes) -> None:
        whole = len(line) > _TAIL and line[-1:] != b"\0" and line[1 - _TAIL : -1].endswith(b'"}')
        if whole and line[-67:-3] in self._hashes(line[:-_TAIL]):
            self.found.wrong(Wrong("newline", "the end of the line was changed.", self.number + 1))
        else:
            self.found.torn += 1

    def _hashes(self, body: bytes) -> list[bytes]:
        """The hash the line should have, after each of the hashes that the line before may have had."""
        return [hashlib.sha256(one + body).hexdigest().encode() for one in sorted(self._before)]

    def _entry(self, line: bytes) -> tuple[ev.Entry, bool]:
        """One line, with every byte of it accounted for; raises `Wrong`, ready for the line after."""
        number = self.number
        if number == 1:
            _refuse_newer(line)
        body, mark, said, end = line[:-_TAIL], line[-_TAIL:-67], line[-67:-3], line[-3:]
        hashes = self._hashes(body)
        self._before = set(hashes)
        if mark != b',"hash":"' or end != b'"}\n':
            self._seq += 1
            raise Wrong("line-form", "the line does not end in its hash.", number)
        if said not in hashes:
            self._go_on_behind(line, said)
            why = "the line does not fit the one before: it was changed, moved, added or left out."
            raise Wrong("chain", why, number)
        self._before = {said}
        try:
            return self._read(body, said.decode())
        except (EventError, KeyError, TypeError, AttributeError, ValueError, RecursionError) as fault:
            self._seq += 1
            raise Wrong("entry", f"the line is no entry: {fault}.", number) from None

    def _go_on_behind(self, line: bytes, said: bytes) -> None:
        """A line that does not fit: the next may follow from what it says its hash is, or from what it should be."""
        self._seq += 1
        if re.fullmatch(rb"[0-9a-f]{64}", said):
            self._before.add(said)
        seq = re.match(rb'\{"seq":(\d{1,12}),', line)
        if seq:
            self._seq = int(seq[1]) + 1

    def _read(self, body: bytes, digest: str) -> tuple[ev.Entry, bool]:
        """The entry of a line whose hash is right, and whether its decision goes on: form, number, kind, time checked.

        What a line tells besides its number, time and speaker was often told before, byte for byte, and found to be
        right: then it is not taken apart again.
        """
        head = _HEAD.match(body)
        told = _TOLD.get(body[head.end() :]) if head is not None else None
        who = _speaker(head[3]) if head is not None else None
        if head is None or told is None or who is None:
            data = self._members(body)
            at, who = data["at"], data["who"]
            told = decode(data["kind"], data["data"]), "more" in data
            if head is not None:
                _remember(body[head.end() :], told)
        else:
            at = head[2].decode("ascii")
            self._in_order(int(head[1]))
        event, more = told
        time = moment(at)
        if head is None and not _RFC_3339.fullmatch(at):
            raise EventError("its time is not written in the one way that times are")
        self._follow(time, event)
        return ev.Entry(self._seq - 1, time, who, event, digest), more

    def _members(self, body: bytes) -> dict[str, Any]:
        """The members of a line, which must be those of an entry, in order and in the one way they are written."""
        data: dict[str, Any] = json.loads(body + b"}")
        more = list(data) == [*_MEMBERS, "more"] and data["more"] is True
        if (list(data) != _MEMBERS and not more) or type(data["seq"]) is not int or not isinstance(data["who"], str):
            raise EventError("its members are not those of an entry")
        self._in_order(data["seq"])
        if _written(data) != body + b"}":
            raise Wrong("line-form", "the line is not written in the one way that entries are.", self.number)
        return data

    def _in_order(self, seq: int) -> None:
        expected, self._seq = self._seq, seq + 1
        if seq != expected:
            raise Wrong("number", f"the line is numbered {seq}, not {expected}.", self.number)

    def _follow(self, at: datetime, event: ev.Event) -> None:
        """A line's time must not be before the line above, or the line must say so."""
        last, self._at = self._at, at
        if isinstance(event, ev.ClockBack):
            if (last is not None and event.was != last) or at >= event.was:
                raise Wrong("clock-back", "the clock did not go back as the line says.", self.number)
            self.found.clock_back += 1
        elif last is not None and at < last:
            raise Wrong("time-back", "its time is before the line above, and no clock-back is recorded.", self.number)


_encode = json.JSONEncoder(ensure_ascii=False, separators=(",", ":")).encode
_TOLD: dict[bytes, tuple[ev.Event, bool]] = {}
"""What lines told behind number, time and speaker, in the one way to write it: the newest, as events."""
_TOLD_MOST, _TOLD_LONGEST = 16_384, 1_000


def _written(data: object) -> bytes:
    """Data in the one way that entries are written."""
    return _encode(data).encode("utf-8", "backslashreplace")


def _remember(written: bytes, told: tuple[ev.Event, bool]) -> None:
    if len(written) <= _TOLD_LONGEST:
        if len(_TOLD) >= _TOLD_MOST:
            del _TOLD[next(iter(_TOLD))]
        _TOLD[written] = told


@lru_cache(maxsize=1024)
def _speaker(written: bytes) -> str | None:
    """A name, if it is written in the one way to write it."""
    try:
        name = json.loads(written)
    except ValueError:
        return None
    return name if isinstance(name, str) and _written(name) == written else None


def _refuse_newer(line: bytes) -> None:
    said = _SAID_FORMAT.search(line, 0, 4096)
    if said and int(said[1]) > ev.FORMAT:
        why = f"the record was written by a newer guide (format {int(said[1])}; this one reads up to {ev.FORMAT})."
        raise Wrong("format-newer", why, 1, "Verify it with that guide, or a newer one.")
