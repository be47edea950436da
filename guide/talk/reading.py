"""One reading in a row of words: every way to understand each word, and those that use up all of them.

A reading is a number, or a word that stands for zero, with what belongs to it in any order: unit, side, a hair over or
under, how sure, at which place, and words that mean nothing. Ways are followed from word to word; one that reaches the
end is a meaning. Their number is bounded: words that could be followed in too many ways are no reading.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from fractions import Fraction

from guide.procedure.model import Sign
from guide.quantity import UNITS, Quantity
from guide.talk.amounts import RARE, STRETCH, Amount, Amounts
from guide.talk.directions import PROUD, Directions, Hint, sides, sign_of
from guide.talk.expect import Expect, Meaning, Said, WhyNot
from guide.talk.places import Places
from guide.talk.tokens import DASH, PLUS, SEPARATORS, Cut
from guide.talk.vocabulary import table

STEPS_MOST = 2_000
"""Steps that are taken for one utterance, all its parts together."""
HINTS_MOST = 8
METRIC = frozenset({"mm", "cm", "m"})


class TooMany(Exception):
    """The words could be followed in more ways than are looked at."""


@dataclass(slots=True)
class Found:
    """What one row of words turned out to be."""

    said: tuple[Said, ...] = ()
    """One reading, once for each place it was given for; empty when the words are no reading."""
    why_not: set[WhyNot] = field(default_factory=set)

    @property
    def sized(self) -> bool:
        """Whether it is a reading with its number."""
        return bool(self.said) and bool(self.said[0].meanings)


@dataclass(frozen=True, slots=True)
class _Way:
    """A way of understanding the words so far."""

    amount: Amount | None = None
    zero: bool = False
    typed_sign: int = 0
    hints: tuple[Hint, ...] = ()
    hair: int = 0
    unsure: bool = False
    state: tuple[int, int] | None = None
    """From where to where a state or a direction is said."""
    places: tuple[str, ...] = ()
    last: str = ""
    """What the last words were, where it matters to those that follow."""
    every: bool = False
    """Said of all the places at once."""
    doubt: bool = False
    """A word was taken for a place, or for a side, that might as well be the other."""
    wrong: WhyNot | None = None

    @property
    def open(self) -> bool:
        """Whether the number is still to come."""
        return self.amount is None and not self.zero

    @property
    def sure(self) -> bool:
        """Whether no word is taken for a side that might be a place; "right at the bottom" can only be a side."""
        return not self.doubt or (not self.places and any(hint.kind in ("way", "leans") for hint in self.hints))


class Reader:
    """Reads rows of words as one reading each; `explain` also looks for why they are none."""

    def __init__(self, expect: Expect, explain: bool = False, unsure: bool = False) -> None:
        """`unsure` is for words that were said as a question."""
        self.expect = expect
        self.unsure = unsure
        self.sign: Sign | None = expect.sign or (PROUD if expect.about == "flush" else None)
        self.explain = explain
        self._steps = 0
        self.sides = sides(expect.about, self.sign).words if self.sign else frozenset[str]()

    def places(self, cut: Cut) -> Places:
        """The places named in the words."""
        return Places(cut.words, self.expect.places, self.sides)

    def amounts(self, cut: Cut) -> Amounts:
        """The amounts in the words."""
        return Amounts(
            cut.words,
            self.expect.unit,
            one_from_another=self.expect.about == "length" and self.sign is None,
            feet_unsaid=self.expect.about == "length" and not self.expect.metric,
            in_is_a_side="in" in self.sides or self.expect.about in ("plumb", "flush"),
        )

    def read(self, cut: Cut) -> Found:
        """What the words are as one reading; raises `TooMany`."""
        search = _Search(self, cut)
        found = Found()
        sized: dict[tuple[str, ...], list[tuple[int, Meaning]]] = {}
        sure: dict[tuple[str, ...], bool] = {}
        states: list[tuple[tuple[str, ...], tuple[int, int]]] = []
        for way in search.ways():
            if way.open and way.wrong is None:
                if way.state is not None and not way.every:
                    states.append((way.places, way.state))
                continue
            for usual, unit in self._units(way):
                meaning = self._meaning(way, unit)
                if isinstance(meaning, Meaning):
                    sized.setdefault(way.places, []).append((usual, meaning))
                    sure[way.places] = sure.get(way.places, False) or way.sure
                else:
                    found.why_not.add(meaning)
        if sized:
            places = self._best(sized, sure)
            if places is None:
                found.why_not.add("place")
                return found
            meanings, usual = _distinct(sized[places])
            found.said = tuple(Said(place, cut.said(), meanings, usual=usual) for place in places or (None,))
        elif states:
            named, (start, end) = max(states, key=lambda one: (len(one[0]), one[1][1] - one[1][0]))
            found.said = tuple(Said(place, cut.said(), (), cut.said(start, end)) for place in named or (None,))
        if not found.said and self.explain and search.places.unclear():
            found.why_not.add("place")
        return found

    def step(self) -> None:
        """Count one step of the search; raises `TooMany`."""
        self._steps += 1
        if self._steps > STEPS_MOST:
            raise TooMany

    @staticmethod
    def _best(
        sized: dict[tuple[str, ...], list[tuple[int, Meaning]]], sure: dict[tuple[str, ...], bool]
    ) -> tuple[str, ...] | None:
        """The places that are meant, if words could name a place or a side: the way that leaves nothing open."""
        if len(sized) == 1:
            return next(iter(sized))
        if not any(sure.values()):
            return None
        whole = [at for at, found in sized.items() if sure[at] and any(one.side != "missing" for _, one in found)]
        rest = [at for at in sized if sure[at]]
        best = whole or rest
        return best[0] if len(best) == 1 else None

    def _units(self, way: _Way) -> Iterator[tuple[int, str]]:
        """The unit of a way's number, and how unusual it is; "three sixteenths" may be inches in a metric job."""
        amount = way.amount
        if amount is None or amount.unit is not None:
            yield amount.usual if amount else 0, (amount.unit if amount else None) or self.expect.unit
            return
        yield amount.usual, self.expect.unit
        size = amount.value.denominator
        if self.expect.unit in METRIC and amount.parts and (size > 2 or (size == 2 and amount.fraction)):
            yield amount.usual + 1, "in"

    def _meaning(self, way: _Way, unit: str) -> Meaning | WhyNot:
        """What a way means, or why it means nothing."""
        if way.wrong is not None:
            return way.wrong
        given = way.amount is not None and way.amount.unit is not None
        if UNITS[unit][1] != UNITS[self.expect.unit][1]:
            return "unit"
        size = Quantity(way.amount.value if way.amount else Fraction(0), unit)
        if self.sign is None:
            size = -size if way.typed_sign < 0 else size
            return Meaning(size, way.hair, way.unsure, "typed" if way.typed_sign else "none", given)
        said = sign_of(self.expect.about, way.hints)
        if said == 0 or (way.zero and (said or way.hair)):
            return "contradiction"
        if not size:
            return Meaning(size, way.hair, way.unsure, "zero", given)
        if way.typed_sign:
            if said not in (None, way.typed_sign):
                return "contradiction"
            return Meaning(size if way.typed_sign > 0 else -size, way.hair, way.unsure, "typed", given)
        if said is None:
            return Meaning(size, way.hair, way.unsure, "missing", given)
        return Meaning(size if said > 0 else -size, way.hair, way.unsure, "said", given)


def _distinct(found: list[tuple[int, Meaning]]) -> tuple[tuple[Meaning, ...], int]:
    """Each value once, the most usual first, with the most that was said of it; and how many are no stretch.

    A size without its side gives way to the same one with it.
    """
    usual_ones = [pair for pair in found if pair[0] < RARE] or found
    kept: dict[tuple[Fraction, str], tuple[int, Meaning]] = {}
    for usual, one in sorted(usual_ones, key=lambda pair: _tells(pair[1]), reverse=True):
        key = (one.value.magnitude * 12, "in") if one.value.unit == "ft" else (one.value.magnitude, one.value.unit)
        first, told = kept.get(key, (usual, one))
        kept[key] = (min(first, usual), told)
    sided = {abs(one.value.magnitude) for _, one in kept.values() if one.side not in ("missing", "none")}
    ranked = sorted(
        (pair for pair in kept.values() if pair[1].side != "missing" or abs(pair[1].value.magnitude) not in sided),
        key=lambda pair: pair[0],
    )
    usual = sum(rank < STRETCH for rank, _ in ranked)
    return tuple(one for _, one in ranked), usual


def _tells(meaning: Meaning) -> tuple[bool, bool, bool, bool]:
    return (meaning.side != "missing", meaning.hair != 0, meaning.unsure, meaning.unit_given)


class _Search:
    """Every way to use up one row of words."""

    def __init__(self, reader: Reader, cut: Cut) -> None:
        self.words = cut.words
        self.reader = reader
        self.expect = reader.expect
        self.places = reader.places(cut)
        self._amounts = reader.amounts(cut)
        self._directions = Directions(cut.words, reader.expect.about, reader.sign) if reader.sign else None
        self._named = self.places.words() | reader.sides
        about = reader.expect.about
        self._zero = [table("zero", about)] + ([table("zero", "sided")] if reader.sign else [])
        self._states = [table("state", about), table("good", "words")]

    def ways(self) -> Iterator[_Way]:
        """Each way that reaches the end; raises `TooMany`."""
        stack: list[tuple[int, _Way]] = [(0, _Way(unsure=self.reader.unsure))]
        seen: set[tuple[int, _Way]] = set()
        while stack:
            here = stack.pop()
            if here in seen:
                continue
            seen.add(here)
            self.reader.step()
            at, way = here
            if at == len(self.words):
                if not way.last.endswith("and") and way.last != "sign":
                    yield way
                continue
            stack.extend(self._next(at, way))

    def _next(self, at: int, way: _Way) -> Iterator[tuple[int, _Way]]:
        """Where the way can go on from here."""
        word = self.words[at]
        if way.last == "hint-and":
            yield from self._hints(at, way)
            return
        if way.last == "place-and":
            yield from self._place(at, way)
            return
        if way.last != "sign":
            if word in SEPARATORS:
                yield at + 1, way
            if word == "and" and way.last in ("hint", "place"):
                yield at + 1, replace(way, last=f"{way.last}-and")
            if way.last == "place" and (word == DASH or (word == "-" and self.reader.sign is None)):
                yield at + 1, way
            yield from self._idle(at, way)
            yield from self._place(at, way)
            yield from self._states_at(at, way)
            yield from self._hints(at, way)
            yield from self._sure(at, way)
        yield from self._number(at, way)
        yield from self._hair(at, way)

    def _idle(self, at: int, way: _Way) -> Iterator[tuple[int, _Way]]:
        """Words that mean nothing here."""
        for end, _ in table("around", "anywhere").at(self.words, at):
            yield end, way
        if way.last in ("hint", "place"):
            yield from ((end, way) for end, _ in table("around", "between").at(self.words, at))
        if way.open:
            for end, _ in table("around", "before").at(self.words, at):
                yield end, replace(way, last="")
            for end, _ in table("around", "before-unless-side").at(self.words, at):
                if self._named.isdisjoint(self.words[at:end]):
                    yield end, way
        else:
            yield from ((end, way) for end, _ in table("around", "behind").at(self.words, at))

    def _place(self, at: int, way: _Way) -> Iterator[tuple[int, _Way]]:
        mention = self.places.at(at)
        listed = way.last == "place-and"
        leant = way.last == "leans" and self.words[at] not in ("at", "on", "in")
        if mention is not None and not leant and (mention.marked or way.open):
            again = mention.place in way.places
            if again or listed or not way.places:
                named = way.places if again else (*way.places, mention.place)
                yield mention.end, replace(way, places=named, last="place", doubt=way.doubt or not mention.marked)
        if not way.places:
            for end in self.places.every(at):
                yield end, replace(way, places=self.expect.places, last="place", every=True)

    def _number(self, at: int, way: _Way) -> Iterator[tuple[int, _Way]]:
        if not way.open:
            return
        if not way.typed_sign:
            for end, number in table("sign", "plus", "minus").at(self.words, at):
                yield end, replace(way, typed_sign=1 - 2 * number, last="sign")
        if way.last == "sign" and self.words[at] in ("a", "an"):
            yield at + 1, way
        for amount in self._amounts.at(at):
            yield amount.end, replace(way, amount=amount, last="")
        if way.last != "sign":
            for one in self._zero:
                yield from ((end, replace(way, zero=True, last="")) for end, _ in one.at(self.words, at))

    def _hair(self, at: int, way: _Way) -> Iterator[tuple[int, _Way]]:
        """A hair over or under, before the number or behind it."""
        keys = ("over-before", "under-before") if way.open else ("over-behind", "under-behind")
        ends = [(end, 1 - 2 * number) for end, number in table("hair", *keys).at(self.words, at)]
        last = at + 1 == len(self.words) or self.words[at + 1] in SEPARATORS
        if last and not way.open and self.reader.sign is None and self.words[at] in (DASH, PLUS):
            ends.append((at + 1, 1 if self.words[at] == PLUS else -1))
        for end, hair in ends:
            flush_shy = self.expect.about == "flush" and "shy" in self.words[at:end]
            if flush_shy or (self.reader.sign is not None and self.words[at:end] in (("plus",), ("minus",))):
                continue  # there these words are sides
            if way.hair in (0, hair):
                yield end, replace(way, hair=hair, state=_over(way.state, at, end))
            elif self.reader.explain:
                yield end, replace(way, wrong="contradiction")
        if way.open and way.last != "sign":
            for end, _ in table("hair", "nearly").at(self.words, at):
                yield end, replace(way, hair=-1, unsure=True)
        for end, _ in table("hair", "alone").at(self.words, at):
            yield end, replace(way, state=_over(way.state, at, end))

    def _sure(self, at: int, way: _Way) -> Iterator[tuple[int, _Way]]:
        yield from ((end, replace(way, unsure=True)) for end, _ in table("around", "unsure").at(self.words, at))
        yield from ((end, way) for end, _ in table("around", "exact").at(self.words, at))

    def _states_at(self, at: int, way: _Way) -> Iterator[tuple[int, _Way]]:
        """A state that has no sign, with a number or without."""
        states, good = self._states
        for end, _ in states.at(self.words, at) if way.last != "leans" else ():
            yield end, replace(way, state=_over(way.state, at, end))
        if way.open and way.state is None:
            for end, _ in good.at(self.words, at):
                yield end, replace(way, state=(at, end))

    def _hints(self, at: int, way: _Way) -> Iterator[tuple[int, _Way]]:
        if self._directions is None or len(way.hints) >= HINTS_MOST:
            return
        mention = self.places.at(at)
        for end, hint in self._directions.at(at):
            bare = mention is not None and not hint.strong and hint.kind in ("side", "loose side")
            if bare and mention is not None and mention.marked and self.expect.about != "level":
                continue
            led = bool(way.places) or any(one.kind == "leans" for one in way.hints)
            doubt = way.doubt or (bare and way.open and not led and self.expect.about != "level")
            last = "leans" if hint.kind == "leans" else "hint"
            hints = way.hints if way.hints[-1:] == (hint,) else (*way.hints, hint)
            yield end, replace(way, hints=hints, state=_over(way.state, at, end), last=last, doubt=doubt)
        if way.hints or way.state or way.zero:
            yield from ((end, way) for end, _ in table("against", "words").at(self.words, at))
        if self.reader.explain:
            yield from ((end, replace(way, wrong="side")) for end in self._directions.foreign(at))


def _over(state: tuple[int, int] | None, start: int, end: int) -> tuple[int, int]:
    """The words of a state, with some more."""
    return (min(state[0], start), max(state[1], end)) if state else (start, end)
