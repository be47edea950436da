"""Which part of the texts an utterance belongs to: by what is said, so that no sentence is in two splits.

Short amounts and the fixed phrases are few and must be known: they are "closed", and every split has them. Everything
else is parted by the words of the amount or of the sentence.
"""

from __future__ import annotations

from hashlib import sha256

PARTS = (("train", 76), ("choose", 9), ("report", 15))
CLOSED_WORDS = 3
"""Amounts of so many words or fewer are closed."""


def part_of(key: str) -> str:
    """ "train", "choose" or "report" for a row of words; the same words always come to the same part."""
    at = int.from_bytes(sha256(" ".join(key.lower().replace("-", " ").split()).encode()).digest()[:4], "big") % 100
    for name, share in PARTS:
        if at < share:
            return name
        at -= share
    raise AssertionError


def part_of_amount(words: str) -> str:
    """The same for the words of an amount; "closed" for a short one."""
    return "closed" if len(words.replace("-", " ").split()) <= CLOSED_WORDS else part_of(words)


def fits(part: str, split: str) -> bool:
    """Whether a split may say what is of this part."""
    return part in ("closed", split)
