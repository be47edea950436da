"""The words of readings, from the language's file: number names, and the phrases around a number."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cache
from importlib.resources import files
from typing import Any

Words = tuple[str, ...]


class Table:
    """Phrases to be found in a row of words, each with what it stands for."""

    def __init__(self, phrases: Mapping[Words, int]) -> None:
        self._by_first: dict[str, list[tuple[Words, int]]] = {}
        for phrase, meaning in phrases.items():
            self._by_first.setdefault(phrase[0], []).append((phrase, meaning))

    @classmethod
    def of(cls, *lists: Iterable[str]) -> Table:
        """A table of lists of phrases; a phrase stands for the number of its list."""
        return cls({tuple(phrase.split()): number for number, phrases in enumerate(lists) for phrase in phrases})

    def at(self, words: Sequence[str], start: int) -> Iterator[tuple[int, int]]:
        """Where each phrase that starts here ends, and what it stands for."""
        if start < len(words):
            for phrase, meaning in self._by_first.get(words[start], ()):
                end = start + len(phrase)
                if len(phrase) == 1 or tuple(words[start:end]) == phrase:
                    yield end, meaning

    def phrases(self) -> Iterator[Words]:
        """Every phrase."""
        yield from (phrase for phrases in self._by_first.values() for phrase, _ in phrases)

    def words(self) -> frozenset[str]:
        """Every word of the phrases."""
        return frozenset(word for phrases in self._by_first.values() for phrase, _ in phrases for word in phrase)


@cache
def language() -> Mapping[str, Any]:
    """The tables of the language's file."""
    return tomllib.loads(files("guide.talk").joinpath("en", "words.toml").read_text(encoding="utf-8"))


@cache
def table(section: str, *keys: str) -> Table:
    """The phrases of one section under these keys, numbered in the order of the keys; a key not there is empty."""
    found = language()
    for part in section.split("."):
        found = found.get(part, {})
    return Table.of(*(found.get(key, ()) for key in keys))


@cache
def word_set(section: str, key: str) -> frozenset[str]:
    """The words of a list written with blanks between them."""
    return frozenset(language()[section][key].split())
