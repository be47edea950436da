"""From an utterance to exact readings: every meaning it can bear, every word consumed, or it is no reading.

A reading is a number with what belongs to it: unit, side, a hair over or under, how sure, at which place, in any
order, with words that mean nothing in between. The parser tries every way to read each token and keeps those that
reach the end; what is left over makes it no reading. `settle` takes a meaning unasked only when it is the only one,
or the only one that is likely.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Literal

from guide.procedure.model import SIGNED, About, Sign
from guide.quantity import LENGTH, UNITS, Quantity, unit_named
from guide.talk.directions import GOOD, STATES, ZERO, ZERO_ALWAYS, hints, sign_of
from guide.talk.numbers import ONES, Read, ZeroDenominator, figures, numbers
from guide.talk.tokens import LONGEST, tokens

Side = Literal["said", "typed", "zero", "none", "missing"]
WAYS_MOST = 4000
"""Ways of reading one utterance that are followed up; more is no reading."""
SAID_MOST = 24


@dataclass(frozen=True, slots=True)
class Expect:
    """What the step asks for; amounts may be left out."""

    unit: str = "in"
    about: About = "length"
    sign: Sign | None = None
    places: tuple[str, ...] = ()
    low: Quantity | None = None
    high: Quantity | None = None
    likely_low: Quantity | None = None
    likely_high: Quantity | None = None
    metric: bool = False


@dataclass(frozen=True, slots=True)
class Meaning:
    """One meaning: the exact value, signed where its side is known, and what was said with it."""

    value: Quantity
    hair: int = 0
    unsure: bool = False
    side: Side = "none"
    unit_given: bool = False


@dataclass(frozen=True, slots=True)
class Said:
    """One reading in an utterance: its place if named, its words, its meanings, the most usual first."""

    place: str | None
    words: str
    meanings: tuple[Meaning, ...]
    without_number: str | None = None
    """A state said without its size ("good", "tight")."""


@dataclass(frozen=True, slots=True)
class _Way:
    """A way of reading the tokens so far."""

    value: Fraction | None = None
    unit: str | None = None
    usual: int = 0
    typed_sign: int = 0
    hints: tuple[tuple[str, int], ...] = ()
    hair: int = 0
    unsure: bool = False
    zero: bool = False
    state: str | None = None
    place: str | None = None


_CARRIERS = frozenset(
    [
        "it's",
        "its",
        "it",
        "is",
        "i",
        "get",
        "got",
        "we've",
        "we",
        "we're",
        "i've",
        "have",
        "that's",
        "that",
        "call",
        "reads",
        "reading",
        "read",
        "says",
        "say",
        "so",
        "um",
        "uh",
        "er",
        "the",
        "a",
        "an",
        "on",
        "at",
        "to",
        "side",
        "end",
        "of",
        "by",
        "here",
        "there",
        "now",
        "just",
        "well",
        "okay",
        "ok",
        "right-hand",
        "hand",
        "corner",
        "out",
        "off",
        "from",
        "place",
        "was",
    ]
)
_UNSURE = (
    ("about",),
    ("around",),
    ("roughly",),
    ("maybe",),
    ("approximately",),
    ("more", "or", "less"),
    ("ish",),
    ("say", "about"),
    ("nearly",),
    ("i", "think"),
    ("probably",),
)
_OVER = (
    ("strong",),
    ("heavy",),
    ("just", "over"),
    ("a", "hair", "over"),
    ("hair", "over"),
    ("plus",),
    ("full",),
    ("a", "touch", "over"),
    ("a", "bit", "over"),
    ("and", "a", "bit"),
    ("a", "strong"),
    ("fat",),
)
_UNDER = (
    ("shy",),
    ("light",),
    ("scant",),
    ("just", "under"),
    ("a", "hair", "under"),
    ("hair", "under"),
    ("a", "touch", "under"),
    ("a", "bit", "under"),
    ("a", "scant"),
    ("barely",),
    ("weak",),
    ("shy", "of"),
    ("a", "hair", "shy"),
)
_EVEN = (("even",), ("on", "the", "nose"), ("exactly",), ("dead",), ("bang", "on"), ("flat",))
_SPOKEN_UNITS = {"mil": "mm", "mils": "mm", "mill": "mm", "mills": "mm", "foots": "ft", "kilos": "kg"}


_EVERYWHERE = (
    ("all", "round"),
    ("all", "around"),
    ("all", "of", "them"),
    ("everywhere",),
    ("all",),
    ("both",),
    ("each",),
)


def hear(text: str, expect: Expect) -> tuple[Said, ...]:
    """The readings in an utterance; () when it is not wholly one or several readings."""
    try:
        return _hear(text, expect)
    except ZeroDenominator:
        return ()


def why_not(text: str, expect: Expect) -> str | None:
    """Why words that look like a reading are none: "too-long", "zero-denominator", "unit", "contradiction"; or None."""
    if len(text) > LONGEST:
        return "too-long"
    try:
        if _hear(text, expect):
            return None
    except ZeroDenominator:
        return "zero-denominator"
    cut = tokens(text) or []
    if not any(read.end for at in range(len(cut)) for read in figures(cut, at)):
        return None
    for unit in ("in", "mm", "lb", "deg", "min", "ft2", "", "%", "kg"):
        if _hear(text, replace(expect, unit=unit)):
            return "unit"
    one_sided = replace(expect, sign=None, about="length")
    ways = list(_ways(cut, expect, check_sides=False))
    if ways and not _hear(text, one_sided):
        return "contradiction"
    return None


def settle(said: Said, expect: Expect) -> Meaning | None:
    """The meaning to take unasked: the only one, or the only one that is likely; else None."""
    if len(said.meanings) == 1:
        return said.meanings[0]
    low, high = expect.likely_low, expect.likely_high
    if low is None and high is None:
        return None
    likely = [
        meaning
        for meaning in said.meanings
        if (low is None or meaning.value >= low) and (high is None or meaning.value <= high)
    ]
    usual = said.meanings[:2]  # what is a stretch is never taken unasked, likely or not
    return likely[0] if len(likely) == 1 and likely[0] in usual else None


def example(expect: Expect) -> str:
    """A short example of what would be taken here."""
    side = ""
    if expect.sign is not None and expect.sign.toward and expect.about == "level":
        side = f" high on the {expect.sign.toward[0]}"
    elif expect.sign is not None and expect.about == "flush":
        side = " proud"
    elif expect.sign is not None and expect.sign.toward:
        side = f" {expect.sign.toward[0]}"
    if expect.unit == "in":
        small = expect.about in SIGNED or expect.about == "gap"
        return f"1/16{side}" if small else "36 3/16 or 914 mm"
    return f"12{side} {expect.unit}".strip()


def _hear(text: str, expect: Expect) -> tuple[Said, ...]:
    cut = tokens(text)
    if not cut or len(cut) > 120:
        return ()
    everywhere = _everywhere(cut, expect)
    if everywhere:
        return everywhere
    several = [found for parts in _splits(cut, expect) if (found := _all(parts, expect))]
    plain = [token for token in cut if token not in ",;"]
    for found in several:
        if all(said.meanings for said in found):
            return _in_order(found, expect)
    whole = _one(plain, expect)
    if whole is not None:
        return (whole,)
    return _in_order(several[0], expect) if several else ()


def _everywhere(cut: Sequence[str], expect: Expect) -> tuple[Said, ...]:
    """ "All flush", "both plumb", "1/8 all round": one reading for every place."""
    if len(expect.places) < 2:
        return ()
    for words in _EVERYWHERE:
        length = len(words)
        if words == ("both",) and len(expect.places) != 2:
            continue
        if tuple(cut[:length]) == words:
            rest = cut[length:]
        elif tuple(cut[-length:]) == words:
            rest = cut[:-length]
        else:
            continue
        found = _one([token for token in rest if token not in ",;"], expect)
        if found is not None and found.place is None and found.meanings:
            return tuple(replace(found, place=place) for place in expect.places)
    return ()


def _all(parts: list[list[str]], expect: Expect) -> list[Said]:
    """The reading of each part; none if one of them is no reading."""
    if not 1 < len(parts) <= SAID_MOST:
        return []
    found = [_one(part, expect) for part in parts]
    kept = [said for said in found if said is not None]
    return kept if len(kept) == len(found) else []


def _in_order(found: list[Said], expect: Expect) -> tuple[Said, ...]:
    """Readings without a place belong to the places in order, if there is just one for each."""
    if all(said.place is None for said in found) and len(found) == len(expect.places):
        return tuple(replace(said, place=place) for said, place in zip(found, expect.places, strict=True))
    named = [said.place for said in found if said.place is not None]
    return tuple(found) if len(set(named)) == len(named) else ()


def _splits(cut: Sequence[str], expect: Expect) -> Iterator[list[list[str]]]:
    """The ways to cut an utterance into several: at commas, before each place, behind each place."""
    if any(token in ",;" for token in cut):
        yield [part for part in _cut_at(cut, {i for i, t in enumerate(cut) if t in ",;"}, drop=True) if part]
    plain = [token for token in cut if token not in ",;"]
    spots = [(at, end) for at in range(len(plain)) for end in [_place_end(plain, at, expect)[1]] if end > at]
    starts: list[tuple[int, int]] = []
    for at, end in spots:
        if not starts or at >= starts[-1][1]:
            starts.append((at, end))
    if len(starts) > 1:
        yield [_without_and(part) for part in _cut_at(plain, {at for at, _ in starts}, drop=False) if part]
        yield [_without_and(part) for part in _cut_at(plain, {end for _, end in starts}, drop=False) if part]


def _without_and(part: list[str]) -> list[str]:
    part = part[1:] if part and part[0] == "and" else part
    return part[:-1] if part and part[-1] == "and" else part


def _cut_at(cut: Sequence[str], where: set[int], drop: bool) -> list[list[str]]:
    parts: list[list[str]] = [[]]
    for i, token in enumerate(cut):
        if i in where:
            parts.append([])
            if drop:
                continue
        parts[-1].append(token)
    return [part for part in parts if part]


def _place_end(cut: Sequence[str], at: int, expect: Expect) -> tuple[str | None, int]:
    """The place named from this token on, and where its name ends; (None, at) if none or more than one is meant."""
    best: tuple[str | None, int] = (None, at)
    named = [(place, [word for word in (tokens(place) or []) if word not in (",", "the")]) for place in expect.places]
    turned = [
        (place, words[::-1]) for place, words in named if len(words) == 2 and words[::-1] not in dict(named).values()
    ]
    for place, words in named + turned:
        end, i = at, 0
        while i < len(words) and end < len(cut):
            if cut[end] == words[i]:
                i += 1
            elif i == 0 or cut[end] not in ("the", "side", "corner", "of", "on", "at"):
                break
            end += 1
        if words and i == len(words) and end > best[1]:
            best = (place, end)
    return best


def _one(cut: Sequence[str], expect: Expect) -> Said | None:
    """One reading that takes every token, or None."""
    found: dict[tuple[str | None, Meaning], int] = {}
    states: list[tuple[str | None, str]] = []
    for way in _ways(cut, expect, check_sides=True):
        if way.value is None and not way.zero:
            if way.state is not None or way.hints:
                states.append((way.place, way.state or " ".join(cut)))
            continue
        for meaning in _meanings(way, expect):
            key = (way.place, meaning)
            found[key] = min(found.get(key, 99), way.usual)
    words = " ".join(cut)
    if found:
        place = max((place for place, _ in found), key=lambda name: len(name or ""))
        ranked = sorted((usual, i, m) for i, ((at, m), usual) in enumerate(found.items()) if at == place)
        return Said(place, words, _distinct([meaning for _, _, meaning in ranked]))
    if states:
        return Said(states[0][0], words, (), states[0][1])
    return None


def _distinct(meanings: list[Meaning]) -> tuple[Meaning, ...]:
    """Each value once: a meaning with its side known before the same without, a hair said before none."""
    kept: dict[Quantity, Meaning] = {}
    for meaning in meanings:
        before = kept.get(meaning.value)
        if before is None or (before.side == "missing" and meaning.side != "missing"):
            kept[meaning.value] = meaning
    sided = {abs(m.value) for m in kept.values() if m.side == "said"}
    return tuple(m for m in kept.values() if not (m.side == "missing" and abs(m.value) in sided))


def _meanings(way: _Way, expect: Expect) -> Iterator[Meaning]:
    unit = way.unit or expect.unit
    if UNITS[unit][1] != UNITS[expect.unit][1]:
        return
    size = Quantity(way.value or Fraction(0), unit)
    found = dict(way.hints)
    if expect.sign is None:
        if not found:
            value = -size if way.typed_sign < 0 else size
            yield Meaning(value, way.hair, way.unsure, "none", way.unit is not None)
        return
    said = sign_of(expect.about, found)
    if way.zero or not size:
        yield Meaning(Quantity(Fraction(0), unit), way.hair, way.unsure, "zero", way.unit is not None)
    elif way.typed_sign:
        if said is None or said == way.typed_sign:
            yield Meaning(size if way.typed_sign > 0 else -size, way.hair, way.unsure, "typed", way.unit is not None)
    elif said is not None:
        yield Meaning(size if said > 0 else -size, way.hair, way.unsure, "said", way.unit is not None)
    else:
        yield Meaning(size, way.hair, way.unsure, "missing", way.unit is not None)


def _ways(cut: Sequence[str], expect: Expect, check_sides: bool) -> Iterator[_Way]:
    """Every way to consume all tokens, at most `WAYS_MOST` steps of it."""
    budget = WAYS_MOST
    stack: list[tuple[int, _Way]] = [(0, _Way())]
    seen: set[tuple[int, _Way]] = set()
    while stack:
        at, way = stack.pop()
        if (at, way) in seen:
            continue
        seen.add((at, way))
        budget -= 1
        if budget < 0:
            return
        if at == len(cut):
            yield way
            continue
        stack.extend(_steps(cut, at, way, expect, check_sides))


def _steps(cut: Sequence[str], at: int, way: _Way, expect: Expect, check_sides: bool) -> Iterator[tuple[int, _Way]]:
    token = cut[at]
    if token in _CARRIERS or (token == "one" and way.place is not None):
        yield at + 1, way
    place, end = _place_end(cut, at, expect)
    if place is not None and way.place is None:
        yield end, replace(way, place=place)
    if way.value is None and not way.zero:
        if token in "+-" and not way.typed_sign:
            yield at + 1, replace(way, typed_sign=1 if token == "+" else -1)
        for value, unit, usual, last in _amounts(cut, at, expect):
            yield last, replace(way, value=value, unit=unit, usual=usual)
        if expect.sign is not None or expect.about == "gap":
            for words in (*ZERO[expect.about], *(ZERO_ALWAYS if expect.sign is not None else ())):
                if _is(cut, at, words):
                    yield at + len(words), replace(way, zero=True)
        for words in (*STATES.get(expect.about, ()), *GOOD):
            if _is(cut, at, words):
                yield at + len(words), replace(way, state=" ".join(words))
    elif any(_is(cut, at, words) for words in _EVEN):
        yield at + max(len(words) for words in _EVEN if _is(cut, at, words)), way
    if way.value is not None and expect.sign is None:
        for words in STATES.get(expect.about, ()):
            if _is(cut, at, words):
                yield at + len(words), way
    for hint in hints(cut, at, expect.about, expect.sign):
        found = dict(way.hints)
        if check_sides and found.get(hint.kind, hint.sign) != hint.sign:
            continue
        yield hint.end, replace(way, hints=tuple(sorted({**found, hint.kind: hint.sign}.items())))
    for hair, ways in ((1, _OVER), (-1, _UNDER)):
        for words in ways:
            if _is(cut, at, words) and not (expect.about == "flush" and words == ("shy",)) and way.hair in (0, hair):
                yield at + len(words), replace(way, hair=hair)
    for words in _UNSURE:
        if _is(cut, at, words):
            yield at + len(words), replace(way, unsure=True)


def _is(cut: Sequence[str], at: int, words: tuple[str, ...]) -> bool:
    return tuple(cut[at : at + len(words)]) == words


def _amounts(cut: Sequence[str], at: int, expect: Expect) -> Iterator[tuple[Fraction, str | None, int, int]]:
    """Amounts from this token: value, unit (None if none was given), how unusual, and where it ends."""
    if at < len(cut) and cut[at] in ("inch", "foot"):
        yield from _unit_first(cut, at)
    for read in numbers(cut, at):
        unit, end = _unit(cut, read.end, read.fraction)
        if unit is not None:
            yield read.value, unit, read.usual, end
            yield from _with_more(cut, read, unit, end)
        else:
            yield read.value, None, read.usual, read.end
    if UNITS[expect.unit][1] == LENGTH:
        yield from _feet_unsaid(cut, at)


def _unit(cut: Sequence[str], at: int, fraction: bool) -> tuple[str | None, int]:
    if fraction and cut[at : at + 1] == ["of"] and cut[at + 1 : at + 2] in (["an"], ["a"]):
        at += 2
    elif fraction and cut[at : at + 1] in (["an"], ["a"]):
        at += 1
    if at >= len(cut):
        return None, at
    unit = _SPOKEN_UNITS.get(cut[at]) or unit_named(cut[at])
    if cut[at : at + 2] in (["square", "feet"], ["sq", "ft"]):
        return "ft2", at + 2
    return (unit, at + 1) if unit else (None, at)


def _with_more(cut: Sequence[str], head: Read, unit: str, at: int) -> Iterator[tuple[Fraction, str, int, int]]:
    """ "six foot eight and a quarter", "6' 8 1/4"", "two inches and a half", "an inch and a half"."""
    start = at + 1 if at < len(cut) and cut[at] == "and" else at
    if unit == "ft" and head.value.denominator == 1:
        for part in numbers(cut, start):
            inch, end = _unit(cut, part.end, part.fraction)
            if part.value < 12 and inch in (None, "in"):
                yield 12 * head.value + part.value, "in", part.usual, end if inch else part.end
    if unit in ("in", "ft") and head.value.denominator == 1 and start == at + 1:
        for part in numbers(cut, start):
            if part.value < 1:
                again, end = _unit(cut, part.end, part.fraction)
                yield head.value + part.value, unit, part.usual, end if again == unit else part.end


def _unit_first(cut: Sequence[str], at: int) -> Iterator[tuple[Fraction, str, int, int]]:
    """ "inch and a quarter" is one inch and a quarter."""
    unit = "in" if cut[at] == "inch" else "ft"
    yield from _with_more(cut, Read(Fraction(1), at + 1), unit, at + 1)


def _feet_unsaid(cut: Sequence[str], at: int) -> Iterator[tuple[Fraction, str | None, int, int]]:
    """ "eight two and a quarter" may be 8 ft 2 1/4 in or 82 1/4; "two forty" may be 2 ft 40 in."""
    word = cut[at] if at < len(cut) else ""
    feet = ONES.get(word, int(word) if word.isdigit() and len(word) == 1 else 0)
    if not 1 <= feet <= 12:
        return
    for part in numbers(cut, at + 1):
        typed = bool(part.end) and not part.spoken
        if typed and (word in ONES or part.value.denominator != 1 or cut[at + 1].isdigit()):
            continue
        whole = part.value // 1
        if 1 <= whole <= 11 and cut[at + 1] in ONES:
            yield 12 * feet + part.value, "in", 1, part.end
            if whole <= 9 and feet <= 9:
                yield 10 * feet + part.value, None, 0, part.end
        elif part.value >= 12 and part.value.denominator == 1 and part.value < 100 and part.spoken:
            yield 12 * feet + part.value, "in", 3, part.end
