"""A text, the pieces of its tree, and their places. Lines and columns count from 0 here, from 1 in a `Place`."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from guide.problems import Place


@dataclass(slots=True)
class Scalar:
    """One piece of text as it was written; `plain` when it stands without quotes."""

    text: str
    plain: bool
    line: int
    column: int
    end_line: int
    end_column: int


@dataclass(slots=True)
class ListNode:
    """A list: `[a, b]`, or lines with dashes."""

    items: list[Node]
    line: int
    column: int


@dataclass(slots=True)
class MapNode:
    """Keys and values in order, duplicates included; `flow` when written with braces."""

    pairs: list[tuple[Scalar, Node]]
    line: int
    column: int
    flow: bool


@dataclass(slots=True)
class Broken:
    """Something whose fault has been told already."""

    line: int
    column: int


Node = Scalar | ListNode | MapNode | Broken


@dataclass(slots=True)
class Source:
    """A file's name as shown to people, and its text; makes places in it."""

    file: str
    text: str
    _lines: list[str] = field(default_factory=list)
    _hash_before_digit: bool | None = None
    _joined: list[tuple[int, Source]] = field(default_factory=list)
    """Further files, each with the number that its first line has here."""

    def join(self, other: Source) -> int:
        """Count the lines of another file after all there are; the number of its first line."""
        last, owner = self._joined[-1] if self._joined else (0, self)
        first = last + len(owner._split()) + 1
        self._joined.append((first, other))
        self._hash_before_digit = None
        return first

    def _split(self) -> list[str]:
        if not self._lines:
            self._lines = re.split(r"\r\n|\r|\n", self.text)
        return self._lines

    def _owner(self, line: int) -> tuple[Source, int]:
        """The file that a line stands in, and its number there."""
        for first, one in reversed(self._joined):
            if line >= first:
                return one, line - first
        return self, line

    def line(self, number: int) -> str:
        """The text of a line, empty past the end."""
        owner, number = self._owner(number)
        lines = owner._split()
        return lines[number] if number < len(lines) else ""

    def spot(self, line: int, column: int, length: int = 1) -> Place:
        """The place of `length` characters of a line."""
        text = self.line(line)
        owner, line = self._owner(line)
        return Place(owner.file, line + 1, column + 1, max(1, min(length, len(text) - column)), text)

    def place(self, node: Node) -> Place:
        """The place of a scalar's first line, or of the beginning of a list or table."""
        if not isinstance(node, Scalar):
            return self.spot(node.line, node.column)
        one_line = node.end_line == node.line
        return self.spot(node.line, node.column, node.end_column - node.column if one_line else _WHOLE_LINE)

    def place_in(self, scalar: Scalar, at: int, length: int = 1) -> Place:
        """The place of part of a scalar's text; of all of it where escapes or folding hide the part."""
        written = self.line(scalar.line)
        for start in (scalar.column, scalar.column + 1):
            if scalar.line == scalar.end_line and written.startswith(scalar.text, start):
                return self.spot(scalar.line, start + at, length)
        return self.place(scalar)

    def cut_short(self, scalar: Scalar) -> Place | None:
        """Where a plain text was ended by " #" and a digit, as in "Use #10 screws"; None if it was not."""
        if self._hash_before_digit is None:
            texts = (self.text, *(one.text for _, one in self._joined))
            self._hash_before_digit = any(re.search(r"[ \t]#\d", text) for text in texts)
        if not self._hash_before_digit or not scalar.plain:
            return None
        found = _HASH.match(self.line(scalar.end_line), scalar.end_column)
        return self.spot(scalar.end_line, found.start(1), len(found[1])) if found else None


def move(node: Node, lines: int) -> None:
    """Move a tree, with all that is in it, so many lines down."""
    todo = [node]
    while todo:
        one = todo.pop()
        one.line += lines
        if isinstance(one, Scalar):
            one.end_line += lines
        elif isinstance(one, ListNode):
            todo += one.items
        elif isinstance(one, MapNode):
            for key, value in one.pairs:
                todo += (key, value)


_WHOLE_LINE = 1 << 30
_HASH = re.compile(r"[ \t]+(#\d\S*)")
