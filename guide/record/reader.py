"""A record read back by its writer: every line checked as it is read, and a torn end told from damage.

What a crash in the middle of an append can leave behind the last durable decision, all of it never acknowledged:
a beginning of its bytes; whole lines of which the last says that there is more; and, where the file system kept
the new length and not every sector, whole sectors of zeros. That is a torn end. Everything else that does not fit is
damage, and is refused with its line.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, BinaryIO

from guide.job.codec import EventError, decode, moment
from guide.job.events import FORMAT, Entry, Started
from guide.problems import Place, Problem, ProblemError

FIRST = "0" * 64
"""What stands for the hash before line 0."""
LONGEST_FIRST = 16_000_000
LONGEST_LINE = 1_000_000
"""Bytes of a line: the first holds the whole procedure, the others one event."""
MARK = b',"hash":"'
MORE = b',"more":true'
_TAIL = len(MARK) + 64 + len('"}\n')
_DECODER = json.JSONDecoder()
_SECTOR = 512
_FORMAT = re.compile(rb'"kind":"started","data":\{"format":(\d{1,9})[,}]')


@dataclass(slots=True)
class Contents:
    """What a record holds: its whole decisions, where they end, and how many lines behind them are torn."""

    entries: list[Entry] = field(default_factory=list)
    head: str = FIRST
    size: int = 0
    torn: int = 0


def longest(number: int) -> int:
    """How many bytes line `number` (from 1) may have."""
    return LONGEST_FIRST if number == 1 else LONGEST_LINE


def hash_of(before: str, payload: bytes) -> str:
    """The hash of a line, from the hash of the line before and the line's bytes up to its own hash."""
    return hashlib.sha256(before.encode("ascii") + payload).hexdigest()


def read(handle: int, path: Path) -> Contents:
    """Read the whole record; raises `ProblemError` for damage, `OSError` for the disk."""
    contents = Contents()
    with os.fdopen(os.dup(handle), "rb") as source:
        source.seek(0)
        _read(source, path, contents)
    return contents


def _read(source: BinaryIO, path: Path, contents: Contents) -> None:
    batch: list[Entry] = []
    number, ends, head = 0, 0, FIRST
    while line := source.readline(longest(number + 1) + 1):
        number += 1
        if len(line) > longest(number):
            raise damaged(path, number, "it is far too long")
        if b"\0" in line and _has_holes(os.pread(source.fileno(), LONGEST_FIRST, contents.size), contents.size):
            contents.torn = 1
            break
        if not line.endswith(b"\n"):
            if line[-1:] != b"\0" and _fits(line[:-1] + b"\n", head):
                raise damaged(path, number, "its newline was changed")
            contents.torn = 1
            break
        entry, more = _entry(path, number, line, head)
        head = entry.hash
        batch.append(entry)
        ends += len(line)
        if not more:
            contents.entries += batch
            contents.head, contents.size = head, ends
            batch = []
    contents.torn += len(batch)


def _has_holes(tail: bytes, at: int) -> bool:
    """Whether a tail that begins at a byte of the file is one decision of which whole sectors did not reach the disk.

    No line ever holds a zero byte.
    """
    holes = [found.span() for found in re.finditer(rb"\0+", tail)]
    sectors = all(
        (begin == 0 or (at + begin) % _SECTOR == 0) and (end == len(tail) or (at + end) % _SECTOR == 0)
        for begin, end in holes
    )
    whole = [line for line in tail.removesuffix(b"\n").split(b"\n")[:-1] if b"\0" not in line]
    return len(tail) < LONGEST_FIRST and sectors and all(MORE + MARK in line for line in whole)


def _fits(line: bytes, before: str) -> bool:
    payload, tail = line[:-_TAIL], line[-_TAIL:]
    return tail == MARK + hash_of(before, payload).encode("ascii") + b'"}\n'


def _entry(path: Path, number: int, line: bytes, before: str) -> tuple[Entry, bool]:
    """One line read and checked, and whether its decision goes on; raises `ProblemError` with its number."""
    if number == 1:
        _refuse_newer(path, line)
    if not _fits(line, before):
        raise damaged(path, number, "it was changed after it was written, or a line before it is missing")
    try:
        data = _DECODER.decode(line[:-_TAIL].decode("utf-8") + "}")
        return _checked(data, number, line[-67:-3].decode("ascii"))
    except EventError as fault:
        raise damaged(path, number, str(fault)) from None
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError) as fault:
        raise damaged(path, number, f"it is not an entry ({type(fault).__name__})") from None


def _checked(data: dict[str, Any], number: int, digest: str) -> tuple[Entry, bool]:
    members = list(data)
    more = members[5:] == ["more"] and data["more"] is True
    if members != ["seq", "at", "who", "kind", "data"] + ["more"] * more:
        raise EventError("its members are not those of an entry")
    if type(data["seq"]) is not int or data["seq"] != number - 1:
        raise EventError(f"it has number {data['seq']}, not {number - 1}")
    if not isinstance(data["who"], str):
        raise EventError("it does not say who")
    event = decode(data["kind"], data["data"])
    if (number == 1) != isinstance(event, Started):
        raise EventError("a job starts once, at its first line")
    if isinstance(event, Started) and not 1 <= event.format <= FORMAT:
        raise EventError(f"there is no format {event.format}")
    return Entry(data["seq"], moment(data["at"]), data["who"], event, digest), more


def _refuse_newer(path: Path, line: bytes) -> None:
    """A newer guide may hash and name things otherwise, so its format is looked for before anything is checked."""
    found = _FORMAT.search(line, 0, 4096)
    if found is not None and int(found[1]) > FORMAT:
        message = f"{path} was written by a newer guide (format {int(found[1])}; this one reads up to {FORMAT})."
        hint = "Open it with that guide, or a newer one."
        raise ProblemError([Problem("format-newer", message, Place(str(path), 1), hint)])


def damaged(path: Path, number: int, why: str) -> ProblemError:
    """Damage at a line, as a problem."""
    message = f"the record is damaged at line {number}: {why}."
    hint = "Nothing was changed. Keep the folder as it is, and look at it with: guide verify"
    return ProblemError([Problem("record-damaged", message, Place(str(path), number), hint)])
