"""Numbers as crews type and say them, every one exact, with every amount the words can mean.

From a place in a row of words, each way of reading a number gives the amount and where it ends. What is not consumed is
somebody else's, and in the end nothing may be left over. Words bear several numbers more often than they seem to:

- "thirty six sixteenths" is 36/16 or 30 6/16, "one hundred and one eighth" is 100 1/8 or 101/8;
- "thirty six three sixteenths" is 36 3/16 or 363/16, "one three sixteenths" is 1 3/16 or 13/16;
- "two forty" is 240 or 2.40 (and, in feet and inches, 2 ft 40); "six eight" is 68 (and 6 ft 8);
- "1,250" is 1250 or 1.25.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cache

from guide.talk.tokens import COMMA, DASH
from guide.talk.vocabulary import Words, language, word_set

LARGEST = 99_999
DIGITS_MOST = 6
DENOMINATOR_MOST = 9_999


@dataclass(frozen=True, slots=True)
class Read:
    """One way to read a number: the amount, where it ends, and how it was put."""

    value: Fraction
    end: int
    usual: int = 0
    """0 for what is usually meant; larger is rarer."""
    fraction: bool = False
    """Put as parts of one, without a whole number."""
    typed: bool = False
    """Its last word is in figures."""
    run_on: bool = False
    """A whole number made of two said one after the other ("nine fourteen"), or digit by digit."""
    only: str = ""
    """The unit without which it is no reading."""
    parts: bool = False
    """Has halves, quarters, eighths ... in it, not decimals."""


@cache
def ones() -> Mapping[str, int]:
    """Zero to nineteen."""
    return {word: value for value, word in enumerate(language()["numbers"]["ones"].split())}


@cache
def tens() -> Mapping[str, int]:
    """Twenty to ninety."""
    return {word: 10 * value for value, word in enumerate(language()["numbers"]["tens"].split(), start=2)}


@cache
def _digits() -> Mapping[str, int]:
    zeroes = dict.fromkeys(language()["numbers"]["zeroes"].split(), 0)
    return {**zeroes, **{word: value for word, value in ones().items() if value < 10}}


@cache
def _parts() -> Mapping[Words, tuple[int, bool]]:
    """Name of a part -> how many make one, and whether several are meant."""
    return {tuple(name.split()): (size, name.endswith("s")) for name, size in language()["parts"].items()}


@cache
def number_words() -> frozenset[str]:
    """Every word that a number is made of."""
    numbers = language()["numbers"]
    names = " ".join(str(numbers[key]) for key in ("ones", "tens", "zeroes", "hundred", "thousand", "point", "and"))
    return frozenset(names.split()) | {word for name in _parts() for word in name}


_FIGURE = re.compile(r"[0-9]+")
_DECIMAL = re.compile(r"[0-9]*\.[0-9]+")
_COMMA = re.compile(r"([0-9]+),([0-9]+)")
_GROUPS = re.compile(r"([0-9]{1,3}(?:([.,])[0-9]{3})+)[.,]([0-9]+)")
_SLASH = re.compile(r"([0-9]+)/([0-9]+)")
_MIXED = re.compile(r"([0-9]+)-([0-9]+/[0-9]+)")
_PARTS_OF_ONE = re.compile(r"([0-9]+)th")


class Numbers:
    """The numbers in one utterance; each place is read once."""

    def __init__(self, words: Words, seconds: bool = False) -> None:
        """With `seconds` the words "thirty seconds" are a time and no part of one."""
        self._words = words
        self._seconds = seconds
        self._found: dict[int, tuple[Read, ...]] = {}
        self._whole: dict[int, tuple[Read, ...]] = {}
        self._fractions: dict[int, tuple[Read, ...]] = {}
        numbers = language()["numbers"]
        self._hundred, self._thousand, self._point = numbers["hundred"], numbers["thousand"], numbers["point"]
        self._and, self._articles = numbers["and"], word_set("numbers", "articles")

    def at(self, start: int) -> tuple[Read, ...]:
        """Every number that starts here, the longest first, then the most usual."""
        if start not in self._found:
            ways = (self.whole(start), self.fractions(start), self._decimals(start), self._mixed(start))
            self._found[start] = _distinct(read for way in ways for read in way)
        return self._found[start]

    def whole(self, start: int) -> tuple[Read, ...]:
        """Whole numbers: "36", "thirty six", "nine hundred and fourteen", "nine fourteen", "nine one four"."""
        if start not in self._whole:
            word = self._word(start)
            if _FIGURE.fullmatch(word):
                found = [Read(Fraction(int(word)), start + 1, typed=True)] if len(word) <= DIGITS_MOST else []
            else:
                said = (*self._below_hundred(start), *self._hundreds(start), *self._thousands(start))
                found = [Read(Fraction(value), end) for value, end in said]
                found += [Read(Fraction(value), end, run_on=True) for value, end in self._run_on(start)]
            self._whole[start] = _distinct(found)
        return self._whole[start]

    def fractions(self, start: int) -> tuple[Read, ...]:
        """Parts of one, and more of them: "3/16", "an eighth", "three sixteenths", "half a sixteenth", "36/16"."""
        if start not in self._fractions:
            self._fractions[start] = _distinct(self._fractions_at(start))
        return self._fractions[start]

    def _word(self, at: int) -> str:
        return self._words[at] if 0 <= at < len(self._words) else ""

    def _below_hundred(self, at: int) -> Iterator[tuple[int, int]]:
        word = self._word(at)
        if word in tens():
            yield tens()[word], at + 1
            if 1 <= ones().get(self._word(at + 1), 0) <= 9:
                yield tens()[word] + ones()[self._word(at + 1)], at + 2
        elif word in ones():
            yield ones()[word], at + 1
        elif word in _digits():
            yield 0, at + 1

    def _counts(self, at: int) -> Iterator[tuple[int, int]]:
        """How many hundreds or thousands; "a hundred" and "hundred" are one."""
        yield from ((count, end) for count, end in self._below_hundred(at) if count)
        yield 1, at + 1 if self._word(at) in self._articles else at

    def _hundreds(self, at: int) -> Iterator[tuple[int, int]]:
        for count, end in self._counts(at):
            if self._word(end) == self._hundred:
                yield 100 * count, end + 1
                yield from (
                    (100 * count + rest, last) for rest, last in self._below_hundred(self._linked(end + 1)) if rest
                )

    def _thousands(self, at: int) -> Iterator[tuple[int, int]]:
        heads = [*self._counts(at), *((value, end) for value, end in self._hundreds(at) if value < 1000)]
        for count, end in heads:
            if self._word(end) == self._thousand:
                yield 1000 * count, end + 1
                yield from (
                    (1000 * count + rest, last) for rest, last in self._below_hundred(self._linked(end + 1)) if rest
                )
                yield from ((1000 * count + rest, last) for rest, last in self._hundreds(end + 1) if rest < 1000)

    def _linked(self, at: int) -> int:
        return at + 1 if self._word(at) == self._and else at

    def _run_on(self, at: int) -> Iterator[tuple[int, int]]:
        """Two numbers said one after the other, or digits: "nine fourteen", "twelve oh five", "nine one four"."""
        for first, middle in self._below_hundred(at):
            if first:
                yield from ((100 * first + rest, end) for rest, end in self._below_hundred(middle) if rest >= 10)
                zero, digit = _digits().get(self._word(middle), -1), _digits().get(self._word(middle + 1), 0)
                if zero == 0 and digit and first >= 10:
                    yield 100 * first + digit, middle + 2
        digits = ""
        while len(digits) < DIGITS_MOST and self._word(at) in _digits():
            digits, at = digits + str(_digits()[self._word(at)]), at + 1
            if len(digits) > 1 and digits[0] != "0":
                yield int(digits), at

    def _decimals(self, at: int) -> Iterator[Read]:
        """ "36.5", "36,5", "1,250.5", "thirty six point five", "point one two five"; "two forty" may be 2.40."""
        word = self._word(at)
        if len(word) <= 2 * DIGITS_MOST:
            yield from _typed_decimals(word, at + 1)
        heads = [(0, at), *((int(read.value), read.end) for read in self.whole(at))]
        for head, end in heads:
            if self._word(end) == self._point:
                for digits, last in self._decimal_digits(end + 1):
                    yield Read(Fraction(f"{head}.{digits}"), last)
        for first, middle in self._below_hundred(at):
            for rest, end in self._below_hundred(middle):
                if first and rest >= 10:
                    yield Read(first + Fraction(rest, 100), end, usual=2, run_on=True)

    def _decimal_digits(self, at: int) -> Iterator[tuple[str, int]]:
        """Digits behind the point: "one two five", "twenty five", "one twenty five", and each shorter run of them."""
        digits = ""
        while len(digits) < DIGITS_MOST:
            word = self._word(at)
            if word in _digits():
                digits, at = digits + str(_digits()[word]), at + 1
            elif word in tens() or word in ones():
                longest, at = max(self._below_hundred(at))  # the longer is the larger
                digits += str(longest)
            elif _FIGURE.fullmatch(word):
                digits, at = digits + word, at + 1
            else:
                return
            yield digits, at

    def _fractions_at(self, at: int) -> Iterator[Read]:
        typed = _slash(self._word(at))
        if typed is not None:
            yield Read(typed, at + 1, fraction=True, parts=True, typed=True)
        if self._word(at) in self._articles:
            yield from (
                Read(value, at + 2, fraction=True, parts=True, typed=True)
                for value in [_slash(self._word(at + 1))]
                if value
            )
            yield from (
                Read(Fraction(1, size), end, fraction=True, parts=True)
                for size, end, many in self._part(at + 1)
                if not many
            )
        for size, end, many in self._part(at):
            if not many:
                yield Read(Fraction(1, size), end, fraction=True, parts=True)
                if size == 2 and self._word(end) in self._articles:
                    yield from (
                        Read(Fraction(1, 2 * part), last, fraction=True, parts=True)
                        for part, last, more in self._part(end + 1)
                        if not more
                    )
        for read in self.whole(at):
            for size, end, many in self._part(read.end):
                count = int(read.value)
                if count and not (size == 2 and not many and count > 1) and (not read.run_on or size > count >= 10):
                    usual = 3 if read.run_on else 0 if count < size else 2
                    yield Read(Fraction(count, size), end, usual, fraction=True, parts=True)
        for first, middle in self._below_hundred(at):
            digit = ones().get(self._word(middle), 0)
            if first > 20 and first % 10 and 1 <= digit <= 9:
                for size, end, _ in self._part(middle + 1):
                    yield Read(Fraction(10 * first + digit, size), end, 3, fraction=True, parts=True)

    def _part(self, at: int) -> Iterator[tuple[int, int, bool]]:
        """Names of parts of one from here: how many make one, where it ends, whether it is said of several."""
        for length in (1, 2):
            words = self._words[at : at + length]
            found = _parts().get(words) if len(words) == length else None
            ends_a_longer_one = length == 1 and at and self._words[at - 1 : at + 1] in _parts()
            if found is not None and not ends_a_longer_one and not (self._seconds and length == 2):
                yield found[0], at + length, found[1]
        of_one = _PARTS_OF_ONE.fullmatch(self._word(at))
        if of_one and (int(of_one[1]), True) in _parts().values():
            yield int(of_one[1]), at + 1, False

    def _mixed(self, at: int) -> Iterator[Read]:
        """ "thirty six and three sixteenths", "36 3/16", "36-3/16", "eighty two five eighths"."""
        glued = _MIXED.fullmatch(self._word(at))
        if glued:
            yield from _with_part(int(glued[1]), glued[2], at + 1)
        for head in self.whole(at):
            start = head.end
            if head.typed and self._word(start) in (DASH, "-"):
                yield from _with_part(int(head.value), self._word(start + 1), start + 2)
                yield from _with_part(int(head.value), self._word(start + 1), start + 2, less=True)
            comma = self._word(start) == COMMA and self._word(start + 1) == self._and
            linked = self._word(start + comma) == self._and
            bare = [(size, many) for size, _, many in self._part(start)]
            if bare and not all(self._may_be_bare(head, start, size, many) for size, many in bare):
                continue
            rare = not linked and (self._word(start - 1) in tens() or any(size > 2 for size, _ in bare))
            for part in self.fractions(start + comma + linked):
                if part.value < 1:
                    usual = max(part.usual, int(rare))
                    yield Read(head.value + part.value, part.end, usual, typed=part.typed, parts=True)

    def _may_be_bare(self, head: Read, start: int, size: int, many: bool) -> bool:
        """Whether a half or a quarter may follow a whole number without "and" and "a".

        "Thirty six half" is 36 1/2 and "six quarter" may be 6 1/4, but "one half" is 1/2 and "three quarter" 3/4.
        """
        if many or ones().get(self._word(start - 1)) == 1:
            return False
        return (size == 2 and head.value > 1) or (size == 4 and head.value >= 4)

    def feet_first(self, at: int) -> tuple[int, int] | None:
        """A number of feet said without the word, one to nineteen, and where it ends."""
        feet = ones().get(self._word(at))
        return (feet, at + 1) if feet else None

    def inches_after(self, at: int) -> Iterator[Read]:
        """Inches after feet said without the word: "eight", "eight and a quarter", "oh", "forty"."""
        word = self._word(at)
        if word not in ones() and word not in tens() and word not in _digits():
            return
        for read in self.at(at):
            whole = read.value // 1
            small = whole < 12 or (whole < 100 and read.value.denominator == 1)
            if small and not (read.fraction or read.typed or read.run_on):
                yield read


def _typed_decimals(word: str, end: int) -> Iterator[Read]:
    if _DECIMAL.fullmatch(word):
        yield Read(Fraction(word), end, typed=True)
        whole, _, digits = word.partition(".")
        if len(digits) == 3 and 1 <= len(whole) <= 3 and whole[0] != "0":
            yield Read(Fraction(int(whole + digits)), end, 2, typed=True, only="mm")
    elif found := _COMMA.fullmatch(word):
        thousands = len(found[2]) == 3 and found[1][0] != "0" and len(found[1]) <= 3
        yield Read(Fraction(f"{found[1]}.{found[2]}"), end, 1 if thousands else 0, typed=True)
        if thousands:
            yield Read(Fraction(int(found[1] + found[2])), end, typed=True)
    elif found := _GROUPS.fullmatch(word):
        yield Read(Fraction(f"{found[1].replace(found[2], '')}.{found[3]}"), end, typed=True)


def _with_part(whole: int, part: str, end: int, less: bool = False) -> Iterator[Read]:
    """A whole number with a fraction in figures; "36 - 3/16" may also be that much less."""
    fraction = _slash(part)
    if fraction is not None and fraction < 1:
        value = whole - fraction if less else whole + fraction
        yield Read(value, end, 3 if less else 0, typed=True, parts=True)


def _slash(word: str) -> Fraction | None:
    """A fraction in figures; None for anything else, and for one that divides by zero."""
    found = _SLASH.fullmatch(word)
    if found is None or not 0 < int(found[2]) <= DENOMINATOR_MOST or int(found[1]) > LARGEST:
        return None
    return Fraction(int(found[1]), int(found[2]))


def _distinct(reads: Iterable[Read]) -> tuple[Read, ...]:
    """Each amount once for each end, in its most usual way; the longest first."""
    found: dict[tuple[Fraction, int, str], Read] = {}
    for read in reads:
        key = (read.value, read.end, read.only)
        if read.value <= LARGEST and (key not in found or read.usual < found[key].usual):
            found[key] = read
    return tuple(sorted(found.values(), key=lambda read: (-read.end, read.usual)))
