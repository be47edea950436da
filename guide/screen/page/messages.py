"""What a page may send: one JSON object, its kind and fields checked; anything else is a `ValueError` in words."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Literal, cast

LONGEST = 64 * 1024
"""Bytes of one message."""
LONGEST_WORDS = 2000
"""Characters of an utterance or of the line for words; what is beyond them is left out."""
LONGEST_NAME = 100
MOST = 2**53

By = Literal["typed", "touch"]


@dataclass(frozen=True, slots=True)
class Here:
    """The first message: the page's half of its pass, which page it is, and the last line it has."""

    key: str
    tab: str
    last: int


@dataclass(frozen=True, slots=True)
class Say:
    """Words for the session; `id` counts them within a page, so that none is taken twice."""

    id: int
    words: str
    by: By
    request: int


@dataclass(frozen=True, slots=True)
class Line:
    """What stands in the line for words now; `n` counts these, so that the page knows what an answer is to."""

    n: int
    text: str


@dataclass(frozen=True, slots=True)
class Press:
    """A key that types was touched."""

    n: int
    key: str


@dataclass(frozen=True, slots=True)
class TakeOver:
    """The page wants to be the one that writes."""


@dataclass(frozen=True, slots=True)
class Sound:
    """The page can play sound, and has a microphone of this rate (0: none)."""

    rate: int
    why: str


@dataclass(frozen=True, slots=True)
class Played:
    """How a speech ended there."""

    id: int
    how: Literal["done", "hushed"]


Message = Here | Say | Line | Press | TakeOver | Sound | Played


def read(text: str) -> Message:
    """One message of a page; raises `ValueError`."""
    try:
        data = json.loads(text)
    except (ValueError, RecursionError):
        raise ValueError("that is not JSON") from None
    make = _KINDS.get(data.get("kind", "")) if isinstance(data, dict) and isinstance(data.get("kind"), str) else None
    if make is None:
        raise ValueError("that is no message of a page")
    return make(data)


def _words(data: Mapping[str, Any], name: str, longest: int) -> str:
    """A text, with what is beyond the longest left out and halves of characters replaced."""
    text = data.get(name)
    if not isinstance(text, str):
        raise ValueError(f'"{name}" has to be text')
    return text[:longest].encode("utf-16", "surrogatepass").decode("utf-16", "replace")


def _number(data: Mapping[str, Any], name: str) -> int:
    number = data.get(name)
    if not isinstance(number, int) or isinstance(number, bool) or not 0 <= number <= MOST:
        raise ValueError(f'"{name}" has to be a whole number')
    return number


def _one_of(data: Mapping[str, Any], name: str, known: tuple[str, ...]) -> str:
    value = data.get(name)
    if value not in known:
        raise ValueError(f'"{name}" has to be one of: {", ".join(known)}')
    return str(value)


_KINDS: Mapping[str, Callable[[Mapping[str, Any]], Message]] = {
    "here": lambda data: Here(
        _words(data, "key", LONGEST_NAME), _words(data, "tab", LONGEST_NAME), _number(data, "last")
    ),
    "say": lambda data: Say(
        _number(data, "id"),
        _words(data, "words", LONGEST_WORDS),
        cast(By, _one_of(data, "by", ("typed", "touch"))),
        _number(data, "request"),
    ),
    "line": lambda data: Line(_number(data, "n"), _words(data, "text", LONGEST_WORDS)),
    "press": lambda data: Press(_number(data, "n"), _words(data, "key", LONGEST_NAME)),
    "take-over": lambda data: TakeOver(),
    "sound": lambda data: Sound(_number(data, "rate"), _words(data, "why", LONGEST_NAME)),
    "played": lambda data: Played(_number(data, "id"), cast(Any, _one_of(data, "how", ("done", "hushed")))),
}
