"""What a crew can say, as one set of templates: the parser, `help` and a recogniser's vocabulary all come from it."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from importlib.resources import files
from typing import Any

from guide.talk.templates import Phrase, Slot, sample, spread, vocabulary

EXAMPLES: Mapping[str, str] = {
    "name": "ben",
    "text": "something",
    "thing": "the width",
    "step": "square",
    "state": "frame",
    "reading": "top 74 3/8",
}
"""What stands in a slot where phrases are listed."""


@dataclass(frozen=True, slots=True)
class Intent:
    """One thing a crew can mean, and the ways to say it."""

    name: str
    group: str
    help: str
    ways: tuple[Phrase, ...]
    anywhere: tuple[Phrase, ...] = ()
    """Understood also inside a longer sentence."""
    unless: tuple[Phrase, ...] = ()
    """Words that take an `anywhere` back ("nobody is hurt")."""


class Phrases:
    """The intents of one language."""

    def __init__(self, intents: Mapping[str, Intent]) -> None:
        self.intents = intents

    @classmethod
    def load(cls, language: str) -> Phrases:
        """The phrases of a language that comes with the guide ("en")."""
        text = files("guide.talk").joinpath(language, "phrases.toml").read_text(encoding="utf-8")
        intents, group = {}, ""
        for name, data in tomllib.loads(text).items():
            group = str(data.get("group", group))
            intents[name] = _intent(name, group, data)
        return cls(intents)

    @cached_property
    def plain(self) -> Mapping[str, str]:
        """Phrase without a slot -> intent."""
        return {
            " ".join(str(word) for word in way): intent.name
            for intent in self.intents.values()
            for way in intent.ways
            if not _slotted(way)
        }

    @cached_property
    def slotted(self) -> tuple[tuple[Phrase, str], ...]:
        """Phrases with a slot and their intents; those with more words of their own first."""
        found = [(way, intent.name) for intent in self.intents.values() for way in intent.ways if _slotted(way)]
        return tuple(sorted(found, key=lambda pair: -len(pair[0])))

    def examples(self) -> Iterator[tuple[str, str]]:
        """Every phrase as text, its slot filled with an example, and its intent."""
        for intent in self.intents.values():
            for text in sample(intent.ways, EXAMPLES):
                yield text, intent.name

    def words(self) -> frozenset[str]:
        """The vocabulary of all phrases."""
        return frozenset().union(*(vocabulary(intent.ways) for intent in self.intents.values()))

    def help_text(self) -> str:
        """What can be said, by group: the first way of each, and what it does."""
        lines: list[str] = []
        group = ""
        for intent in self.intents.values():
            if not intent.help:
                continue
            if intent.group != group:
                group = intent.group
                lines.append(f"{group}:")
            first = next(sample(intent.ways[:1], {**EXAMPLES, "text": "…", "thing": "…", "step": "…", "name": "…"}))
            lines.append(f'  "{first}": {intent.help}')
        return "\n".join(lines)


def _slotted(way: Phrase) -> bool:
    return any(isinstance(part, Slot) for part in way)


def _intent(name: str, group: str, data: Mapping[str, Any]) -> Intent:
    return Intent(
        name,
        group,
        str(data.get("help", "")),
        _all(data["ways"]),
        _all(data.get("anywhere", [])),
        _all(data.get("unless", [])),
    )


def _all(templates: list[str]) -> tuple[Phrase, ...]:
    return tuple(dict.fromkeys(phrase for template in templates for phrase in spread(template)))
