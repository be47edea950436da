"""Phrase templates as data: words, `[optional]`, `(one|two)` and slots, `{name}` or `{name:kind}`.

A template is spread out into plain phrases once; a phrase is a tuple of words and slots. Matching compares words from
left to right and gives every slot as few as it can, so no utterance can make it slow.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

MOST_PHRASES = 5000
_TOKEN = re.compile(r"\s*(\[|\]|\(|\)|\||\{[a-z]+(?::[a-z]+)?\}|[^\s\[\]()|{}]+)")


class TemplateError(ValueError):
    """A template can't be read; the message says which."""


@dataclass(frozen=True, slots=True)
class Slot:
    """A place in a phrase that takes one or more words; its kind, by default its name, says which."""

    name: str
    kind: str = ""


Phrase = tuple[str | Slot, ...]


def spread(template: str) -> tuple[Phrase, ...]:
    """Every phrase of a template, in order, each once; raises `TemplateError`."""
    tokens = _TOKEN.findall(template)
    if "".join(tokens) != "".join(template.split()):
        raise TemplateError(f'"{template}" has something that is no word, bracket or slot')
    phrases, rest = _alternatives(tokens, 0, template)
    if rest != len(tokens):
        raise TemplateError(f'"{template}" has a bracket too many')
    found = tuple(dict.fromkeys(phrase for phrase in phrases if phrase))
    if not found or len(found) > MOST_PHRASES:
        raise TemplateError(f'"{template}" spreads into {len(found)} phrases')
    if any(
        slotted(phrase[i : i + 1]) and slotted(phrase[i + 1 : i + 2]) for phrase in found for i in range(len(phrase))
    ):
        raise TemplateError(f'"{template}" has two slots side by side: nothing tells their words apart')
    return found


def _alternatives(tokens: Sequence[str], at: int, template: str) -> tuple[list[Phrase], int]:
    done: list[Phrase] = []
    phrases: list[Phrase] = [()]
    while at < len(tokens) and tokens[at] not in "])":
        token = tokens[at]
        if token == "|":
            done, phrases, at = done + phrases, [()], at + 1
            continue
        if token in "[(":
            inner, at = _alternatives(tokens, at + 1, template)
            if at >= len(tokens) or tokens[at] != {"[": "]", "(": ")"}[token]:
                raise TemplateError(f'"{template}" has a bracket that is not closed')
            options = [(), *inner] if token == "[" else inner
        else:
            options = [(_slot(token) if token.startswith("{") else token.lower(),)]
        phrases = [phrase + option for phrase in phrases for option in options]
        if len(phrases) > MOST_PHRASES:
            raise TemplateError(f'"{template}" spreads into more than {MOST_PHRASES} phrases')
        at += 1
    return done + phrases, at


def _slot(token: str) -> Slot:
    name, _, kind = token[1:-1].partition(":")
    return Slot(name, kind or name)


def slotted(phrase: Phrase) -> bool:
    """Whether the phrase has a slot."""
    return any(isinstance(part, Slot) for part in phrase)


def match(phrase: Phrase, words: Sequence[str]) -> tuple[tuple[Slot, int, int], ...] | None:
    """Each slot and the words it takes (from, to) if the whole utterance is the phrase, else None.

    A slot takes at least one word and as few as it can; the last one takes what is left.
    """
    found: list[tuple[Slot, int, int]] = []
    at, part = 0, 0
    while part < len(phrase):
        here = phrase[part]
        if not isinstance(here, Slot):
            if at >= len(words) or words[at] != here:
                return None
            at, part = at + 1, part + 1
            continue
        tail = _fixed(phrase, part + 1)
        last = part + 1 + len(tail) == len(phrase)
        end = len(words) - len(tail) if last else _find(words, tail, at + 1)
        if end <= at or tuple(words[end : end + len(tail)]) != tail:
            return None
        found.append((here, at, end))
        at, part = end + len(tail), part + 1 + len(tail)
    return tuple(found) if at == len(words) else None


def _fixed(phrase: Phrase, part: int) -> tuple[str, ...]:
    """The words from here to the next slot or the end."""
    fixed: list[str] = []
    for here in phrase[part:]:
        if isinstance(here, Slot):
            break
        fixed.append(here)
    return tuple(fixed)


def _find(words: Sequence[str], wanted: tuple[str, ...], start: int) -> int:
    """Where the wanted words stand first, or -1."""
    return next(
        (at for at in range(start, len(words) - len(wanted) + 1) if tuple(words[at : at + len(wanted)]) == wanted), -1
    )


def sample(phrases: Sequence[Phrase], fill: Callable[[Slot], str]) -> Iterator[str]:
    """Each phrase as text, its slots filled with examples."""
    for phrase in phrases:
        yield " ".join(fill(part) if isinstance(part, Slot) else part for part in phrase)


def vocabulary(phrases: Sequence[Phrase]) -> frozenset[str]:
    """Every word of the phrases."""
    return frozenset(part for phrase in phrases for part in phrase if isinstance(part, str))
