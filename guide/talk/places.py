"""Places named in an utterance: "top", "at the top left corner", "the middle one".

A place is known by its whole name, or by part of it that no other place has; what more than one place has names none.
A word that is also a side ("left" where things lean left) needs a mark to be a place: "left side", "on the left".
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache

from guide.quantity import unit_named
from guide.talk.numbers import number_words
from guide.talk.tokens import SEPARATORS, cut
from guide.talk.vocabulary import Words, table, word_set

NAME_MOST = 12
"""Words of a place's name that are told apart."""


@dataclass(frozen=True, slots=True)
class Mention:
    """A place named: which, where its name ends, and whether it can be nothing else."""

    place: str
    end: int
    marked: bool


@dataclass(frozen=True, slots=True)
class Names:
    """What the places of a reading are called: names as words -> the place, or None where it could be several."""

    names: Mapping[Words, str | None]

    @classmethod
    def of(cls, places: tuple[str, ...]) -> Names:
        """The names of these places."""
        return _names(places)

    def words(self) -> frozenset[str]:
        """Every word of the names."""
        return frozenset(word for name in self.names for word in name)


@lru_cache(maxsize=256)
def _names(places: tuple[str, ...]) -> Names:
    cores = {place: core(place) for place in places}
    owners: dict[Words, set[str]] = {}
    for place, words in cores.items():
        for part in _parts(words):
            owners.setdefault(part, set()).add(place)
    whole: dict[Words, set[str]] = {}
    for place, words in cores.items():
        whole.setdefault(words, set()).add(place)
    found = {part: _only(places_) for part, places_ in owners.items()}
    found.update({core: _only(places_) for core, places_ in whole.items()})
    return Names(found)


def _only(places: set[str]) -> str | None:
    return next(iter(places)) if len(places) == 1 else None


def core(place: str) -> Words:
    """The words of a place's name that tell it apart."""
    found = cut(place)
    words = tuple(word for word in found.words if word not in SEPARATORS)[:NAME_MOST] if found else (place.lower(),)
    idle = word_set("places", "idle")
    return tuple(word for word in words if word not in idle) or words


def _parts(words: Words) -> Iterator[Words]:
    """Each run of the words that is no number, and two words also the other way round ("left top")."""
    for start in range(len(words)):
        for end in range(start + 1, len(words) + 1):
            if not all(word.isdigit() or word in number_words() for word in words[start:end]):
                yield words[start:end]
    if len(words) == 2:
        yield words[::-1]


class Places:
    """The places named in one utterance."""

    def __init__(self, words: Words, places: tuple[str, ...], sides: frozenset[str]) -> None:
        """`sides` are the words that also name a side of the reading."""
        self._words = words
        self._names = Names.of(places)
        self._places = places
        self._sides = sides
        self._found: dict[int, Mention | None] = {}
        self._unclear = False

    def at(self, start: int) -> Mention | None:
        """The place whose name starts here, the longest name first."""
        if start not in self._found:
            self._found[start] = self._mention(start) if self._places else None
        return self._found[start]

    def words(self) -> frozenset[str]:
        """Every word of the places' names."""
        return self._names.words()

    def every(self, start: int) -> Iterator[int]:
        """Where words for all the places end: "all round", and of two places "both"."""
        if len(self._places) > 1:
            yield from (end for end, _ in table("places", "every").at(self._words, start))
        if len(self._places) == 2:
            yield from (end for end, _ in table("places", "both").at(self._words, start))

    def unclear(self) -> bool:
        """Whether a name was used that more than one place has."""
        for start in range(len(self._words)):
            self.at(start)
        return self._unclear

    def marked(self) -> Iterator[tuple[int, Mention]]:
        """The places that can be nothing else, from left to right, none within another."""
        at = 0
        while at < len(self._words):
            found = self.at(at)
            if found is not None and found.marked:
                yield at, found
            at = found.end if found is not None and found.marked else at + 1

    def _mention(self, start: int) -> Mention | None:
        starts = [start, *(end for end, _ in table("places", "before").at(self._words, start))]
        found = [(end, place, at) for at in starts for end, place in self._name(at)]
        if not found:
            return None
        end, place, at = max(found, key=lambda one: one[0])
        if place is None:
            self._unclear = True
            return None
        last = max((last for last, _ in table("places", "behind").at(self._words, end)), default=end)
        if last > end and self._words[last - 1] == "one" and self._counts_on(last):
            last = end
        marks = (
            ("mark-before", self._words[start:at]),
            ("mark-behind", self._words[end:last]),
            ("mark-next", self._words[last : last + 1]),
        )
        alone = end - at == 1 and self._words[at] in self._sides
        marked = not alone or any(not word_set("places", key).isdisjoint(words) for key, words in marks)
        return Mention(place, last, marked)

    def _counts_on(self, at: int) -> bool:
        """Whether "one" before this word begins a number ("top one eighth"), and isn't the place's ("the top one")."""
        word = self._words[at] if at < len(self._words) else ""
        return word in number_words() or unit_named(word) is not None

    def _name(self, start: int) -> Iterator[tuple[int, str | None]]:
        """The longest name from here, and the place it means."""
        idle = word_set("places", "idle")
        name: Words = ()
        best: tuple[int, str | None] | None = None
        for at in range(start, len(self._words)):
            word = self._words[at]
            if name and (word in idle or word == ","):
                continue
            name = (*name, word)
            if name in self._names.names:
                best = (at + 1, self._names.names[name])
            elif not any(longer[: len(name)] == name for longer in self._names.names):
                break
        if best is not None:
            yield best
