"""Amounts as crews say them, as a graph of the pieces in which the model writes them.

The names of numbers, parts and units, and what stands between them, are the reader's own (`guide.talk`); the graph only
says in which order they may come. What it lets through is read by the reader afterwards, which has the last word.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Iterator, Mapping
from functools import cache
from importlib.resources import files
from typing import Any

from guide.quantity import LENGTH, SPELLINGS, UNITS
from guide.talk.numbers import ones, tens
from guide.talk.say import whole
from guide.talk.vocabulary import language
from guide.voice.embedded.automaton import Graph

FEET_MOST = 20
UNSAID_MOST = 12
"""Feet that may go without the word: from 13 on a teen would stand where a ten was meant ("seventeen nine", 79)."""
_NUMERATORS = {2: 1, 4: 3, 8: 7, 16: 15, 32: 31, 64: 63}
"""Parts that are written in figures, and how many of each."""
_OVER = {8: 99, 16: 99}
"""Parts of which more than one whole may be said: "thirty six sixteenths"."""
_SLIPS = (4, 8, 16, 32)
"""Parts whose slash may be left out behind "and": "36 and 58"."""


@cache
def spelling() -> Mapping[str, Any]:
    """How the model writes what it hears, by word."""
    return tomllib.loads(files("guide.voice.embedded").joinpath("spelling.toml").read_text(encoding="utf-8"))


@cache
def other_spellings() -> Mapping[str, tuple[str, ...]]:
    """Word -> what the model, or the crew, writes for it."""
    found: dict[str, list[str]] = {}
    for word, others in spelling()["words"].items():
        found.setdefault(word, []).extend(others)
    for other, word in language()["spelling"].items():
        if other.isalpha():
            found.setdefault(word, []).append(other)
    return {word: tuple(dict.fromkeys(others)) for word, others in found.items()}


class Amounts:
    """Builds graphs of amounts between two places."""

    def __init__(self, graph: Graph) -> None:
        self.graph = graph
        numbers = language()["numbers"]
        self._ones = {value: word for word, value in ones().items()}
        self._zeroes = (self._ones[0], *numbers["zeroes"].split())
        self._hundred, self._thousand = numbers["hundred"], numbers["thousand"]
        self._point, self._and = numbers["point"], numbers["and"]
        self._articles = numbers["articles"].split()
        self._parts: dict[int, tuple[str, str]] = {}
        for name, size in language()["parts"].items():
            one, many = self._parts.get(size, ("", ""))
            self._parts[size] = (one, many or name) if name.endswith("s") else (one or name, many)
        self._units = _units()

    def word(self, start: int, word: str, end: int) -> None:
        """A word, in every way the model writes it."""
        self.graph.text(start, word, end)
        for other in other_spellings().get(word, ()):
            self.graph.text(start, other, end, said=word)

    def phrase(self, start: int, phrase: str, end: int) -> None:
        """Words one after the other, contracted where English contracts them."""
        self._words(start, phrase.split(), end)

    def _words(self, start: int, words: list[str], end: int) -> None:
        at = start
        for i, word in enumerate(words):
            there = end if i + 1 == len(words) else self.graph.place()
            self.word(at, word, there)
            for short in _shortened(word, words[i + 1] if i + 1 < len(words) else ""):
                after = end if i + 2 == len(words) else self.graph.place()
                self.graph.text(at, short, after, said=f"{word} {words[i + 1]}")
                if after != end:
                    self._words(after, words[i + 2 :], end)
            at = there

    def phrases(self, start: int, phrases: Iterable[str], end: int) -> None:
        """Each of the phrases."""
        for phrase in phrases:
            self.phrase(start, phrase, end)

    def counted(self, start: int, phrase: str, end: int) -> None:
        """Words one after the other, numbers below a hundred and which in a row also in figures."""
        *before, last = phrase.split()
        for word in before:
            there = self.graph.place()
            self._counted(start, word, there)
            start = there
        self._counted(start, last, end)

    def _counted(self, start: int, word: str, end: int) -> None:
        self.word(start, word, end)
        value = {**ones(), **tens()}.get(word)
        if value is not None:
            self.graph.text(start, str(value), end, said=word)
        row = language()["choices"]["ordinals"].split()
        if word in row:
            self.graph.text(start, _in_a_row(row.index(word) + 1), end, said=word)

    def below_hundred(self, start: int, end: int, low: int = 1, high: int = 99) -> None:
        """A whole number from `low` to `high` in words or figures."""
        for value in range(low, high + 1):
            self.graph.text(start, str(value), end, said=whole(value))
        for value in range(low, min(high, 19) + 1):
            self.word(start, self._ones[value], end)
        for ten, value in tens().items():
            if value <= high:
                behind = self.graph.place()
                self.graph.text(start, ten, behind)
                if value >= low:
                    self.graph.skip(behind, end)
                for one in range(1, min(9, high - value) + 1):
                    if value + one >= low:
                        self.word(behind, self._ones[one], end)

    def whole(self, start: int, end: int) -> None:
        """A whole number to 9,999: in words, in figures, digit by digit, as two numbers run together."""
        place, graph = self.graph.place, self.graph
        self.below_hundred(start, end)
        for zero in self._zeroes[:2]:
            self.word(start, zero, end)
        count, hundreds, thousands = place(), place(), place()
        self.below_hundred(start, count)
        for article in self._articles[:1]:
            self.word(start, article, count)
        self.word(count, self._hundred, hundreds)
        self._rest(hundreds, end)
        self.word(count, self._thousand, thousands)
        self._rest(thousands, end)
        more = place()
        self.below_hundred(thousands, more, high=9)
        more_hundreds = place()
        self.word(more, self._hundred, more_hundreds)
        self._rest(more_hundreds, end)
        self._in_figures(start, end)
        second = place()
        self.below_hundred(start, second)
        self.below_hundred(second, end, low=10)
        zero = place()
        self.word(second, self._zeroes[1], zero)
        self.below_hundred(zero, end, high=9)
        first, digits = place(), place()
        self._digit(start, first)
        self._digit(first, digits)
        self._digit(digits, digits)
        graph.skip(digits, end)

    def _rest(self, start: int, end: int) -> None:
        """Nothing, or a number below a hundred with or without "and"."""
        self.graph.skip(start, end)
        linked = self.graph.place()
        self.graph.skip(start, linked)
        self.word(start, self._and, linked)
        self.below_hundred(linked, end)

    def _digit(self, start: int, end: int) -> None:
        for value in range(1, 10):
            self.word(start, self._ones[value], end)
            self.graph.text(start, str(value), end, said=self._ones[value])
        for zero in self._zeroes[:2]:
            self.word(start, zero, end)

    def _in_figures(self, start: int, end: int) -> None:
        """100 to 9,999 in figures."""
        tail, after_thousand = self.graph.place(), self.graph.place()
        for value in range(100):
            self.graph.text(tail, f"{value:02}", end, said=whole(value) if value else "", glued=True)
        for digit in range(1, 10):
            self.graph.text(start, str(digit), tail, said=f"{whole(digit)} {self._hundred}")
            for comma in ("", ","):
                self.graph.text(start, f"{digit}{comma}", after_thousand, said=f"{whole(digit)} {self._thousand}")
        for digit in range(10):
            said = f"{whole(digit)} {self._hundred}" if digit else ""
            self.graph.text(after_thousand, str(digit), tail, said=said, glued=True)

    def fraction(self, start: int, end: int, slips: bool = False) -> None:
        """Parts of one: "an eighth", "three sixteenths", "3/16"; with `slips` also "316" for three sixteenths."""
        article, count = self.graph.place(), self.graph.place()
        for word in self._articles:
            self.word(start, word, article)
        self.below_hundred(start, count)
        for size, (one, many) in self._parts.items():
            shown = spelling()["parts"].get(str(size), ())
            for name in dict.fromkeys((one, many, *shown)):
                self.graph.text(article, name, end, said=one)
                self.graph.text(count, name, end, said=name if name in (one, many) else many or one)
            if size in (2, 4):
                self.graph.text(start, one, end)
            if size == 2:
                self._half_of(start, end)
        for size, most in _NUMERATORS.items():
            for value in range(1, _OVER.get(size, most) + 1):
                said = self._said(value, size)
                for figures in (f"{value}/{size}", f"{value}/{size}th", f"{value}/{size}ths"):
                    self.graph.text(start, figures, end, said=said)
        if slips:
            self._slips(start, end)

    def _half_of(self, start: int, end: int) -> None:
        """ "Half a sixteenth"."""
        of = self.graph.place()
        one = self._parts[2][0]
        self.graph.text(start, f"{one} a", of)
        for size, (part, _) in self._parts.items():
            if size > 2:
                self.graph.text(of, part, end)

    def _said(self, value: int, size: int) -> str:
        one, many = self._parts[size]
        return f"{whole(value)} {one if value == 1 else many}"

    def _slips(self, start: int, end: int) -> None:
        for size in _SLIPS:
            for value in range(1, size, 2):
                for figures in (f"{value}{size}", f"{value} {size}", f"{value}, {size}", f"{value}-{size}"):
                    self.graph.text(start, figures, end, said=self._said(value, size))

    def length(self, start: int, end: int) -> None:
        """An amount of length with its unit, if it is said: every way of `Numbers` and `Amounts` of the reader."""
        place, word = self.graph.place, self.word
        head, bare, fraction = place(), place(), place()
        self.whole(start, head)
        self.graph.skip(head, bare)
        self._decimal(head, bare)
        self._decimal(start, bare)
        self.fraction(start, fraction)
        self._part_of(fraction, end)
        self.graph.skip(bare, end)
        for names in self._units.values():
            for name in names:
                word(bare, name, end)
        metres = place()
        for name in self._units["m"]:
            word(head, name, metres)
        self.whole(metres, end)
        inches, linked, mixed = place(), place(), place()
        for name in self._units["in"]:
            word(head, name, inches)
        self.graph.skip(head, inches)
        word(inches, self._and, linked)
        self.fraction(linked, mixed, slips=True)
        self.fraction(inches, mixed)
        self._mistaken_decimals(head, mixed)
        self._unit_behind(mixed, end, "in")
        self._one_unit(start, end, linked)
        self._feet(start, end)
        self._changed(start, end)

    def _unit_behind(self, start: int, end: int, unit: str) -> None:
        self.graph.skip(start, end)
        for name in self._units[unit]:
            self.word(start, name, end)

    def _part_of(self, start: int, end: int) -> None:
        """ "Of an inch", "inch", "of a millimetre"."""
        self.graph.skip(start, end)
        of = self.graph.place()
        self.graph.skip(start, of)
        for article in self._articles:
            self.graph.text(start, f"of {article}", of)
            self.graph.text(start, article, of)
        for unit in ("in", "mm"):
            for name in self._units[unit]:
                self.word(of, name, end)

    def _decimal(self, start: int, end: int) -> None:
        point, more = self.graph.place(), self.graph.place()
        self.word(start, self._point, point)
        self._digit(point, more)
        self.below_hundred(point, more, low=10)
        self._digit(more, more)
        self.graph.skip(more, end)
        figures, glued = self.graph.place(), self.graph.place()
        self.graph.text(start, ".", figures, said=self._point, glued=True)
        for value in range(10):
            self.graph.text(figures, str(value), glued, said=whole(value), glued=True)
            self.graph.text(glued, str(value), glued, said=whole(value), glued=True)
        self.graph.skip(glued, end)

    def _mistaken_decimals(self, start: int, end: int) -> None:
        """ "96.78" and "82.11.16", as the model may write 96 7/8 and 82 11/16."""
        for size in _SLIPS:
            for value in range(1, size, 2):
                for figures in (f".{value}{size}", f".{value}/{size}", f".{value}.{size}", f"{value}.{size}"):
                    self.graph.text(start, figures, end, said=f"{self._and} {self._said(value, size)}", glued=True)

    def _one_unit(self, start: int, end: int, and_a_part: int) -> None:
        """ "An inch", "an inch and a quarter", "a foot"."""
        article, inch = self.graph.place(), self.graph.place()
        for word in self._articles:
            self.word(start, word, article)
        self.word(article, "inch", inch)
        self.graph.skip(inch, end)
        self.word(inch, self._and, and_a_part)
        self.word(article, "foot", end)

    def _feet(self, start: int, end: int) -> None:
        """ "Six foot eight and a quarter", "6'8 1/4", and without the word "six eight and a quarter"."""
        place, word = self.graph.place, self.word
        number, foot, linked, inches, rest = place(), place(), place(), place(), place()
        self.below_hundred(start, number, high=FEET_MOST)
        for name in self._units["ft"]:
            word(number, name, foot)
        self.graph.text(number, "'", foot, said="foot", glued=True)
        self.graph.skip(foot, end)
        word(foot, "even", end)
        self.graph.skip(foot, linked)
        word(foot, self._and, linked)
        self.fraction(linked, rest)
        self.below_hundred(linked, inches, high=11)
        unsaid = place()
        self.below_hundred(start, unsaid, high=UNSAID_MOST)
        self.below_hundred(unsaid, inches, high=11)
        for zero in self._zeroes[:2]:
            word(linked, zero, inches)
            word(unsaid, zero, inches)
        for value in range(1, 12):
            self.graph.text(foot, str(value), inches, said=whole(value), glued=True)
        self.graph.skip(inches, rest)
        between, with_and = place(), place()
        self.graph.skip(inches, between)
        for name in self._units["in"]:
            word(inches, name, between)
        word(between, self._and, with_and)
        self.fraction(with_and, rest, slips=True)
        self.fraction(between, rest)
        self._unit_behind(rest, end, "in")
        self.graph.text(rest, '"', end, said="inches", glued=True)

    def _changed(self, start: int, end: int) -> None:
        """ "Thirty six less a sixteenth", "a sixteenth shy of thirty six"."""
        place, hair = self.graph.place, language()["hair"]
        head, less, part, of = place(), place(), place(), place()
        self.whole(start, head)
        self.phrases(head, (*hair["less"], *hair["more"]), less)
        self.fraction(less, end)
        self.fraction(start, part)
        self.phrases(part, (*hair["shy-of"], *hair["past"]), of)
        self.whole(of, end)


def _in_a_row(number: int) -> str:
    """ "2nd", up to "12th"."""
    return str(number) + {1: "st", 2: "nd", 3: "rd"}.get(number, "th")


def _shortened(word: str, behind: str) -> Iterator[str]:
    """What two words run together to: "it's", "let's"."""
    for ending, full in language()["ending"].items():
        if full == behind and word != language()["numbers"]["and"]:
            yield ("I" if word == "i" else word) + ending
    yield from (short for short, full in language()["spelling"].items() if full == f"{word} {behind}" and "'" in short)


def _units() -> Mapping[str, tuple[str, ...]]:
    """Unit of length -> its names as they are said."""
    found: dict[str, list[str]] = {}
    for name, unit in {**{unit: unit for unit in ("mm",)}, **SPELLINGS}.items():
        if UNITS[unit][1] == LENGTH and name.isalpha():
            found.setdefault(unit, []).append(name)
    return {unit: tuple(names) for unit, names in found.items()}
