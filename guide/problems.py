"""What is wrong, where, and the likely cure: one shape for every fault a person is told of.

A `Problem` is plain data. Whoever finds faults collects them (`Problems`) and goes on, so that one pass
shows them all; whoever speaks to a person renders them with the author's own line and a caret. Every command needs
this module, so it loads little: no dataclass, and `difflib` only for a misspelt word.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

WIDEST_LINE = 160
LONGEST_WORD = 60


class Place(NamedTuple):
    """A spot in a text file: 1-based line and column, how many characters, and the line itself."""

    file: str
    line: int
    column: int = 1
    length: int = 1
    text: str | None = None

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}"


class Problem(NamedTuple):
    """One fault: a stable code, what is wrong, where (if it has a place), and the likely cure."""

    code: str
    message: str
    place: Place | None = None
    hint: str | None = None
    also: tuple[tuple[str, Place], ...] = ()
    """Other spots that belong to the fault, each with a few words ("first here")."""

    def as_data(self) -> dict[str, object]:
        """The fault as plain JSON data."""
        place = self.place
        return {
            "code": self.code,
            "message": self.message,
            "file": place.file if place else None,
            "line": place.line if place else None,
            "column": place.column if place else None,
            "hint": self.hint,
            "also": [
                {"note": note, "file": spot.file, "line": spot.line, "column": spot.column} for note, spot in self.also
            ],
        }


class ProblemError(Exception):
    """Raised when work can't go on because of one or more problems; carries them all."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems: tuple[Problem, ...] = tuple(problems)
        super().__init__("\n".join(p.message for p in self.problems))


class Problems:
    """Collects faults in the order found, so that one pass reports them all."""

    def __init__(self) -> None:
        self.found: list[Problem] = []

    def add(
        self,
        code: str,
        message: str,
        place: Place | None = None,
        hint: str | None = None,
        also: Sequence[tuple[str, Place]] = (),
    ) -> None:
        """Note one fault and go on."""
        self.found.append(Problem(code, message, place, hint, tuple(also)))

    def raise_if_any(self) -> None:
        """Raise `ProblemError` with everything found, in file order; do nothing if nothing was."""
        if self.found:
            raise ProblemError(self.in_order())

    def in_order(self) -> list[Problem]:
        """The faults by file and line; those without a place last."""
        return sorted(self.found, key=_where)

    def __len__(self) -> int:
        return len(self.found)

    def __iter__(self) -> Iterator[Problem]:
        return iter(self.found)


def _where(problem: Problem) -> tuple[int, str, int, int]:
    spot = problem.place
    return (0, spot.file, spot.line, spot.column) if spot else (1, "", 0, 0)


def did_you_mean(word: str, known: Iterable[str]) -> str | None:
    """The hint "Did you mean ...?" for a misspelt word, or None when nothing known is close."""
    import difflib

    lowered = {name.lower(): name for name in known}
    if len(word) > LONGEST_WORD:
        return None
    close = difflib.get_close_matches(word.lower(), lowered, n=2, cutoff=0.6)
    if not close:
        return None
    return "Did you mean " + " or ".join(f'"{lowered[name]}"' for name in close) + "?"


def render(problem: Problem) -> str:
    """One problem as text, safe to print: place and message, the author's line with a caret, then the hint."""
    message = visible(problem.message)
    lines = [f"{visible(str(problem.place))}: {message}" if problem.place else message]
    if problem.place:
        lines += _quote(problem.place)
    for note, spot in problem.also:
        lines.append(f"  {visible(note)}: {visible(str(spot))}")
        lines += _quote(spot)
    if problem.hint:
        lines.append(f"  {visible(problem.hint)}")
    return "\n".join(lines)


def _quote(place: Place) -> list[str]:
    """The author's line and a line of carets under the fault; a long line is cut around it."""
    if place.text is None:
        return []
    column = place.column - 1
    start = max(0, column - WIDEST_LINE // 2) if len(place.text) > WIDEST_LINE else 0
    end = start + WIDEST_LINE
    head, tail = "…" if start else "", "…" if end < len(place.text) else ""
    before = head + visible(place.text[start:column])
    marked = visible(place.text[column : min(column + max(1, place.length), end)])
    gutter = f"  {place.line:>4} | "
    shown = head + visible(place.text[start:end]) + tail
    return [gutter + shown, " " * (len(gutter) - 2) + "| " + " " * _columns(before) + "^" * max(1, _columns(marked))]


def _columns(text: str) -> int:
    """How many columns of a terminal the text takes: wide characters take two, combining ones none."""
    return sum(
        0 if unicodedata.combining(c) else 2 if unicodedata.east_asian_width(c) in {"W", "F"} else 1 for c in text
    )


def visible(text: str) -> str:
    """The text with control, format and surrogate characters shown as escapes, safe to print anywhere."""
    return "".join(_shown(c) for c in text)


def _shown(char: str) -> str:
    if char == "\t":
        return " "
    if unicodedata.category(char) in {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}:
        return char.encode("unicode_escape").decode("ascii")
    return char
