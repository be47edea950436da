"""How many words of ordinary speech are wrong: what was decoded freely against what was said, numbers as words."""

from __future__ import annotations

import re
from collections.abc import Sequence

from guide.talk.say import whole

_WORD = re.compile(r"[a-z]+(?:'[a-z]+)?|\d+")
_SPELLING = {"ok": "okay", "alright": "all right", "gonna": "going to", "mr": "mister"}


def words_of(text: str) -> list[str]:
    """The words in lower case, whole numbers below 10,000 in words, marks and hyphens left out."""
    found: list[str] = []
    for word in _WORD.findall(text.lower().replace("’", "'").replace(",", "")):
        if word.isdigit() and 0 < int(word) < 10_000:
            found += whole(int(word)).replace(" and ", " ").split()
        else:
            found += _SPELLING.get(word, word).split()
    return [word for word in found if word]


def errors(said: Sequence[str], heard: Sequence[str]) -> int:
    """The fewest words put in, left out or changed that make one of the other."""
    row = list(range(len(heard) + 1))
    for at, word in enumerate(said, 1):
        before, row[0] = row[0], at
        for there, other in enumerate(heard, 1):
            before, row[there] = row[there], min(row[there] + 1, row[there - 1] + 1, before + (word != other))
    return row[-1]


def error_rate(pairs: Sequence[tuple[str, str]]) -> float:
    """Errors by words said, over all pairs of what was said and what was heard."""
    said = [(words_of(one), words_of(other)) for one, other in pairs]
    return sum(errors(*pair) for pair in said) / max(1, sum(len(one) for one, _ in said))
