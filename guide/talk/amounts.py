"""Amounts: a number with its unit, or two figures that make one ("six foot eight and a quarter", "an inch and a half").

Each way of reading an amount from a place gives its value, its unit (None where a bare number is said), and where it
ends. Feet may go unsaid: "six eight" may be 6 ft 8 in, as doors are called; "6-8" typed is nothing else.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from guide.quantity import LENGTH, TIME, UNITS, unit_named
from guide.talk.numbers import Numbers, Read
from guide.talk.tokens import COMMA, DASH
from guide.talk.vocabulary import Words, table, word_set

STRETCH = 3
"""How usual an amount is that words bear only if they are stretched: it is never taken unasked beside another."""
RARE = 9
"""How usual an amount is that is meant only if nothing else can be."""
LONGEST_UNIT = 3
"""Words in the name of a unit ("mm" is one, "cubic inches" two)."""
_OF = frozenset({"of"})
_FEET_INCHES = re.compile(r"([0-9]{1,2})-([0-9]{1,2})")
_ONE = Read(Fraction(1), 0)


@dataclass(frozen=True, slots=True)
class Amount:
    """One way to read an amount."""

    value: Fraction
    unit: str | None
    """None when none was said."""
    end: int
    usual: int = 0
    fraction: bool = False
    """Put as parts of one, without a whole number."""
    parts: bool = False
    """Has halves, quarters, eighths ... in it, not decimals."""
    typed: bool = False
    """Its last word is in figures."""


class Amounts:
    """The amounts in one utterance, for a reading in `unit`; each place is read once."""

    def __init__(self, words: Words, unit: str, one_from_another: bool, feet_unsaid: bool, in_is_a_side: bool) -> None:
        """`one_from_another`: "thirty six less a sixteenth"; `in_is_a_side` keeps a spoken "in" from being inches."""
        self._words = words
        self._unit_asked = unit
        dimension = UNITS[unit][1]
        self._numbers = Numbers(words, seconds=dimension == TIME)
        self._one_from_another = one_from_another
        self._feet_unsaid = feet_unsaid and dimension == LENGTH
        self._in_is_a_side = in_is_a_side
        self._articles, self._and = word_set("numbers", "articles"), "and"
        self._found: dict[int, tuple[Amount, ...]] = {}

    def at(self, start: int) -> tuple[Amount, ...]:
        """Every amount that starts here."""
        if start not in self._found:
            simple = tuple(self._simple(start))
            more = tuple(self._changed(simple)) if self._one_from_another else ()
            best: dict[tuple[Fraction, str | None, int], Amount] = {}
            for amount in (*simple, *more):
                key = (amount.value, amount.unit, amount.end)
                if key not in best or amount.usual < best[key].usual:
                    best[key] = amount
            self._found[start] = tuple(best.values())
        return self._found[start]

    def _word(self, at: int) -> str:
        return self._words[at] if at < len(self._words) else ""

    def _simple(self, start: int) -> Iterator[Amount]:
        for read in self._numbers.at(start):
            units = list(self._unit(read))
            before_a_place = self._word(read.end) == "in" and self._word(read.end + 1) in ("the", "a")
            inches = read.typed and bool(units) and self._word(read.end) == "in" and not before_a_place
            if not read.only and not inches:
                yield Amount(read.value, None, read.end, read.usual, read.fraction, read.parts, read.typed)
            for unit, end in units:
                if read.only and read.only != unit:
                    continue
                usual = RARE if before_a_place else read.usual
                yield Amount(read.value, unit, end, usual, read.fraction)
                yield from self._and_more(read, unit, end)
        yield from self._one_unit(start)
        if self._feet_unsaid:
            yield from self._without_feet(start)

    def _unit(self, read: Read) -> Iterator[tuple[str, int]]:
        """The unit behind a number, and where it ends; "of an inch" and "an inch" behind a fraction."""
        at = read.end
        if read.fraction:
            of = at + 1 if self._word(at) in _OF else at
            if self._word(of) in self._articles:
                at = of + 1
        for length in range(LONGEST_UNIT, 0, -1):
            words = self._words[at : at + length]
            unit = unit_named(" ".join(words)) if len(words) == length else None
            if unit is not None:
                if words != ("in",) or read.typed or not self._in_is_a_side:
                    yield unit, at + length
                return

    def _and_more(self, head: Read, unit: str, end: int) -> Iterator[Amount]:
        """What a second figure adds: inches to feet, a part to a whole, centimetres to metres."""
        if head.value.denominator != 1:
            return
        comma = self._word(end) == COMMA
        start = end + comma
        linked = self._word(start) == self._and
        start += linked or self._word(start) in (DASH, "-")
        for part in self._numbers.at(start):
            units = [*self._unit(part), (None, part.end)]
            for again, last in units:
                yield from self._added(head, unit, part, again, linked, last)

    def _added(self, head: Read, unit: str, part: Read, again: str | None, linked: bool, end: int) -> Iterator[Amount]:
        usual = max(head.usual, part.usual)
        if part.only:
            return
        if unit == "ft" and part.value < 12 and again in (None, "in") and not part.run_on:
            yield Amount(12 * head.value + part.value, "in", end, usual)
        if part.value < 1 and again in (None, unit) and (linked or (unit == "in" and part.fraction)):
            yield Amount(head.value + part.value, unit, end, max(usual, int(unit == "ft")))
        if unit == "m" and part.value.denominator == 1:
            if again in ("cm", "mm") and part.value < {"cm": 100, "mm": 1000}[again]:
                yield Amount(head.value + part.value / {"cm": 100, "mm": 1000}[again], "m", end, usual)
            if again is None and not linked and 10 <= part.value < 1000:
                yield Amount(head.value + part.value / (100 if part.value < 100 else 1000), "m", end, usual)

    def _one_unit(self, at: int) -> Iterator[Amount]:
        """ "An inch", "a foot", "an inch and a quarter", "inch and a quarter"."""
        bare = self._word(at) not in self._articles
        start = at if bare else at + 1
        for unit, end in self._unit(Read(Fraction(1), start)):
            if self._word(start).isalpha() and len(self._word(start)) > 2:
                if not bare:
                    yield Amount(Fraction(1), unit, end)
                if not bare or self._word(end) == self._and:
                    yield from self._and_more(_ONE, unit, end)

    def _without_feet(self, at: int) -> Iterator[Amount]:
        """ "Six eight and a quarter" as 6 ft 8 1/4 in, "three oh", "two forty"; "6-8 1/4" typed."""
        typed = _FEET_INCHES.fullmatch(self._word(at))
        if typed and 0 < int(typed[1]) <= 20 and int(typed[2]) < 12:
            whole = Fraction(12 * int(typed[1]) + int(typed[2]))
            yield Amount(whole, "in", at + 1)
            for part in self._numbers.fractions(at + 1):
                if part.value < 1:
                    last = next((end for unit, end in self._unit(part) if unit == "in"), part.end)
                    yield Amount(whole + part.value, "in", last)
        unsaid = self._numbers.feet_first(at)
        if unsaid is not None:
            for part in self._numbers.inches_after(unsaid[1]):
                rare = 3 if part.value >= 12 else 1
                yield Amount(12 * unsaid[0] + part.value, "in", part.end, max(part.usual, rare))

    def _changed(self, simple: tuple[Amount, ...]) -> Iterator[Amount]:
        """ "Thirty six less a sixteenth", "a sixteenth shy of thirty six", "two foot less a quarter"."""
        for one in simple:
            for end, more in table("hair", "less", "more").at(self._words, one.end):
                for part in self._simple(end):
                    yield from self._with_fraction(one, part, bool(more), part.end)
            for end, more in table("hair", "shy-of", "past").at(self._words, one.end):
                for whole in self._simple(end):
                    yield from self._with_fraction(whole, one, bool(more), whole.end)

    def _with_fraction(self, whole: Amount, part: Amount, more: bool, end: int) -> Iterator[Amount]:
        """A fraction put to an amount or taken from it. Without its unit it is of an inch, or half a millimetre."""
        unit = whole.unit or self._unit_asked
        feet = unit == "ft"
        value, parts_of = (12 * whole.value, "in") if feet else (whole.value, unit)
        bare = part.unit is None and (parts_of == "in" or (parts_of == "mm" and part.value.denominator == 2))
        if part.fraction and part.value < value and (bare or part.unit == parts_of):
            value += part.value if more else -part.value
            yield Amount(value, "in" if feet else whole.unit, end, max(whole.usual, part.usual))
