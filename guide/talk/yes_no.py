"""Yes or no as crews say it of a thing that should work: "it latches", "binds at the head", "left yes, right no".

A word of trouble makes it a no, which asks for a correction and loses nothing; a yes has to be said plainly.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from functools import cache
from typing import Any

from guide.talk.understand import normal
from guide.talk.vocabulary import language


@cache
def states() -> Mapping[str, Any]:
    """The words for what works and what does not."""
    return {
        key: words.split() if isinstance(words, str) else tuple(words) for key, words in language()["yes-no"].items()
    }


def _any(words: Iterable[str]) -> str:
    return "|".join(re.escape(word) for word in sorted(words, key=len, reverse=True))


@cache
def _works() -> re.Pattern[str]:
    words = states()
    subject = rf"(?:(?:{_any(words['subjects'])}|the \w+) )*"
    return re.compile(rf"^{subject}(?:{_any(words['works'])})(?: (?:{_any(words['works-behind'])}))*$")


@cache
def _trouble() -> re.Pattern[str]:
    return re.compile(rf"\b(?:{_any((*states()['not'], *states()['trouble']))})\b")


def yes_or_no(text: str) -> str | None:
    """ "yes", "no", or None when the words are neither."""
    said = normal(text)
    first, _, rest = said.partition(" ")
    yes = states()["yes"]
    if first in states()["no"]:
        return "no"
    if _trouble().search(said):
        return "no"
    if first in yes and (not rest or first == "yes" or rest.split()[0] in yes):
        return "yes"
    return "yes" if _works().match(said) else None


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
