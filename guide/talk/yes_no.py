"""Yes or no as crews say it of a thing that should work: "it latches", "binds at the head", "won't throw".

A word of trouble makes it a no, which asks for a correction and loses nothing; a yes has to be said plainly. What
nobody knows ("not sure") is neither. By place: `guide.talk.answered`.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from functools import cache
from typing import Any

from guide.talk.understand import normal
from guide.talk.vocabulary import language, word_set


@cache
def states() -> Mapping[str, Any]:
    """The words for what works and what does not."""
    return {
        key: words.split() if isinstance(words, str) else tuple(words) for key, words in language()["yes-no"].items()
    }


def _any(words: Iterable[str]) -> str:
    return "|".join(re.escape(word) for word in sorted(words, key=len, reverse=True))


@cache
def _works(many: bool = False) -> re.Pattern[str]:
    """What works, said plainly; `many` of several places ("both latch", "top and bottom fine")."""
    words = states()
    subject = rf"(?:(?:{_any((*words['subjects'], *words['things']))}|the \w+) )*"
    works = (*words["works"], *words["acts"], *words["so"]) if many else words["works"]
    return re.compile(rf"^{subject}(?:{_any(works)})(?: (?:{_any(words['works-behind'])}))*$")


@cache
def _found(*keys: str) -> re.Pattern[str]:
    return re.compile(rf"\b(?:{_any(word for key in keys for word in states()[key])})\b")


def yes_or_no(text: str) -> str | None:
    """ "yes", "no", or None when the words are neither."""
    said = normal(text)
    first, _, rest = said.partition(" ")
    yes = states()["yes"]
    if _found("unknown").search(said):
        return None
    if first in states()["no"]:
        return "no"
    if _found("not", "trouble").search(said):
        return "no"
    if first in yes and (not rest or first == "yes" or rest.split()[0] in yes):
        return "yes"
    return "yes" if _works().match(said) else None


def bare(word: str) -> bool:
    """Whether it is a yes or a no by itself."""
    return word in states()["yes"] or word in states()["no"]


def plainly(words: Sequence[str], many: bool = False) -> str | None:
    """What is said of a place that was named, without its name; None too for what contradicts itself, or is unsure.

    Of several things said ("latches but won't lock") one that does not work makes it a no.
    """
    links, idle = word_set("yes-no", "links"), {*language()["around"]["anywhere"], *states()["when"]}
    pieces: list[list[str]] = [[]]
    for word in words:
        if word in links:
            pieces.append([])
        elif word != "," and word not in idle:
            pieces[-1].append(word)
    answers = [_piece(piece, many) for piece in pieces if piece]
    if not answers or None in answers:
        return None
    return "no" if "no" in answers else "yes"


def _piece(words: Sequence[str], many: bool) -> str | None:
    said = " ".join(words)
    if _unsure().search(said) or any(_against(words[:at], words[at:]) for at in range(1, len(words))):
        return None
    if all(word in states()["open"] for word in words):
        return None
    rest = [word for word in words if word not in states()["being"]]
    if rest and all(bare(word) for word in rest):
        if any(word in states()["no"] for word in rest):
            return "no"
        return None if all(word in states()["doubtful"] for word in rest) else "yes"
    return yes_or_no(said) or ("yes" if many and _works(many).match(said) else None)


@cache
def _unsure() -> re.Pattern[str]:
    return re.compile(rf"\b(?:{_any(language()['around']['unsure'])})\b")


def _against(before: Sequence[str], behind: Sequence[str]) -> bool:
    """Whether what stands before and what stands behind can't both be so: "works binds", "no latches"."""
    first, second = " ".join(before), " ".join(behind)
    noun = before[-1] in (*states()["being"], *states()["things"])  # "the top latch binds"
    works = _works(many=True).match(first) is not None and not noun
    if works or all(word in states()["affirming"] for word in before):
        return _found("not", "trouble").search(second) is not None or behind[0] in states()["no"]
    refused = all(word in states()["no"] for word in before) or _found("trouble").search(first) is not None
    return refused and _works().match(second) is not None and behind[0] not in states()["being"]
