"""Numbers as crews type and say them, every one exact, with every meaning they can bear.

A number is read from a list of tokens. Each grammar below returns every way to read a prefix of the tokens: the
amount and how many tokens it took. What is not consumed is somebody else's, and in the end nothing may be left over.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

ONES = {
    word: value
    for value, word in enumerate(
        [
            "zero",
            "one",
            "two",
            "three",
            "four",
            "five",
            "six",
            "seven",
            "eight",
            "nine",
            "ten",
            "eleven",
            "twelve",
            "thirteen",
            "fourteen",
            "fifteen",
            "sixteen",
            "seventeen",
            "eighteen",
            "nineteen",
        ]
    )
}
TENS = {
    word: 10 * value
    for value, word in enumerate(
        ["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"], start=2
    )
}
TENS["fourty"] = 40
ZEROES = {"oh": 0, "o": 0, "nought": 0, "naught": 0, "nil": 0}
PARTS = {
    "half": 2,
    "halves": 2,
    "third": 3,
    "thirds": 3,
    "quarter": 4,
    "quarters": 4,
    "fourth": 4,
    "fourths": 4,
    "eighth": 8,
    "eighths": 8,
    "eights": 8,
    "tenth": 10,
    "tenths": 10,
    "sixteenth": 16,
    "sixteenths": 16,
    "16th": 16,
    "16ths": 16,
    "8th": 8,
    "8ths": 8,
    "32nd": 32,
    "32nds": 32,
    "64th": 64,
    "64ths": 64,
}
LONG_PARTS = {
    ("thirty", "second"): 32,
    ("thirty", "seconds"): 32,
    ("sixty", "fourth"): 64,
    ("sixty", "fourths"): 64,
}
GLYPHS = {
    "½": "1/2",
    "⅓": "1/3",
    "⅔": "2/3",
    "¼": "1/4",
    "¾": "3/4",
    "⅛": "1/8",
    "⅜": "3/8",
    "⅝": "5/8",
    "⅞": "7/8",
    "⅒": "1/10",
}
LARGEST = 99_999


@dataclass(frozen=True, slots=True)
class Read:
    """One way to read a prefix: the amount, where it ends, and how it was written."""

    value: Fraction
    end: int
    fraction: bool = False
    """Only a fraction: less than one, said as parts."""
    spoken: bool = False
    usual: int = 0
    """0 for the usual meaning; larger is rarer."""


def whole_words(tokens: Sequence[str], at: int) -> Iterator[Read]:
    """Whole numbers in words from `at`: "thirty six", "nine hundred and fourteen", "nineteen hundred", "two forty"."""
    for value, end in _below_hundred(tokens, at):
        yield Read(Fraction(value), end, spoken=True)
    yield from _hundreds(tokens, at)
    yield from _thousands(tokens, at)


def _below_hundred(tokens: Sequence[str], at: int) -> Iterator[tuple[int, int]]:
    if at >= len(tokens):
        return
    word = tokens[at]
    if word in TENS:
        yield TENS[word], at + 1
        if at + 1 < len(tokens) and 1 <= ONES.get(tokens[at + 1], 0) <= 9:
            yield TENS[word] + ONES[tokens[at + 1]], at + 2
    elif word in ONES:
        yield ONES[word], at + 1
    elif word in ZEROES:
        yield 0, at + 1


def _hundreds(tokens: Sequence[str], at: int) -> Iterator[Read]:
    for count, end in [*_below_hundred(tokens, at), *([(1, at + 1)] if _word(tokens, at) == "a" else [])]:
        if count and _word(tokens, end) == "hundred":
            yield Read(Fraction(100 * count), end + 1, spoken=True)
            start = end + 2 if _word(tokens, end + 1) == "and" else end + 1
            for rest, last in _below_hundred(tokens, start):
                if rest:
                    yield Read(Fraction(100 * count + rest), last, spoken=True)


def _thousands(tokens: Sequence[str], at: int) -> Iterator[Read]:
    heads = [*_below_hundred(tokens, at), *((int(r.value), r.end) for r in _hundreds(tokens, at))]
    if _word(tokens, at) == "a":
        heads.append((1, at + 1))
    for count, end in heads:
        if not count or count >= 1000 or _word(tokens, end) != "thousand":
            continue
        yield Read(Fraction(1000 * count), end + 1, spoken=True)
        start = end + 2 if _word(tokens, end + 1) == "and" else end + 1
        for rest, last in _below_hundred(tokens, start):
            if rest:
                yield Read(Fraction(1000 * count + rest), last, spoken=True)
        for read in _hundreds(tokens, end + 1):
            if read.value < 1000:
                yield Read(1000 * count + read.value, read.end, spoken=True)


def _word(tokens: Sequence[str], at: int) -> str:
    return tokens[at] if at < len(tokens) else ""


def decimal_words(tokens: Sequence[str], at: int) -> Iterator[Read]:
    """ "thirty six point five", "point one two five", "oh point five"."""
    heads = [Read(Fraction(0), at, spoken=True), *whole_words(tokens, at)]
    for head in heads:
        if _word(tokens, head.end) != "point":
            continue
        digits, end = "", head.end + 1
        while end < len(tokens) and len(digits) < 9:
            word = tokens[end]
            digit = ONES.get(word, ZEROES.get(word, -1))
            if not 0 <= digit <= 9:
                break
            digits, end = digits + str(digit), end + 1
        if digits:
            yield Read(head.value + Fraction(int(digits), 10 ** len(digits)), end, spoken=True)
        for value, last in _below_hundred(tokens, head.end + 1):
            if value >= 10:
                yield Read(head.value + Fraction(value, 100), last, spoken=True)


def part_words(tokens: Sequence[str], at: int) -> Iterator[Read]:
    """Fractions in words: "a half", "three sixteenths", "one thirty second", "an eighth of an inch" (less the unit)."""
    counts: list[tuple[int, int]] = [(value, end) for value, end in _below_hundred(tokens, at) if value]
    if _word(tokens, at) in ("a", "an"):
        counts.append((1, at + 1))
    counts.append((1, at))
    for count, end in counts:
        for size, last in _part(tokens, end):
            yield Read(Fraction(count, size), last, fraction=count < size, spoken=True, usual=0 if count < size else 1)


def _part(tokens: Sequence[str], at: int) -> Iterator[tuple[int, int]]:
    if _word(tokens, at) in PARTS:
        yield PARTS[tokens[at]], at + 1
    pair = (_word(tokens, at), _word(tokens, at + 1))
    if pair in LONG_PARTS:
        yield LONG_PARTS[pair], at + 2


def mixed_words(tokens: Sequence[str], at: int) -> Iterator[Read]:
    """ "thirty six and three sixteenths", "eighty two five eighths", and the other things such words can be."""
    for head in whole_words(tokens, at):
        linked = _word(tokens, head.end) == "and"
        start = head.end + 1 if linked else head.end
        for part in part_words(tokens, start):
            counted = (
                _word(tokens, start) not in PARTS and (_word(tokens, start), _word(tokens, start + 1)) not in LONG_PARTS
            )
            if part.value < 1 and (counted or linked):
                yield Read(head.value + part.value, part.end, spoken=True)
    yield from _hundred_over(tokens, at)


def _hundred_over(tokens: Sequence[str], at: int) -> Iterator[Read]:
    """ "one hundred and one eighth" may be 101 eighths, "thirty six three sixteenths" 363 sixteenths."""
    for head in whole_words(tokens, at):
        for size, last in _part(tokens, head.end):
            if head.value >= size and head.end - at > 1:
                yield Read(head.value / size, last, spoken=True, usual=2)
        for unit, end in _below_hundred(tokens, head.end):
            if not 1 <= unit <= 9 or head.value < 10 or head.value >= 100:
                continue
            for size, last in _part(tokens, end):
                if head.value % 10:
                    yield Read((head.value * 10 + unit) / size, last, spoken=True, usual=3)


def tens_split(tokens: Sequence[str], at: int) -> Iterator[Read]:
    """ "thirty six sixteenths" may be 30 6/16, "twenty one eighths" 20 1/8."""
    if _word(tokens, at) in TENS and 1 <= ONES.get(_word(tokens, at + 1), 0) <= 9:
        for size, last in _part(tokens, at + 2):
            count = ONES[tokens[at + 1]]
            if count < size:
                yield Read(TENS[tokens[at]] + Fraction(count, size), last, spoken=True, usual=1)


def run_on(tokens: Sequence[str], at: int) -> Iterator[Read]:
    """ "two forty" is 240, 2.40 or (elsewhere) 2 ft 40; "nine fourteen" is 914."""
    first = _word(tokens, at)
    if not 1 <= ONES.get(first, 0) <= 19:
        return
    for value, end in _below_hundred(tokens, at + 1):
        if value >= 10:
            yield Read(Fraction(100 * ONES[first] + value), end, spoken=True)
            yield Read(ONES[first] + Fraction(value, 100), end, spoken=True, usual=2)
    if _word(tokens, at + 1) in ZEROES and 1 <= ONES.get(_word(tokens, at + 2), 0) <= 9:
        yield Read(Fraction(100 * ONES[first] + ONES[tokens[at + 2]]), at + 3, spoken=True)


_INTEGER = re.compile(r"\d{1,6}")
_DECIMAL = re.compile(r"\d{0,6}\.\d{1,6}")
_COMMA = re.compile(r"(\d{1,6}),(\d{1,6})")
_SLASH = re.compile(r"(\d{1,4})/(\d{1,4})")
_DASH = re.compile(r"(\d{1,5})-(\d{1,4})/(\d{1,4})")


class ZeroDenominator(ValueError):
    """A fraction with nothing below its line."""


def figures(tokens: Sequence[str], at: int) -> Iterator[Read]:
    """Typed numbers: "36", "36 3/16", "36-3/16", ".125", "36,5", "1,250", "36 and 3/16"."""
    word = _word(tokens, at)
    if _INTEGER.fullmatch(word):
        value = Fraction(int(word))
        yield Read(value, at + 1)
        start = at + 2 if _word(tokens, at + 1) == "and" else at + 1
        part = _slash(_word(tokens, start))
        if part is not None and part < 1:
            yield Read(value + part, start + 1)
        if start == at + 2:
            for spoken in part_words(tokens, start):
                if spoken.value < 1:
                    yield Read(value + spoken.value, spoken.end, spoken=True)
        elif _word(tokens, at + 1) in PARTS:
            yield from _counted(value, tokens, at + 1)
        else:
            for spoken in part_words(tokens, at + 1):
                if spoken.value < 1 and spoken.end > at + 2:
                    yield Read(value + spoken.value, spoken.end, spoken=True)
    elif _DECIMAL.fullmatch(word):
        yield Read(Fraction(word), at + 1)
    elif found := _COMMA.fullmatch(word):
        yield Read(Fraction(f"{found[1]}.{found[2]}"), at + 1)
        if len(found[2]) == 3 and found[1] != "0" and len(found[1]) <= 3:
            yield Read(Fraction(int(found[1] + found[2])), at + 1)
    elif found := _DASH.fullmatch(word):
        part = _slash(f"{found[2]}/{found[3]}")
        if part is not None and part < 1:
            yield Read(int(found[1]) + part, at + 1)
    else:
        part = _slash(word)
        if part is not None:
            yield Read(part, at + 1, fraction=part < 1)


def _counted(count: Fraction, tokens: Sequence[str], at: int) -> Iterator[Read]:
    for size, last in _part(tokens, at):
        yield Read(count / size, last, fraction=count < size, usual=0 if count < size else 1)


def _slash(word: str) -> Fraction | None:
    found = _SLASH.fullmatch(word)
    if found is None:
        return None
    if int(found[2]) == 0:
        raise ZeroDenominator(word)
    return Fraction(int(found[1]), int(found[2]))


def numbers(tokens: Sequence[str], at: int) -> list[Read]:
    """Every way to read a number from `at`, the longest first, each amount once for each length."""
    ways = (figures, mixed_words, part_words, decimal_words, whole_words, tens_split, run_on)
    found: dict[tuple[Fraction, int], Read] = {}
    for way in ways:
        for read in way(tokens, at):
            if read.value <= LARGEST and read.end > at:
                key = (read.value, read.end)
                if key not in found or read.usual < found[key].usual:
                    found[key] = read
    return sorted(found.values(), key=lambda read: (-read.end, read.usual))
