"""Which way a reading lies, as crews say it, turned into the sign that the procedure gave it.

The procedure names the sides of + and - (`Sign.toward`, `Sign.away`). What is said with a side depends on what is
read: the high end of a level, the way the top of a plumb line leans, proud of or behind a face, open at a corner.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from guide.procedure.model import About, Sign

Words = tuple[str, ...]

ZERO: Mapping[str, tuple[Words, ...]] = MappingProxyType(
    {
        "level": (("level",), ("dead", "level"), ("perfectly", "level")),
        "plumb": (("plumb",), ("dead", "plumb"), ("straight",), ("dead", "straight")),
        "flush": (("flush",), ("dead", "flush"), ("even",)),
        "square": (("square",), ("dead", "square"), ("closed",)),
        "twist": (("no", "twist"), ("touching",), ("strings", "touch"), ("they", "touch"), ("flat",)),
        "gap": (("touching",), ("touches",), ("no", "gap")),
        "length": (),
        "amount": (),
    }
)
ZERO_ALWAYS: tuple[Words, ...] = (
    ("dead", "on"),
    ("spot", "on"),
    ("bang", "on"),
    ("right", "on"),
    ("zero",),
    ("nothing",),
)
"""Said of any signed reading; a bare "zero" is a number anyway."""

STATES: Mapping[str, tuple[Words, ...]] = MappingProxyType(
    {
        "gap": (("tight",), ("wide",), ("open",), ("even",), ("loose",)),
        "length": (("tight",), ("even",)),
    }
)
"""Said with a size or without; they have no sign."""

GOOD: tuple[Words, ...] = (("good",), ("fine",), ("ok",), ("okay",), ("perfect",), ("looks", "good"), ("all", "good"))

_HIGH: tuple[Words, ...] = (("high",), ("up",), ("too", "high"))
_LOW: tuple[Words, ...] = (("low",), ("down",), ("too", "low"), ("drops",), ("falls",), ("dips",))
_TOP: tuple[Words, ...] = (("at", "the", "top"), ("at", "top"), ("up", "top"))
_BOTTOM: tuple[Words, ...] = (("at", "the", "bottom"), ("at", "bottom"), ("down", "low"))
_OPEN: tuple[Words, ...] = (("open",), ("gap",), ("wide",), ("daylight",))
_SHUT: tuple[Words, ...] = (("tight",), ("closed",))
_LEANS: tuple[Words, ...] = (
    ("leans",),
    ("leaning",),
    ("lean",),
    ("tips",),
    ("tipped",),
    ("kicked",),
    ("kicks",),
    ("out", "of", "plumb"),
)
_PROUD: tuple[Words, ...] = (
    ("proud",),
    ("stands", "out"),
    ("sticks", "out"),
    ("standing", "out"),
    ("sticking", "out"),
    ("forward",),
)
_BEHIND: tuple[Words, ...] = (
    ("shy",),
    ("behind",),
    ("back",),
    ("recessed",),
    ("set", "back"),
    ("sits", "back"),
    ("low",),
)


@dataclass(frozen=True, slots=True)
class Hint:
    """One thing said of the direction: its kind ("end", "high", "foot" ...) and +1 or -1."""

    kind: str
    sign: int
    end: int


def hints(tokens: Sequence[str], at: int, about: About, sign: Sign | None) -> Iterator[Hint]:
    """Direction words that start at this token."""
    if sign is None:
        return
    if about == "level":
        yield from _of(tokens, at, "high", _HIGH, _LOW)
    if about == "plumb":
        yield from _of(tokens, at, "foot", _TOP, _BOTTOM)
        yield from _of(tokens, at, "leans", _LEANS, ())
    if about == "square":
        yield from _of(tokens, at, "open", _OPEN, _SHUT)
    if about == "flush":
        yield from _of(tokens, at, "end", _PROUD, _BEHIND)
    toward = tuple(tuple(side.lower().split()) for side in sign.toward)
    away = tuple(tuple(side.lower().split()) for side in sign.away)
    for hint in _of(tokens, at, "end", toward, away):
        bare = about == "plumb" and tokens[at] in ("in", "out")
        yield Hint("in or out", hint.sign, hint.end) if bare else hint


def _of(tokens: Sequence[str], at: int, kind: str, plus: Sequence[Words], minus: Sequence[Words]) -> Iterator[Hint]:
    for sign, ways in ((1, plus), (-1, minus)):
        for words in ways:
            if tuple(tokens[at : at + len(words)]) == words:
                yield Hint(kind, sign, at + len(words))


def sign_of(about: About, found: Mapping[str, int]) -> int | None:
    """The sign that the hints give together; None when they leave the side open."""
    end = found.get("end")
    if end is None and ("foot" in found or "leans" in found):
        end = found.get("in or out")  # a bare "an eighth out" may only mean that it is off
    if end is None:
        return None
    if about == "level":
        return end * found["high"] if "high" in found else None
    if about == "plumb":
        return end * found.get("foot", 1)
    if about == "square":
        return end * found.get("open", 1)
    return end
