"""Which way a reading lies, as crews say it, turned into the sign that the procedure gave it.

The procedure names the sides of + and - (`Sign.toward`, `Sign.away`). What is said with a side depends on what is read:
which end of a level is high or low, where a plumb line leans at the top or at the bottom, on which side a square stands
open, whether a face stands proud or behind. Said of the other end, or the other way, it is the same reading: low on the
left is high on the right, out at the bottom is in at the top. "Kicked left" is taken as the top leaning left.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from guide.procedure.model import About, Sign
from guide.talk.tokens import SEPARATORS, cut
from guide.talk.vocabulary import Table, Words, language, table, word_set

Kind = Literal["side", "loose side", "way", "leans", "whole", "foreign"]
"""A side; one that may only mean "off" ("out"); the way it lies there (high, at the top, open); that it leans; all of
it in the procedure's own words; a side that the reading does not have."""

PROUD = Sign("proud", "behind")
"""What + and - mean for a flush reading that says nothing else."""


@dataclass(frozen=True, slots=True)
class Hint:
    """One thing said of the direction: its kind, +1 or -1 (0 for neither), and whether it can be no place."""

    kind: Kind
    sign: int
    strong: bool = True


@dataclass(frozen=True, slots=True)
class Sides:
    """What the two sides of a reading are called, as phrases standing for 0 (+) and 1 (-)."""

    names: Table
    whole: Table
    foreign: Table
    words: frozenset[str]
    """Side words of one word: they may also name a place."""


@lru_cache(maxsize=256)
def sides(about: About, sign: Sign) -> Sides:
    """The names of the sides of + and -, with other words for the same side."""
    named = [tuple(dict.fromkeys(_called(side) for side in group)) for group in (sign.toward, sign.away)]
    spread = [[name for one in group for name in _same(one)] for group in named]
    both = set(spread[0]) & set(spread[1])
    spread = [[name for name in group if name not in both] for group in spread]
    whole = {words: number for number, side in enumerate((sign.plus, sign.minus)) if (words := _words(side))}
    if set(whole) & {name for group in spread for name in group}:
        whole = {}
    known = [(word,) for word in word_set("sides", "known") if not any((word,) in group for group in spread)]
    return Sides(
        Table({name: number for number, group in enumerate(spread) for name in group}),
        Table(whole if len(whole) == 2 else {}),
        Table(dict.fromkeys(known, 0)),
        frozenset(name[0] for group in spread for name in group if len(name) == 1),
    )


def _words(text: str) -> Words:
    found = cut(text)
    return tuple(word for word in found.words if word not in SEPARATORS) if found else ()


def _called(side: str) -> Words:
    """A side's name without what tells nothing ("the hinge side" is "hinge")."""
    words = _words(side)
    return tuple(word for word in words if word not in word_set("sides", "idle")) or words


def _same(name: Words) -> Iterator[Words]:
    """The name, and other words for the same side."""
    yield name
    for group in language()["sides"]["same"]:
        words = group.split()
        if len(name) == 1 and name[0] in words:
            yield from ((word,) for word in words)


class Directions:
    """The direction words in one utterance, for a reading that has two sides."""

    def __init__(self, words: Words, about: About, sign: Sign) -> None:
        self._words = words
        self._about = about
        self._sides = sides(about, sign)

    def at(self, start: int) -> Iterator[tuple[int, Hint]]:
        """Direction words that start here, and where they end."""
        for end, number in self._sides.whole.at(self._words, start):
            yield end, Hint("whole", 1 - 2 * number)
        section = f"way.{self._about}"
        if self._about == "flush":
            yield from (
                (end, Hint("side", 1 - 2 * n)) for end, n in table(section, "plus", "minus").at(self._words, start)
            )
        else:
            for end, number in table(section, "plus", "minus").at(self._words, start):
                yield end, Hint("way", 1 - 2 * number)
        for end, _ in table(section, "leans").at(self._words, start):
            yield end, Hint("leans", 0)
        yield from self._named(start)

    def _named(self, start: int) -> Iterator[tuple[int, Hint]]:
        """A side by its name, with the words around it ("on the left side")."""
        strong = {end for end, _ in table("sides", "strong-before").at(self._words, start)}
        for at in (start, *(end for end, _ in table("sides", "before").at(self._words, start))):
            for end, number in self._sides.names.at(self._words, at):
                loose = self._about == "plumb" and at == start and self._words[at] in word_set("sides", "loose")
                hint = Hint("loose side" if loose else "side", 1 - 2 * number, at in strong)
                yield end, hint
                for last, _ in table("sides", "behind").at(self._words, end):
                    yield last, hint

    def foreign(self, start: int) -> Iterator[int]:
        """Where the name of a side ends that this reading does not have."""
        for at in (start, *(end for end, _ in table("sides", "before").at(self._words, start))):
            for end, _ in self._sides.foreign.at(self._words, at):
                yield end
                yield from (last for last, _ in table("sides", "behind").at(self._words, end))


def sign_of(about: About, hints: Sequence[Hint]) -> int | None:
    """The sign the hints give together: +1, -1, None when they leave the side open, 0 when they contradict."""
    whole = {hint.sign for hint in hints if hint.kind == "whole"}
    clauses = list(_clauses(hints))
    found = {_clause_sign(about, clause, any(hint.kind == "leans" for hint in hints)) for clause in clauses}
    if None in found and len(clauses) > 1:
        return 0
    signs = whole | {sign for sign in found if sign is not None}
    if len(signs) > 1:
        return 0
    return next(iter(signs), None)


def _clauses(hints: Sequence[Hint]) -> Iterator[Mapping[str, Hint]]:
    """The hints in groups of a side and a way: a second one of a kind begins the next group, unless it is the same."""
    clause: dict[str, Hint] = {}
    for hint in hints:
        kind = "side" if hint.kind == "loose side" else hint.kind
        if kind not in ("side", "way"):
            continue
        before = clause.get(kind)
        if before is not None and before.sign != hint.sign:
            yield clause
            clause = {}
        elif before is not None and before.kind == "side":
            continue
        clause[kind] = hint
    if clause:
        yield clause


def _clause_sign(about: About, clause: Mapping[str, Hint], leans: bool) -> int | None:
    side, way = clause.get("side"), clause.get("way")
    if side is None:
        return None
    if side.kind == "loose side" and way is None and not leans:
        return None
    if about == "level" and way is None:
        return None
    return side.sign * (way.sign if way is not None else 1)
