"""A grammar over the model's pieces: what may come next after any beginning, and the words a whole row stands for.

The graph has many ways for one row of pieces ("316" is three hundred sixteen or 3/16). While searching, only the set of
places that a beginning leads to matters; sets are made when they are first reached, and kept. The words are read off
afterwards, for the few rows that came through.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from guide.voice.embedded.tokens import END, Pieces

SETS_MOST = 6_000
"""Sets kept: a long day of noise reaches ever more of them."""
WAYS_MOST = 64
"""Different words kept for one row of pieces."""
_MARKS = ",.?!;"
_START, _FINAL = 0, 1


@dataclass(frozen=True, slots=True)
class Next:
    """What may follow a beginning: pieces, and the set of places that each leads to."""

    pieces: tuple[int, ...]
    sets: tuple[frozenset[int], ...]


class Graph:
    """Places and the pieces between them. Place 0 is the start, place 1 the end."""

    def __init__(self, pieces: Pieces) -> None:
        self._pieces = pieces
        self._arcs: list[list[tuple[int, int, str]]] = [[], []]
        self._free: dict[int, list[tuple[int, str]]] = {}
        self._inside: dict[tuple[int, int], int] = {}
        self._looped: set[int] = set()
        self._marks = [pieces.word(mark, first=False)[0] for mark in _MARKS]
        self._known: dict[frozenset[int], Next] = {}
        self._same: dict[frozenset[int], frozenset[int]] = {}
        self._spellings: dict[tuple[str, bool], tuple[tuple[int, ...], ...]] = {}

    def place(self) -> int:
        """A new place."""
        self._arcs.append([])
        return len(self._arcs) - 1

    def skip(self, start: int, end: int, said: str = "") -> None:
        """From one place to another without a piece."""
        self._free.setdefault(start, []).append((end, said))

    def text(self, start: int, text: str, end: int, said: str | None = None, glued: bool = False) -> None:
        """A written text from one place to another; `said` is what it stands for, by default itself.

        `glued` lets it follow the word before without a blank.
        """
        said = text if said is None else said
        spellings = self._spellings.get((text, glued))
        if spellings is None:
            spellings = self._spellings[text, glued] = self._spelt(text, glued)
        for spelling in spellings:
            self._row(start, spelling, end, said)
        if end not in self._looped:
            self._looped.add(end)
            self._arcs[end] += [(mark, end, "") for mark in self._marks]

    def _spelt(self, text: str, glued: bool) -> tuple[tuple[int, ...], ...]:
        """The pieces of a text: as it stands, with a capital, behind a hyphen."""
        if glued:
            return (tuple(self._pieces.word(text, first=False)),)
        found = {tuple(self._pieces.encode(text)): None, tuple(self._pieces.encode(text[:1].upper() + text[1:])): None}
        first, *rest = text.split()
        if first[0].isalnum():
            hyphen = self._pieces.word("-" + first, first=False)
            found[(*hyphen, *self._pieces.encode(" ".join(rest)))] = None
            if rest:
                found[tuple(self._pieces.encode("-".join([first, *rest])))] = None
        return tuple(found)

    def _row(self, start: int, row: Sequence[int], end: int, said: str) -> None:
        """Texts that begin alike share their first pieces; what they stand for is told by the last one."""
        at = start
        for piece in row[:-1]:
            there = self._inside.get((at, piece))
            if there is None:
                there = self._inside[at, piece] = self.place()
                self._arcs[at].append((piece, there, ""))
            at = there
        self._arcs[at].append((row[-1], end, said))

    def done(self) -> None:
        """Nothing more is to be added: give up what only the building needs, a third of it all."""
        self._inside, self._spellings, self._looped = {}, {}, set()
        self._arcs = [arcs[:] for arcs in self._arcs]

    def size(self) -> int:
        """How many places there are."""
        return len(self._arcs)

    def start(self) -> frozenset[int]:
        """The set of places of the empty beginning."""
        return self._closed({_START})

    def after(self, places: frozenset[int]) -> Next:
        """What may come next; the end is the piece `END`, which leads nowhere."""
        known = self._known.get(places)
        if known is None:
            there: dict[int, set[int]] = {}
            for place in places:
                for piece, end, _ in self._arcs[place]:
                    there.setdefault(piece, set()).add(end)
            if _FINAL in places:
                there[END] = set()
            if len(self._known) >= SETS_MOST:
                self._known.clear()
                self._same.clear()
            sets = tuple(self._closed(ends) for ends in there.values())
            known = self._known[places] = Next(tuple(there), sets)
        return known

    def _closed(self, places: set[int]) -> frozenset[int]:
        """Those, and all that can be reached from them without a piece; equal sets are one, for few are unlike."""
        found, stack = set(places), list(places)
        while stack:
            for end, _ in self._free.get(stack.pop(), ()):
                if end not in found:
                    found.add(end)
                    stack.append(end)
        closed = frozenset(found)
        return self._same.setdefault(closed, closed)

    def read(self, row: Sequence[int]) -> tuple[str, ...]:
        """Every text that a whole row of pieces stands for."""
        here = self._freely({_START: {(): None}})
        for piece in row:
            there: dict[int, dict[tuple[str, ...], None]] = {}
            for place, texts in here.items():
                for known, end, said in self._arcs[place]:
                    if known == piece:
                        add = (said,) if said else ()
                        there.setdefault(end, {}).update(dict.fromkeys(text + add for text in texts))
            here = self._freely({place: dict.fromkeys(list(texts)[:WAYS_MOST]) for place, texts in there.items()})
        return tuple(dict.fromkeys(" ".join(text) for text in here.get(_FINAL, ())))

    def _freely(self, here: dict[int, dict[tuple[str, ...], None]]) -> dict[int, dict[tuple[str, ...], None]]:
        stack = list(here.items())
        while stack:
            place, texts = stack.pop()
            for end, said in self._free.get(place, ()):
                new = {text + ((said,) if said else ()): None for text in texts}
                more = {text: None for text in new if text not in here.get(end, {})}
                if more and len(here.get(end, {})) < WAYS_MOST:
                    here.setdefault(end, {}).update(more)
                    stack.append((end, more))
        return here

    def accepts(self, text: str) -> bool:
        """Whether a written text is wholly in the grammar."""
        places = self.start()
        for piece in (*self._pieces.encode(text), END):
            found = self.after(places)
            if piece not in found.pieces:
                return False
            places = found.sets[found.pieces.index(piece)]
        return True
