"""Phrase templates as data: words, `[optional]`, `(one|two)` and `{slots}`.

A template is spread out into plain phrases once; a phrase is a tuple of words and slots. Matching compares words and
never backtracks over more than one slot, so no utterance can make it slow.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

MOST_PHRASES = 5000
_TOKEN = re.compile(r"\s*(\[|\]|\(|\)|\||\{[a-z]+\}|[^\s\[\]()|{}]+)")


class TemplateError(ValueError):
    """A template can't be read; the message says which."""


@dataclass(frozen=True, slots=True)
class Slot:
    """A place in a phrase that takes one or more words."""

    name: str


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
            options = [(Slot(token[1:-1]) if token.startswith("{") else token.lower(),)]
        phrases = [phrase + option for phrase in phrases for option in options]
        if len(phrases) > MOST_PHRASES:
            raise TemplateError(f'"{template}" spreads into more than {MOST_PHRASES} phrases')
        at += 1
    return done + phrases, at


def match(phrase: Phrase, words: Sequence[str]) -> tuple[str, int, int] | None:
    """The slot's name and the words it takes (from, to) if the whole utterance is the phrase, else None.

    The phrase has one slot, which takes at least one word.
    """
    at = next(i for i, part in enumerate(phrase) if isinstance(part, Slot))
    slot, tail = phrase[at], phrase[at + 1 :]
    end = len(words) - len(tail)
    if end <= at or tuple(words[:at]) != phrase[:at] or tuple(words[end:]) != tail or not isinstance(slot, Slot):
        return None
    return slot.name, at, end


def sample(phrases: Sequence[Phrase], fill: Mapping[str, str]) -> Iterator[str]:
    """Each phrase as text, its slot filled with an example."""
    for phrase in phrases:
        yield " ".join(fill[part.name] if isinstance(part, Slot) else part for part in phrase)


def vocabulary(phrases: Sequence[Phrase]) -> frozenset[str]:
    """Every word of the phrases."""
    return frozenset(part for phrase in phrases for part in phrase if isinstance(part, str))
