"""What was found out about a record, as data and in words."""

from __future__ import annotations

from dataclasses import dataclass, field

from guide.job.events import Entry
from guide.job.state import State
from guide.problems import Place, Problem
from guide.procedure.model import Procedure

SEAL_CUT = "Lines cut off the end together with the seal can't be seen from the record alone."
REWRITE = "A rewrite of the whole record can't be seen without a copy of its last hash."


class Wrong(Exception):
    """Something is wrong with a line (from 1; 0 for the whole record)."""

    def __init__(self, code: str, why: str, line: int = 0, cure: str | None = None) -> None:
        super().__init__(why)
        self.code, self.why, self.line, self.cure = code, why, line, cure


@dataclass(slots=True)
class Kept:
    """What was read on the way, for who wants it: entries of whole decisions, the procedure, the state they end in."""

    entries: list[Entry] = field(default_factory=list)
    procedure: Procedure | None = None
    state: State | None = None

    def keep(self, entry: Entry) -> None:
        """Take an entry that could happen; the state is that behind it."""
        self.entries.append(entry)


@dataclass(slots=True)
class Verification:
    """What was found: whether it is whole, the first bad line, and what could and could not be relied on."""

    path: str
    lines: int = 0
    """Lines of whole decisions."""
    problems: list[Problem] = field(default_factory=list)
    torn: int = 0
    """Lines at the end that were not finished, and so never acknowledged."""
    title: str = ""
    status: str = "unknown"
    last_hash: str = ""
    sealed: int = 0
    """How many lines the last line seals; 0 when the record does not end in a seal."""
    clock_back: int = 0
    """How often the clock was found to have gone back."""
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
        return min((p.place.line for p in self.problems if p.place is not None), default=None)

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
            "sealed": self.sealed,
            "clock_back": self.clock_back,
            "pretended": self.pretended,
            "invented": self.invented,
            "concessions": list(self.concessions),
            "relied_on": self.relied_on,
            "not_seen": self.not_seen,
        }

    def wrong(self, bad: Wrong) -> None:
        """Note what is wrong with a line."""
        self.problems.append(Problem(bad.code, bad.why, Place(self.path, bad.line) if bad.line else None, bad.cure))


def say_what_counts(found: Verification) -> None:
    """Put into words what can and what can't be relied on."""
    if not found.ok:
        found.sealed = 0
    else:
        found.relied_on = [
            "Every line follows from the one before (SHA-256): no byte was changed, short of rewriting all behind it.",
            "The record replays, and every limit and verdict follows from the procedure and the readings.",
        ]
        if found.sealed:
            found.relied_on.append(f"The last line seals the {found.sealed} before it: their count and hash.")
    if found.sealed:
        found.not_seen.append(SEAL_CUT)
    else:
        found.not_seen.append("The record does not end in a seal: lines cut off the end can't be seen.")
    found.not_seen.append(REWRITE)
    found.not_seen.append("Whether the machine's clock was right, and who spoke under a name without a PIN.")


def report_lines(found: Verification) -> list[str]:
    """The verification in words."""
    lines = [f"{found.path}: {'whole' if found.ok else 'NOT whole'}, {found.lines} lines."]
    for problem in found.problems:
        place = f"line {problem.place.line}: " if problem.place is not None else ""
        lines.append(place + problem.message + (f" {problem.hint}" if problem.hint else ""))
    if found.title:
        lines.append(f"Job: {found.title} ({found.status}).")
    if found.invented:
        lines.append("The job is invented (a demo).")
    if found.pretended:
        lines.append("Its times are pretended.")
    if found.clock_back:
        lines.append(f"The clock went back ({found.clock_back} times); the record says where.")
    if found.torn:
        lines.append(f"{found.torn} torn at the end (or being written just now), never acknowledged.")
    if found.concessions:
        lines.append(f"Accepted as it is: {', '.join(found.concessions)}.")
    if found.last_hash:
        lines.append(f"Last hash: {found.last_hash}")
    return lines + [f"Relied on: {text}" for text in found.relied_on] + [f"Not seen: {text}" for text in found.not_seen]
