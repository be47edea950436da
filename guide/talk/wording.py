"""Every sentence the guide says, by key: one file a language, so that nothing said hides in the code."""

from __future__ import annotations

import string
import tomllib
from collections.abc import Iterable, Mapping
from importlib.resources import files


class Wording:
    """The sentences of one language. A key or field that is not there is a `KeyError`: a fault of the program."""

    def __init__(self, sentences: Mapping[str, str]) -> None:
        self._sentences = dict(sentences)

    @classmethod
    def load(cls, language: str) -> Wording:
        """The sentences of a language that comes with the guide ("en")."""
        return cls.read(files("guide.talk").joinpath(language, "wording.toml").read_text(encoding="utf-8"))

    @classmethod
    def read(cls, text: str) -> Wording:
        """The sentences of a file: TOML, a table for each first part of their keys."""
        tables = tomllib.loads(text)
        return cls({f"{table}.{key}": said for table, keys in tables.items() for key, said in keys.items()})

    def say(self, key: str, **fields: object) -> str:
        """The sentence with its {fields} filled in."""
        return self._sentences[key].format_map(fields)

    def has(self, key: str) -> bool:
        """Whether there is such a sentence."""
        return key in self._sentences

    def names(self) -> tuple[str, ...]:
        """Every key, in the file's order."""
        return tuple(self._sentences)

    def fields(self, key: str) -> frozenset[str]:
        """The names in braces of a sentence."""
        return frozenset(name for _, name, _, _ in string.Formatter().parse(self._sentences[key]) if name)

    def join(self, items: Iterable[str], last: str = "and") -> str:
        """ "a", "a and b", "a, b and c"; nothing for nothing."""
        *first, end = list(items) or [""]
        return f"{', '.join(first)} {last} {end}" if first else end
