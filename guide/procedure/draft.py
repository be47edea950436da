"""A file as read by the schema, with the place of everything: what the cross-checks look at."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from typing import Any

from guide.problems import Place, Problems, did_you_mean
from guide.procedure.model import Range
from guide.procedure.nodes import MapNode, Node, Scalar, Source
from guide.procedure.worked import Expression

MOST_COMPARED = 50_000
"""Names that misspelt ones are compared with in all; a file with thousands of slips is not worth the time."""


@dataclass(frozen=True, slots=True)
class Part:
    """Arithmetic as written: where it stands, and at which offset of that text."""

    expression: Expression
    scalar: Scalar
    at: int = 0


@dataclass(frozen=True, slots=True)
class Span:
    """Limits as written: the range they make, and the arithmetic they are made of."""

    range: Range
    parts: tuple[Part, ...]


@dataclass(slots=True)
class Entry:
    """One table as read: `got` has what could be read of each key, `said` the node of each key that is there.

    An entry of a table that holds one value a name has that value under the key "".
    """

    what: str
    name: str
    key: Scalar
    label: str
    """The table in words: step "cut"."""
    got: dict[str, Any] = field(default_factory=dict)
    said: dict[str, Node] = field(default_factory=dict)
    partly: set[str] = field(default_factory=set)
    """Keys of which something could not be read."""

    def get(self, key: str, default: Any = None) -> Any:
        """What could be read of a key."""
        return self.got.get(key, default)

    def names(self, key: str) -> tuple[Scalar, ...]:
        """The names that a key lists, with their places."""
        found: tuple[Scalar, ...] = self.got.get(key, ())
        return found

    def words(self, key: str) -> tuple[str, ...]:
        """The names that a key lists."""
        found: tuple[Scalar, ...] | None = self.got.get(key)
        return tuple([one.text for one in found]) if found else ()

    def text(self, key: str) -> str | None:
        """The words of a key, line breaks taken as spaces."""
        scalar: Scalar | None = self.got.get(key)
        return " ".join(scalar.text.split()) if scalar is not None else None

    def inner(self, key: str) -> Entry | None:
        """The table under a key."""
        found: Entry | None = self.got.get(key)
        return found

    def when(self) -> Mapping[str, frozenset[str]]:
        """Choice -> options of the step's condition."""
        return {choice.text: frozenset(one.text for one in options) for choice, options in self.got.get("when", ())}


Entries = dict[str, Entry]


@dataclass(slots=True)
class Draft:
    """A whole file as read, its faults and remarks so far."""

    source: Source
    problems: Problems = field(default_factory=Problems)
    remarks: Problems = field(default_factory=Problems)
    top: Entry = field(default_factory=lambda: Entry("file", "", Scalar("", True, 0, 0, 0, 0), "the file"))
    _compared: int = 0

    def table(self, key: str) -> Entries:
        """The entries of one of the file's tables, empty if it is not there."""
        found: Entries | None = self.top.got.get(key)
        return found if found is not None else {}

    @property
    def steps(self) -> Entries:
        """The steps by name."""
        return self.table("steps")

    @property
    def readings(self) -> Entries:
        """The readings by name."""
        return self.table("readings")

    def place(self, node: Node) -> Place:
        """The place of a node."""
        return self.source.place(node)

    def at(self, part: Part, offset: int = 0, length: int = 1) -> Place:
        """The place of a stretch of written arithmetic."""
        return self.source.place_in(part.scalar, part.at + offset, length)

    def nearest(self, word: str, known: Collection[str]) -> str | None:
        """The hint "Did you mean …?", as long as not too many names have been compared."""
        self._compared += len(known)
        return did_you_mean(word, known) if self._compared <= MOST_COMPARED else None

    def is_check(self, step: Entry) -> bool:
        """Whether the step passes or fails; what could not be read counts as written."""
        reading = self.readings.get(step.words("take")[0]) if step.words("take") else None
        judged = "within" in step.said or "even" in step.said
        return judged or (reading is not None and "good" in reading.said)


def shown(text: str) -> str:
    """A piece of the author's text short enough for a message."""
    plain = " ".join(text.split())
    return plain if len(plain) <= 60 else plain[:57] + "…"


def flow_comma(node: Node | None, parent: MapNode) -> bool:
    """Whether a key may be the rest of a sentence that a comma cut in two."""
    return parent.flow and isinstance(node, Scalar) and node.plain and not node.text
