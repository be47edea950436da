"""From decoded words to what they mean here: the reader of words and the phrases have the last word.

Different words of one meaning count together. What the step expects counts softly: a value outside it loses a few nats
and no more, for a surprise is what must be heard.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cache
from math import exp, log

from guide.quantity import LENGTH, Quantity
from guide.talk.expect import Expect, Meaning, Said
from guide.talk.phrases import Phrases
from guide.talk.say import written
from guide.talk.understand import Understanding, understand
from guide.talk.words import hear, settle
from guide.voice.embedded.grammar import OF_A_READING
from guide.voice.hearing import Amount, Hearing

PRIOR_MOST = 4.0
"""Nats that an unlikely value loses at most."""
PRIOR_LEAST = 1.5
"""Nats that a value just outside what is likely loses."""

LONGEST = Quantity(Fraction(10), "m")
"""Longer than what doors and their openings are measured by."""
ODD_LONG, ODD_DECIMAL = 4.0, 5.0
_ODD_IN = {1: 0.0, 2: 0.0, 4: 0.0, 8: 0.0, 16: 0.0, 32: 0.5, 64: 1.5}
"""By the parts of an inch it is read in; anything else is a decimal."""
_ODD_MM = {1: 0.0, 2: 1.0, 10: 2.0, 5: 2.0}
_METRIC = frozenset({"mm", "cm", "m"})


@dataclass(frozen=True, slots=True)
class Way:
    """One meaning of one text."""

    key: Hashable
    hearing: Hearing
    """Its weights still to be filled in."""
    prior: float
    """Nats for what was expected, 0 or less."""


class Meanings:
    """What texts mean at one step."""

    def __init__(self, phrases: Phrases, expect: Expect | None, lists: Mapping[str, Sequence[str]] | None) -> None:
        self._phrases = phrases
        self._expect = expect
        self._lists = lists
        self._names = {slot: {name.lower() for name in names} for slot, names in (lists or {}).items()}
        self.of = cache(self._of)

    def _of(self, text: str) -> tuple[Way, ...]:
        """Every meaning of a text; () when it has none here."""
        understood = understand(text, self._phrases, self._lists)
        if understood.intent and self._known(understood):
            slots = tuple(self._slot(value) for value in understood.slots.values())
            hearing = Hearing("command", text, 0.0, 0.0, command=understood.intent, safe=understood.safe)
            return (Way((understood.intent, understood.safe, slots), hearing, 0.0),)
        if self._expect is None:
            return ()
        said = hear(text, self._expect)
        if not said or not all(one.meanings for one in said):
            return ()
        return tuple(self._readings(text, said, self._expect))

    def _known(self, understood: Understanding) -> bool:
        """Whether its slots hold readings or what is known of them: no name can be heard that nobody gave.

        What is understood inside longer sentences ("someone is hurt") holds the sentence, whatever it says.
        """
        if understood.intent in OF_A_READING or understood.intent in self._phrases.alarms:
            return True
        return all(
            value in self._phrases.kinds[slot].only or value.lower() in self._names.get(slot, ())
            for slot, value in understood.slots.items()
            if slot in self._phrases.kinds
        )

    def _slot(self, value: str) -> Hashable:
        """What a slot holds: a reading's values, or its words."""
        said = hear(value, self._expect) if self._expect is not None else ()
        if said and all(one.meanings for one in said):
            return tuple((one.place, tuple(_size(meaning.value) for meaning in one.meanings)) for one in said)
        return value

    def _readings(self, text: str, said: tuple[Said, ...], expect: Expect) -> Iterator[Way]:
        picked = [settle(one, expect) for one in said]
        if all(picked):
            yield self._way(text, said, [one for one in picked if one], expect, ambiguous=False)
            return
        for i, one in enumerate(said):
            for meaning in one.meanings if picked[i] is None else ():
                row = [meaning if j == i else other or said[j].meanings[0] for j, other in enumerate(picked)]
                yield self._way(text, said, row, expect, ambiguous=True)

    def _way(self, text: str, said: Sequence[Said], row: Sequence[Meaning], expect: Expect, ambiguous: bool) -> Way:
        amounts = tuple(_amount(one.place, meaning, expect) for one, meaning in zip(said, row, strict=True))
        key = tuple(
            (one.place, _size(meaning.value), meaning.hair, meaning.side == "missing")
            for one, meaning in zip(said, row, strict=True)
        )
        unlikely = max((_unlikely(meaning, expect) for meaning in row), default=0.0)
        hearing = Hearing("reading", text, 0.0, 0.0, amounts, ambiguous=ambiguous, likely=not unlikely)
        return Way(key, hearing, -unlikely - max((_odd(meaning.value) for meaning in row), default=0.0))


def _amount(place: str | None, meaning: Meaning, expect: Expect) -> Amount:
    sign = expect.sign if meaning.side != "missing" else None
    inches = meaning.value.to("in").magnitude if meaning.value.dimension == LENGTH else None
    return Amount(
        written(meaning.value, expect.about, sign),
        inches,
        place,
        meaning.hair,
        meaning.unsure,
        meaning.side == "missing",
        meaning.unit_given,
    )


def _size(value: Quantity) -> Hashable:
    """What a value measures; metric and inches apart, for a wrong unit must show."""
    metric = value.unit in _METRIC
    if value.dimension == LENGTH:
        return (value.to("mm" if metric else "in").magnitude, "mm" if metric else "in")
    return (value.magnitude, value.unit)


def _unlikely(meaning: Meaning, expect: Expect) -> float:
    """Nats that a value loses for lying outside what is likely: more the further it lies, up to `PRIOR_MOST`."""
    low, high = expect.likely_low, expect.likely_high
    values = (meaning.value, -meaning.value) if meaning.side == "missing" else (meaning.value,)
    off = min(_outside(value, low, high) for value in values)
    if not off:
        return 0.0
    width = high.base - low.base if low is not None and high is not None else Fraction(0)
    far = float(off / width) if width > 0 else 1.0
    return min(PRIOR_MOST, PRIOR_LEAST + far * (PRIOR_MOST - PRIOR_LEAST))


def _odd(value: Quantity) -> float:
    """Nats that a length loses for being one that a tape seldom shows, whatever the step expects."""
    if value.dimension != LENGTH:
        return 0.0
    metric = value.unit in _METRIC
    parts = (value.to("mm") if metric else value.to("in")).magnitude.denominator
    long = ODD_LONG if abs(value) > LONGEST else 0.0
    return long + (_ODD_MM if metric else _ODD_IN).get(parts, ODD_DECIMAL)


def _outside(value: Quantity, low: Quantity | None, high: Quantity | None) -> Fraction:
    """How far a value lies outside, in base units."""
    if low is not None and value < low:
        return low.base - value.base
    if high is not None and value > high:
        return value.base - high.base
    return Fraction(0)


def weigh(found: Iterable[tuple[Way, float]]) -> tuple[Hearing, ...]:
    """Meanings with the log-probabilities of their texts, summed by meaning; the likeliest first."""
    forms: dict[Hashable, list[tuple[Way, float]]] = {}
    for way, weight in found:
        forms.setdefault(way.key, []).append((way, weight))
    if not forms:
        return ()
    best = {key: max(ways, key=lambda one: one[1]) for key, ways in forms.items()}
    sums = {key: _sum(weight for _, weight in ways) for key, ways in forms.items()}
    posts = {key: sums[key] + best[key][0].prior for key in forms}
    total = _sum(posts.values())
    hearings = [replace(best[key][0].hearing, probability=exp(posts[key] - total), weight=sums[key]) for key in forms]
    return tuple(sorted(hearings, key=lambda one: -one.probability))


def _sum(weights: Iterable[float]) -> float:
    """Log of the sum of what these are the logs of."""
    row = list(weights)
    most = max(row)
    return most + log(sum(exp(one - most) for one in row))
