"""From an utterance to exact readings: every meaning it can bear, every word consumed, or it is no reading.

Typed figures and number words go through this one door. An utterance is one reading, or several: parted by commas, by
the places they are given for, or one for each place in the order of the places. `settle` takes a meaning unasked only
when it is the only one, or the only one that is likely.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import get_args

from guide.procedure.model import SIGNED
from guide.quantity import UNITS
from guide.talk.directions import PROUD
from guide.talk.expect import Expect, Meaning, Said, Side, WhyNot
from guide.talk.reading import Found, Reader, TooMany
from guide.talk.tokens import LONGEST, SEPARATORS, Cut, cut

__all__ = ["Expect", "Meaning", "Said", "Side", "WhyNot", "example", "hear", "settle", "why_not"]

READINGS_MOST = 24
USUAL = 2
"""Meanings that are no stretch."""
_ZERO_BELOW = re.compile(r"/\s*0+(?![0-9])")
_LINKS = frozenset({"and", "then"})


def hear(text: str, expect: Expect) -> tuple[Said, ...]:
    """The readings in an utterance; () when it is not wholly one or several readings."""
    return _heard(text, expect, explain=False).said


def why_not(text: str, expect: Expect) -> WhyNot | None:
    """Why words that look like a reading are none, as a key; None when they are one, or look like nothing."""
    if len(text) > LONGEST:
        return "too-long"
    found = _heard(text, expect, explain=True)
    if found.said:
        return None
    if _ZERO_BELOW.search(text.translate({ord("⁄"): "/", ord("÷"): "/"})):
        return "zero-denominator"
    return next((why for why in get_args(WhyNot) if why in found.why_not), None)


def settle(said: Said, expect: Expect) -> Meaning | None:
    """The meaning to take unasked: the only one, or the only one that is likely; else None.

    A stretch of meaning, or one behind the two most usual ones, is asked about though nothing else be likely.
    """
    if len(said.meanings) == 1:
        return said.meanings[0]
    if not _bounded(expect):
        return None
    likely = [meaning for meaning in said.meanings if _likely(meaning, expect)]
    return likely[0] if len(likely) == 1 and likely[0] in said.meanings[: min(USUAL, said.usual)] else None


def _bounded(expect: Expect) -> bool:
    """Whether it is known what the reading may be at all."""
    return expect.likely_low is not None or expect.likely_high is not None


def _all_likely(row: Sequence[Said], expect: Expect) -> bool:
    """Whether each of the readings has a meaning that may be."""
    return bool(row) and all(any(_likely(one, expect) for one in said.meanings) for said in row)


def _likely(meaning: Meaning, expect: Expect) -> bool:
    """Whether the value may be at all; a size without its side is likely if it is on either side."""
    values = (meaning.value, -meaning.value) if meaning.side == "missing" else (meaning.value,)
    low, high = expect.likely_low, expect.likely_high
    return any((low is None or value >= low) and (high is None or value <= high) for value in values)


def example(expect: Expect) -> str:
    """A short example of what would be taken here."""
    sign = expect.sign or (PROUD if expect.about == "flush" else None)
    side = ""
    if expect.about == "flush":
        side = " proud"
    elif sign is not None and sign.toward:
        named = sign.toward[0]
        side = {"level": f", high on the {named}", "square": f", open at the {named}"}.get(
            expect.about, f" {named} at the top" if expect.about == "plumb" else f" {named}"
        )
    if expect.unit == "in":
        if expect.about in SIGNED or expect.about == "gap":
            return f"1/16{side}" if side or sign is None else "+1/16"
        return "36 3/16 or 914 mm"
    size = 914 if expect.unit == "mm" and expect.about == "length" else 12
    return f"{size} {expect.unit}".rstrip() + side


def _heard(text: str, expect: Expect, explain: bool) -> Found:
    """What an utterance is. A comma between digits belongs to one number, or parts two of them."""
    reader = Reader(expect, explain, unsure=text.rstrip().endswith("?"))
    joined, parted = cut(text), cut(text, commas_part=True)
    try:
        one = _read(joined, reader) if joined else Found()
        other = _read(parted, reader) if parted and parted != joined else Found()
    except TooMany:
        return Found(why_not={"too-long"})
    if not one.said:
        return replace(other, why_not=one.why_not | other.why_not)
    if len(other.said) < 2 or len(other.said) != len(expect.places) or not _bounded(expect):
        return one
    likely = [found for found in (one, other) if _all_likely(found.said, expect)]
    return likely[0] if len(likely) == 1 else Found(why_not={"count"})


def _read(words: Cut, reader: Reader) -> Found:
    """The words as one reading, or as several."""
    one = reader.read(words)
    if one.sized:
        return one
    why = set(one.why_not)
    several: list[tuple[Said, ...]] = []
    for parts in _splits(words, reader):
        found = _all(parts, reader)
        why |= found.why_not
        if found.said:
            several.append(found.said)
    if not several and reader.sign is None and len(reader.expect.places) > 2:
        row = _all(_in_a_row(words, reader), reader).said
        if _alike(row, reader.expect):
            several.append(row)
    sized = [found for found in several if all(said.meanings for said in found)]
    best = sized or ([] if one.said else several)
    if best and all(_same(other, best[0]) for other in best):
        return Found(best[0])
    return Found(one.said, why)


def _same(one: Sequence[Said], other: Sequence[Said]) -> bool:
    return [(said.place, said.meanings) for said in one] == [(said.place, said.meanings) for said in other]


def _alike(row: Sequence[Said], expect: Expect) -> bool:
    """Whether numbers said without a pause are several readings: "6 2 1/2" is not, whatever else it may be."""
    if _bounded(expect):
        return _all_likely(row, expect)
    whole = {one.value.magnitude >= 1 for said in row for one in said.meanings}
    return len(whole) == 1


def _all(parts: Sequence[Cut], reader: Reader) -> Found:
    """Each part as a reading of its own; nothing if one is none, or if places are named for some of them only.

    Without any place they are for the places in their order, if there is just one for each; else for none.
    """
    if not 1 < len(parts) <= READINGS_MOST:
        return Found()
    said: list[Said] = []
    for part in parts:
        found = reader.read(part)
        if not found.said:
            return Found(why_not=found.why_not)
        said += found.said
    places = [one.place for one in said]
    if all(place is None for place in places):
        if not all(one.meanings for one in said):
            return Found()
        if len(said) != len(reader.expect.places):
            return Found(tuple(said))
        return Found(tuple(replace(one, place=at) for one, at in zip(said, reader.expect.places, strict=True)))
    if None in places or len(set(places)) < len(places):
        return Found(why_not={"count"})
    return Found(tuple(said))


def _splits(words: Cut, reader: Reader) -> Iterator[list[Cut]]:
    """The ways to part an utterance: at commas, before each place, behind each place."""
    marks = [at for at, word in enumerate(words.words) if word in SEPARATORS or word == "then"]
    if marks:
        yield _parts(words, [(at, at + 1) for at in marks])
    places = list(reader.places(words).marked())
    if len(places) > 1:
        yield _parts(words, [(at, at) for at, _ in places[1:]])
        yield _parts(words, [(place.end, place.end) for _, place in places[:-1]])


def _parts(words: Cut, gaps: Sequence[tuple[int, int]]) -> list[Cut]:
    """The words between the gaps, without what links them."""
    ends = [(0, 0), *gaps, (len(words), len(words))]
    found = []
    for (_, start), (end, _) in pairwise(ends):
        while start < end and words.words[start] in _LINKS | SEPARATORS:
            start += 1
        while end > start and words.words[end - 1] in _LINKS | SEPARATORS:
            end -= 1
        if start < end:
            found.append(words.part(start, end))
    return found


def _in_a_row(words: Cut, reader: Reader) -> list[Cut]:
    """Numbers said one after the other, one for each place; nothing if they could part in several ways.

    Whole numbers in words don't part by themselves: "twenty four seven".
    """
    amounts, unit = reader.amounts(words), reader.expect.unit
    runs: dict[int, list[tuple[int, ...]]] = {0: [()]}
    for _ in reader.expect.places:
        further: dict[int, list[tuple[int, ...]]] = {}
        for at, before in runs.items():
            reader.step()
            start = at
            while at and start < len(words) and words.words[start] in _LINKS | SEPARATORS:
                start += 1
            plain = [one for one in amounts.at(start) if one.typed or one.parts or one.unit]
            for end in {one.end for one in plain if UNITS[one.unit or unit][1] == UNITS[unit][1]}:
                further.setdefault(end, []).extend((*run, end) for run in before)
        runs = {end: found[:2] for end, found in further.items()}
    whole = runs.get(len(words), [])
    return _parts(words, [(end, end) for end in whole[0][:-1]]) if len(whole) == 1 else []
