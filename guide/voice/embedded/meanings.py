"""From decoded words to what they mean here: the reader of words and the phrases have the last word.

Different words of one meaning count together. What the step expects counts softly: a value outside it loses a few nats
and no more, for a surprise is what must be heard.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import exp, log

from guide.quantity import LENGTH, Quantity
from guide.talk.answered import ASKED, answered
from guide.talk.expect import Expect, Meaning, Said
from guide.talk.phrases import Phrases
from guide.talk.places import Names
from guide.talk.say import written
from guide.talk.understand import Understanding, understand
from guide.talk.words import hear, settle
from guide.talk.yes_no import states
from guide.voice.embedded.grammar import OF_A_READING
from guide.voice.embedded.priors import METRIC, odd, unlikely, unreduced
from guide.voice.embedded.states import states_alike
from guide.voice.hearing import Amount, Hearing

ENDING = 4
"""Letters of an ending that makes two places' names sound alike."""
CRY_MOST = 5
"""Words of a cry for help that is taken at once; inside a longer sentence it is asked about first."""


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
        self._read: dict[str, tuple[Way, ...]] = {}
        self.alike = alike(expect)
        """Words of places' names, and of states, each with those that one may be heard for."""

    def of(self, text: str) -> tuple[Way, ...]:
        """Every meaning of a text; () when it has none here. No text is read twice."""
        found = self._read.get(text)
        if found is None:
            found = self._read[text] = self._of(text)
        return found

    def _of(self, text: str) -> tuple[Way, ...]:
        if self._expect is not None and any(said == text for said, _ in self._expect.answers):
            return self._choice(text, self._expect)
        understood = understand(text, self._phrases, self._lists)
        if understood.intent and self._known(understood):
            return (self._command(text, understood),)
        if self._expect is None:
            return ()
        if self._expect.states:
            return self._state(text, self._expect.places)
        if self._expect.answers:
            return self._choice(text, self._expect)
        said = hear(text, self._expect)
        if not said or not all(one.meanings for one in said):
            return ()
        return tuple(self._readings(text, said, self._expect))

    def _command(self, text: str, understood: Understanding) -> Way:
        name, safe = understood.intent, understood.safe
        intent = self._phrases.intents[name]
        if intent.anywhere and text not in self._phrases.plain:
            safe = len(text.split()) <= CRY_MOST
        slots = () if intent.anywhere else tuple(self._slot(value) for value in understood.slots.values())
        hearing = Hearing("command", text, 0.0, 0.0, command=name, safe=safe, urgent=intent.urgent)
        return Way((name, safe, slots), replace(hearing, question=intent.question), 0.0)

    def alarm(self, text: str) -> tuple[Way, ...]:
        """The alarm that a sentence of any kind raises, if it raises one."""
        return tuple(way for way in self.of(text) if way.hearing.command in self._phrases.alarms)

    def _state(self, text: str, places: tuple[str, ...]) -> tuple[Way, ...]:
        """Whether the thing works, by the words for it, at the places that they name."""
        ways = answered(text, places)
        if not ways:
            return ()
        answer = "no" if any(one == "no" for _, one in ways[0]) else "yes"
        way = _answer(text, answer)
        if len(ways) == 1 and ASKED in dict(ways[0]):
            return (replace(way, hearing=replace(way.hearing, ambiguous=half_named(text, places))),)
        named = ways[0] if len(ways) == 1 else ()
        unclear = not named or _twin(text)
        return (replace(way, key=("answer", ways), hearing=replace(way.hearing, by_place=named, ambiguous=unclear)),)

    def _choice(self, text: str, expect: Expect) -> tuple[Way, ...]:
        """The choice that is named, or whose size is said."""
        named = {stands_for for said, stands_for in expect.answers if said == text}
        sizes = {written(meaning.value) for one in hear(text, replace(expect, answers=())) for meaning in one.meanings}
        named |= {stands_for for said, stands_for in expect.answers if said in sizes}
        return tuple(_answer(text, one) for one in sorted(named))

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
        off = max((unlikely(meaning, expect) for meaning in row), default=0.0)
        hearing = Hearing("reading", text, 0.0, 0.0, amounts, ambiguous=ambiguous, likely=not off)
        strange = max((odd(meaning.value) for meaning in row), default=0.0)
        return Way(key, hearing, -off - strange - unreduced(text))


def alike(expect: Expect | None) -> Mapping[str, tuple[str, ...]]:
    """Words with those that they may be heard for: "active" and "inactive", "inside" and "outside", "runs" and "rubs".

    Words of places' names that end alike, and where a state is asked for, what works and what does not.
    """
    if expect is None:
        return {}
    words = {word for place in expect.places for word in place.lower().split() if len(word) >= ENDING}
    found = {
        word: tuple(sorted(other for other in words - {word} if other[-ENDING:] == word[-ENDING:])) for word in words
    }
    return {word: others for word, others in found.items() if others} | (states_alike() if expect.states else {})


def _twin(text: str) -> bool:
    """Whether something was heard that no ear can tell from its opposite: "runs", but not "runs free"."""
    words = [*text.split(), ""]
    after = {phrase.split()[1] for phrase in states()["works"] if " " in phrase}
    return any(word in states()["twins"] and behind not in after for word, behind in pairwise(words))


def half_named(text: str, places: tuple[str, ...]) -> bool:
    """Whether words that name no place could be a place misheard: a part of some names, or where on a thing it is."""
    if len(places) < 2:
        return False
    where = {word for phrase in states()["where"] for word in phrase.split()}
    return not (where | Names.of(places).words()).isdisjoint(text.split())


def _answer(text: str, answer: str) -> Way:
    return Way(("answer", answer), Hearing("answer", text, 0.0, 0.0, answer=answer), 0.0)


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
    metric = value.unit in METRIC
    if value.dimension == LENGTH:
        return (value.to("mm" if metric else "in").magnitude, "mm" if metric else "in")
    return (value.magnitude, value.unit)


def weigh(found: Iterable[tuple[Way, float]]) -> tuple[Hearing, ...]:
    """Meanings with the log-probabilities of their texts, summed by meaning; the likeliest first."""
    forms: dict[Hashable, list[tuple[Way, float]]] = {}
    for way, weight in found:
        forms.setdefault(way.key, []).append((way, weight))
    if not forms:
        return ()
    best = {key: max(ways, key=lambda one: one[1]) for key, ways in forms.items()}
    sums = {key: _sum(weight for _, weight in ways) for key, ways in forms.items()}
    posts = {key: _sum(weight + way.prior for way, weight in ways) for key, ways in forms.items()}
    total = _sum(posts.values())
    hearings = [replace(best[key][0].hearing, probability=exp(posts[key] - total), weight=sums[key]) for key in forms]
    return tuple(sorted(hearings, key=lambda one: -one.probability))


def _sum(weights: Iterable[float]) -> float:
    """Log of the sum of what these are the logs of."""
    row = list(weights)
    most = max(row)
    return most + log(sum(exp(one - most) for one in row))
