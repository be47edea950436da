"""What a crew can say, as one set of templates: the parser, `help` and a recogniser's vocabulary all come from it."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from importlib.resources import files
from typing import Any

from guide.talk.alarm import Alarm
from guide.talk.templates import Phrase, Slot, TemplateError, sample, slotted, spread, vocabulary

HEAD_SHORTEST = 5
"""Characters before a slot that are enough to know a phrase by, though one is wrong."""
_COMMON = ("courtesy", "spelling", "slots", "classes")
"""Tables of a language's file that are no intents."""


@dataclass(frozen=True, slots=True)
class Kind:
    """What a slot may hold. Words are in lower case."""

    example: str
    most: int = 0
    """Words at most; 0 is any number."""
    only: frozenset[str] = frozenset()
    """Holds nothing else than one of these."""
    some: frozenset[str] = frozenset()
    """Holds a digit or one of these."""
    never: frozenset[str] = frozenset()
    """Holds none of these, "*ing" being every word with that ending, unless it is written as a name."""
    proper: bool = False
    """Written as a name (Ben), or listed at the call."""
    closed: bool = False
    """Where a list is given at the call, nothing else."""
    verbatim: bool = False
    """Keeps its courtesies: they may be part of what is told."""

    def takes(self, words: Sequence[str], names: Sequence[bool], listed: frozenset[str] | None) -> bool:
        """Whether it may hold the words; `names` says which are written as a name, `listed` what the call knows."""
        said = " ".join(words)
        if listed is not None and (said in listed or without_article(said) in listed):
            return True
        if (self.closed and listed is not None) or (self.proper and not all(names)):
            return False
        if (self.most and len(words) > self.most) or (self.only and said not in self.only):
            return False
        if any(self._is_never(word) for word, name in zip(words, names, strict=True) if not name):
            return False
        return not self.some or any(word in self.some or any(c.isdigit() for c in word) for word in words)

    def _is_never(self, word: str) -> bool:
        return word in self.never or any(end.startswith("*") and word.endswith(end[1:]) for end in self.never)


@dataclass(frozen=True, slots=True)
class Intent:
    """One thing a crew can mean, and the ways to say it."""

    name: str
    group: str
    help: str
    ways: tuple[Phrase, ...]
    whole: tuple[Phrase, ...] = ()
    """Ways that hand back all their words as the slot `text`."""
    voice: tuple[Phrase, ...] = ()
    """The ways that may commit when they were heard; without any, all of them may."""
    anywhere: tuple[Phrase, ...] = ()
    """Understood also inside a longer sentence."""
    unless: tuple[Phrase, ...] = ()
    """Words that take an `anywhere` back ("nobody is hurt")."""
    question: bool = False
    """Changes nothing: an answer is all that comes of it."""
    urgent: bool = False
    """Rather asked about than missed, however badly it was heard."""

    def safe_by_voice(self, way: Phrase) -> bool:
        """Whether the way commits when it was heard and not typed: noise seldom says it."""
        return not self.voice or way in self.voice or way in self.whole


class Phrases:
    """The intents of one language."""

    def __init__(self, data: Mapping[str, Any]) -> None:
        """From the tables of a language's file; raises `TemplateError` or `KeyError` on a fault in it."""
        self.spelling: Mapping[str, str] = data["spelling"]
        self.courtesy_first = tuple(tuple(one.split()) for one in data["courtesy"]["first"])
        self.courtesy_last = tuple(tuple(one.split()) for one in data["courtesy"]["last"])
        self.idle = frozenset(data["courtesy"]["inside"].split())
        self.kinds = {name: _kind(one) for name, one in data["slots"].items()}
        self.classes = {name: frozenset(words.split()) for name, words in data["classes"].items()}
        self.intents: dict[str, Intent] = {}
        group = ""
        for name, one in data.items():
            if name not in _COMMON:
                group = str(one.get("group", group))
                self.intents[name] = _intent(name, group, one)
                self._check(self.intents[name])

    @classmethod
    def load(cls, language: str) -> Phrases:
        """The phrases of a language that comes with the guide ("en")."""
        return cls(tomllib.loads(files("guide.talk").joinpath(language, "phrases.toml").read_text(encoding="utf-8")))

    def _check(self, intent: Intent) -> None:
        """Raise `TemplateError` for a slot of no kind, a class of no words, or a way by voice that is no way."""
        for way in (*intent.ways, *intent.whole):
            for part in way:
                if isinstance(part, Slot) and part.kind not in self.kinds:
                    raise TemplateError(f'"{intent.name}" has a slot of a kind that is not there: {part.kind}')
        for way in (*intent.anywhere, *intent.unless):
            for part in way:
                if isinstance(part, Slot) or (part.startswith("<") and part[1:-1] not in self.classes):
                    raise TemplateError(f'"{intent.name}" has something inside a sentence that is no class: {part}')
        if lost := set(intent.voice) - set(intent.ways):
            raise TemplateError(f'"{intent.name}" has ways by voice that are no ways: {sorted(map(str, lost))}')

    @cached_property
    def plain(self) -> Mapping[str, tuple[str, Phrase]]:
        """Phrase without a slot -> intent and way."""
        return {
            " ".join(str(word) for word in way): (intent.name, way)
            for intent in self.intents.values()
            for way in intent.ways
            if not slotted(way)
        }

    @cached_property
    def slotted(self) -> tuple[tuple[Phrase, str], ...]:
        """Phrases with a slot and their intents; those with more words of their own first."""
        found = [
            (way, intent.name)
            for intent in self.intents.values()
            for way in (*intent.ways, *intent.whole)
            if slotted(way)
        ]
        return tuple(sorted(found, key=lambda pair: -sum(isinstance(part, str) for part in pair[0])))

    @cached_property
    def heads(self) -> tuple[tuple[tuple[str, ...], Slot, str], ...]:
        """Phrases that end in their only slot: the words before it, the slot and the intent, for near misses."""
        found: dict[tuple[str, ...], tuple[Slot, str]] = {}
        for way, intent in self.slotted:
            *before, last = way
            head = tuple(part for part in before if isinstance(part, str))
            if isinstance(last, Slot) and len(head) == len(before) and len(" ".join(head)) >= HEAD_SHORTEST:
                found.setdefault(head, (last, intent))
        return tuple((head, *slot) for head, slot in found.items())

    @cached_property
    def alarms(self) -> Mapping[str, Alarm]:
        """Intent -> what raises it inside a longer sentence."""
        return {
            intent.name: Alarm(intent.anywhere, intent.unless, self.classes, self.idle)
            for intent in self.intents.values()
            if intent.anywhere
        }

    def kind(self, slot: Slot) -> Kind:
        """What the slot may hold."""
        return self.kinds[slot.kind]

    def examples(self) -> Iterator[tuple[str, str]]:
        """Every phrase as text, its slots filled with examples, and its intent."""
        for intent in self.intents.values():
            for text in sample((*intent.ways, *intent.whole), self._example):
                yield text, intent.name

    def _example(self, slot: Slot) -> str:
        return self.kind(slot).example

    def words(self) -> frozenset[str]:
        """The vocabulary of all phrases, slots left out."""
        every = [phrase for one in self.intents.values() for phrase in (*one.ways, *one.whole, *one.anywhere)]
        said = frozenset(word for word in vocabulary(every) if not word.startswith("<"))
        return said.union(*self.classes.values())

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
            first = next(sample(intent.ways[:1], lambda slot: "…"))
            lines.append(f'  "{first}": {intent.help}')
        return "\n".join(lines)


def without_article(said: str) -> str:
    """ "the frame" as "frame"."""
    first, _, rest = said.partition(" ")
    return rest if rest and first in ("the", "our", "a", "that", "this") else said


def _kind(data: Mapping[str, Any]) -> Kind:
    return Kind(
        example=str(data["example"]),
        most=int(data.get("most", 0)),
        only=frozenset(data.get("only", "").split()),
        some=frozenset(data.get("some", "").split()),
        never=frozenset(data.get("never", "").split()),
        proper=bool(data.get("proper", False)),
        closed=bool(data.get("closed", False)),
        verbatim=bool(data.get("verbatim", False)),
    )


def _intent(name: str, group: str, data: Mapping[str, Any]) -> Intent:
    lists = {key: _all(data.get(key, [])) for key in ("whole", "voice", "anywhere", "unless")}
    question, urgent = bool(data.get("question", False)), bool(data.get("urgent", False))
    return Intent(name, group, str(data.get("help", "")), _all(data["ways"]), question=question, urgent=urgent, **lists)


def _all(templates: list[str]) -> tuple[Phrase, ...]:
    return tuple(dict.fromkeys(phrase for template in templates for phrase in spread(template)))
