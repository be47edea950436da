"""From words to what is meant: the whole utterance, or nothing. A near miss is offered, never guessed.

Words are compared in lower case, without punctuation and courtesies. A slot hands back what was typed or heard, as it
stood: a sign, a comma or a "½" may be what matters.
"""

from __future__ import annotations

import difflib
import re
import unicodedata
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from guide.talk.phrases import Phrases
from guide.talk.templates import Phrase, match

LONGEST = 5000
MOST_WORDS = 200
MOST_COURTESIES = 6
NEAR_MOST = 3
NEAR_LONGEST = 60
NEAR_CUTOFF = 0.78
HEAD_CUTOFF = 0.85

_APOSTROPHES = str.maketrans(dict.fromkeys("’‘`´", "'"))
_WORD = re.compile(r"[^\W_]+(?:['’‘`´][^\W_]+)*")
_BEFORE = re.compile(r"^(?:[\s,;:!?…—]|\.(?!\d)|[-–](?=\s+\D))+")
_BEHIND = re.compile(r"[\s,;:.!?…—–-]+$")

Lists = Mapping[str, Sequence[str]]


@dataclass(frozen=True, slots=True)
class Understanding:
    """What was meant ("" if unknown), the words in its slots, and near misses to offer."""

    intent: str = ""
    slots: Mapping[str, str] = field(default_factory=dict)
    look: Callable[[], tuple[str, ...]] = field(default=tuple, compare=False, repr=False)
    """Looks for near misses: much slower than understanding, and seldom wanted."""
    safe: bool = True
    """Whether it may commit when it was heard and not typed: no bare word that a saw can say."""

    @property
    def near(self) -> tuple[str, ...]:
        """Near misses to offer, when nothing was understood."""
        return self.look()


@dataclass(frozen=True, slots=True)
class _Words:
    """An utterance: its text, and where each word of it stands."""

    text: str
    plain: tuple[str, ...]
    spans: tuple[tuple[int, int], ...]

    def part(self, start: int, end: int) -> _Words:
        """Some of the words; the text stays whole."""
        return _Words(self.text, self.plain[start:end], self.spans[start:end])

    def between(self, start: int, end: int, whole: _Words) -> str:
        """The text from behind the word before `start` to the word at `end`, marks at its ends left out."""
        first, last = self.spans[start][0], self.spans[end - 1][1]
        before = max((stop for _, stop in whole.spans if stop <= first), default=0)
        behind = min((begin for begin, _ in whole.spans if begin >= last), default=len(self.text))
        return _BEHIND.sub("", _BEFORE.sub("", self.text[before:behind]))

    def stems(self) -> list[str]:
        """The words without what follows an apostrophe."""
        return [word.partition("'")[0] for word in self.plain]

    def as_names(self) -> list[bool]:
        """Which words are written as a name: a capital first, not all capitals, and not opening the utterance."""
        return [
            bool(self.text[:begin].strip())
            and self.text[begin].isupper()
            and (stop - begin == 1 or not self.text[begin:stop].isupper())
            for begin, stop in self.spans
        ]


def understand(text: str, phrases: Phrases, lists: Lists | None = None) -> Understanding:
    """The intent of an utterance that is wholly one of the phrases; else near misses.

    `lists` gives what is known of a slot: the names of people, of states, of steps. A person listed is taken for one
    however it is spelt; a state or a step must be listed if its list is given.
    """
    known = {slot: frozenset(normal(one) for one in all_of) for slot, all_of in (lists or {}).items()}
    words = _words(text, phrases)
    if not words.plain:
        return Understanding()
    alarm = _alarm(words, phrases, known.get("name", frozenset()))
    if alarm is not None:
        return Understanding(alarm, {"text": text})
    if len(words.plain) > MOST_WORDS:
        return Understanding()
    bare = words
    for start, end in _barer(words.plain, phrases):
        bare = words.part(start, end)
        found = phrases.plain.get(" ".join(bare.plain))
        if found is not None:
            return Understanding(found[0], safe=phrases.intents[found[0]].safe_by_voice(found[1]))
    for way, intent in phrases.slotted:
        slots = _slots(way, bare, words, phrases, known)
        if slots is None:
            continue
        if way in phrases.intents[intent].whole:
            slots = {"text": bare.between(0, len(bare.plain), words)}
        return Understanding(intent, slots, safe=phrases.intents[intent].safe_by_voice(way))
    return Understanding(look=lambda: _near(bare, words, phrases, known))


def normal(text: str) -> str:
    """The words in lower case, with one space between and no punctuation."""
    return " ".join(_words(text, None).plain)


def _words(text: str, phrases: Phrases | None) -> _Words:
    """The words of the part that is listened to; what can't be seen is left out."""
    seen = unicodedata.normalize("NFC", "".join(_seen(c) for c in text[:LONGEST]))
    found = list(_WORD.finditer(seen))
    plain = [unicodedata.normalize("NFKC", one[0]).translate(_APOSTROPHES).lower() for one in found]
    spelt = [phrases.spelling.get(word, word) for word in plain] if phrases else plain
    return _Words(seen, tuple(spelt), tuple(one.span() for one in found))


def _seen(char: str) -> str:
    category = unicodedata.category(char)
    if category in ("Cf", "Cs", "Co", "Cn"):
        return ""
    return " " if category in ("Cc", "Zl", "Zp") else char


def _slots(
    way: Phrase, bare: _Words, whole: _Words, phrases: Phrases, known: Mapping[str, frozenset[str]]
) -> dict[str, str] | None:
    """What each slot of the way holds if the words are wholly that way, else None."""
    found = match(way, bare.plain)
    if found is None:
        return None
    slots = {}
    for slot, start, end in found:
        kind = phrases.kind(slot)
        part = bare.part(start, end)
        if not kind.takes(part.plain, part.as_names(), known.get(slot.name)):
            return None
        if kind.verbatim and end == len(bare.plain):
            slots[slot.name] = _BEFORE.sub("", whole.text[bare.spans[start - 1][1] :]).rstrip()
        else:
            slots[slot.name] = bare.between(start, end, whole)
    return slots


def _alarm(words: _Words, phrases: Phrases, people: frozenset[str]) -> str | None:
    """The intent that is understood inside longer sentences too; a person's name counts as "someone"."""
    known = {word for person in people for word in person.split()}
    named = [
        "someone" + word.removeprefix(stem) if name or stem in known else word
        for word, stem, name in zip(words.plain, words.stems(), words.as_names(), strict=True)
    ]
    return next(
        (intent for intent, alarm in phrases.alarms.items() if alarm.raised(words.plain) or alarm.raised(named)), None
    )


def _barer(plain: Sequence[str], phrases: Phrases) -> Iterator[tuple[int, int]]:
    """From where to where the words are left with fewer and fewer courtesies at both ends."""
    starts, ends = [0], [len(plain)]
    while len(starts) <= MOST_COURTESIES:
        gone = next((one for one in phrases.courtesy_first if tuple(plain[starts[-1] :][: len(one)]) == one), None)
        if gone is None:
            break
        starts.append(starts[-1] + len(gone))
    while len(ends) <= MOST_COURTESIES:
        gone = next((one for one in phrases.courtesy_last if tuple(plain[: ends[-1]][-len(one) :]) == one), None)
        if gone is None:
            break
        ends.append(ends[-1] - len(gone))
    pairs = [(i + j, start, end) for i, start in enumerate(starts) for j, end in enumerate(ends) if start < end]
    yield from ((start, end) for _, start, end in sorted(pairs))


def _near(bare: _Words, whole: _Words, phrases: Phrases, known: Mapping[str, frozenset[str]]) -> tuple[str, ...]:
    """Phrases that come close, the closest first, one an intent. A number near a phrase is a number, not a slip."""
    said = " ".join(bare.plain)
    if len(said) > NEAR_LONGEST:
        return ()
    close = [] if any(c.isdigit() for c in said) else difflib.get_close_matches(said, phrases.plain, 8, NEAR_CUTOFF)
    found = [(_alike(said, phrase), phrases.plain[phrase][0], phrase) for phrase in close]
    for head, slot, intent in phrases.heads:
        tail = bare.part(len(head), len(bare.plain))
        alike = _alike(" ".join(bare.plain[: len(head)]), " ".join(head)) if tail.plain else 0
        if alike < HEAD_CUTOFF or not phrases.kind(slot).takes(tail.plain, tail.as_names(), known.get(slot.name)):
            continue
        phrase = f"{' '.join(head)} {bare.between(len(head), len(bare.plain), whole)}"
        found.append((alike, phrases.plain[phrase][0] if phrase in phrases.plain else intent, phrase))
    one_each: dict[str, str] = {}
    for _, intent, phrase in sorted(found, key=lambda one: -one[0]):
        one_each.setdefault(intent, phrase)
    return tuple(one_each.values())[:NEAR_MOST]


def _alike(one: str, other: str) -> float:
    return difflib.SequenceMatcher(None, one, other).ratio()
