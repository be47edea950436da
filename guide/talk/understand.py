"""From words to what is meant: the whole utterance, or nothing. A near miss is offered, never guessed."""

from __future__ import annotations

import difflib
import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from guide.talk.phrases import Phrases
from guide.talk.templates import Phrase, match

LONGEST = 5000
MOST_WORDS = 200
NEAR_MOST = 3
NEAR_CUTOFF = 0.72

_QUOTES = str.maketrans({"’": "'", "‘": "'", "`": "'", "´": "'", "“": " ", "”": " ", "…": " "})
_BARE = re.compile(r"[^\w'/\.\"-]+", re.UNICODE)
_COURTESY_FIRST = (("hey", "guide"), ("guide",), ("please",), ("okay",), ("ok",), ("well",), ("um",), ("uh",), ("so",))
_COURTESY_LAST = (("please",), ("thanks",), ("thank", "you"), ("mate",))


@dataclass(frozen=True, slots=True)
class Understanding:
    """What was meant ("" if unknown), the words in its slot, and near misses to offer."""

    intent: str = ""
    slots: Mapping[str, str] = field(default_factory=dict)
    near: tuple[str, ...] = ()


def normal(text: str) -> str:
    """The words in lower case, with one space between and no punctuation around them."""
    return " ".join(_words(text)).lower()


def _words(text: str) -> list[str]:
    plain = unicodedata.normalize("NFKC", text[:LONGEST].translate(_QUOTES))
    words = (word.strip(".,;:!?-") for word in _BARE.sub(" ", plain).split())
    return [word for word in words if word]


def understand(text: str, phrases: Phrases) -> Understanding:
    """The intent of an utterance that is wholly one of the phrases; else near misses. Slots keep their spelling."""
    words = _words(text)
    low = [word.lower() for word in words]
    if not words:
        return Understanding()
    alarm = _anywhere(low, phrases)
    if alarm is not None:
        return Understanding(alarm, {"text": text})
    if len(words) > MOST_WORDS:
        return Understanding()
    bare = _without_courtesy(low)
    for start, end in dict.fromkeys([(0, len(low)), bare]):
        found = _whole(low[start:end], words[start:end], phrases)
        if found is not None:
            return found
    return Understanding(near=_near(" ".join(low), phrases))


def _whole(low: Sequence[str], words: Sequence[str], phrases: Phrases) -> Understanding | None:
    said = " ".join(low)
    if said in phrases.plain:
        return Understanding(phrases.plain[said])
    for way, intent in phrases.slotted:
        found = match(way, low)
        if found is not None:
            slot, start, end = found
            return Understanding(intent, {slot: " ".join(words[start:end])})
    return None


def _anywhere(words: Sequence[str], phrases: Phrases) -> str | None:
    for intent in phrases.intents.values():
        if intent.anywhere and _inside(words, intent.anywhere) and not _inside(words, intent.unless):
            return intent.name
    return None


def _inside(words: Sequence[str], ways: Sequence[Phrase]) -> bool:
    text = f" {' '.join(words)} "
    return any(f" {' '.join(str(part) for part in way)} " in text for way in ways)


def _without_courtesy(low: Sequence[str]) -> tuple[int, int]:
    """From where to where the words are left when courtesies at both ends are taken off."""
    start, end = 0, len(low)
    changed = True
    while changed:
        changed = False
        for courtesy in _COURTESY_FIRST:
            if tuple(low[start : start + len(courtesy)]) == courtesy and start + len(courtesy) < end:
                start, changed = start + len(courtesy), True
        for courtesy in _COURTESY_LAST:
            if tuple(low[max(start, end - len(courtesy)) : end]) == courtesy and end - len(courtesy) > start:
                end, changed = end - len(courtesy), True
    return start, end


def _near(said: str, phrases: Phrases) -> tuple[str, ...]:
    if len(said) > 60 or any(c.isdigit() for c in said):
        return ()
    close = difflib.get_close_matches(said, phrases.plain, n=8, cutoff=NEAR_CUTOFF)
    one_each: dict[str, str] = {}
    for phrase in close:
        one_each.setdefault(phrases.plain[phrase], phrase)
    return tuple(one_each.values())[:NEAR_MOST]
