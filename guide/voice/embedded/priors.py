"""What a reading is like before anything is heard, in nats that it loses: soft, so that a surprise is still heard.

A value outside what the step says is likely, a length that a tape seldom shows, a part that a crew would have reduced.
"""

from __future__ import annotations

from fractions import Fraction
from functools import cache
from math import gcd

from guide.quantity import LENGTH, Quantity
from guide.talk.expect import Expect, Meaning
from guide.talk.numbers import ones, tens
from guide.talk.vocabulary import language

PRIOR_MOST = 4.0
"""Nats that an unlikely value loses at most."""
PRIOR_LEAST = 1.5
"""Nats that a value just outside what is likely loses."""

LONGEST = Quantity(Fraction(10), "m")
"""Longer than what doors and their openings are measured by."""
ODD_LONG, ODD_DECIMAL = 4.0, 5.0
HIGH, ODD_HIGH = Quantity(Fraction(144), "in"), 3.0
"""Inches alone beyond which a door's size is rarely told, and what they lose: more often it is "3/16" run together."""
_ODD_IN = {1: 0.0, 2: 0.0, 4: 0.0, 8: 0.0, 16: 0.0, 32: 0.5, 64: 1.5}
"""By the parts of an inch it is read in; anything else is a decimal."""
_ODD_MM = {1: 0.0, 2: 1.0, 10: 2.0, 5: 2.0}
METRIC = frozenset({"mm", "cm", "m"})
UNREDUCED, OVER_ONE = 2.0, 3.0
"""Of a part that a crew would have reduced ("fourteen sixteenths"), and of one above one ("thirty sixteenths")."""
PARTS_FROM = 8
"""Parts of fewer are said as they are: "two quarters" is rare, and sounds like nothing else."""


def unlikely(meaning: Meaning, expect: Expect) -> float:
    """Nats that a value loses for lying outside what is likely: more the further it lies, up to `PRIOR_MOST`."""
    low, high = expect.likely_low, expect.likely_high
    values = (meaning.value, -meaning.value) if meaning.side == "missing" else (meaning.value,)
    off = min(_outside(value, low, high) for value in values)
    if not off:
        return 0.0
    width = high.base - low.base if low is not None and high is not None else Fraction(0)
    far = float(off / width) if width > 0 else 1.0
    return min(PRIOR_MOST, PRIOR_LEAST + far * (PRIOR_MOST - PRIOR_LEAST))


def odd(value: Quantity) -> float:
    """Nats that a length loses for being one that a tape seldom shows, whatever the step expects."""
    if value.dimension != LENGTH:
        return 0.0
    metric = value.unit in METRIC
    parts = (value.to("mm") if metric else value.to("in")).magnitude.denominator
    long = ODD_LONG if abs(value) > LONGEST else ODD_HIGH if not metric and abs(value) > HIGH else 0.0
    return long + (_ODD_MM if metric else _ODD_IN).get(parts, ODD_DECIMAL)


def _outside(value: Quantity, low: Quantity | None, high: Quantity | None) -> Fraction:
    """How far a value lies outside, in base units."""
    if low is not None and value < low:
        return low.base - value.base
    if high is not None and value > high:
        return value.base - high.base
    return Fraction(0)


def unreduced(text: str) -> float:
    """Nats that words lose for a part of an inch that nobody says so: of several parts the one that loses most."""
    words = text.split()
    return max((_part(words, end, size) for end, size in _parts(words)), default=0.0)


def _parts(words: list[str]) -> list[tuple[int, int]]:
    """Where the name of a part begins, and how many of them make one."""
    names = {tuple(name.split()): size for name, size in language()["parts"].items() if size >= PARTS_FROM}
    found = []
    for at in range(1, len(words)):
        for long in (1, 2):
            size = names.get(tuple(words[at : at + long]))
            if size is not None:
                found.append((at, size))
    return found


def _part(words: list[str], end: int, size: int) -> float:
    """What the count before a part loses; "thirty six sixteenths" may be thirty, and six of them: the better counts."""
    last = _count(words[end - 1 : end])
    if last is None:
        return 0.0
    counts = [last]
    two = _count(words[end - 2 : end]) if end > 1 else None
    if two is not None:
        counts.append(two)
    return min(_loses(count, size) for count in counts)


def _loses(count: int, size: int) -> float:
    if count >= size:
        return OVER_ONE
    return UNREDUCED if gcd(count, size) > 1 else 0.0


@cache
def _numbers() -> dict[str, int]:
    return {**ones(), **tens()}


def _count(words: list[str]) -> int | None:
    """A whole number below a hundred in one or two words."""
    values = [_numbers().get(word) for word in words]
    if len(values) == 1:
        return values[0]
    if len(values) == 2 and words[0] in tens() and values[1] is not None and 0 < values[1] < 10:
        return (values[0] or 0) + values[1]
    return None
