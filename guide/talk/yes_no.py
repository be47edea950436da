"""Yes or no as crews say it of a thing that should work: "it latches", "binds at the head", "left yes, right no".

A word of trouble makes it a no, which asks for a correction and loses nothing; a yes has to be said plainly.
"""

from __future__ import annotations

import re

from guide.talk.understand import normal

_YES = frozenset({"yes", "yep", "yeah", "yup", "aye", "good", "fine", "ok", "okay", "correct", "right", "sure"})
_NO = frozenset({"no", "nope", "nah", "negative"})
_WORKS = re.compile(
    r"^(?:(?:it|they|both|all|that|this|everything|the \w+) )*"
    r"(?:does|do|is|are|latches|locks|throws|throw|closes|shuts|opens|swings|swings free|runs|runs free|runs right|"
    r"works|work|fits|touches|touches evenly|holds|stands|stands firm|is dry|stays dry|seals)"
    r"(?: (?:fine|well|good|right|free|freely|all round|evenly|now|it does))*$"
)
_TROUBLE = re.compile(
    r"\b(?:won't|doesn't|don't|isn't|aren't|can't|cannot|not|never|binds?|binding|sticks?|sticking|stuck|"
    r"rubs?|rubbing|drags?|scrapes?|catches|jams?|jammed|gaps?|gapping|bulges?|leaks?|leaking|wet|drips?|loose|wobbles?|"
    r"rattles?|sags?|swings open|falls open|drifts?|hits?|crooked|torn|damaged|missing|scratched|cracked)\b"
)


def yes_or_no(text: str) -> str | None:
    """ "yes", "no", or None when the words are neither."""
    said = normal(text)
    first, _, rest = said.partition(" ")
    if first in _NO:
        return "no"
    if _TROUBLE.search(said):
        return "no"
    if first in _YES and (not rest or first == "yes" or rest.split()[0] in _YES):
        return "yes"
    return "yes" if _WORKS.match(said) else None


def by_place(text: str, places: tuple[str, ...]) -> dict[str, str]:
    """Answers by place ("left door yes, right door no"); empty unless each part names one place and an answer."""
    found: dict[str, str] = {}
    for part in re.split(r"[,;]| and ", text):
        said = normal(part)
        named = [place for place in places if place.lower() in said or said.startswith(_short(place, places) + " ")]
        if len(named) != 1:
            return {}
        rest = said.replace(named[0].lower(), "", 1).removeprefix(_short(named[0], places)).strip()
        answer = yes_or_no(rest)
        if answer is None:
            return {}
        found[named[0]] = answer
    return found


def _short(place: str, places: tuple[str, ...]) -> str:
    """The first word of a place's name where no other place begins with it."""
    first = place.lower().split()[0]
    alike = [other for other in places if other.lower().split()[0] == first]
    return first if len(alike) == 1 else place.lower()
