"""Yes or no by place: "top works, middle binds, bottom works", "yes at the top, no at the bottom", "both latch".

Each part of an utterance names its places and says one state of them; parts stand apart by commas, by links such as
"but", or by their places alone. What names a place and can't be wholly understood is no answer: nothing is taken for
the place that happens to be asked for. Places that are not named stay unknown: "binds at the head" says nothing of the
sill, and neither does "only". A yes has to be said plainly (`guide.talk.yes_no`).
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from guide.talk.numbers import ones
from guide.talk.places import Names, Places, core
from guide.talk.tokens import DASH, LONGEST, PLUS, SEPARATORS, cut
from guide.talk.understand import normal
from guide.talk.vocabulary import Words, table, word_set
from guide.talk.yes_no import bare, plainly, states, yes_or_no

ASKED = ""
"""Stands for the place that is asked for."""
REST, OTHER = "the rest", "the other one"
"""Stand for the places that had no answer before, where the words name no other place."""
WAYS_MOST = 8
"""Different meanings of one utterance that are told apart."""

Answers = tuple[tuple[str, str], ...]
"""Places, each with "yes" or "no", in the order of the reading's places."""

_Kind = Literal["one", "every", "none", "rest"]
_MARKS = SEPARATORS | {DASH, PLUS}
_PAUSE = re.compile(r"[()\[\]/|]")


@dataclass(frozen=True, slots=True)
class _Named:
    """Places named from one word to another."""

    start: int
    end: int
    kind: _Kind
    places: tuple[str, ...] = ()
    """Those that are named; for the rest `REST` or `OTHER`."""
    whole: bool = True
    """By the whole name; false for a part of it ("right" of the right door), which could be something else."""


def answered(text: str, places: tuple[str, ...]) -> tuple[Answers, ...]:
    """Every way to understand the words: one, several to choose from, or () when they are no yes and no no.

    `places` are those of the reading. Words that name none of them are for the place asked for, `ASKED`, and "the rest"
    alone for those without an answer, `REST`.
    """
    found = cut(_PAUSE.sub(", ", text)) if len(text) <= LONGEST else None
    if len(places) < 2 or found is None:
        named = Names.of(places).words() & set(normal(text).split()) if len(places) > 1 else ()
        return () if named else _unplaced(text, ())
    words = tuple("," if word in _MARKS else word for word in found.words)
    parts = _Parts(words, places)
    if parts.unclear():
        return ()
    return parts.ways() if parts.named else _unplaced(text, words)


def told(answers: Answers) -> str:
    """Answers by place in words that are read as the same answers: "top yes; middle no"."""
    return "; ".join(f"{place} {answer}".strip() for place, answer in answers)


def example_by_place(places: tuple[str, ...]) -> str:
    """A short example of what would be taken here: "top yes, bottom no"."""
    return f"{places[0]} yes, {places[-1]} no"


def _unplaced(text: str, words: Words) -> tuple[Answers, ...]:
    """For the place asked for."""
    answer = yes_or_no(text) or (plainly(words) if words else None)
    return (((ASKED, answer),),) if answer is not None else ()


class _Parts:
    """The words of an utterance, parted in every way in which each part names its places."""

    def __init__(self, words: Words, places: tuple[str, ...]) -> None:
        self.words = words
        self.places = places
        self._links = word_set("yes-no", "links") | {","}
        self._at_places = Places(words, places, frozenset())
        self._miscounted = False
        self.named = tuple(self._all())
        ends = {at for one in self.named for at in (one.start, one.end)}
        self._ends = sorted(ends | {at for at, word in enumerate(words) if word in self._links} | {len(words)})
        self._known: dict[int, tuple[Mapping[str, str], ...]] = {}

    def unclear(self) -> bool:
        """Whether a side or a height is named that several places share ("top" of left top and right top).

        Or all of so many as there are not.
        """
        inside = {at for one in self.named for at in range(one.start, one.end)}
        names = Names.of(self.places).names
        sides = word_set("sides", "known") - word_set("yes-no", "things")
        shared = {word for name, place in names.items() if place is None for word in name} & sides
        return self._miscounted or any(word in shared and at not in inside for at, word in enumerate(self.words))

    def ways(self) -> tuple[Answers, ...]:
        """Every meaning; words such as "okay" before the first part may mean nothing."""
        at, idle = 0, word_set("yes-no", "idle")
        while at < len(self.words):
            found = dict.fromkeys(answers for one in self._from(at) if (answers := self._whole(one)))
            if found or self.words[at] not in idle or any(one.start <= at < one.end for one in self.named):
                return tuple(found)
            at += 1
        return ()

    def _whole(self, answers: Mapping[str, str]) -> Answers:
        """The reading's places in their order, those that were named as the rest too; () if there is no rest."""
        found = {place: answer for place, answer in answers.items() if place not in (REST, OTHER)}
        if not found:
            return tuple(answers.items()) if len(answers) == 1 else ()
        left = [place for place in self.places if place not in found]
        for mark in (REST, OTHER):
            if mark in answers:
                if not left or (mark == OTHER and len(left) > 1):
                    return ()
                found |= dict.fromkeys(left, answers[mark])
        return tuple((place, found[place]) for place in (ASKED, *self.places) if place in found)

    # Places

    def _all(self) -> Iterator[_Named]:
        """The places named, from left to right, none within another."""
        at = named = 0
        while at < len(self.words):
            found = max(self._at(at), key=lambda one: one.end, default=None)
            if found is not None and self._does(found, named):
                found = None
            if found is not None:
                yield found
                named = found.end
            at = found.end if found is not None else at + 1

    def _does(self, one: _Named, named: int) -> bool:
        """Whether it is what a thing does, and no place: "won't latch", and "both latch" behind what was named."""
        word = self.words[one.start]
        if one.end - one.start > 1 or word not in states()["acts"] or not one.start:
            return False
        behind = self.words[one.end] if one.end < len(self.words) else ","
        ends = behind in self._links or behind in states()["works-behind"]
        return self.words[one.start - 1] in states()["not"] or (named == one.start and ends)

    def _at(self, at: int) -> Iterator[_Named]:
        if self.words[at] in self._links:
            return
        one = self._at_places.at(at)
        if one is not None:
            end = one.end
            while end > at + 1 and self.words[end - 1] in states()["trouble"]:
                end -= 1  # "top gap": not the gap at the top, but that there is one
            said = set(self.words[at:end])
            yield _Named(at, end, "one", (one.place,), whole=said.issuperset(core(one.place)))
        yield from self._every(at)
        for end, key in table("yes-no", "rest", "other").at(self.words, at):
            yield _Named(at, end, "rest", (OTHER if key else REST,))

    def _every(self, at: int) -> Iterator[_Named]:
        """All of them: where something begins to be said of them, or behind a bare yes or no ("yes to both")."""
        before = self.words[at - 1] if at else ","
        if before not in self._links and not bare(before):
            return
        lists = table("yes-no", "every", "none", "both", "neither")
        starts = (at, *(end for end, _ in table("yes-no", "every-before").at(self.words, at)))
        for end, key in (found for start in starts for found in lists.at(self.words, start)):
            said, behind = self.words[end - 1], self.words[end] if end < len(self.words) else ""
            if said == "all" and behind in word_set("yes-no", "idioms"):
                continue
            two = key > 1
            count = 2 if two else ones().get(behind) if said == "all" else None
            end += count is not None and not two
            end += end < len(self.words) and self.words[end] in self._kinds(one=said in ("each", "neither"))
            self._miscounted |= count not in (None, len(self.places))
            yield _Named(at, end, "none" if key % 2 else "every", self.places)

    def _kinds(self, one: bool) -> set[str]:
        """What the places are, of several, or of one: "doors", "neither door"."""
        endings = ("",) if one else ("s", "es")
        return {word + ending for place in self.places for word in place.lower().split() for ending in endings}

    # Parts

    def _from(self, start: int) -> tuple[Mapping[str, str], ...]:
        """What the words from here on mean."""
        while start < len(self.words) and self.words[start] in self._links:
            start += 1
        if start >= len(self.words):
            return ({},)
        if start not in self._known:
            found: dict[tuple[tuple[str, str], ...], Mapping[str, str]] = {}
            for end in (end for end in self._ends if end > start):
                for one in self._part(start, end):
                    for other in self._from(end):
                        if all(one.get(place, answer) == answer for place, answer in other.items()):
                            both = {**other, **one}
                            found[tuple(sorted(both.items()))] = both
            self._known[start] = tuple(found.values())[:WAYS_MOST]
        return self._known[start]

    def _part(self, start: int, end: int) -> Iterator[Mapping[str, str]]:
        """What is said of the places named from one word to another: one state of them all, or nothing."""
        named = [one for one in self.named if one.start < end and one.end > start]
        if not named or named[0].start < start or named[-1].end > end or not self._listed(named):
            return
        first, last = named[0].start, named[-1].end
        rest = (*self.words[start:first], *self.words[last:end])
        answer = plainly(rest, many=len(named) > 1 or named[0].kind != "one")
        only = all(bare(word) for word in rest)
        if answer is None or (first > start and not only and any(one.kind != "one" for one in named)):
            return
        if named[0].kind == "none":  # "neither works"; that none of them binds is no plain yes
            if answer == "no" and not only:
                return
            answer = "no"
        yield {place: answer for one in named for place in one.places}
        if (
            len(named) == 1
            and not named[0].whole
            and first > start
            and not only
            and (start, end) == (0, len(self.words))
        ):
            yield {ASKED: answer}

    def _listed(self, named: Sequence[_Named]) -> bool:
        """Whether the places are named as one list: "top and bottom", "top, middle and bottom"."""
        gaps = [self.words[one.end : other.start] for one, other in pairwise(named)]
        return all(set(gap) <= {",", "and"} for gap in gaps) and (not gaps or "and" in gaps[-1])
