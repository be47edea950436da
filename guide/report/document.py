"""A report as data: sections of plain blocks, which a page, paper and text are made of in the same way."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

Row = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Paragraph:
    """Some sentences."""

    text: str


@dataclass(frozen=True, slots=True)
class Facts:
    """Terms, each with what is to be said of it."""

    rows: Sequence[tuple[str, str]]


@dataclass(frozen=True, slots=True)
class Items:
    """A list; each may be a long sentence."""

    items: Sequence[str]


@dataclass(frozen=True, slots=True)
class Table:
    """Rows under heads; `strong` are the rows that a reader must not miss."""

    caption: str
    heads: Row
    rows: Sequence[Row]
    strong: frozenset[int] = frozenset()


@dataclass(frozen=True, slots=True)
class Figure:
    """A drawing (one SVG element as text), its title, what it shows in a sentence or two, and all of it in words."""

    svg: str
    title: str
    words: str
    whole: str = ""


Block = Paragraph | Facts | Items | Table | Figure


@dataclass(frozen=True, slots=True)
class Section:
    """A heading and what stands under it."""

    title: str
    blocks: Sequence[Block]


@dataclass(frozen=True, slots=True)
class Document:
    """The whole: the answer first, then the sections."""

    title: str
    answer: str
    """The verdict in a few words."""
    sign: str
    """good, conceded, open, stopped: what the answer amounts to."""
    lead: Sequence[Block] = ()
    """What belongs on the first page, under the answer."""
    sections: Sequence[Section] = ()
    foot: Sequence[str] = field(default=())
